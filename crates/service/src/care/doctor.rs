//! The doctor: what ails a data folder, and what to type.

use coilwright_store::{Folder, OpenError, RealDisk, Verified, newest_backup, verify_folder};
use jiff::Timestamp;
use serde::Serialize;
use std::fs;
use std::path::Path;

/// A backup older than this is worth a word, days.
const OLD_DAYS: f64 = 7.0;
/// Less room than this will soon stop the writer, bytes.
const LITTLE: u64 = 64 << 20;

/// Something that ails the folder, or may.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Ailment {
    /// Stable short word.
    pub code: &'static str,
    /// `stop`: something is lost or about to be; `watch`: see to it; `note`: good to know.
    pub level: &'static str,
    /// What was found.
    pub text: String,
    /// What to type or do.
    pub next_step: String,
}

/// Looks a data folder over, and the backup that is said to be its own. Changes nothing; a daemon may run.
pub fn doctor(data: &Path, backup: Option<&Path>, now: Timestamp) -> Vec<Ailment> {
    let mut found = Vec::new();
    let shown = data.display();
    if !data.join("journal").is_dir() {
        let text = format!("{shown} holds no journal");
        return vec![stop("no_journal", text, "name the shop's folder with --data DIR".into())];
    }
    in_use(data, &mut found);
    let verified = verify_folder(&RealDisk, data);
    journal(data, backup, &verified, &mut found);
    match backup {
        None => found.push(watch(
            "no_backup_named",
            "no backup was named".into(),
            format!("name it with --backup DIR, or make one: coilwright backup BACKUP --data {shown}"),
        )),
        Some(place) => of_backup(data, place, &verified, now, &mut found),
    }
    left_over(data, &mut found);
    room(data, &mut found);
    token(data, &mut found);
    let order = |a: &Ailment| ["stop", "watch", "note"].iter().position(|l| *l == a.level);
    found.sort_by_key(order);
    found
}

fn ailment(level: &'static str, code: &'static str, text: String, next_step: String) -> Ailment {
    Ailment { code, level, text, next_step }
}

fn stop(code: &'static str, text: String, next_step: String) -> Ailment {
    ailment("stop", code, text, next_step)
}

fn watch(code: &'static str, text: String, next_step: String) -> Ailment {
    ailment("watch", code, text, next_step)
}

fn note(code: &'static str, text: String, next_step: String) -> Ailment {
    ailment("note", code, text, next_step)
}

fn in_use(data: &Path, found: &mut Vec<Ailment>) {
    match Folder::lock(data) {
        Ok(_) => {}
        Err(OpenError::InUse { process, .. }) => {
            let who = process.map(|p| format!(" (process {p})")).unwrap_or_default();
            found.push(note("in_use", format!("a daemon is at work{who}"), "coilwright shop status".into()));
        }
        Err(e) => found.push(stop("no_lock", e.to_string(), "see to the folder's owner and mode".into())),
    }
}

fn journal(data: &Path, backup: Option<&Path>, verified: &Verified, found: &mut Vec<Ailment>) {
    let place = backup.map_or_else(|| "BACKUP".to_owned(), |b| b.display().to_string());
    for finding in &verified.findings {
        let next = match finding.code {
            "newer_format" => "install the newer program again".to_owned(),
            "torn" => "nothing: the next start cuts it".to_owned(),
            "unreadable" => "see to the disk and the folder's mode (dmesg)".to_owned(),
            _ if finding.grave => format!("coilwright repair --from-backup {place} --data {}", data.display()),
            _ => "nothing".to_owned(),
        };
        let level = if finding.grave { "stop" } else { "note" };
        found.push(ailment(level, finding.code, format!("{}: {}", finding.path.display(), finding.text), next));
    }
}

fn of_backup(data: &Path, place: &Path, verified: &Verified, now: Timestamp, found: &mut Vec<Ailment>) {
    let again = format!("coilwright backup {} --data {}", place.display(), data.display());
    let newest = match newest_backup(&RealDisk, place) {
        Ok(Some(newest)) => newest,
        Ok(None) => return found.push(watch("no_backup", format!("{} holds no backup", place.display()), again)),
        Err(e) => {
            return found.push(stop("backup_unusable", e.to_string(), "coilwright backup to another folder".into()));
        }
    };
    let copy = verify_folder(&RealDisk, place);
    if !copy.ok {
        let why = copy.findings.first().map_or_else(String::new, |f| format!(": {}", f.text));
        let text = format!("the backup in {} does not verify{why}", place.display());
        found.push(stop("backup_damaged", text, "coilwright backup to another folder".into()));
    }
    if newest.head.seq > verified.head.seq {
        let text = format!("the backup holds entry {}, the shop ends at {}", newest.head.seq, verified.head.seq);
        let next = format!("coilwright repair --from-backup {} --data {}", place.display(), data.display());
        found.push(stop("behind_backup", text, next));
    }
    let days = (now - newest.at).as_secs_f64() / 86_400.0;
    let missing = verified.head.seq.saturating_sub(newest.head.seq);
    if days > OLD_DAYS && missing > 0 {
        let text = format!("the backup is {days:.0} days old and lacks {missing} entries");
        found.push(watch("backup_old", text, again));
    }
    if same_disk(data, place) {
        let text = "the backup lies on the same disk as the shop and would be lost with it".to_owned();
        found.push(watch("same_disk", text, "coilwright backup to a folder on another disk".into()));
    }
}

#[cfg(unix)]
fn same_disk(one: &Path, other: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    matches!((fs::metadata(one), fs::metadata(other)), (Ok(one), Ok(other)) if one.dev() == other.dev())
}

#[cfg(not(unix))]
fn same_disk(_: &Path, _: &Path) -> bool {
    false
}

/// What earlier mishaps left for somebody to look at.
fn left_over(data: &Path, found: &mut Vec<Ailment>) {
    let names = |dir: &Path| -> Vec<String> {
        let items = fs::read_dir(dir).into_iter().flatten().flatten();
        items.filter_map(|item| item.file_name().into_string().ok()).collect()
    };
    for name in names(&data.join("journal")) {
        if name.ends_with(".bin") || name == "manifest-damaged.json" {
            let text = format!("journal/{name} was set aside at an earlier mishap");
            found.push(note("set_aside", text, "delete it when nobody needs it any more".into()));
        }
    }
    for name in names(data) {
        if name.strip_prefix("index-").is_some_and(|n| n.parse::<u32>().is_ok()) {
            let text = format!("{name}/ is an index that was not believed");
            found.push(note("set_aside", text, "delete it".into()));
        }
    }
}

fn room(data: &Path, found: &mut Vec<Ailment>) {
    let Ok(disk) = rustix::fs::statvfs(data) else { return };
    let free = disk.f_bavail.saturating_mul(disk.f_frsize);
    if free < LITTLE {
        let text = format!("{} MiB are free on the disk of {}", free >> 20, data.display());
        found.push(watch("little_room", text, "free some space; a full disk stops writing until there is room".into()));
    }
}

#[cfg(unix)]
fn token(data: &Path, found: &mut Vec<Ailment>) {
    use std::os::unix::fs::PermissionsExt;
    let path = data.join("token");
    let open = fs::metadata(&path).is_ok_and(|m| m.permissions().mode() & 0o077 != 0);
    if open {
        let text = format!("{} can be read by others", path.display());
        found.push(watch("token_open", text, format!("chmod 600 {}", path.display())));
    }
}

#[cfg(not(unix))]
fn token(_: &Path, _: &mut Vec<Ailment>) {}
