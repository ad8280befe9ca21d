//! A spool arrives.

use super::{CANNOT_BE, Decision, Ruling, WORTH_A_WORD, bounds, distance, number, said, sane};
use crate::entry::Moment;
use crate::fact::{Fact, SpoolReceived, Wire};
use crate::finding::Finding;
use crate::refusal::Refusal;
use crate::state::State;
use crate::uncertain::{Money, Uncertain};

/// A spool to take in.
#[derive(Debug, Clone, PartialEq)]
pub struct Receive {
    /// What is on it.
    pub wire: Wire,
    /// What the scale showed.
    pub gross_g: Option<f64>,
    /// The scale's uncertainty; the shop's scale if absent.
    pub scale_u_g: Option<f64>,
    /// The bare reel, if known.
    pub tare_g: Option<Uncertain>,
    /// The length marked or carried over from a book; [`crate::figures::Figures::marked`] gives the usual uncertainty.
    pub marked_m: Option<Uncertain>,
    /// It is known to rest on a wrong table or an unkept book, and is not to count.
    pub marked_is_wrong: bool,
    /// What is written on it.
    pub label: String,
    /// Where it came from.
    pub supplier: String,
    /// The maker's lot.
    pub lot: String,
    /// What a kilogram costs.
    pub cost_per_kg: Option<Money>,
    /// Where it stands.
    pub place: String,
    /// Anything else.
    pub note: String,
}

/// Takes a spool in.
///
/// # Errors
/// Neither weighed nor marked; lighter than its own reel; figures out of any range.
pub fn receive(state: &State, ask: &Receive, _at: &Moment) -> Ruling {
    let gross_g = weighed(state, ask)?;
    let tare_g = ask.tare_g.map(|t| sane(t, "/tare_g", 0.0, bounds::MASS_G)).transpose()?;
    let marked_m = ask.marked_m.map(|m| sane(m, "/marked_m", 0.0, bounds::LENGTH_M)).transpose()?;
    if gross_g.is_none() && (marked_m.is_none() || ask.marked_is_wrong) {
        return Err(Refusal::wrong(
            "nothing_to_go_by",
            "/gross_g",
            "neither a weighing nor a marked length that counts: nothing tells how much is on it".to_owned(),
            "weigh it, or give `marked_m`",
        ));
    }
    if let (Some(gross), Some(tare)) = (gross_g, tare_g) {
        not_below_tare(gross, tare)?;
    }
    let mut fact = SpoolReceived {
        spool: state.next_spool(),
        wire: sound(&ask.wire)?,
        gross_g,
        tare_g,
        marked_m,
        marked_counts: !ask.marked_is_wrong,
        label: ask.label.trim().to_owned(),
        supplier: ask.supplier.trim().to_owned(),
        lot: ask.lot.trim().to_owned(),
        cost_per_kg: ask.cost_per_kg.clone(),
        place: ask.place.trim().to_owned(),
        note: ask.note.trim().to_owned(),
    };
    let mut findings = Vec::new();
    if tare_g.is_none() {
        let text = "nobody knows this reel's tare, so the weighing says little; measure the resistance end to end, or \
                    weigh before and after a draw of known length";
        findings.push(Finding::watch("tare_unknown", text.to_owned()));
    }
    if let (Some(gross), Some(tare), Some(marked)) = (gross_g, tare_g, marked_m) {
        let by_weight = by_weight(&fact.wire, gross, tare);
        let off = distance(marked, by_weight);
        if off.abs() > WORTH_A_WORD || ask.marked_is_wrong {
            // A book errs to one side: draws that nobody wrote down. Where it says more than the scale, believing it in
            // part would let a coil start that runs short, so it does not count. Less than the scale is the safe side.
            fact.marked_counts &= (-CANNOT_BE..0.0).contains(&off);
            findings.push(book_disagrees(marked, by_weight, fact.marked_counts));
        }
    }
    Ok(Decision { facts: vec![Fact::SpoolReceived(Box::new(fact))], findings })
}

/// A weighing lighter than the bare reel by more than [`CANNOT_BE`] uncertainties cannot be.
pub(super) fn not_below_tare(gross: Uncertain, tare: Uncertain) -> Result<(), Refusal> {
    if distance(gross, tare) >= -CANNOT_BE {
        return Ok(());
    }
    let least = tare.value - CANNOT_BE * libm::hypot(gross.u, tare.u);
    let cause = super::cause::slip(gross.value, tare.value).unwrap_or("another reel, or the tare is wrong");
    let detail = format!(
        "{:.2} g on the scale is lighter than the bare reel of {:.2} ± {:.2} g; {cause}",
        gross.value, tare.value, tare.u
    );
    let refusal = Refusal::refused("below_tare", "lighter than its reel", detail, "check the reading and the reel");
    Err(refusal.at("/gross_g").met(gross.value).allowed(format!("at least {least:.2} g")))
}

fn weighed(state: &State, ask: &Receive) -> Result<Option<Uncertain>, Refusal> {
    ask.gross_g.map(|gross| super::weigh::on_scale(state, gross, ask.scale_u_g)).transpose()
}

fn by_weight(wire: &Wire, gross: Uncertain, tare: Uncertain) -> Uncertain {
    let left = (gross.value - tare.value) / wire.g_per_m.value;
    let u = libm::hypot(libm::hypot(gross.u, tare.u), left * wire.g_per_m.u) / wire.g_per_m.value;
    Uncertain::new(left, u)
}

fn book_disagrees(marked: Uncertain, by_weight: Uncertain, counts: bool) -> Finding {
    let cause = if marked.value > by_weight.value {
        "tries that were not written down, or a length from a table of bare wire"
    } else {
        "the tare is too light, or other wire than the label says"
    };
    let then = if counts { "both count" } else { "the book does not count" };
    let text = format!(
        "the book says {:.1} m, the scale {:.2} ± {:.2} m: {cause}; {then}",
        marked.value, by_weight.value, by_weight.u
    );
    Finding::watch("book_disagrees", text).figures(marked.value, by_weight.value)
}

fn sound(wire: &Wire) -> Result<Wire, Refusal> {
    said(&wire.label, "/wire", "the wire's name")?;
    sane(wire.g_per_m, "/wire/g_per_m", bounds::TINY, 1e4)?;
    sane(wire.ohm_per_m, "/wire/ohm_per_m", bounds::TINY, 1e6)?;
    number(wire.alpha_per_k, "/wire", 0.0, 0.02)?;
    for mm in [wire.overall_mm, wire.bare_mm].into_iter().flatten() {
        number(mm, "/wire", bounds::TINY, 100.0)?;
    }
    Ok(wire.clone())
}
