//! Why a reading is not what was expected, in order of likelihood, said so that the hand can check it.

use crate::decide::distance;
use crate::id::SpoolId;
use crate::spool::Spool;
use crate::state::State;
use crate::uncertain::Uncertain;

/// Slips of a factor, and how to say them.
const SLIPS: [(f64, &str); 4] = [
    (10.0, "ten times the expectation: a decimal point or comma slipped, or the scale is set wrong"),
    (0.1, "a tenth of the expectation: a decimal point or comma slipped, or the scale is set wrong"),
    (28.349_523_125, "28 times the expectation: grams taken for ounces"),
    (1.0 / 28.349_523_125, "a 28th of the expectation: ounces taken for grams"),
];
/// How near to the factor a slip must come.
const NEAR: f64 = 0.08;

/// A factor between reading and expectation that has a name.
pub(super) fn slip(met: f64, expected: f64) -> Option<&'static str> {
    let ratio = met / expected;
    SLIPS.iter().find(|(factor, _)| (ratio / factor - 1.0).abs() < NEAR).map(|(_, said)| *said)
}

/// The most likely cause of a weighing that is not what it should be.
pub(super) fn of_weighing(state: &State, spool: &Spool, gross: Uncertain, expected: Option<Uncertain>) -> String {
    if let Some(said) = expected.and_then(|e| slip(gross.value, e.value)) {
        return said.to_owned();
    }
    if let Some((other, shows)) = other_spool(state, spool.id(), gross) {
        return format!("spool {other} should show {shows:.1} g: the wrong spool on the scale?");
    }
    match expected {
        Some(e) if gross.value > e.value => {
            "something else on the scale, another reel, or the tare is wrong".to_owned()
        }
        _ => "a try that was not written down, another reel, or the tare is wrong".to_owned(),
    }
}

/// The first other spool in use that this weighing would suit.
fn other_spool(state: &State, not: SpoolId, gross: Uncertain) -> Option<(SpoolId, f64)> {
    state.spools().filter(|s| s.id() != not && s.retired.is_none()).find_map(|s| {
        let expected = Uncertain::of_grams(s.estimate().expected_gross()?);
        // A spool whose tare nobody knows suits every weighing and explains none.
        let telling = expected.u < 0.05 * expected.value;
        (telling && distance(gross, expected).abs() < 2.0).then_some((s.id(), expected.value))
    })
}

#[cfg(test)]
mod tests {
    use super::slip;

    #[test]
    fn factors_with_a_name_are_named() {
        assert!(slip(4126.0, 412.6).unwrap().starts_with("ten times"));
        assert!(slip(41.3, 412.6).unwrap().starts_with("a tenth"));
        assert!(slip(14.55, 412.6).unwrap().starts_with("a 28th"));
        assert_eq!(slip(500.0, 412.6), None);
        assert_eq!(slip(500.0, 0.0), None);
    }
}
