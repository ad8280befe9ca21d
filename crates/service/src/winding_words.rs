//! How the wires lie and what is particular of a former, between the words of the wire and the calculation.

use coilwright_core::coil::lay::{Arrangement, Bond, Connect, Kind, Lay, LayError, Ribbon};
use coilwright_core::coil::{Design, Joined, Windings};
use coilwright_core::former::{Particulars, Vents};
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use coilwright_proto::coil::{
    BakeAnswer, BlankAnswer, CoilDesign, FormerParams, JoinedAnswer, WindingAnswer, WindingArrangement, WindingConnect,
    WindingKind, WindingParams,
};
use coilwright_proto::error::RpcError;
use coilwright_proto::quantity::{Figure, Reading, Setting, bare};

/// Outside diameters that tell a former's roundness: three heights, two ways.
const DIAMETERS: usize = 6;

/// How the wires lie.
pub fn lay(w: &WindingParams) -> Lay {
    Lay {
        kind: match w.kind {
            None | Some(WindingKind::Plain) => Kind::Plain,
            Some(WindingKind::Dual) => Kind::Dual,
            Some(WindingKind::InsideOutside) => Kind::InsideOutside,
            Some(WindingKind::EdgeWound) => Kind::EdgeWound,
        },
        wires_in_hand: w.wires_in_hand,
        arrangement: w.arrangement.map(|a| match a {
            WindingArrangement::Stacked => Arrangement::Stacked,
            WindingArrangement::SideBySide => Arrangement::SideBySide,
            WindingArrangement::InHand => Arrangement::InHand,
        }),
        connect: w.connect.map(|c| match c {
            WindingConnect::Apart => Connect::Apart,
            WindingConnect::Series => Connect::Series,
            WindingConnect::Parallel => Connect::Parallel,
        }),
        inner_layers: w.inner_layers,
        space: w.space_mm.map(Reading::measured),
        paper: w.paper_mm.map(Reading::measured),
        bond: w.bond.as_ref().map(|b| Bond {
            overall: b.overall_mm.map(Reading::measured),
            bake: b.bake_c.map(|t| t.quantity()),
            density: b.g_per_cm3.map(Reading::measured),
        }),
        ribbon: w.ribbon.as_ref().map(|r| Ribbon {
            width: r.width_mm.measured(),
            thickness: r.thickness_mm.measured(),
            over_width: r.over_width_mm.measured(),
            over_thickness: r.over_thickness_mm.measured(),
            corner_radius: r.corner_radius_mm.map_or(Length::ZERO, |s| s.quantity()),
            ohm_per_m: r.ohm_per_m.map(Reading::measured),
            g_per_m: r.g_per_m.map(Reading::measured),
        }),
    }
}

/// What is not so with every former.
///
/// # Errors
/// Another number of outside diameters than six.
pub fn particulars(f: &FormerParams, at: &str) -> Result<Particulars, RpcError> {
    let six: Vec<Measured<Length>> = f.outside_diameters_mm.iter().map(|d| d.measured()).collect();
    let reused = match <[Measured<Length>; DIAMETERS]>::try_from(six) {
        Ok(six) => Some(six),
        Err(none) if none.is_empty() => None,
        Err(other) => {
            return Err(RpcError::params(
                format!("{at}/outside_diameters_mm"),
                "a former that is used again is measured at three heights, two ways each",
            )
            .met(other.len())
            .allowed(DIAMETERS)
            .next("measure six outside diameters where the winding will sit"));
        }
    };
    Ok(Particulars {
        reused,
        vents: f.vents.as_ref().map(|v| Vents { count: v.count, diameter: v.diameter_mm.quantity() }),
        cone: f.cone_deg.map(|s| s.quantity()),
    })
}

/// Why the wires cannot lie so.
pub fn refused(e: LayError, at: &str) -> RpcError {
    RpcError::params(format!("{at}{}", e.pointer), e.text).next(e.next)
}

/// Refuses a coil of two windings by themselves where one driven coil is meant.
///
/// # Errors
/// A dual coil of which nobody said how it is joined.
pub fn driven(coil: &CoilDesign, at: &str) -> Result<(), RpcError> {
    let dual = coil.winding.kind == Some(WindingKind::Dual);
    if dual && matches!(coil.winding.connect, None | Some(WindingConnect::Apart)) {
        return Err(RpcError::params(
            format!("{at}/winding/connect"),
            "a dual coil sounds and measures as its windings are joined, which is not said",
        )
        .allowed("series or parallel")
        .next("add `connect`: `series` or `parallel`"));
    }
    Ok(())
}

/// Refuses a coil that is not one wire outside the former, where turns are taken off one by one.
///
/// # Errors
/// Two windings, several wires in hand, or layers inside the former.
pub fn one_wire(d: &Design, at: &str) -> Result<(), RpcError> {
    if d.laid.pieces() == 1 && d.laid.inside == 0 {
        return Ok(());
    }
    Err(RpcError::params(
        format!("{at}/winding"),
        "turns are reckoned off one wire on the outside of the former; this coil is two windings, several wires in hand, or \
         lies inside too",
    )
    .next("`coil.design` gives `turn_ohm`; take the same turns off every wire and read again after each"))
}

/// The two windings of a dual coil.
pub fn each(w: &Windings) -> Vec<WindingAnswer> {
    w.each
        .iter()
        .map(|one| WindingAnswer {
            turns_per_layer: one.turns_per_layer.clone(),
            pieces: one.wires,
            length_m: one.length.into(),
            need_m: one.need.into(),
            dcr_ohm: one.dcr.into(),
            field_m: one.field.map(Into::into),
        })
        .collect()
}

/// Both joined.
pub fn joined(j: &Joined) -> JoinedAnswer {
    JoinedAnswer { dcr_ohm: j.dcr.into(), field_m: j.field.map(Into::into) }
}

/// The flat piece that the former is bent from; none where it is used again.
pub fn blank(d: &Design) -> Option<BlankAnswer> {
    let strip = |length| BlankAnswer {
        length_mm: Some(bare(length)),
        width_mm: d.blank_width.map(bare),
        inner_radius_mm: None,
        outer_radius_mm: None,
        angle_deg: None,
    };
    let sector = d.blank_sector.map(|s| BlankAnswer {
        length_mm: None,
        width_mm: None,
        inner_radius_mm: Some(Setting::of(1e3 * s.inner)),
        outer_radius_mm: (s.outer > s.inner).then(|| Setting::of(1e3 * s.outer)),
        angle_deg: Some(Setting::of(s.angle.to_degrees())),
    });
    sector.or(d.blank_length.map(strip))
}

/// The bake by current of a self-bonding winding.
pub fn bake(d: &Design, asked: &CoilDesign) -> Option<BakeAnswer> {
    let over = d.bake_ratio?;
    let at_c = asked.winding.bond.as_ref()?.bake_c?;
    Some(BakeAnswer {
        at_c,
        reading_ohm: Figure::of(over * d.dcr.value.ohm(), over * d.dcr.u.ohm()),
        over_20c: Setting::of(over),
        over_bench: d.dcr_bench.map(|bench| Setting::of(over * d.dcr.value.ohm() / bench.value.ohm())),
    })
}
