//! What the store asks of the state it keeps entries for.

use coilwright_shop::archive::{Archive, Unreadable};
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

    /// Adds one entry. All its facts count. What the state does not keep is read from the archive: all entries before
    /// this one.
    ///
    /// # Errors
    ///
    /// If the archive cannot be read; the state is then as it was.
    fn apply(&mut self, entry: &Entry, archive: &dyn Archive) -> Result<(), Unreadable>;

    /// A copy that notes what it is asked for and does not keep. What keeps everything has nothing to note.
    #[must_use]
    fn watched(&self) -> Self {
        self.clone()
    }

    /// Fetches what this copy was asked for and did not keep. `true`: there was something, ask again.
    ///
    /// # Errors
    ///
    /// If the archive cannot be read.
    fn recall_wanted(&mut self, _archive: &dyn Archive) -> Result<bool, Unreadable> {
        Ok(false)
    }

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
    const VERSION: u32 = 3;

    fn apply(&mut self, entry: &Entry, archive: &dyn Archive) -> Result<(), Unreadable> {
        State::apply(self, entry, archive)
    }

    fn watched(&self) -> Self {
        State::watched(self)
    }

    fn recall_wanted(&mut self, archive: &dyn Archive) -> Result<bool, Unreadable> {
        State::recall_wanted(self, archive)
    }

    fn freeze(&self) -> Option<Vec<u8>> {
        serde_json::to_vec(self).ok()
    }

    fn thaw(bytes: &[u8]) -> Option<Self> {
        serde_json::from_slice(bytes).ok()
    }
}

/// Asks a state until everything that was asked for is there. Gives the last answer, and the state with what was fetched.
///
/// # Errors
///
/// If the archive cannot be read.
pub(crate) fn looked<S: Fold, T>(
    state: &S,
    archive: &dyn Archive,
    mut look: impl FnMut(&S) -> T,
) -> Result<(T, S), Unreadable> {
    let mut seen = state.watched();
    // What is found may lead to something else; in a shop that ends after a few steps.
    for _ in 0..MOST_LOOKS {
        let answer = look(&seen);
        if !seen.recall_wanted(archive)? {
            return Ok((answer, seen));
        }
    }
    Err(Unreadable(format!("after {MOST_LOOKS} looks into the past there was still more to look up")))
}

/// How often something is asked again because it wanted what the state does not keep.
const MOST_LOOKS: usize = 32;

/// Names whatever an entry is about (a spool, a job), for [`crate::Store::history`]. For a fold of the shop's own state it
/// must name every [`coilwright_shop::Subject`] of its facts.
///
/// Changing what it answers for old entries needs the index folder deleted once.
pub type Subjects = fn(&Entry) -> Vec<String>;
