//! Walking the bytes of one segment: how far they are good, and what it is that follows.

use super::line::{Frame, Head};
use coilwright_shop::entry::Seq;

const SUFFIX: &str = ".jsonl";

/// The name of the segment that begins with this sequence.
pub(crate) fn name(first: Seq) -> String {
    format!("{first:020}{SUFFIX}")
}

/// The first sequence of a segment of this name; `None` if it is no segment's name.
pub(crate) fn first_of(name: &str) -> Option<Seq> {
    let digits = name.strip_suffix(SUFFIX)?;
    let plain = digits.len() == 20 && digits.bytes().all(|c| c.is_ascii_digit());
    plain.then(|| digits.parse().ok()).flatten()
}

/// How far a segment is good.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Walk {
    /// Bytes of the good lines, with their newlines.
    pub used: usize,
    /// The last good line; what was given if there is none.
    pub head: Head,
    /// What follows.
    pub rest: Rest,
}

/// What follows the last good line.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Rest {
    /// Newlines, or nothing.
    Blank,
    /// Something else, up to this place in the file.
    Bad {
        /// Where the last byte that is no newline ends.
        until: usize,
        /// A good line of a later group than the first bad one's: what it follows had been synced.
        later: Option<Seq>,
    },
}

/// Walks from the start of a segment that follows `from`; `each` sees every good line.
pub(crate) fn walk<'a>(bytes: &'a [u8], from: Head, mut each: impl FnMut(&Frame, &'a [u8])) -> Walk {
    let mut used = 0;
    let mut head = from;
    while let Some((line, after)) = next_line(bytes, used) {
        let Some(frame) = Frame::of(line).filter(|f| f.follows(head)) else { break };
        each(&frame, line);
        head = frame.head();
        used = after;
    }
    Walk { used, head, rest: judge(bytes, used, head) }
}

/// The line at `start` (without its newline) and where the next one begins; `None` without a newline.
fn next_line(bytes: &[u8], start: usize) -> Option<(&[u8], usize)> {
    let rest = bytes.get(start..)?;
    let length = rest.iter().position(|c| *c == b'\n')?;
    Some((rest.get(..length)?, start + length + 1))
}

fn judge(bytes: &[u8], used: usize, head: Head) -> Rest {
    let rest = bytes.get(used..).unwrap_or_default();
    let Some(last) = rest.iter().rposition(|c| *c != b'\n') else { return Rest::Blank };
    let first_bad = head.seq.saturating_add(1);
    let later = rest.split(|c| *c == b'\n').flat_map(frames_in).find(|f| f.group > first_bad).map(|f| f.seq);
    Rest::Bad { until: used + last + 1, later }
}

/// Every good line with its frame, wherever it stands and whatever it follows: for mending.
pub(crate) fn good_lines(bytes: &[u8]) -> Vec<(Frame, &[u8])> {
    bytes.split(|c| *c == b'\n').flat_map(lines_in).collect()
}

fn frames_in(piece: &[u8]) -> impl Iterator<Item = Frame> {
    lines_in(piece).map(|(frame, _)| frame)
}

/// Good lines that end where this piece ends, wherever they begin: damage may have swallowed the newline before.
fn lines_in(piece: &[u8]) -> impl Iterator<Item = (Frame, &[u8])> {
    const BEGIN: &[u8] = b"{\"seq\":";
    let begins = piece.windows(BEGIN.len()).enumerate().filter(|(_, bytes)| *bytes == BEGIN);
    begins.filter_map(|(at, _)| {
        let line = piece.get(at..)?;
        Some((Frame::of(line)?, line))
    })
}

#[cfg(test)]
mod tests {
    use super::super::line::{Hash, close_line};
    use super::*;

    const START: Head = Head { seq: 0, hash: Hash([3; 32]) };

    /// Groups of the given sizes, and where each line ends.
    fn journal(groups: &[u64]) -> (Vec<u8>, Vec<usize>) {
        let (mut bytes, mut ends, mut prev, mut seq) = (Vec::new(), Vec::new(), START.hash, 0);
        for size in groups {
            let group = seq + 1;
            for _ in 0..*size {
                seq += 1;
                let open = format!("{{\"seq\":{seq},\"v\":1,\"group\":{group},\"text\":\"entry {seq}\"");
                prev = close_line(open.as_bytes(), prev, &mut bytes);
                ends.push(bytes.len());
            }
        }
        bytes.extend_from_slice(b"\n\n\n\n");
        (bytes, ends)
    }

    #[track_caller]
    fn check(bytes: &[u8], good: Seq, rest: &str) {
        let walk = walk(bytes, START, |_, _| {});
        let met = match walk.rest {
            Rest::Blank => "blank".to_owned(),
            Rest::Bad { later: None, .. } => "torn".to_owned(),
            Rest::Bad { later: Some(_), .. } => "later".to_owned(),
        };
        assert_eq!((walk.head.seq, met.as_str()), (good, rest));
    }

    #[test]
    fn an_untouched_segment_is_good_to_the_end() {
        check(&journal(&[1, 3, 2]).0, 6, "blank");
        check(b"\n\n\n", 0, "blank");
        check(b"", 0, "blank");
    }

    #[test]
    fn a_line_cut_short_is_torn() {
        let (bytes, ends) = journal(&[1, 3]);
        for length in ends[2] + 1..ends[3] {
            check(&bytes[..length], 3, "torn");
        }
        let mut blanked = bytes.clone();
        blanked[ends[2] + 40..].fill(b'\n');
        check(&blanked, 3, "torn");
    }

    #[test]
    fn a_hole_inside_the_last_group_is_torn() {
        let (mut bytes, ends) = journal(&[2, 3]);
        bytes[ends[1]..ends[2]].fill(b'\n');
        check(&bytes, 2, "torn");
        bytes[ends[1]..ends[2]].fill(0);
        check(&bytes, 2, "torn");
    }

    #[test]
    fn a_bad_line_before_a_later_group_is_no_tear() {
        let (bytes, ends) = journal(&[2, 3, 1]);
        for at in 0..ends[4] {
            let mut bad = bytes.clone();
            bad[at] ^= 1;
            let good = ends.iter().filter(|end| **end <= at).count() as u64;
            check(&bad, good, "later");
        }
    }

    #[test]
    fn anything_in_the_tail_of_newlines_is_seen() {
        let (mut bytes, _) = journal(&[1]);
        let last = bytes.len() - 1;
        bytes[last] = 0;
        check(&bytes, 1, "torn");
    }

    #[test]
    fn names_are_told_from_other_names() {
        assert_eq!(first_of(&name(42)), Some(42));
        for other in ["manifest.json", "42.jsonl", "+0000000000000000042.jsonl", "torn-00000000000000000042.bin"] {
            assert_eq!(first_of(other), None, "{other}");
        }
    }
}
