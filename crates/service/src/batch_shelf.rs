//! The shelf as a batch sees it: a spool's length beside its promises, and the part of its doubt that all spools share.

use coilwright_core::batch::PartSpool;
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use coilwright_shop::spool::Spool;

/// What is left of a spool for a batch when `held` is promised to others. `draw_doubt`: the spool's own if none is given.
pub fn part_spool(spool: &Spool, held: Length, draw_doubt: Option<f64>) -> PartSpool {
    let there = spool.remaining();
    PartSpool {
        left: Measured::new((there.left.value - held).max(Length::ZERO), there.left.u),
        common: spool.estimate().moved_by_g_per_m(),
        draw_doubt: draw_doubt.unwrap_or(there.draw_doubt),
    }
}
