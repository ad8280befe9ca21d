//! Who asks: a token makes a caller, and a caller may write.
//!
//! The folder's `token` file holds the admin token in the clear, for the first login, readable by its owner alone. The
//! daemon itself compares digests.

use sha2::{Digest, Sha256};
use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use subtle::ConstantTimeEq;

/// Who asks.
#[derive(Debug, Clone)]
pub struct Caller {
    /// Name that goes into the journal.
    pub who: String,
    /// Whether they may write.
    pub may_write: bool,
    /// Set once nobody waits for the answer any more.
    gone: Arc<AtomicBool>,
}

impl Caller {
    /// Somebody without a token: may read on loopback.
    pub fn unknown() -> Caller {
        Caller::known("anybody", false)
    }

    fn known(who: &str, may_write: bool) -> Caller {
        Caller { who: who.into(), may_write, gone: Arc::default() }
    }

    /// The same caller for one call of its own, and what tells that call when nobody waits for it any more: its end.
    pub fn waiting(self) -> (Caller, Waiting) {
        let gone = Arc::default();
        (Caller { gone: Arc::clone(&gone), ..self }, Waiting { gone })
    }

    /// Whether nobody waits for the answer any more: long work may end.
    pub fn is_gone(&self) -> bool {
        self.gone.load(Ordering::Relaxed)
    }
}

/// Held as long as somebody waits for an answer.
pub struct Waiting {
    gone: Arc<AtomicBool>,
}

impl Drop for Waiting {
    fn drop(&mut self) {
        self.gone.store(true, Ordering::Relaxed);
    }
}

/// The tokens that are let in, by their digests.
#[derive(Clone)]
pub struct Tokens {
    admin: [u8; 32],
    /// Where the plain copy lies.
    pub file: PathBuf,
}

/// Characters of a token.
const LENGTH: usize = 43;

impl Tokens {
    /// Reads the folder's token, or makes one at the first start.
    ///
    /// # Errors
    /// If the file can be neither read nor made, or does not hold a token.
    pub fn open(dir: &Path) -> io::Result<Tokens> {
        let file = dir.join("token");
        let text = match fs::read_to_string(&file) {
            Ok(text) => text.trim().to_owned(),
            Err(e) if e.kind() == io::ErrorKind::NotFound => make(&file)?,
            Err(e) => return Err(e),
        };
        if text.len() < LENGTH || !text.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_') {
            let why = format!("{} holds no token; move it away and start again: a new one is made", file.display());
            return Err(io::Error::new(io::ErrorKind::InvalidData, why));
        }
        Ok(Tokens { admin: digest(&text), file })
    }

    /// The caller that a token makes; `None` if it is not known.
    pub fn caller(&self, token: &str) -> Option<Caller> {
        // Compared as digests and in constant time: neither length nor first difference is told.
        bool::from(digest(token).ct_eq(&self.admin)).then(|| Caller::known("admin", true))
    }
}

fn make(file: &Path) -> io::Result<String> {
    let mut bytes = [0u8; 32];
    getrandom::fill(&mut bytes).map_err(io::Error::other)?;
    let token = in_letters(&bytes);
    // Whole or not at all, and never readable by others, not even for a moment.
    let part = file.with_extension("new");
    let mut options = OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    let mut f = options.open(&part)?;
    writeln!(f, "{token}")?;
    f.sync_all()?;
    fs::rename(&part, file)?;
    Ok(token)
}

/// 32 bytes as 43 letters, digits, `-` and `_`.
fn in_letters(bytes: &[u8; 32]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
    let mut out = String::with_capacity(LENGTH);
    let (mut held, mut bits) = (0u32, 0u32);
    for byte in bytes {
        held = (held << 8) | u32::from(*byte);
        bits += 8;
        while bits >= 6 {
            bits -= 6;
            out.push(char::from(LETTERS[(held >> bits & 63) as usize]));
        }
    }
    out.push(char::from(LETTERS[(held << (6 - bits) & 63) as usize]));
    out
}

fn digest(text: &str) -> [u8; 32] {
    Sha256::digest(text.as_bytes()).into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_is_made_once_and_lets_in() {
        let dir = tempfile::tempdir().unwrap();
        let tokens = Tokens::open(dir.path()).unwrap();
        let token = fs::read_to_string(&tokens.file).unwrap();
        assert_eq!(token.trim().len(), LENGTH);
        assert!(tokens.caller(token.trim()).is_some_and(|c| c.may_write));
        assert_eq!(Tokens::open(dir.path()).unwrap().admin, tokens.admin);
        for wrong in ["", "x", &token.trim()[1..], &format!("{}x", token.trim())] {
            assert!(tokens.caller(wrong).is_none(), "{wrong}");
        }
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            assert_eq!(fs::metadata(&tokens.file).unwrap().permissions().mode() & 0o777, 0o600);
        }
    }

    #[test]
    fn an_empty_token_file_lets_nobody_in() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("token"), "\n").unwrap();
        assert!(Tokens::open(dir.path()).is_err_and(|e| e.to_string().contains("holds no token")));
    }
}
