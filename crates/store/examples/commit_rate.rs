//! How many entries a second are acknowledged, beside what the disk gives to bare write + fdatasync.
//!
//! `cargo run --release -p coilwright-store --example commit_rate -- [FOLDER]`
//!
//! In turns of a quarter of a second, over and over: the bare loop (a line of the same length written into a preallocated
//! file and synced, by one thread), then the store with 1, 16 and 64 asking threads. So all four meet the same moods of the
//! disk. Eight turns of each make a round; of five rounds the table gives the median, the smallest and the largest.

#[path = "counted/mod.rs"]
mod counted;

use coilwright_store::{Options, Store};
use counted::{Count, ask_until};
use std::error::Error;
use std::fs::{self, File, OpenOptions};
use std::io::{Seek, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

const ROUNDS: usize = 5;
const TURNS: usize = 8;
const TURN: Duration = Duration::from_millis(250);
const WRITERS: [usize; 3] = [1, 16, 64];
const FILE: usize = 8 << 20;

/// What was done in how long.
#[derive(Clone, Copy, Default)]
struct Tally {
    entries: u64,
    syncs: u64,
    seconds: f64,
}

fn main() -> Result<(), Box<dyn Error>> {
    let folder = PathBuf::from(std::env::args().nth(1).unwrap_or_else(|| "commit-rate".to_owned()));
    fs::create_dir(&folder).map_err(|e| format!("{}: {e}; name a folder that is not there yet", folder.display()))?;
    let mut file = preallocated(&folder.join("bare"))?;
    let options = Options::new(|entry| entry.facts.iter().map(|_| "spool".to_owned()).collect())?;
    let (store, _) = Store::<Count, String>::open(&folder.join("store"), options)?;
    // Not counted: the first requests, and how long a line is.
    through_store(&store, 1)?;
    let length = store.read(store.state().head.seq - 1, 1)?.first().map_or(0, |line| line.bytes.len() + 1);

    let mut rounds = [[Tally::default(); WRITERS.len() + 1]; ROUNDS];
    for round in &mut rounds {
        for _ in 0..TURNS {
            for (tally, writers) in round.iter_mut().zip([None].into_iter().chain(WRITERS.map(Some))) {
                let turn = match writers {
                    None => bare_loop(&mut file, length)?,
                    Some(writers) => through_store(&store, writers)?,
                };
                tally.entries += turn.entries;
                tally.syncs += turn.syncs;
                tally.seconds += turn.seconds;
            }
        }
    }
    let verified = store.verify();
    if !verified.ok {
        return Err(format!("the journal does not verify: {:?}", verified.findings).into());
    }
    store.stop()?;
    drop(store);
    fs::remove_dir_all(&folder)?;

    println!(
        "entries a second; {ROUNDS} rounds of {TURNS} turns of {} s each; lines of {length} bytes",
        TURN.as_secs_f64()
    );
    println!("{:<34} {:>9} {:>9} {:>9} {:>14}", "", "median", "smallest", "largest", "entries a sync");
    let names = ["bare write + fdatasync, 1 thread".to_owned()].into_iter();
    for (place, name) in names.chain(WRITERS.map(|writers| format!("store, {writers} asking"))).enumerate() {
        let tallies: Vec<Tally> = rounds.iter().filter_map(|round| round.get(place).copied()).collect();
        let rates = sorted(tallies.iter().map(|t| t.entries as f64 / t.seconds));
        let groups = sorted(tallies.iter().map(|t| t.entries as f64 / t.syncs as f64));
        let [low, .., high] = rates[..] else { continue };
        println!("{name:<34} {:>9.0} {low:>9.0} {high:>9.0} {:>14.1}", rates[ROUNDS / 2], groups[ROUNDS / 2]);
    }
    Ok(())
}

fn sorted(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values
}

/// One turn: so many threads ask, each again as soon as it is answered.
fn through_store(store: &Store<Count, String>, writers: usize) -> Result<Tally, Box<dyn Error>> {
    let before = store.state().head.seq;
    let begun = Instant::now();
    let acknowledged = ask_until(store, writers, begun + TURN);
    let seconds = begun.elapsed().as_secs_f64();
    let (mut after, mut tally) = (before, Tally { seconds, ..Tally::default() });
    loop {
        let read = store.read(after, 4096)?;
        let Some(last) = read.last() else { break };
        after = last.head.seq;
        for line in &read {
            let entry = line.entry()?;
            tally.entries += 1;
            tally.syncs += u64::from(entry.group == entry.seq);
        }
    }
    if tally.entries != acknowledged {
        return Err(format!("{acknowledged} acknowledged, {} in the journal", tally.entries).into());
    }
    Ok(tally)
}

/// A file of newlines, on the disk.
fn preallocated(path: &Path) -> Result<File, Box<dyn Error>> {
    let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(&vec![b'\n'; FILE])?;
    file.sync_all()?;
    Ok(file)
}

/// One turn: lines of this length into the file, each synced; at its end from the start again.
fn bare_loop(file: &mut File, length: usize) -> Result<Tally, Box<dyn Error>> {
    let line = vec![b'x'; length];
    let (begun, mut count, mut at) = (Instant::now(), 0u64, FILE);
    while begun.elapsed() < TURN {
        if at + length > FILE {
            file.rewind()?;
            at = 0;
        }
        file.write_all(&line)?;
        file.sync_data()?;
        at += length;
        count += 1;
    }
    Ok(Tally { entries: count, syncs: count, seconds: begun.elapsed().as_secs_f64() })
}
