//! The writer: keys, refusals, groups, failing syncs, full disks, journals that move.

use crate::support::*;
use coilwright_shop::entry::{ClockQuality, Entry, Seq};
use coilwright_store::{
    Append, Clock, Disk, FileJournal, Folder, Head, Journal, Journalling, Line, NotDone, Outcome, ReadError, Reading,
};
use jiff::Timestamp;
use std::sync::atomic::Ordering;
use std::sync::mpsc::{self, Receiver};
use std::sync::{Arc, Barrier, Mutex};

/// Fills the queue while the writer is held up, so that the requests form one group.
fn as_one_group(store: &Shop, requests: Vec<coilwright_store::Request<Shelf, String>>) -> Vec<Outcome<String>> {
    let gate = Arc::new(Barrier::new(2));
    let (reached, here) = (Arc::clone(&gate), Arc::clone(&gate));
    let mut first = request(None, &["hold up"]);
    // A refusal holds the writer up and writes nothing.
    first.decide = Box::new(move |_, _| {
        reached.wait();
        reached.wait();
        Err("only to wait".to_owned())
    });
    store.submit(first);
    here.wait();
    let outcomes: Vec<Receiver<Outcome<String>>> = requests
        .into_iter()
        .map(|mut request| {
            let (told, outcome) = mpsc::channel();
            request.reply = Box::new(move |o| drop(told.send(o)));
            store.submit(request);
            outcome
        })
        .collect();
    here.wait();
    outcomes.into_iter().map(|outcome| outcome.recv().unwrap()).collect()
}

/// A store on a disk that can be made to fail, without an index on the disk.
fn on_fault_disk(dir: &std::path::Path) -> (Shop, Arc<Faults>) {
    let (disk, faults) = FaultDisk::new(0, Fault::Io);
    let sizes = Journalling { segment_bytes: 1 << 20, step_bytes: 4096, ballast_bytes: 0 };
    let disk: Arc<dyn Disk> = disk;
    let (journal, _) = FileJournal::open_with(Folder::lock(dir).unwrap(), disk, sizes, &[]).unwrap();
    (Shop::over(journal, options()).unwrap().0, faults)
}

#[test]
fn the_same_key_and_request_get_the_first_answer_also_after_a_restart() {
    let dir = folder();
    let (store, _) = open(dir.path());
    let first = say(&store, Some("k1"), "take 10").unwrap();
    assert!(!first.replayed);
    say(&store, Some("k2"), "take 20").unwrap();
    for _ in 0..2 {
        let again = say(&store, Some("k1"), "take 10").unwrap();
        assert_eq!((again.seq, &again.answer, again.replayed), (1, &first.answer, true));
        assert_eq!(say(&store, Some("k1"), "take 11"), Err(NotDone::KeyReused { first_seq: 1 }));
        let mut other_method = request(Some("k1"), &["take 10"]);
        other_method.method = "test.other".to_owned();
        assert_eq!(store.ask(other_method), Err(NotDone::KeyReused { first_seq: 1 }));
    }
    drop(store);
    for lost in [false, true] {
        if lost {
            std::fs::remove_dir_all(dir.path().join("index")).unwrap();
        }
        let (store, _) = open(dir.path());
        let again = say(&store, Some("k1"), "take 10").unwrap();
        assert_eq!((again.seq, &again.answer, again.replayed), (1, &first.answer, true));
        assert_eq!(say(&store, Some("k2"), "take 21"), Err(NotDone::KeyReused { first_seq: 2 }));
        assert_eq!((entries(&store).len(), store.state().state.left), (2, 970));
    }
}

#[test]
fn a_refusal_writes_nothing_and_leaves_its_key_free() {
    let dir = folder();
    let (store, _) = open(dir.path());
    let refused = say(&store, Some("k"), "take 1001");
    assert_eq!(refused, Err(NotDone::Refused("1001 m wanted, 1000 m there".to_owned())));
    assert_eq!(store.state().head.seq, 0);
    assert_eq!(say(&store, Some("k"), "take 1000").unwrap().seq, 1);
}

#[test]
fn a_decision_for_nothing_answers_and_writes_nothing() {
    let dir = folder();
    let (store, _) = open(dir.path());
    say(&store, None, "one").unwrap();
    assert_eq!(store.ask(request(Some("k"), &[])).unwrap().seq, 1);
    assert_eq!(entries(&store).len(), 1);
}

#[test]
fn all_facts_of_an_entry_stand_in_one_line() {
    let dir = folder();
    let (store, _) = open(dir.path());
    store.ask(request(None, &["take 1", "take 2", "note"])).unwrap();
    let all = entries(&store);
    assert_eq!((all.len(), all[0].facts.len(), store.state().state.left), (1, 3, 997));
}

#[test]
fn one_key_twice_in_one_group_makes_one_entry() {
    let dir = folder();
    let (store, _) = open(dir.path());
    say(&store, None, "before").unwrap();
    let requests = vec![
        request(Some("k"), &["take 5"]),
        request(None, &["take 7"]),
        request(Some("k"), &["take 5"]),
        request(Some("k"), &["take 6"]),
        request(None, &["take 2000"]),
    ];
    let outcomes = as_one_group(&store, requests);
    let all = entries(&store);
    assert_eq!(all.iter().map(|e| e.group).collect::<Vec<_>>(), [1, 2, 2], "they were to be one group");
    let seqs: Vec<_> = outcomes[..3].iter().map(|o| o.as_ref().map(|d| (d.seq, d.replayed)).unwrap()).collect();
    assert_eq!(seqs, [(2, false), (3, false), (2, true)]);
    assert_eq!(outcomes[0].as_ref().unwrap().answer, outcomes[2].as_ref().unwrap().answer);
    assert_eq!(outcomes[3], Err(NotDone::KeyReused { first_seq: 2 }));
    assert_eq!(outcomes[4], Err(NotDone::Refused("2000 m wanted, 988 m there".to_owned())));
    check_fold(&store);
}

#[test]
fn a_decision_sees_what_the_group_decided_before_it() {
    let dir = folder();
    let (store, _) = open(dir.path());
    let outcomes = as_one_group(&store, (0..30).map(|_| request(None, &["take 300"])).collect());
    assert_eq!(outcomes.iter().filter(|o| o.is_ok()).count(), 3);
    assert_eq!(store.state().state.left, 100);
}

#[test]
fn sixteen_threads_racing_for_the_same_wire_never_win_more_than_there_is() {
    let dir = folder();
    let (store, _) = open(dir.path());
    let won: u64 = std::thread::scope(|scope| {
        let racers: Vec<_> = (0..16)
            .map(|racer: u64| {
                let store = &store;
                scope.spawn(move || {
                    let metres = 3 + racer % 4;
                    let tries = (0..40).filter(|_| say(store, None, &format!("take {metres}")).is_ok());
                    metres * tries.count() as u64
                })
            })
            .collect();
        racers.into_iter().map(|racer| racer.join().unwrap()).sum()
    });
    let left = store.state().state.left;
    assert!(won + left == 1000 && left < 6, "{won} won, {left} left");
    check_fold(&store);
    assert!(store.verify().ok);
}

#[test]
fn a_failed_sync_poisons_the_writer_and_reading_goes_on() {
    let dir = folder();
    let (store, faults) = on_fault_disk(dir.path());
    say(&store, Some("k1"), "take 10").unwrap();
    // The next call is the write of the group, the one after it its sync.
    faults.at.store(faults.calls.load(Ordering::SeqCst) + 2, Ordering::SeqCst);
    assert!(matches!(say(&store, Some("k2"), "take 20"), Err(NotDone::Unknown(_))));
    let calls = faults.calls.load(Ordering::SeqCst);
    for _ in 0..3 {
        assert!(matches!(say(&store, Some("k3"), "take 30"), Err(NotDone::Degraded(_))));
    }
    assert_eq!(faults.calls.load(Ordering::SeqCst), calls, "a poisoned writer touched the disk");
    assert!(store.health().degraded.is_some());
    // Reading, and first answers, go on; the failed entry is nowhere to be seen.
    assert_eq!((store.state().state.left, entries(&store).len()), (990, 1));
    assert!(say(&store, Some("k1"), "take 10").unwrap().replayed);
    assert!(store.stop().is_err(), "a poisoned journal leaves no note");
    drop(store);
    // On reopening, the entry in doubt is there or not; asking again with its key leaves it there once.
    let (store, _) = open(dir.path());
    say(&store, Some("k2"), "take 20").unwrap();
    assert_eq!((store.state().state.left, entries(&store).len()), (970, 2));
    assert!(store.verify().ok);
}

#[test]
fn refusals_that_rest_on_a_lost_group_are_not_given() {
    let dir = folder();
    let (store, faults) = on_fault_disk(dir.path());
    say(&store, None, "first").unwrap();
    faults.at.store(faults.calls.load(Ordering::SeqCst) + 1, Ordering::SeqCst);
    let outcomes = as_one_group(&store, vec![request(None, &["take 900"]), request(None, &["take 200"])]);
    assert!(matches!(outcomes[0], Err(NotDone::Unknown(_))), "{outcomes:?}");
    assert!(matches!(outcomes[1], Err(NotDone::Degraded(_))), "{outcomes:?}");
}

#[test]
fn a_full_disk_refuses_and_writing_resumes_by_itself() {
    let dir = folder();
    let (store, faults) = on_fault_disk(dir.path());
    let long = "long ".repeat(100);
    faults.room.store(0, Ordering::SeqCst);
    let mut kept = 0;
    while say(&store, None, &long).is_ok() {
        kept += 1;
    }
    assert!(kept > 0 && store.health().full && store.health().degraded.is_none());
    assert_eq!(say(&store, Some("k"), &long), Err(NotDone::Full));
    assert_eq!(entries(&store).len(), kept);
    faults.room.store(i64::MAX, Ordering::SeqCst);
    assert_eq!(say(&store, Some("k"), &long).unwrap().seq, kept as u64 + 1);
    assert!(!store.health().full);
    check_fold(&store);
    assert!(store.verify().ok);
}

#[test]
fn a_group_half_written_when_the_disk_filled_is_taken_back() {
    let dir = folder();
    let (store, faults) = on_fault_disk(dir.path());
    say(&store, None, "first").unwrap();
    *faults.fault.lock().unwrap() = Fault::Full;
    faults.at.store(faults.calls.load(Ordering::SeqCst) + 1, Ordering::SeqCst);
    assert_eq!(say(&store, None, "second"), Err(NotDone::Full));
    let (_, bytes) = last_segment(dir.path());
    assert_eq!(bytes.iter().rposition(|c| *c == b'}'), bytes.iter().position(|c| *c == b'\n').map(|at| at - 1));
    assert_eq!(say(&store, None, "second again").unwrap().seq, 2);
    drop(store);
    assert_eq!(open(dir.path()).1.journal.findings, []);
}

#[test]
fn an_entry_too_long_is_refused_with_both_figures() {
    let dir = folder();
    let (store, _) = open(dir.path());
    let long = "x".repeat(2 << 20);
    assert!(matches!(say(&store, None, &long), Err(NotDone::TooLarge { bytes, allowed }) if bytes > allowed));
    // Nearly as long as allowed goes (these requests carry their text twice), and is read again.
    say(&store, None, &"x".repeat(520_000)).unwrap();
    say(&store, None, "after").unwrap();
    assert_eq!(entries(&store).len(), 2);
}

#[test]
fn a_panicking_decision_or_reply_harms_nobody_else() {
    let dir = folder();
    let (store, _) = open(dir.path());
    let mut bad = request(None, &["x"]);
    bad.decide = Box::new(|_, _| panic!("on purpose"));
    assert_eq!(store.ask(bad), Err(NotDone::Failed("on purpose".to_owned())));
    let mut deaf = request(None, &["y"]);
    deaf.reply = Box::new(|_| panic!("on purpose too"));
    store.submit(deaf);
    assert_eq!(say(&store, None, "z").unwrap().seq, 2);
}

#[test]
fn after_a_stop_requests_are_told_so_and_reading_goes_on() {
    let dir = folder();
    let (store, _) = open(dir.path());
    say(&store, None, "one").unwrap();
    store.stop().unwrap();
    store.stop().unwrap();
    assert!(matches!(say(&store, None, "two"), Err(NotDone::Degraded(_))));
    assert_eq!(entries(&store).len(), 1);
}

/// A clock that says what it is told.
struct Said(Arc<Mutex<Vec<i64>>>);

impl Clock for Said {
    fn now(&self) -> Timestamp {
        Timestamp::from_second(self.0.lock().unwrap().remove(0)).unwrap()
    }
    fn mono_ms(&self) -> u64 {
        1
    }
    fn boot(&self) -> &str {
        "test"
    }
}

#[test]
fn a_clock_that_went_back_is_marked_until_it_has_caught_up() {
    let dir = folder();
    let mut qualities = Vec::new();
    for times in [vec![1000, 2000, 5, 6], vec![7, 2000, 3000]] {
        let mut with = options();
        let count = times.len();
        with.clock = Box::new(Said(Arc::new(Mutex::new(times))));
        let (store, _) = Shop::open(dir.path(), with).unwrap();
        for _ in 0..count {
            say(&store, None, "tick").unwrap();
        }
        qualities = entries(&store).iter().map(|e| e.stamp.quality).collect();
    }
    use ClockQuality::{Plausible, WentBack};
    assert_eq!(qualities, [Plausible, Plausible, WentBack, WentBack, WentBack, Plausible, Plausible]);
}

/// A journal that somebody else writes to as well, or that does not say what it did.
struct Shared {
    inner: FileJournal,
    /// Before the next append somebody else appends this text.
    intruder: Option<String>,
    /// The next append works but says that it does not know.
    unsure: bool,
}

impl Journal for Shared {
    fn head(&self) -> Head {
        self.inner.head()
    }
    fn append(&mut self, after: Head, group: &[Entry]) -> Result<Head, Append> {
        if let Some(text) = self.intruder.take() {
            let mut entry = group[0].clone();
            entry.facts = vec![said(&text)];
            entry.key = None;
            self.inner.append(after, &[entry])?;
        }
        let appended = self.inner.append(after, group)?;
        if std::mem::take(&mut self.unsure) {
            Err(Append::Unknown("the line went dead".to_owned()))
        } else {
            Ok(appended)
        }
    }
    fn read(&self, after: Seq, limit: usize) -> Result<Vec<Line>, ReadError> {
        self.inner.read(after, limit)
    }
    fn reader(&self) -> Arc<dyn Reading> {
        self.inner.reader()
    }
}

#[test]
fn a_journal_that_moved_on_is_read_up_and_decided_again() {
    let dir = folder();
    let (inner, _) = FileJournal::open(dir.path()).unwrap();
    let shared = Shared { inner, intruder: Some("take 995".to_owned()), unsure: false };
    let (store, _) = Shop::over(shared, options()).unwrap();
    let outcome = say(&store, None, "take 10");
    assert_eq!(outcome, Err(NotDone::Refused("10 m wanted, 5 m there".to_owned())));
    assert_eq!(say(&store, None, "take 5").unwrap().seq, 2);
    check_fold(&store);
}

#[test]
fn an_append_of_unknown_outcome_is_looked_up() {
    let dir = folder();
    let (inner, _) = FileJournal::open(dir.path()).unwrap();
    let (store, _) = Shop::over(Shared { inner, intruder: None, unsure: true }, options()).unwrap();
    assert_eq!(say(&store, None, "take 10").unwrap().seq, 1);
    assert_eq!(say(&store, None, "take 10").unwrap().seq, 2);
    check_fold(&store);
}
