//! Everything that a careless or a hostile sender can send: each gets a clear answer that names what is wrong and the way
//! out, and the daemon goes on.

mod bodies;
mod door;
mod params;
mod size;
mod start;

use crate::shop::Shop;
use serde_json::Value;

/// What an error must be.
struct Wanted<'a> {
    code: i64,
    kind: &'a str,
    /// JSON pointer into the params, of an error that has one.
    pointer: Option<&'a str>,
    /// Words that the detail says.
    says: &'a [&'a str],
    /// Words that the next step says.
    next: &'a [&'a str],
}

/// Longest sentence that a person still reads. A sender's own text may be in it, but not all of a long one.
const LONGEST: usize = 500;

#[track_caller]
fn is(error: &Value, wanted: &Wanted) {
    let data = &error["data"];
    assert_eq!(error["code"], wanted.code, "{error}");
    assert_eq!(data["kind"], wanted.kind, "{error}");
    assert_eq!(data["pointer"].as_str(), wanted.pointer, "{error}");
    let message = error["message"].as_str().unwrap_or_default();
    assert!(!message.is_empty(), "no message in {error}");
    for (member, words) in [("detail", wanted.says), ("next_step", wanted.next)] {
        let text = data[member].as_str().unwrap_or_else(|| panic!("no {member} in {error}"));
        assert!(!text.trim().is_empty() && text.len() <= LONGEST, "{member} of {} bytes in {error}", text.len());
        for word in words {
            assert!(text.contains(word), "{member} does not say {word:?}: {error}");
        }
        for leak in ["u32", "u64", "f64", "usize", "struct ", "  ", "\u{1f}"] {
            assert!(!text.contains(leak), "{member} says {leak:?}, which means nothing to a winder: {error}");
        }
    }
}

/// One daemon for all of it: the tests beside this one each have their own, a shop has not.
#[test]
fn one_daemon_bears_all_of_it() {
    let shop = Shop::open();
    params::all(&shop);
    bodies::all(&shop);
    door::all(&shop);
    size::all(&shop);
    shop.goes_on();
}
