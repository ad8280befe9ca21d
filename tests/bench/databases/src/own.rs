//! The store as the daemon opens it: decision, hash, chain and index included.

#[path = "../../../../crates/store/examples/counted/mod.rs"]
mod counted;

use crate::{Kept, Outcome};
use coilwright_store::{Options, Store};
pub use counted::ASKED;
use counted::{Count, ask_until, request};
use std::path::Path;
use std::time::Instant;

pub struct OwnStore {
    store: Store<Count, String>,
}

impl OwnStore {
    pub fn open(folder: &Path) -> Outcome<OwnStore> {
        let options = Options::new(|entry| vec![format!("s-{}", entry.seq % 30)])?;
        let (store, _) = Store::<Count, String>::open(folder, options)?;
        Ok(OwnStore { store })
    }

    /// A line of the journal, with its end.
    pub fn a_line(&self) -> Outcome<Vec<u8>> {
        self.store.ask(request("first".into())).map_err(|e| e.to_string())?;
        let lines = self.store.read(0, 1)?;
        let mut line = lines.first().ok_or("no line")?.bytes.clone();
        line.push(b'\n');
        Ok(line)
    }
}

impl Kept for OwnStore {
    fn name(&self) -> String {
        "the store".into()
    }
    fn turn(&mut self, asking: usize, until: Instant) -> Outcome<u64> {
        Ok(ask_until(&self.store, asking, until))
    }
    fn count(&mut self) -> Outcome<u64> {
        let verified = self.store.verify();
        if !verified.ok {
            return Err(format!("the journal does not verify: {:?}", verified.findings).into());
        }
        // The first line was made to see its length.
        Ok(self.store.state().head.seq - 1)
    }
}
