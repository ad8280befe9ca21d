//! The nearest known name to one that is not known.

use std::cmp::Reverse;

/// Likeness below which a name is no suggestion.
const ALIKE: f64 = 0.55;

/// Longest word that anything is near to, in bytes: likeness takes time by the product of both lengths, and a sender may
/// ask for a name of a megabyte.
const LONGEST: usize = 100;

/// Likeness of a name to its own beginning.
const BEGUN: f64 = 0.75;

/// Up to `most` of the candidates that are most like `word`, best first; equally like ones in the order given.
///
/// Case, spaces and hyphens count little: the words of the name count more than their order (`30 AWG single` is near to
/// `cu-awg30-single`).
pub(crate) fn nearest<'a>(word: &str, candidates: impl Iterator<Item = &'a str>, most: usize) -> Vec<&'a str> {
    if word.len() > LONGEST {
        return Vec::new();
    }
    let (word, parts) = (plain(word), parts(word));
    let mut near: Vec<(u32, &str)> = candidates
        .filter_map(|candidate| {
            let name = plain(candidate);
            let written = strsim::normalized_damerau_levenshtein(&word, &name);
            let begun = if word.len() >= 3 && name.starts_with(&word) { BEGUN } else { 0.0 };
            let likeness = written.max(0.95 * shared(&parts, candidate)).max(begun);
            // As whole thousandths, so that equal likeness keeps the order given.
            (likeness >= ALIKE).then_some(((likeness * 1000.0) as u32, candidate))
        })
        .collect();
    near.sort_by_key(|(likeness, _)| Reverse(*likeness));
    near.into_iter().take(most).map(|(_, candidate)| candidate).collect()
}

fn plain(name: &str) -> String {
    name.chars().filter(|c| c.is_alphanumeric() || *c == '.').flat_map(char::to_lowercase).collect()
}

/// Runs of letters and numbers: `cu-awg30.5` is `cu`, `awg`, `30.5`; a number's last zeros do not count.
fn parts(name: &str) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    let mut last = None;
    for c in name.chars().flat_map(char::to_lowercase) {
        let kind = if c.is_ascii_digit() || c == '.' { Some(true) } else { c.is_alphabetic().then_some(false) };
        match (kind, parts.last_mut()) {
            (Some(_), Some(part)) if kind == last => part.push(c),
            (Some(_), _) => parts.push(c.into()),
            (None, _) => {}
        }
        last = kind;
    }
    for number in parts.iter_mut().filter(|part| part.contains('.')) {
        number.truncate(number.trim_end_matches('0').trim_end_matches('.').len());
    }
    parts
}

/// Share of the parts of the two names that they have in common (Dice's coefficient).
fn shared(word: &[String], candidate: &str) -> f64 {
    let candidate = parts(candidate);
    let common = word.iter().filter(|p| candidate.contains(p)).count();
    2.0 * common as f64 / (word.len() + candidate.len()).max(1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn first(word: &str, expected: &str) {
        let awg = ["cu-awg30-single", "cu-awg30-heavy", "cu-awg30.5-single", "al-awg30-single"];
        let known = ["cu-0.425-grade1", "cu-0.250-grade1"].into_iter().chain(awg);
        assert_eq!(nearest(word, known, 3).first(), Some(&expected), "{word}");
    }

    #[test]
    fn a_wire_written_in_another_order_is_found() {
        first("30 AWG single", "cu-awg30-single");
        first("cu-awg-30-single", "cu-awg30-single");
        first("cu_awg30_heavy", "cu-awg30-heavy");
        first("cu-awg30-sinlge", "cu-awg30-single");
        first("0.250 grade 1", "cu-0.250-grade1");
        first("cu-0.25-grade1", "cu-0.250-grade1");
    }

    #[test]
    fn nothing_is_suggested_for_what_is_like_nothing() {
        assert!(nearest("zzzz", ["bare_mm", "overall_mm"].into_iter(), 3).is_empty());
    }
}
