//! Names of things in the shop: `s-1` a spool, `j-1` a job, `h-1` a hold; counted up, never used again.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// A text that is no id of its kind.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("`{met}` is no {what} id: they look like `{prefix}-12`")]
pub struct NotAnId {
    /// What was given.
    pub met: String,
    what: &'static str,
    prefix: char,
}

macro_rules! id {
    ($(#[$doc:meta])* $name:ident, $prefix:literal, $what:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(try_from = "String", into = "String")]
        pub struct $name(pub u64);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, concat!($prefix, "-{}"), self.0)
            }
        }
        impl FromStr for $name {
            type Err = NotAnId;
            fn from_str(text: &str) -> Result<Self, NotAnId> {
                text.strip_prefix(concat!($prefix, "-"))
                    .filter(|n| n.bytes().all(|b| b.is_ascii_digit()) && !n.starts_with('0'))
                    .and_then(|n| n.parse().ok())
                    .map($name)
                    .ok_or_else(|| NotAnId { met: text.to_owned(), what: $what, prefix: $prefix })
            }
        }
        impl TryFrom<String> for $name {
            type Error = NotAnId;
            fn try_from(text: String) -> Result<Self, NotAnId> {
                text.parse()
            }
        }
        impl From<$name> for String {
            fn from(id: $name) -> String {
                id.to_string()
            }
        }
    };
}

id! {
    /// A spool.
    SpoolId, 's', "spool"
}
id! {
    /// A job.
    JobId, 'j', "job"
}
id! {
    /// A hold: wire on one spool promised to something.
    HoldId, 'h', "hold"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_read_as_they_are_written() {
        assert_eq!("s-12".parse(), Ok(SpoolId(12)));
        assert_eq!(SpoolId(12).to_string(), "s-12");
        assert_eq!(serde_json::to_string(&JobId(3)).unwrap(), "\"j-3\"");
    }

    #[test]
    fn other_texts_are_no_ids() {
        for text in ["", "s-", "s-0", "s-01", "j-1", "s--1", "s-1 ", "s-99999999999999999999", "12"] {
            assert!(text.parse::<SpoolId>().is_err(), "{text}");
        }
        assert_eq!("j-1".parse::<SpoolId>().unwrap_err().to_string(), "`j-1` is no spool id: they look like `s-12`");
    }
}
