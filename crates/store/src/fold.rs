//! What the store asks of the state it keeps entries for.

use coilwright_shop::entry::Entry;
use coilwright_shop::state::State;

/// The state that entries add up to.
///
/// `Clone` is called for every entry that is written, so it must be cheap (persistent maps). The same entries in the
/// same order must give the same state: the fold of the journal after a restart is compared with nothing, only believed.
pub trait Fold: Clone + Default + Send + Sync + 'static {
    /// Raise it whenever the same entries would fold to something else or be frozen in other words: a frozen state of
    /// another version is not thawed but folded anew from the journal.
    const VERSION: u32 = 0;

    /// Adds one entry. All its facts count.
    fn apply(&mut self, entry: &Entry);

    /// The state as bytes, so that the next start need not fold the whole journal. `None`: always fold the whole.
    fn freeze(&self) -> Option<Vec<u8>> {
        None
    }

    /// The state back from [`Fold::freeze`]d bytes; `None` if they cannot be used.
    fn thaw(_bytes: &[u8]) -> Option<Self> {
        None
    }
}

/// The shop's own state. Raise the version with every change of what an entry does to it.
impl Fold for State {
    const VERSION: u32 = 1;

    fn apply(&mut self, entry: &Entry) {
        State::apply(self, entry);
    }

    fn freeze(&self) -> Option<Vec<u8>> {
        serde_json::to_vec(self).ok()
    }

    fn thaw(bytes: &[u8]) -> Option<Self> {
        serde_json::from_slice(bytes).ok()
    }
}

/// Names whatever an entry is about (a spool, a job), for [`crate::Store::history`].
///
/// Changing what it answers for old entries needs the index folder deleted once.
pub type Subjects = fn(&Entry) -> Vec<String>;
