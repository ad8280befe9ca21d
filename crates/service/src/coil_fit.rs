//! `coil.fit`: a gap in, the thickest wire out; a wire and a resistance in, the width out. Looks at what the shop
//! learned, writes nothing.

use crate::app::App;
use crate::match_words::{layers, target, within};
use crate::view;
use coilwright_catalog::WireFilter;
use coilwright_core::coil::assume::{assumed, least};
use coilwright_core::coil::spec::CoilSpec;
use coilwright_core::coil::{design, range};
use coilwright_core::finding::Finding;
use coilwright_core::fit::{counts_for, largest_overall};
use coilwright_core::matching::{FormerFrame, Target, WireFrame};
use coilwright_core::wire::Standing;
use coilwright_proto::coil::{CoilDesign, TurnsPerLayer, WindingParams};
use coilwright_proto::error::RpcError;
use coilwright_proto::matching::{CoilFit, CoilFitted, FittedWidth, ThickestWire};
use coilwright_proto::quantity::{Setting, bare};
use coilwright_proto::reference::Ref;
use coilwright_proto::wire::Metal;

pub fn answer(app: &App, asked: CoilFit) -> Result<CoilFitted, RpcError> {
    let has_bore = asked.gap.as_ref().is_some_and(|g| g.bore_mm.is_some());
    if !has_bore && (asked.wire.is_none() || asked.target.is_none()) {
        return Err(RpcError::params("", "there is nothing to fit: neither a gap, nor a wire with a resistance")
            .next("give `gap.bore_mm` for the thickest wire, or `wire` and `target.dcr_ohm` for the width"));
    }
    let layers = layers(asked.layers.as_deref())?;
    let mut origins = Vec::new();
    let target = asked.target.as_ref().map(|t| target(t, &mut origins)).transpose()?;
    let spec = spec(app, &asked, layers.first().copied().unwrap_or(1))?;
    let mut findings = Vec::new();
    let thickest = if has_bore { thickest(app, &asked, &spec, &layers, &mut findings) } else { Vec::new() };
    let widths = match target {
        Some(t) if asked.wire.is_some() => widths(&spec, &layers, t, &mut findings)?,
        _ => Vec::new(),
    };
    origins.extend(design(&spec).map(|d| d.origins).unwrap_or_default());
    Ok(CoilFitted {
        thickest,
        widths,
        findings: findings.into_iter().map(view::finding).collect(),
        origins: origins.into_iter().map(view::origin).collect(),
    })
}

/// The coil as far as it is known, with the thickest listed wire of the metal if none was named.
fn spec(app: &App, asked: &CoilFit, layers: u32) -> Result<CoilSpec, RpcError> {
    let metal = asked.conductor.unwrap_or(Metal::Copper);
    let wire = match &asked.wire {
        Some(wire) => wire.clone(),
        None => {
            let filter =
                WireFilter { conductor: Some(metal.into()), standing: Some(Standing::Listed), ..WireFilter::default() };
            let any = app.catalog.wires(filter).next().ok_or_else(|| {
                RpcError::not_found("/conductor", "the catalog lists no wire of this metal").next("see `wire.list`")
            })?;
            Ref::Id(any.id.clone())
        }
    };
    if !asked.former.outside_diameters_mm.is_empty() {
        return Err(RpcError::params(
            "/former/outside_diameters_mm",
            "this reckons with a new former, from its inside diameter and wall",
        )
        .next("leave the outside diameters out, and give `coil.design` the coil you choose with them"));
    }
    let params = CoilDesign {
        wire,
        former: asked.former.clone(),
        winding: WindingParams {
            layers: Some(layers),
            turns_per_layer: Some(TurnsPerLayer::First(10)),
            ..WindingParams::default()
        },
        leads_m: asked.leads_m,
        tails_m: None,
        threading_m: None,
        adhesive: None,
        gap: asked.gap.clone(),
        target: None,
        bench_c: None,
        hot_c: None,
        offset_mm: None,
        assume: asked.assume.clone(),
    };
    let spec = view::spec_here(&app.catalog, &app.store.state().state, &params, "")?;
    range::check(&spec).map_err(|e| view::refused(e.into(), ""))?;
    Ok(spec)
}

fn thickest(
    app: &App,
    asked: &CoilFit,
    spec: &CoilSpec,
    layers: &[u32],
    findings: &mut Vec<Finding>,
) -> Vec<ThickestWire> {
    let Some((gap, bore)) = spec.gap.as_ref().and_then(|g| g.bore.map(|b| (g, b.value.m()))) else { return Vec::new() };
    let (least_inner, least_outer) = least(gap, spec.former.inside_diameter.value);
    let frame = WireFrame::new(&spec.wire, &assumed(spec));
    let base = FormerFrame::of(spec, None).outside + 2.0 * frame.glue;
    if let Some(pole) = gap.pole {
        let inner = (spec.former.inside_diameter.value - pole.value).mm() / 2.0;
        if inner < least_inner.mm() - 1e-6 {
            findings.push(
                Finding::stop(
                    "inner_clearance_small",
                    format!(
                        "clearance between pole and former is {inner:.3} mm, {:.2} mm wanted: no winding mends that",
                        least_inner.mm()
                    ),
                )
                .figures(inner, least_inner.mm()),
            );
        }
    }
    let room = largest_overall(bore, least_outer.m(), frame.over, base, 1);
    if room <= 0.0 {
        findings.push(
            Finding::stop("former_fills_gap", format!("the former alone, {:.3} mm over its glue, leaves {:.3} mm a side in a bore of {:.3} mm, and {:.3} mm of clearance and skin are wanted: no wire fits", 1e3 * base, 500.0 * (bore - base), 1e3 * bore, least_outer.mm() + 1e3 * frame.over))
                .figures(500.0 * (bore - base), least_outer.mm() + 1e3 * frame.over),
        );
    }
    let metal = asked.conductor.map_or(spec.wire.conductor, Into::into);
    let filter = WireFilter { conductor: Some(metal), standing: Some(Standing::Listed), ..WireFilter::default() };
    let wires: Vec<_> = app.catalog.wires(filter).collect();
    layers
        .iter()
        .map(|n| {
            let most = largest_overall(bore, least_outer.m(), frame.over, base, *n);
            // Of equally thick wires over the enamel the one with more metal.
            let best = |overall: &dyn Fn(&coilwright_core::wire::Wire) -> f64| {
                wires
                    .iter()
                    .filter(|w| overall(&w.wire) <= most + 1e-9)
                    .max_by(|a, b| {
                        overall(&a.wire)
                            .total_cmp(&overall(&b.wire))
                            .then(a.wire.bare.value.m().total_cmp(&b.wire.bare.value.m()))
                    })
                    .copied()
            };
            let middle = best(&|w| w.overall.value.m());
            let surely = best(&|w| w.overall_limits.map_or(w.overall.value, |l| l.max).m());
            ThickestWire {
                layers: *n,
                overall_mm: Setting::of(1e3 * most),
                wire: middle.map(|w| w.id.clone()),
                label: middle.map(|w| w.label.clone()),
                spare_mm: middle.map(|w| Setting::of(1e3 * f64::from(*n) * (most - w.wire.overall.value.m()))),
                surely: surely.map(|w| w.id.clone()),
                surely_label: surely.map(|w| w.label.clone()),
            }
        })
        .collect()
}

fn widths(
    spec: &CoilSpec,
    layers: &[u32],
    target: Target,
    findings: &mut Vec<Finding>,
) -> Result<Vec<FittedWidth>, RpcError> {
    let (frame, former) = (WireFrame::new(&spec.wire, &assumed(spec)), FormerFrame::of(spec, None));
    let mut all = Vec::new();
    for n in layers {
        let counts = counts_for(&frame, &former, *n, target.dcr);
        if counts.is_empty() {
            findings.push(Finding::note(
                "too_thin_for_layers",
                format!("{n} layers of this wire have more than {} Ω with the fewest turns there can be", target.dcr),
            ));
        }
        for c in counts {
            within("/target/dcr_ohm", 1e3 * c.width, 0.0, 500.0, "mm of winding")?;
            let mut turns = vec![c.first];
            turns.resize(*n as usize, c.upper);
            let mut coil = spec.clone();
            coil.winding.layers = *n;
            coil.winding.width = None;
            coil.winding.turns_per_layer = Some(turns.clone());
            let d = design(&coil).map_err(|e| view::refused(e, ""))?;
            let rubs = d.findings.iter().find(|f| f.code == "too_fat_for_gap");
            if let Some(rubs) = rubs.filter(|_| !findings.iter().any(|f| f.code == "too_fat_for_gap")) {
                findings.push(Finding { text: format!("{n} layers: {}", rubs.text), ..rubs.clone() });
            }
            let off = c.dcr / target.dcr - 1.0;
            all.push(FittedWidth {
                layers: *n,
                turns: d.turns,
                turns_per_layer: turns,
                width_mm: bare(coilwright_core::quantity::Length::from_m(c.width)),
                width_most_mm: bare(coilwright_core::quantity::Length::from_m(c.width_most)),
                dcr_ohm: d.dcr.into(),
                off_pct: Setting::of(100.0 * off),
                within: off.abs() <= target.tolerance * (1.0 + 1e-9),
                clearance_outer_mm: d.clearance_outer.map(Into::into),
            });
        }
    }
    if !all.is_empty() && !all.iter().any(|w| w.within) {
        findings.push(Finding::watch(
            "no_width_within_tolerance",
            format!(
                "no whole count of turns of this wire comes within {:.1} % of {} Ω: one turn more or less goes past it",
                100.0 * target.tolerance,
                target.dcr
            ),
        ));
    }
    Ok(all)
}
