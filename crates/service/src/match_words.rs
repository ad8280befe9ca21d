//! What `coil.match` and `coil.fit` have in common: the target, the layer counts, and wires with their names.

use crate::{view, words};
use coilwright_catalog::{Catalog, WireRecord};
use coilwright_core::matching::Target;
use coilwright_core::origin::{Mark, Origin};
use coilwright_core::wire::{Standing, Wire};
use coilwright_proto::error::RpcError;
use coilwright_proto::matching::MatchTarget;
use coilwright_proto::reference::{Ref, WireRef};

/// How far a resistance may be off where nobody says, per cent; common practice, no source.
const TOLERANCE_PCT: f64 = 3.0;

/// The target, its tolerance filled in.
///
/// # Errors
/// A resistance or a tolerance that no coil is made to.
pub fn target(t: &MatchTarget, origins: &mut Vec<Origin>) -> Result<Target, RpcError> {
    let tolerance_pct = t.tolerance_pct.map_or_else(
        || {
            origins.push(Origin {
                param: "target.tolerance_pct".into(),
                value: TOLERANCE_PCT,
                u: 0.0,
                unit: "%",
                mark: Mark::CommonPractice,
                source: "no source".into(),
            });
            TOLERANCE_PCT
        },
        // A setting in per cent written as text comes as a number of per cent too.
        |s| s.value,
    );
    within("/target/dcr_ohm", t.dcr_ohm.value, 0.05, 10_000.0, "Ω")?;
    within("/target/tolerance_pct", tolerance_pct, 0.05, 50.0, "%")?;
    Ok(Target { dcr: t.dcr_ohm.value, tolerance: tolerance_pct / 100.0 })
}

/// A number that must lie between two others.
///
/// # Errors
/// If it does not, with its pointer.
pub fn within(pointer: &str, met: f64, min: f64, max: f64, unit: &str) -> Result<(), RpcError> {
    if met >= min && met <= max {
        return Ok(());
    }
    Err(RpcError::params(pointer, format!("{met} {unit} is outside {min} {unit} to {max} {unit}"))
        .met(met)
        .allowed(format!("{min} to {max} {unit}"))
        .next("check the number and its unit"))
}

/// Layer counts as asked, each once, fewest first; 1 to 6 if nothing was asked.
///
/// # Errors
/// No layer, or more than a coil can have.
pub fn layers(asked: Option<&[u32]>) -> Result<Vec<u32>, RpcError> {
    let Some(asked) = asked else { return Ok((1..=6).collect()) };
    let mut counts = asked.to_vec();
    counts.sort_unstable();
    counts.dedup();
    match counts.as_slice() {
        [first, .., last] if *first >= 1 && *last <= 12 => Ok(counts),
        [only] if (1..=12).contains(only) => Ok(counts),
        _ => Err(RpcError::params("/layers", "a coil has 1 to 12 layers")
            .met(asked)
            .allowed("1 to 12")
            .next("2 or 4 are usual; leave it out for 1 to 6")),
    }
}

/// A wire with the names it goes by.
pub struct Named {
    /// As `coil.design` takes it.
    pub reference: WireRef,
    /// In words.
    pub label: String,
    /// Its figures.
    pub wire: Wire,
    /// Listed, computed, or given by its figures.
    pub standing: Standing,
}

impl Named {
    /// A wire of the catalog.
    pub fn of(record: &WireRecord) -> Named {
        Named {
            reference: Ref::Id(record.id.clone()),
            label: record.label.clone(),
            wire: record.wire.clone(),
            standing: record.standing,
        }
    }

    /// A wire that a request names or writes out.
    ///
    /// # Errors
    /// An unknown id, or figures that make no wire.
    pub fn asked(catalog: &Catalog, reference: &WireRef, at: &str) -> Result<Named, RpcError> {
        let (wire, standing) = view::wire(catalog, reference, at)?;
        let label = match reference {
            Ref::Id(id) => catalog.wire(id).map_or_else(|| id.clone(), |w| w.label.clone()),
            Ref::Inline(_) => words::wire_key(reference, &wire),
        };
        Ok(Named { reference: reference.clone(), label, wire, standing })
    }

    /// The name by which a spool is asked for it.
    pub fn key(&self) -> String {
        words::wire_key(&self.reference, &self.wire)
    }
}
