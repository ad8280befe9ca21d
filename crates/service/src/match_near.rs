//! A near miss in words: every reason with by how much, the one that nothing mends first.

use coilwright_core::matching::{Bounds, Miss, SoundBounds};
use coilwright_proto::matching::MissReason;

/// The leading reason of a miss with its figure and limit, and all reasons in words.
pub struct Missed {
    /// The reason.
    pub reason: MissReason,
    /// In its unit.
    pub figure: f64,
    /// What it is held against.
    pub limit: f64,
    /// All of them.
    pub text: String,
}

/// Puts a miss into words.
pub fn in_words(m: &Miss, b: &Bounds, sound: Option<&SoundBounds>) -> Missed {
    let (dcr, off) = (b.target.dcr, 100.0 * (m.dcr / b.target.dcr - 1.0));
    let mut all: Vec<(MissReason, f64, f64, String)> = Vec::new();
    if m.too_fat > 0.0 {
        let (free, least) = (1e3 * m.clearance_outer, 1e3 * b.min_outer);
        let left =
            if free < 0.0 { "it would rub".into() } else { format!("{free:.3} mm stay free of {least:.3} mm wanted") };
        all.push((
            MissReason::TooFat,
            free,
            least,
            format!("{:.3} mm too fat at the cross-over ({left})", 1e3 * m.too_fat),
        ));
    }
    if m.width_wanted > 0.0 {
        let (wide, least, most) = (1e3 * m.width_wanted, 1e3 * b.width_min, 1e3 * b.width_max);
        let (limit, by) = if wide > most {
            (most, format!("{:.2} mm too wide", wide - most))
        } else {
            (least, format!("{:.2} mm too narrow", least - wide))
        };
        all.push((MissReason::Width, wide, limit, format!("{dcr} Ω take {wide:.2} mm of winding, {by}")));
    }
    if m.dcr_off != 0.0 {
        all.push((MissReason::Dcr, m.dcr, dcr, format!("{:.3} Ω, {off:+.1} % off the {dcr} Ω wanted", m.dcr)));
    }
    if m.too_heavy > 0.0 {
        let limit = 1e3 * b.mass_max;
        all.push((MissReason::Mass, limit + 1e3 * m.too_heavy, limit, format!("{:.2} g too heavy", 1e3 * m.too_heavy)));
    }
    let limits = sound.map_or((0.0, 0.0, 0.0), |s| (s.level_db, 100.0 * s.qts, 100.0 * s.fs));
    if m.level_off > 0.0 {
        all.push((
            MissReason::Level,
            limits.0 + m.level_off,
            limits.0,
            format!("{:.2} dB beyond the change of level allowed", m.level_off),
        ));
    }
    if m.qts_off > 0.0 {
        all.push((
            MissReason::Qts,
            limits.1 + 100.0 * m.qts_off,
            limits.1,
            format!("Qts {:.1} % beyond the change allowed", 100.0 * m.qts_off),
        ));
    }
    if m.fs_off > 0.0 {
        all.push((
            MissReason::Resonance,
            limits.2 + 100.0 * m.fs_off,
            limits.2,
            format!("resonance {:.1} % beyond the change allowed", 100.0 * m.fs_off),
        ));
    }
    let text = all.iter().map(|(.., text)| text.as_str()).collect::<Vec<_>>().join("; ");
    let (reason, figure, limit) =
        all.first().map_or((MissReason::Dcr, m.dcr, dcr), |(reason, figure, limit, _)| (*reason, *figure, *limit));
    Missed { reason, figure, limit, text }
}
