//! Computed wires: the sizes that a table lists, in another conductor.

use crate::fault::{Fault, Faults};
use crate::manifest::{self, WireDerived};
use crate::wire_table::{WireRecord, label};
use coilwright_core::measured::Measured;
use coilwright_core::origin::Mark;
use coilwright_core::wire::{Standing, Wire, WireFigures};

/// The same sizes in another conductor: diameters and their limits are the listed wire's, resistance and mass are computed
/// from the conductor. No source lists such a wire, so it is marked as derived and stands as computed.
pub(crate) fn derive(rule: &WireDerived, listed: &[WireRecord], faults: &mut Faults) -> Vec<WireRecord> {
    let mut derived = Vec::new();
    for base in listed {
        let Some(size) = base.id.strip_prefix(&rule.from) else { continue };
        let of = &base.wire;
        // Where only the resistance has limits, they are what tells how well the diameter is known.
        let bare = match (of.bare_limits, of.ohm_per_m_limits) {
            (None, Some(_)) => of.bare,
            _ => Measured::certain(of.bare.value),
        };
        let wire = Wire::new(WireFigures {
            conductor: rule.conductor,
            bare,
            bare_limits: of.bare_limits,
            overall: Measured::certain(of.overall.value),
            overall_limits: of.overall_limits,
            ohm_per_m: None,
            ohm_per_m_limits: None,
            g_per_m: None,
        });
        match wire {
            Ok(wire) => derived.push(WireRecord {
                id: format!("{}{size}", rule.to),
                label: label(&base.size, &base.build, rule.conductor),
                wire,
                standing: Standing::Computed,
                source: format!("computed from {}: its diameters, {}", base.id, rule.conductor.name()),
                mark: Mark::Derived,
                ..base.clone()
            }),
            Err(error) => faults.push(
                Fault::new(format!("{} in {}: {error}", base.id, rule.conductor.name()))
                    .file(manifest::FILE)
                    .line(rule.line),
            ),
        }
    }
    if derived.is_empty() && !listed.is_empty() {
        let fault = Fault::new(format!("no wire of this plugin has an id that begins with `{}`", rule.from));
        faults.push(fault.file(manifest::FILE).line(rule.line).column("from"));
    }
    derived
}
