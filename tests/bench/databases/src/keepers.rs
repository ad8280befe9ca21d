//! What keeps rows: a bare file and three databases.

use crate::grouped::{Keeper, Row, Work};
use crate::{Kept, Outcome};
use postgres::{Client, NoTls, Statement};
use redb::{Database, ReadableDatabase, ReadableTableMetadata, TableDefinition};
use rusqlite::Connection;
use std::fs::{File, OpenOptions};
use std::io::{Seek, Write};
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

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
    fn commit(&mut self, group: &[Row]) -> Outcome<()> {
        let bytes: Vec<u8> = group.iter().flat_map(|row| row.line.iter().copied()).collect();
        if self.at + bytes.len() > FILE {
            self.file.rewind()?;
            self.at = 0;
        }
        self.file.write_all(&bytes)?;
        self.file.sync_data()?;
        self.at += bytes.len();
        self.lines += group.len() as u64;
        Ok(())
    }
    fn count(&mut self) -> Outcome<u64> {
        Ok(self.lines)
    }
}

/// The look-ups that the store has, in SQL.
const LOOK_UPS: &str = "CREATE UNIQUE INDEX keys ON entries (key); CREATE INDEX subjects ON entries (subject, seq)";

/// SQLite with a write-ahead log that is synced at every commit.
pub struct InSqlite {
    db: Connection,
    work: Work,
}

impl InSqlite {
    pub fn open(path: &Path, work: Work) -> Outcome<InSqlite> {
        let db = Connection::open(path)?;
        let mode: String = db.query_row("PRAGMA journal_mode=WAL", [], |row| row.get(0))?;
        db.execute_batch(
            "PRAGMA synchronous=FULL; \
             CREATE TABLE entries (seq INTEGER PRIMARY KEY, line BLOB NOT NULL, key TEXT, subject TEXT)",
        )?;
        if work == Work::Same {
            db.execute_batch(LOOK_UPS)?;
        }
        let full: i64 = db.query_row("PRAGMA synchronous", [], |row| row.get(0))?;
        if mode != "wal" || full != 2 {
            return Err(format!("SQLite took journal_mode {mode}, synchronous {full}").into());
        }
        Ok(InSqlite { db, work })
    }
}

impl Keeper for InSqlite {
    fn name(&self) -> String {
        format!("SQLite {}, WAL, FULL", rusqlite::version())
    }
    fn commit(&mut self, group: &[Row]) -> Outcome<()> {
        let all = self.db.transaction()?;
        if self.work == Work::LinesOnly {
            let mut insert = all.prepare_cached("INSERT INTO entries (line) VALUES (?1)")?;
            for row in group {
                insert.execute([&row.line])?;
            }
        } else {
            let mut insert = all.prepare_cached("INSERT INTO entries (line, key, subject) VALUES (?1, ?2, ?3)")?;
            for row in group {
                insert.execute((&row.line, &row.key, &row.subject))?;
            }
        }
        Ok(all.commit()?)
    }
    fn count(&mut self) -> Outcome<u64> {
        let n: i64 = self.db.query_row("SELECT count(*) FROM entries", [], |row| row.get(0))?;
        Ok(u64::try_from(n)?)
    }
}

const ENTRIES: TableDefinition<u64, &[u8]> = TableDefinition::new("entries");
const KEYS: TableDefinition<&str, u64> = TableDefinition::new("keys");
const SUBJECTS: TableDefinition<(&str, u64), ()> = TableDefinition::new("subjects");

/// redb, whose commits are durable when they return unless told otherwise.
pub struct InRedb {
    db: Database,
    work: Work,
    seq: u64,
}

impl InRedb {
    pub fn open(path: &Path, work: Work) -> Outcome<InRedb> {
        Ok(InRedb { db: Database::create(path)?, work, seq: 0 })
    }
}

impl Keeper for InRedb {
    fn name(&self) -> String {
        "redb 3, immediate".into()
    }
    fn commit(&mut self, group: &[Row]) -> Outcome<()> {
        let all = self.db.begin_write()?;
        {
            let mut entries = all.open_table(ENTRIES)?;
            for (row, seq) in group.iter().zip(self.seq + 1..) {
                entries.insert(seq, row.line.as_slice())?;
            }
        }
        if self.work == Work::Same {
            let (mut keys, mut subjects) = (all.open_table(KEYS)?, all.open_table(SUBJECTS)?);
            for (row, seq) in group.iter().zip(self.seq + 1..) {
                if keys.insert(row.key.as_str(), seq)?.is_some() {
                    return Err("a key used before".into());
                }
                subjects.insert((row.subject.as_str(), seq), ())?;
            }
        }
        self.seq += group.len() as u64;
        Ok(all.commit()?)
    }
    fn count(&mut self) -> Outcome<u64> {
        Ok(self.db.begin_read()?.open_table(ENTRIES)?.len()?)
    }
}

fn connected(socket: &str) -> Outcome<Client> {
    Ok(Client::connect(&format!("host={socket} user=bench dbname=postgres"), NoTls)?)
}

/// A group of any size in one statement, which is one transaction: the fewest ways to the server.
const INSERT: &str =
    "INSERT INTO entries (line, key, subject) SELECT * FROM unnest($1::bytea[], $2::text[], $3::text[])";

fn insert(client: &mut Client, insert: &Statement, group: &[Row]) -> Result<u64, postgres::Error> {
    let lines: Vec<&[u8]> = group.iter().map(|row| row.line.as_slice()).collect();
    let keys: Vec<&str> = group.iter().map(|row| row.key.as_str()).collect();
    let subjects: Vec<&str> = group.iter().map(|row| row.subject.as_str()).collect();
    client.execute(insert, &[&lines, &keys, &subjects])
}

fn counted(client: &mut Client, which: &str) -> Outcome<u64> {
    let n: i64 = client.query_one(&format!("SELECT count(*) FROM entries WHERE key {which} 'own %'"), &[])?.get(0);
    Ok(u64::try_from(n)?)
}

/// PostgreSQL behind one writer that commits groups.
pub struct InPostgres {
    client: Client,
    insert: Statement,
    version: String,
}

impl InPostgres {
    pub fn open(socket: &str, work: Work) -> Outcome<InPostgres> {
        let mut client = connected(socket)?;
        for setting in ["fsync", "synchronous_commit"] {
            let is: String = client.query_one(&format!("SHOW {setting}"), &[])?.get(0);
            if is != "on" {
                return Err(format!("PostgreSQL has {setting} {is}").into());
            }
        }
        let version: String = client.query_one("SHOW server_version", &[])?.get(0);
        let version = version.split(' ').next().unwrap_or_default().to_owned();
        client.batch_execute(
            "DROP TABLE IF EXISTS entries; \
             CREATE TABLE entries (seq BIGSERIAL PRIMARY KEY, line BYTEA NOT NULL, key TEXT, subject TEXT)",
        )?;
        if work == Work::Same {
            client.batch_execute(LOOK_UPS)?;
        }
        let insert = client.prepare(INSERT)?;
        Ok(InPostgres { client, insert, version })
    }
}

impl Keeper for InPostgres {
    fn name(&self) -> String {
        format!("PostgreSQL {}, one writer", self.version)
    }
    fn commit(&mut self, group: &[Row]) -> Outcome<()> {
        insert(&mut self.client, &self.insert, group)?;
        Ok(())
    }
    fn count(&mut self) -> Outcome<u64> {
        counted(&mut self.client, "NOT LIKE")
    }
}

/// PostgreSQL with a connection for each that asks; it groups commits by itself. The lines are ready: nothing chains them.
pub struct Clients {
    clients: Vec<(Client, Statement)>,
    line: Vec<u8>,
    turns: u64,
}

impl Clients {
    pub fn open(socket: &str, most: usize, line: Vec<u8>) -> Outcome<Clients> {
        let one = |_| {
            let mut client = connected(socket)?;
            let insert = client.prepare(INSERT)?;
            Outcome::Ok((client, insert))
        };
        Ok(Clients { clients: (0..most).map(one).collect::<Result<_, _>>()?, line, turns: 0 })
    }
}

impl Kept for Clients {
    fn name(&self) -> String {
        "PostgreSQL, a connection each".into()
    }
    fn turn(&mut self, asking: usize, until: Instant) -> Outcome<u64> {
        self.turns += 1;
        let (line, turn, done) = (&self.line, self.turns, AtomicU64::new(0));
        let ask = |(one, (client, statement)): (usize, &mut (Client, Statement))| {
            let mut number = 0u64;
            while Instant::now() < until {
                number += 1;
                let key = format!("own {turn}-{one}-{number}");
                let row = Row { line: line.clone(), key, subject: format!("s-{}", number % 30) };
                insert(client, statement, &[row]).map_err(|e| e.to_string())?;
                done.fetch_add(1, Ordering::Relaxed);
            }
            Ok::<(), String>(())
        };
        let ask = &ask;
        std::thread::scope(|scope| {
            let clients = self.clients.iter_mut().take(asking).enumerate();
            let at_work: Vec<_> = clients.map(|client| scope.spawn(move || ask(client))).collect();
            at_work.into_iter().try_for_each(|t| t.join().map_err(|_| "a thread failed".to_owned())?)
        })?;
        Ok(done.into_inner())
    }
    fn count(&mut self) -> Outcome<u64> {
        let Some((client, _)) = self.clients.first_mut() else { return Ok(0) };
        counted(client, "LIKE")
    }
}
