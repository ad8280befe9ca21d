//! The store beside general-purpose databases: entries a second that are acknowledged as lying on the disk. See README.md.

mod grouped;
mod keepers;
mod own;

use grouped::{Grouped, Keeper, Work};
use keepers::{Bare, Clients, InPostgres, InRedb, InSqlite};
use own::OwnStore;
use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

const ROUNDS: usize = 5;
const TURNS: usize = 4;
const TURN: Duration = Duration::from_millis(250);
const ASKING: [usize; 3] = [1, 16, 64];

pub type Outcome<T> = Result<T, Box<dyn Error>>;

/// What keeps entries, with a number of threads that ask.
pub trait Kept {
    /// Its name and version.
    fn name(&self) -> String;
    /// Lets `asking` threads ask until `until`; entries acknowledged.
    fn turn(&mut self, asking: usize, until: Instant) -> Outcome<u64>;
    /// How many entries lie there, looked up.
    fn count(&mut self) -> Outcome<u64>;
}

fn main() -> Outcome<()> {
    let mut args = std::env::args().skip(1);
    let folder = PathBuf::from(args.next().ok_or("name a folder that is not there yet")?);
    let postgres = args.next();
    println!("The databases keep a line that is ready:");
    compared(&folder, postgres.as_deref(), Work::LinesOnly)?;
    println!(
        "\nThe databases do what the store does (make the line, chain it, refuse a key used before, find by subject):"
    );
    compared(&folder, postgres.as_deref(), Work::Same)
}

fn compared(folder: &Path, postgres: Option<&str>, work: Work) -> Outcome<()> {
    fs::create_dir(folder)?;
    let own = OwnStore::open(&folder.join("store"))?;
    let line = own.a_line()?;
    let grouped = |keeper: Box<dyn Keeper>| Box::new(Grouped::new(keeper, work, line.clone())) as Box<dyn Kept>;
    let mut all: Vec<Box<dyn Kept>> = vec![
        Box::new(own),
        grouped(Box::new(Bare::open(&folder.join("bare"))?)),
        grouped(Box::new(InSqlite::open(&folder.join("sqlite.db"), work)?)),
        grouped(Box::new(InRedb::open(&folder.join("redb.db"), work)?)),
    ];
    if let Some(socket) = postgres {
        all.push(grouped(Box::new(InPostgres::open(socket, work)?)));
        all.push(Box::new(Clients::open(socket, *ASKING.iter().max().unwrap_or(&1), line.clone())?));
    }

    // Not counted: first pages, first files, warm threads.
    let mut acknowledged = vec![0u64; all.len()];
    for (kept, sum) in all.iter_mut().zip(&mut acknowledged) {
        *sum += kept.turn(1, Instant::now() + TURN)?;
    }
    let cells = all.len() * ASKING.len();
    let mut rates = vec![Vec::new(); cells];
    for round in 0..ROUNDS {
        let mut done = vec![(0u64, 0.0f64); cells];
        for turn in 0..TURNS {
            for step in 0..cells {
                // The order is turned round, so that none always follows the same neighbour.
                let cell = (step + round + turn * 5) % cells;
                let (which, asking) = (cell / ASKING.len(), ASKING[cell % ASKING.len()]);
                let begun = Instant::now();
                let entries = all[which].turn(asking, begun + TURN)?;
                acknowledged[which] += entries;
                done[cell].0 += entries;
                done[cell].1 += begun.elapsed().as_secs_f64();
            }
        }
        for (rates, (entries, seconds)) in rates.iter_mut().zip(done) {
            rates.push(entries as f64 / seconds);
        }
    }
    for (kept, sum) in all.iter_mut().zip(&acknowledged) {
        let there = kept.count()?;
        if there != *sum {
            return Err(format!("{}: {sum} acknowledged, {there} there", kept.name()).into());
        }
    }

    println!(
        "entries a second, median of {ROUNDS} rounds (smallest–largest); lines of {} bytes; all {} acknowledged are there",
        line.len(),
        acknowledged.iter().sum::<u64>()
    );
    println!("{:<44} {:>7} {:>26} {:>12}", "", "asking", "entries a second", "of the store");
    rates.iter_mut().for_each(|rates| rates.sort_by(f64::total_cmp));
    for cell in 0..cells {
        let (own, here) = (rates[cell % ASKING.len()][ROUNDS / 2], &rates[cell]);
        println!(
            "{:<44} {:>7} {:>8.0} ({:>6.0}–{:>6.0}) {:>11.2}",
            all[cell / ASKING.len()].name(),
            ASKING[cell % ASKING.len()],
            here[ROUNDS / 2],
            here[0],
            here[ROUNDS - 1],
            here[ROUNDS / 2] / own
        );
    }
    drop(all);
    fs::remove_dir_all(folder)?;
    Ok(())
}
