//! What keeps entries: a bare file, the store, and three databases.

use crate::Kept;
use coilwright_shop::entry::{Decided, Entry};
use coilwright_shop::fact::{AlertSeen, Fact};
use coilwright_store::{Archive, Fold, Options, Request, Store, Unreadable};
use postgres::{Client, NoTls};
use redb::{Database, ReadableDatabase, ReadableTableMetadata, TableDefinition};
use rusqlite::Connection;
use std::error::Error;
use std::fs::{File, OpenOptions};
use std::io::{Seek, Write};
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{Sender, channel};
use std::time::Instant;

type Outcome<T> = Result<T, Box<dyn Error>>;

/// Commits a group of lines as one.
pub trait Keeper: Send {
    fn name(&self) -> String;
    /// Keeps so many of `line`, numbered on; they lie on the disk when it returns.
    fn commit(&mut self, line: &[u8], many: usize) -> Outcome<()>;
    fn count(&mut self) -> Outcome<u64>;
}

/// Threads that ask, and one that commits whatever waits.
pub struct Grouped {
    keeper: Box<dyn Keeper>,
    line: Vec<u8>,
}

impl Grouped {
    pub fn new(keeper: Box<dyn Keeper>, line: Vec<u8>) -> Grouped {
        Grouped { keeper, line }
    }
}

impl Kept for Grouped {
    fn name(&self) -> String {
        self.keeper.name()
    }

    fn turn(&mut self, asking: usize, until: Instant) -> Outcome<u64> {
        let (ask, asked) = channel::<(Vec<u8>, Sender<()>)>();
        let (keeper, line, done) = (&mut self.keeper, &self.line, AtomicU64::new(0));
        std::thread::scope(|scope| {
            for _ in 0..asking {
                let (ask, done) = (ask.clone(), &done);
                scope.spawn(move || {
                    let (say, said) = channel();
                    while Instant::now() < until {
                        if ask.send((line.clone(), say.clone())).is_err() || said.recv().is_err() {
                            break;
                        }
                        done.fetch_add(1, Ordering::Relaxed);
                    }
                });
            }
            drop(ask);
            while let Ok(first) = asked.recv() {
                let mut group = vec![first];
                group.extend(asked.try_iter());
                keeper.commit(&group[0].0, group.len()).map_err(|e| e.to_string())?;
                for (_, say) in &group {
                    let _ = say.send(());
                }
            }
            Ok::<(), String>(())
        })?;
        Ok(done.into_inner())
    }

    fn count(&mut self) -> Outcome<u64> {
        self.keeper.count()
    }
}

const FILE: usize = 64 << 20;

/// Write and fdatasync into a file of newlines that is there already.
pub struct Bare {
    file: File,
    at: usize,
    lines: u64,
}

impl Bare {
    pub fn open(path: &Path) -> Outcome<Bare> {
        let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
        file.write_all(&vec![b'\n'; FILE])?;
        file.sync_all()?;
        file.rewind()?;
        Ok(Bare { file, at: 0, lines: 0 })
    }
}

impl Keeper for Bare {
    fn name(&self) -> String {
        "bare write + fdatasync".into()
    }
    fn commit(&mut self, line: &[u8], many: usize) -> Outcome<()> {
        let bytes = line.repeat(many);
        if self.at + bytes.len() > FILE {
            self.file.rewind()?;
            self.at = 0;
        }
        self.file.write_all(&bytes)?;
        self.file.sync_data()?;
        self.at += bytes.len();
        self.lines += many as u64;
        Ok(())
    }
    fn count(&mut self) -> Outcome<u64> {
        Ok(self.lines)
    }
}

/// SQLite with a write-ahead log that is synced at every commit.
pub struct InSqlite {
    db: Connection,
}

impl InSqlite {
    pub fn open(path: &Path) -> Outcome<InSqlite> {
        let db = Connection::open(path)?;
        let mode: String = db.query_row("PRAGMA journal_mode=WAL", [], |row| row.get(0))?;
        db.execute_batch(
            "PRAGMA synchronous=FULL; CREATE TABLE entries (seq INTEGER PRIMARY KEY, line BLOB NOT NULL)",
        )?;
        let full: i64 = db.query_row("PRAGMA synchronous", [], |row| row.get(0))?;
        if mode != "wal" || full != 2 {
            return Err(format!("SQLite took journal_mode {mode}, synchronous {full}").into());
        }
        Ok(InSqlite { db })
    }
}

impl Keeper for InSqlite {
    fn name(&self) -> String {
        format!("SQLite {}, WAL, FULL", rusqlite::version())
    }
    fn commit(&mut self, line: &[u8], many: usize) -> Outcome<()> {
        let group = self.db.transaction()?;
        {
            let mut insert = group.prepare_cached("INSERT INTO entries (line) VALUES (?1)")?;
            for _ in 0..many {
                insert.execute([line])?;
            }
        }
        Ok(group.commit()?)
    }
    fn count(&mut self) -> Outcome<u64> {
        let n: i64 = self.db.query_row("SELECT count(*) FROM entries", [], |row| row.get(0))?;
        Ok(u64::try_from(n)?)
    }
}

const ENTRIES: TableDefinition<u64, &[u8]> = TableDefinition::new("entries");

/// redb, whose commits are durable when they return unless told otherwise.
pub struct InRedb {
    db: Database,
    seq: u64,
}

impl InRedb {
    pub fn open(path: &Path) -> Outcome<InRedb> {
        Ok(InRedb { db: Database::create(path)?, seq: 0 })
    }
}

impl Keeper for InRedb {
    fn name(&self) -> String {
        "redb 3, immediate".into()
    }
    fn commit(&mut self, line: &[u8], many: usize) -> Outcome<()> {
        let group = self.db.begin_write()?;
        {
            let mut table = group.open_table(ENTRIES)?;
            for _ in 0..many {
                self.seq += 1;
                table.insert(self.seq, line)?;
            }
        }
        Ok(group.commit()?)
    }
    fn count(&mut self) -> Outcome<u64> {
        Ok(self.db.begin_read()?.open_table(ENTRIES)?.len()?)
    }
}

fn connected(socket: &str) -> Outcome<Client> {
    Ok(Client::connect(&format!("host={socket} user=bench dbname=postgres"), NoTls)?)
}

const INSERT: &str = "INSERT INTO entries (line) VALUES ($1)";

/// PostgreSQL behind one writer that commits groups.
pub struct InPostgres {
    client: Client,
    insert: postgres::Statement,
    version: String,
}

impl InPostgres {
    pub fn open(socket: &str) -> Outcome<InPostgres> {
        let mut client = connected(socket)?;
        for setting in ["fsync", "synchronous_commit"] {
            let is: String = client.query_one(&format!("SHOW {setting}"), &[])?.get(0);
            if is != "on" {
                return Err(format!("PostgreSQL has {setting} {is}").into());
            }
        }
        let version: String = client.query_one("SHOW server_version", &[])?.get(0);
        let version = version.split(' ').next().unwrap_or_default().to_owned();
        client.batch_execute("CREATE TABLE entries (seq BIGSERIAL PRIMARY KEY, line BYTEA NOT NULL); CREATE TABLE own (LIKE entries INCLUDING ALL)")?;
        let insert = client.prepare("INSERT INTO own (line) SELECT $1 FROM generate_series(1, $2::int)")?;
        Ok(InPostgres { client, insert, version })
    }
}

impl Keeper for InPostgres {
    fn name(&self) -> String {
        format!("PostgreSQL {}, one writer", self.version)
    }
    fn commit(&mut self, line: &[u8], many: usize) -> Outcome<()> {
        // One statement is one transaction: the fewest ways to the server.
        self.client.execute(&self.insert, &[&line, &i32::try_from(many)?])?;
        Ok(())
    }
    fn count(&mut self) -> Outcome<u64> {
        let n: i64 = self.client.query_one("SELECT count(*) FROM own", &[])?.get(0);
        Ok(u64::try_from(n)?)
    }
}

/// PostgreSQL with a connection for each that asks; it groups commits by itself.
pub struct Clients {
    clients: Vec<(Client, postgres::Statement)>,
    line: Vec<u8>,
}

impl Clients {
    pub fn open(socket: &str, most: usize, line: Vec<u8>) -> Outcome<Clients> {
        let one = |_| {
            let mut client = connected(socket)?;
            let insert = client.prepare(INSERT)?;
            Ok::<_, Box<dyn Error>>((client, insert))
        };
        Ok(Clients { clients: (0..most).map(one).collect::<Result<_, _>>()?, line })
    }
}

impl Kept for Clients {
    fn name(&self) -> String {
        "PostgreSQL, a connection each".into()
    }
    fn turn(&mut self, asking: usize, until: Instant) -> Outcome<u64> {
        let (line, done) = (&self.line, AtomicU64::new(0));
        std::thread::scope(|scope| {
            let at_work: Vec<_> = self
                .clients
                .iter_mut()
                .take(asking)
                .map(|(client, insert)| {
                    let done = &done;
                    scope.spawn(move || {
                        while Instant::now() < until {
                            client.execute(&*insert, &[line]).map_err(|e| e.to_string())?;
                            done.fetch_add(1, Ordering::Relaxed);
                        }
                        Ok::<(), String>(())
                    })
                })
                .collect();
            at_work.into_iter().try_for_each(|t| t.join().map_err(|_| "a thread failed".to_owned())?)
        })?;
        Ok(done.into_inner())
    }
    fn count(&mut self) -> Outcome<u64> {
        let Some((client, _)) = self.clients.first_mut() else { return Ok(0) };
        let n: i64 = client.query_one("SELECT count(*) FROM entries", &[])?.get(0);
        Ok(u64::try_from(n)?)
    }
}

/// Counts entries: what is measured is the way to the disk.
#[derive(Clone, Default)]
pub struct Count(u64);

impl Fold for Count {
    fn apply(&mut self, _: &Entry, _: &dyn Archive) -> Result<(), Unreadable> {
        self.0 += 1;
        Ok(())
    }
}

/// The store as the daemon opens it: decision, hash, chain and index included.
pub struct OwnStore {
    store: Store<Count, String>,
}

impl OwnStore {
    pub fn open(folder: &Path) -> Outcome<OwnStore> {
        let options = Options::new(|entry| entry.facts.iter().map(|_| "spool".to_owned()).collect())?;
        let (store, _) = Store::<Count, String>::open(folder, options)?;
        Ok(OwnStore { store })
    }

    /// A line of the journal, with its end.
    pub fn a_line(&mut self) -> Outcome<Vec<u8>> {
        self.store.ask(request("first".into())).map_err(|e| e.to_string())?;
        let lines = self.store.read(0, 1)?;
        let mut line = lines.first().ok_or("no line")?.bytes.to_vec();
        line.push(b'\n');
        Ok(line)
    }
}

impl Kept for OwnStore {
    fn name(&self) -> String {
        "the store".into()
    }
    fn turn(&mut self, asking: usize, until: Instant) -> Outcome<u64> {
        let (store, before, done) = (&self.store, self.store.state().head.seq, AtomicU64::new(0));
        std::thread::scope(|scope| {
            for one in 0..asking {
                let done = &done;
                scope.spawn(move || {
                    let mut number = 0u64;
                    while Instant::now() < until {
                        number += 1;
                        if store.ask(request(format!("{before}-{one}-{number}"))).is_ok() {
                            done.fetch_add(1, Ordering::Relaxed);
                        }
                    }
                });
            }
        });
        Ok(done.into_inner())
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

fn request(key: String) -> Request<Count, String> {
    Request {
        method: "spool.weigh".to_owned(),
        who: "bench".to_owned(),
        asked: "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08".to_owned(),
        key: Some(key),
        decide: Box::new(|count: &Count, moment| {
            let alert = format!("spool s-{} weighed", count.0 % 30);
            let answer = serde_json::json!({"seq": moment.seq, "left_m": {"value": 101.25, "u": 0.5}});
            Ok(Decided { facts: vec![Fact::AlertSeen(AlertSeen { alert })], answer })
        }),
        reply: Box::new(|_| {}),
    }
}
