//! The few things the journal asks of a file system, behind a trait so that each of them can be made to fail.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;

/// A file system.
pub trait Disk: Send + Sync + 'static {
    /// Makes a folder and those above it.
    fn create_dir(&self, path: &Path) -> io::Result<()>;
    /// Names of what is in a folder, in no order.
    fn list(&self, dir: &Path) -> io::Result<Vec<String>>;
    /// The whole content of a file.
    fn read(&self, path: &Path) -> io::Result<Vec<u8>>;
    /// Opens a file for reading and writing; `create`: makes it anew and empty.
    fn open(&self, path: &Path, create: bool) -> io::Result<Box<dyn DiskFile>>;
    /// Opens a file for reading only.
    fn open_read(&self, path: &Path) -> io::Result<Box<dyn DiskFile>>;
    /// Gives a file another name, replacing what had it.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;
    /// Deletes a file.
    fn remove(&self, path: &Path) -> io::Result<()>;
    /// Makes the names in a folder survive a power cut.
    fn sync_dir(&self, dir: &Path) -> io::Result<()>;
}

/// An open file.
pub trait DiskFile: Send {
    /// Length in bytes.
    fn length(&mut self) -> io::Result<u64>;
    /// Writes all of `bytes` from `at` on.
    fn write_at(&mut self, at: u64, bytes: &[u8]) -> io::Result<()>;
    /// Fills `buf` from `at` on, less only at the end of the file; returns how much.
    fn read_at(&mut self, at: u64, buf: &mut [u8]) -> io::Result<usize>;
    /// Makes the content survive a power cut (`fdatasync`: the length too, if it changed).
    fn sync(&mut self) -> io::Result<()>;
    /// Whether `path` still names this file: what is written to a file that was deleted or moved away is lost.
    fn is_at(&self, path: &Path) -> io::Result<bool>;
}

/// The file system of the machine.
#[derive(Debug, Clone, Copy, Default)]
pub struct RealDisk;

impl Disk for RealDisk {
    fn create_dir(&self, path: &Path) -> io::Result<()> {
        fs::create_dir_all(path)
    }

    fn list(&self, dir: &Path) -> io::Result<Vec<String>> {
        let mut names = Vec::new();
        for item in fs::read_dir(dir)? {
            // A name that is no UTF-8 is none of ours.
            if let Ok(name) = item?.file_name().into_string() {
                names.push(name);
            }
        }
        Ok(names)
    }

    fn read(&self, path: &Path) -> io::Result<Vec<u8>> {
        fs::read(path)
    }

    fn open(&self, path: &Path, create: bool) -> io::Result<Box<dyn DiskFile>> {
        let file = OpenOptions::new().read(true).write(true).create(create).truncate(create).open(path)?;
        Ok(Box::new(RealFile { file, place: 0 }))
    }

    fn open_read(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        Ok(Box::new(RealFile { file: File::open(path)?, place: 0 }))
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }

    fn sync_dir(&self, dir: &Path) -> io::Result<()> {
        File::open(dir)?.sync_all()
    }
}

/// A file and where its cursor stands, so that writing on and on needs no seek.
struct RealFile {
    file: File,
    place: u64,
}

impl RealFile {
    fn go_to(&mut self, at: u64) -> io::Result<()> {
        if self.place != at {
            self.place = self.file.seek(SeekFrom::Start(at))?;
        }
        Ok(())
    }
}

impl DiskFile for RealFile {
    fn length(&mut self) -> io::Result<u64> {
        Ok(self.file.metadata()?.len())
    }

    fn write_at(&mut self, at: u64, bytes: &[u8]) -> io::Result<()> {
        self.go_to(at)?;
        let written = self.file.write_all(bytes);
        // After a failed write the cursor stands anywhere: the next write must seek.
        self.place = if written.is_ok() { at + bytes.len() as u64 } else { u64::MAX };
        written
    }

    fn read_at(&mut self, at: u64, buf: &mut [u8]) -> io::Result<usize> {
        self.go_to(at)?;
        self.place = u64::MAX;
        let mut filled = 0;
        while filled < buf.len() {
            match self.file.read(&mut buf[filled..]) {
                Ok(0) => break,
                Ok(n) => filled += n,
                Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
                Err(e) => return Err(e),
            }
        }
        Ok(filled)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.file.sync_data()
    }

    #[cfg(unix)]
    fn is_at(&self, path: &Path) -> io::Result<bool> {
        use std::os::unix::fs::MetadataExt;
        let ours = self.file.metadata()?;
        match fs::metadata(path) {
            Ok(there) => Ok((there.dev(), there.ino()) == (ours.dev(), ours.ino())),
            Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(false),
            Err(e) => Err(e),
        }
    }

    #[cfg(not(unix))]
    fn is_at(&self, path: &Path) -> io::Result<bool> {
        path.try_exists()
    }
}

/// Puts `bytes` under `name` so that after a kill or a power cut there is the old file or the new one, never a half.
pub(crate) fn replace(disk: &dyn Disk, dir: &Path, name: &str, bytes: &[u8]) -> io::Result<()> {
    let temp = dir.join(format!("{name}.tmp"));
    let mut file = disk.open(&temp, true)?;
    file.write_at(0, bytes)?;
    file.sync()?;
    drop(file);
    disk.rename(&temp, &dir.join(name))?;
    disk.sync_dir(dir)
}
