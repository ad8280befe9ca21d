//! A tiny fold, requests for it, and a disk that fails when told to.

use coilwright_shop::entry::{Decided, Entry, Moment};
use coilwright_shop::fact::{AlertSeen, Fact};
use coilwright_store::{
    Archive, Disk, DiskFile, Fold, Journalling, OpenReport, Options, Outcome, RealDisk, Request, Store, Unreadable,
};
use std::io;
use std::path::Path;
use std::sync::atomic::{AtomicI64, AtomicU64, Ordering};
use std::sync::{Arc, Mutex};

/// Wire on a shelf: a thousand metres at first, taken in whole metres; and a digest in which order shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shelf {
    pub left: u64,
    pub entries: u64,
    pub digest: u64,
}

impl Default for Shelf {
    fn default() -> Self {
        Self { left: 1000, entries: 0, digest: 0xcbf2_9ce4_8422_2325 }
    }
}

impl Fold for Shelf {
    const VERSION: u32 = 7;

    fn apply(&mut self, entry: &Entry, _: &dyn Archive) -> Result<(), Unreadable> {
        self.entries += 1;
        for text in texts(entry) {
            if let Some(metres) = text.strip_prefix("take ") {
                self.left -= metres.parse::<u64>().unwrap();
            }
            for byte in text.bytes() {
                self.digest = (self.digest ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
            }
        }
        Ok(())
    }

    fn freeze(&self) -> Option<Vec<u8>> {
        Some(format!("{} {} {}", self.left, self.entries, self.digest).into_bytes())
    }

    fn thaw(bytes: &[u8]) -> Option<Self> {
        let mut numbers = std::str::from_utf8(bytes).ok()?.split(' ').map(str::parse);
        let mut next = || numbers.next()?.ok();
        Some(Self { left: next()?, entries: next()?, digest: next()? })
    }
}

pub type Shop = Store<Shelf, String>;

pub fn texts(entry: &Entry) -> impl Iterator<Item = &str> {
    entry.facts.iter().filter_map(|fact| match fact {
        Fact::AlertSeen(seen) => Some(seen.alert.as_str()),
        #[allow(unreachable_patterns)]
        _ => None,
    })
}

pub fn said(text: &str) -> Fact {
    Fact::AlertSeen(AlertSeen { alert: text.to_owned() })
}

/// Entries are about the first word of each of their texts.
pub fn subjects(entry: &Entry) -> Vec<String> {
    texts(entry).filter_map(|text| text.split(' ').next()).map(str::to_owned).collect()
}

pub fn options() -> Options {
    Options::new(subjects).unwrap()
}

/// Small files, so that few entries fill many segments.
pub fn small() -> Journalling {
    Journalling { segment_bytes: 2048, step_bytes: 512, ballast_bytes: 0 }
}

/// A folder that goes away; in memory where the system has such a place, since these tests sync some ten thousand times.
pub fn folder() -> tempfile::TempDir {
    let memory = Path::new("/dev/shm");
    if memory.is_dir() { tempfile::tempdir_in(memory) } else { tempfile::tempdir() }.unwrap()
}

pub fn open(dir: &Path) -> (Shop, OpenReport) {
    Store::open(dir, options()).unwrap()
}

/// Writes these texts as one entry.
pub fn request(key: Option<&str>, said_texts: &[&str]) -> Request<Shelf, String> {
    let texts: Vec<String> = said_texts.iter().map(|t| (*t).to_owned()).collect();
    let asked = texts.join("|");
    Request {
        method: "test.say".to_owned(),
        who: "tester".to_owned(),
        key: key.map(str::to_owned),
        asked,
        decide: Box::new(move |shelf: &Shelf, moment: &Moment| {
            let wanted: u64 = texts.iter().filter_map(|t| t.strip_prefix("take ")?.parse::<u64>().ok()).sum();
            if wanted > shelf.left {
                return Err(format!("{wanted} m wanted, {} m there", shelf.left));
            }
            let answer = serde_json::json!({"seq": moment.seq, "left": shelf.left - wanted, "third": 1.0 / 3.0});
            Ok(Decided { facts: texts.iter().map(|t| said(t)).collect(), answer })
        }),
        reply: Box::new(|_| {}),
    }
}

pub fn say(store: &Shop, key: Option<&str>, text: &str) -> Outcome<String> {
    store.ask(request(key, &[text]))
}

/// All entries, read in small bites.
pub fn entries(store: &Shop) -> Vec<Entry> {
    let (mut all, mut after) = (Vec::new(), 0);
    loop {
        let lines = store.read(after, 7).unwrap();
        let Some(last) = lines.last() else { return all };
        after = last.head.seq;
        all.extend(lines.iter().map(|line| line.entry().unwrap()));
    }
}

/// The fold of the journal from its first line equals the state that the store publishes.
#[track_caller]
pub fn check_fold(store: &Shop) {
    let mut folded = Shelf::default();
    for entry in entries(store) {
        folded.apply(&entry, &Vec::new()).unwrap();
    }
    assert_eq!(folded, store.state().state);
}

/// The segment that is written, and its bytes.
pub fn last_segment(dir: &Path) -> (std::path::PathBuf, Vec<u8>) {
    let mut names: Vec<_> = std::fs::read_dir(dir.join("journal"))
        .unwrap()
        .map(|item| item.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "jsonl"))
        .collect();
    names.sort();
    let path = names.pop().unwrap();
    let bytes = std::fs::read(&path).unwrap();
    (path, bytes)
}

/// Random numbers from a seed (xorshift), so that a failing run can be repeated.
pub struct Dice(pub u64);

impl Dice {
    pub fn below(&mut self, bound: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % bound
    }
}

/// What a failing call does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// Nothing, and says EIO.
    Io,
    /// A write does half of it and says EIO; everything else as `Io`.
    Half,
    /// A write does half of it and says ENOSPC; everything else nothing, and says ENOSPC.
    Full,
}

/// A disk of which one changing call fails; and which can be full.
pub struct FaultDisk {
    pub faults: Arc<Faults>,
}

#[derive(Debug)]
pub struct Faults {
    pub calls: AtomicU64,
    /// This call fails, counted from 1; 0: none.
    pub at: AtomicU64,
    pub fault: Mutex<Fault>,
    /// Bytes that files may still grow by; deleting a file gives its bytes back.
    pub room: AtomicI64,
}

impl FaultDisk {
    pub fn new(at: u64, fault: Fault) -> (Arc<Self>, Arc<Faults>) {
        let faults = Arc::new(Faults {
            calls: AtomicU64::new(0),
            at: AtomicU64::new(at),
            fault: Mutex::new(fault),
            room: AtomicI64::new(i64::MAX),
        });
        (Arc::new(Self { faults: Arc::clone(&faults) }), faults)
    }
}

impl Faults {
    fn call(&self) -> Option<Fault> {
        let now = self.calls.fetch_add(1, Ordering::SeqCst) + 1;
        (now == self.at.load(Ordering::SeqCst)).then(|| *self.fault.lock().unwrap())
    }

    fn check(&self) -> io::Result<()> {
        self.call().map_or(Ok(()), |fault| Err(error(fault)))
    }
}

fn error(fault: Fault) -> io::Error {
    // EIO and ENOSPC on Linux.
    io::Error::from_raw_os_error(if fault == Fault::Full { 28 } else { 5 })
}

impl Disk for FaultDisk {
    fn create_dir(&self, path: &Path) -> io::Result<()> {
        self.faults.check()?;
        RealDisk.create_dir(path)
    }
    fn list(&self, dir: &Path) -> io::Result<Vec<String>> {
        RealDisk.list(dir)
    }
    fn read(&self, path: &Path) -> io::Result<Vec<u8>> {
        RealDisk.read(path)
    }
    fn open(&self, path: &Path, create: bool) -> io::Result<Box<dyn DiskFile>> {
        if create {
            self.faults.check()?;
        }
        let file = RealDisk.open(path, create)?;
        Ok(Box::new(FaultFile { file, faults: Arc::clone(&self.faults) }))
    }
    fn open_read(&self, path: &Path) -> io::Result<Box<dyn DiskFile>> {
        RealDisk.open_read(path)
    }
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.faults.check()?;
        RealDisk.rename(from, to)
    }
    fn remove(&self, path: &Path) -> io::Result<()> {
        self.faults.check()?;
        let freed = std::fs::metadata(path)?.len() as i64;
        RealDisk.remove(path)?;
        let room = self.faults.room.load(Ordering::SeqCst);
        self.faults.room.store(room.saturating_add(freed), Ordering::SeqCst);
        Ok(())
    }
    fn sync_dir(&self, dir: &Path) -> io::Result<()> {
        self.faults.check()?;
        RealDisk.sync_dir(dir)
    }
}

struct FaultFile {
    file: Box<dyn DiskFile>,
    faults: Arc<Faults>,
}

impl DiskFile for FaultFile {
    fn length(&mut self) -> io::Result<u64> {
        self.file.length()
    }
    fn write_at(&mut self, at: u64, bytes: &[u8]) -> io::Result<()> {
        let grows = (at + bytes.len() as u64).saturating_sub(self.file.length()?) as i64;
        if grows > self.faults.room.load(Ordering::SeqCst) {
            return Err(error(Fault::Full));
        }
        self.faults.room.fetch_sub(grows, Ordering::SeqCst);
        match self.faults.call() {
            None => self.file.write_at(at, bytes),
            Some(fault) => {
                if fault != Fault::Io {
                    self.file.write_at(at, &bytes[..bytes.len() / 2])?;
                }
                Err(error(fault))
            }
        }
    }
    fn read_at(&mut self, at: u64, buf: &mut [u8]) -> io::Result<usize> {
        self.file.read_at(at, buf)
    }
    fn sync(&mut self) -> io::Result<()> {
        self.faults.check()?;
        self.file.sync()
    }
    fn is_at(&self, path: &Path) -> io::Result<bool> {
        self.file.is_at(path)
    }
}
