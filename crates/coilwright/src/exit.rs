//! How a command ends: codes that a script can rely on.

use coilwright_proto::error::{ErrorKind, RpcError, code};
use coilwright_service::care::OpenError;
use std::fmt::Display;
use std::process::ExitCode;

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// Done.
    Done = 0,
    /// The shop's rules or the state of things say no.
    Refused = 1,
    /// Asked wrongly: a flag, a param, a file.
    WrongUse = 2,
    /// There is no such thing.
    NotFound = 3,
    /// The daemon cannot be reached or does not let this caller in.
    NotReachable = 4,
    /// The daemon failed, is busy, or only reads for now.
    Failed = 5,
    /// The data folder is damaged, or something in it is about to be lost.
    Damaged = 6,
    /// The data folder was written by a newer program.
    NewerFormat = 7,
}

/// The codes in words, for the help.
pub const EXPLAINED: &str = "Exit codes: 0 done · 1 refused by the shop's rules · 2 asked wrongly · 3 no such thing · 4 daemon not reachable or token not accepted · 5 the daemon failed · 6 data damaged · 7 data of a newer program";

impl From<End> for ExitCode {
    fn from(end: End) -> ExitCode {
        ExitCode::from(end as u8)
    }
}

impl End {
    /// Says what was asked wrongly, on standard error.
    pub fn wrong_use(why: impl Display) -> End {
        eprintln!("error: {why}");
        End::WrongUse
    }

    /// The end that a data folder which cannot be used means.
    pub fn of_folder(e: &OpenError) -> End {
        match e {
            OpenError::Newer { .. } => End::NewerFormat,
            OpenError::Corrupt { .. } => End::Damaged,
            OpenError::NotAShop { .. } => End::WrongUse,
            _ => End::Failed,
        }
    }

    /// The end that an error of the daemon means.
    pub fn of(e: &RpcError) -> End {
        match e.code {
            code::NOT_FOUND => End::NotFound,
            code::UNAUTHORISED | code::NOT_YOUR_ROLE => End::NotReachable,
            _ => match e.data.kind {
                ErrorKind::WrongRequest => End::WrongUse,
                ErrorKind::Refused => End::Refused,
                ErrorKind::Failed => End::Failed,
            },
        }
    }
}
