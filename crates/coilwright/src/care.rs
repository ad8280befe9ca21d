//! Care of a data folder from the command line, on its files: backup, restore, repair, doctor, and the offline verify.

use crate::exit::End;
use crate::show;
use clap::{Arg, ArgAction, ArgMatches, Command, value_parser};
use coilwright_service::care::{self, Ailment, CareError, OpenError, Until};
use jiff::Timestamp;
use serde_json::json;
use std::path::{Path, PathBuf};

/// The commands of their own; `journal verify` gets [`verify_flags`].
pub fn commands() -> [Command; 4] {
    [
        Command::new("backup")
            .about("Back up a shop whose daemon does not run (while it runs: coilwright care backup)")
            .arg(folder_of("backup", "Folder of the backup, best on another disk; only what is new is added"))
            .arg(data("The shop's folder").required(true)),
        Command::new("restore")
            .about("Make a new data folder from a backup")
            .arg(folder_of("backup", "Folder of the backup"))
            .arg(data("The new folder; it must not be there").required(true))
            .arg(
                Arg::new("at")
                    .long("at")
                    .value_name("SEQ|TIME")
                    .help("Only up to this entry, or to this time, e.g. 2026-03-01T17:30:00Z"),
            ),
        Command::new("repair")
            .about("Mend damaged entries of a shop whose daemon does not run with those of a backup")
            .arg(
                Arg::new("backup")
                    .long("from-backup")
                    .value_name("BACKUP")
                    .required(true)
                    .value_parser(value_parser!(PathBuf))
                    .help("Folder of the backup"),
            )
            .arg(data("The shop's folder").required(true)),
        Command::new("doctor")
            .about("Look a shop's folder over and say what to type; ends with 0 if all is well, fit for cron")
            .arg(data("The shop's folder").required(true))
            .arg(
                Arg::new("backup")
                    .long("backup")
                    .value_name("BACKUP")
                    .value_parser(value_parser!(PathBuf))
                    .help("Folder of the backup that belongs to it"),
            ),
    ]
}

/// What `journal verify` takes to work on files.
pub fn verify_flags(command: Command) -> Command {
    command.arg(data("Check this folder (a shop's or a backup) on its files instead of asking the daemon")).arg(
        Arg::new("deep")
            .long("deep")
            .action(ArgAction::SetTrue)
            .requires("data")
            .help("Compare the index with the journal too; the daemon must not run"),
    )
}

fn folder_of(name: &'static str, help: &'static str) -> Arg {
    Arg::new(name).value_name("BACKUP").required(true).value_parser(value_parser!(PathBuf)).help(help)
}

fn data(help: &'static str) -> Arg {
    Arg::new("data").long("data").value_name("DIR").value_parser(value_parser!(PathBuf)).help(help)
}

/// Does one of [`commands`].
pub fn run(name: &str, given: &ArgMatches) -> End {
    let path = |name: &str| given.get_one::<PathBuf>(name).map_or(Path::new(""), PathBuf::as_path);
    let how = show::How::of(given.get_flag("json"), given.get_flag("quiet"));
    match name {
        "backup" => match care::back_up(path("data"), path("backup")) {
            Ok(done) => show::answer("care.backup", &json!(done), how),
            Err(e) => failed(&e),
        },
        "restore" => restore(given.get_one::<String>("at").map(String::as_str), path("backup"), path("data"), how),
        "repair" => repair(path("backup"), path("data"), how),
        _ => {
            let backup = given.get_one::<PathBuf>("backup").map(PathBuf::as_path);
            told(&care::doctor(path("data"), backup, Timestamp::now()), how)
        }
    }
}

/// `journal verify --data`.
pub fn verify(folder: &Path, given: &ArgMatches) -> End {
    let checked = match care::verify(folder, given.get_flag("deep")) {
        Ok(checked) => checked,
        Err(e) => return failed(&CareError::Folder(e)),
    };
    let how = show::How::of(given.get_flag("json"), given.get_flag("quiet"));
    let shown = show::answer("journal.verify", &json!(checked.answer), how);
    match (checked.newer, checked.answer.ok) {
        (true, _) => End::NewerFormat,
        (_, false) => End::Damaged,
        _ => shown,
    }
}

fn restore(at: Option<&str>, from: &Path, to: &Path, how: show::How) -> End {
    let until = match at.map(|text| (text.parse(), text.parse())) {
        None => Until::End,
        Some((Ok(seq), _)) => Until::Seq(seq),
        Some((_, Ok(time))) => Until::Time(time),
        Some((Err(_), Err(_))) => {
            eprintln!("error: --at takes an entry's number or a time such as 2026-03-01T17:30:00Z");
            return End::WrongUse;
        }
    };
    match care::restore(from, to, until) {
        Ok(done) => {
            let answer = json!({ "head": done.head.seq, "hash": done.head.hash.to_string(), "backup_head": done.of });
            show::answer("care.restore", &answer, how)
        }
        Err(e) => failed(&e),
    }
}

fn repair(backup: &Path, data: &Path, how: show::How) -> End {
    match care::repair(data, backup) {
        Ok(done) => {
            let segments =
                done.segments.iter().map(|s| json!({ "mended": s.path, "kept": s.kept, "from_backup": s.from_backup }));
            let answer = json!({ "head": done.head.seq, "hash": done.head.hash.to_string(), "segments": segments.collect::<Vec<_>>() });
            show::answer("care.repair", &answer, how)
        }
        Err(e) => failed(&e),
    }
}

fn told(found: &[Ailment], how: show::How) -> End {
    if how == show::How::Json {
        show::json(&json!({ "findings": found }));
    } else {
        for one in found {
            println!("{:<6} {}\n       -> {}", one.level.to_uppercase(), one.text, one.next_step);
        }
        if found.is_empty() {
            println!("nothing ails it");
        }
    }
    let of = |level: &str| found.iter().any(|one| one.level == level);
    match (found.iter().any(|one| one.code == "newer_format"), of("stop"), of("watch")) {
        (true, _, _) => End::NewerFormat,
        (_, true, _) => End::Damaged,
        (_, _, true) => End::Refused,
        _ => End::Done,
    }
}

/// Says why, and how the command ends.
pub fn failed(e: &CareError) -> End {
    eprintln!("error: {e}");
    if let CareError::Folder(OpenError::InUse { .. }) = e {
        eprintln!("while its daemon runs ask that: coilwright journal verify, coilwright care backup");
    }
    match e {
        CareError::Folder(e) => End::of_folder(e),
        CareError::NotMendable { .. } => End::Damaged,
        CareError::Source(_) => End::Damaged,
        CareError::NoBackup { .. } | CareError::NotThere { .. } => End::NotFound,
        CareError::NotNew { .. } | CareError::DataFolder { .. } => End::WrongUse,
        CareError::OtherHistory { .. } => End::Refused,
    }
}
