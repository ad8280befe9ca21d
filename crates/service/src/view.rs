//! The shared room: what the params name, looked up in the catalog and turned into what the calculation takes.

use crate::adhesive_words;
use crate::winding_words;
use crate::words as shop_words;
use coilwright_catalog::{Catalog, WireRecord};
use coilwright_core::coil::laid::Laid;
use coilwright_core::coil::lay;
use coilwright_core::coil::spec::{AssumeSpec, CoilSpec, Gap, LearnedSpec, Target, UpperLayers, Winding};
use coilwright_core::coil::{Design, DesignError, design};
use coilwright_core::finding::{Finding, Level};
use coilwright_core::former::{Former, FormerMaterial};
use coilwright_core::origin::Origin;
use coilwright_core::quantity::Length;
use coilwright_core::wire::{Limits, Standing, Wire, WireFigures};
use coilwright_proto::coil::{self as words, CoilDesign, FindingAnswer, FindingLevel, TurnsPerLayer};
use coilwright_proto::error::RpcError;
use coilwright_proto::former::{InlineMaterial, OriginAnswer};
use coilwright_proto::quantity::{Reading, bare};
use coilwright_proto::reference::{FormerRef, Ref, WireRef};
use coilwright_proto::wire::{InlineWire, WireAnswer, WireStanding};
use coilwright_shop::learning::taught;
use coilwright_shop::state::State;
use serde_json::json;

/// The coil that the params describe, designed. `at` is the pointer to the params within the request.
///
/// # Errors
/// Unknown ids with the nearest ones, figures that contradict each other, and dimensions no coil has; each with its pointer.
pub fn designed(catalog: &Catalog, params: &CoilDesign, at: &str) -> Result<(CoilSpec, Design), RpcError> {
    let spec = coil_spec(catalog, params, at)?;
    let mut design = design(&spec).map_err(|e| refused(e, at))?;
    design.origins.extend(density_origin(catalog, params, at)?);
    Ok((spec, design))
}

/// The same coil as this shop winds it: what its own coils taught stands in for first values, with its origin.
///
/// # Errors
/// As [`designed`].
pub fn designed_here(
    catalog: &Catalog,
    state: &State,
    params: &CoilDesign,
    at: &str,
) -> Result<(CoilSpec, Design), RpcError> {
    let spec = spec_here(catalog, state, params, at)?;
    let mut design = design(&spec).map_err(|e| refused(e, at))?;
    design.origins.extend(density_origin(catalog, params, at)?);
    Ok((spec, design))
}

/// The question that the params put, as this shop winds it.
///
/// # Errors
/// As [`coil_spec`].
pub fn spec_here(catalog: &Catalog, state: &State, params: &CoilDesign, at: &str) -> Result<CoilSpec, RpcError> {
    let mut spec = coil_spec(catalog, params, at)?;
    spec.assume.learned = learned(state, &shop_words::wire_key(&params.wire, &spec.wire), &spec.former);
    Ok(spec)
}

/// What this shop's own coils taught of a wire on the mandrel for this former.
pub fn learned(state: &State, wire: &str, former: &Former) -> LearnedSpec {
    taught(state, wire, (former.inside_diameter.value - former.shims * 2.0).mm())
}

/// Where the density of the coil's adhesive comes from; nothing where none is named or another density is assumed.
fn density_origin(catalog: &Catalog, params: &CoilDesign, at: &str) -> Result<Option<Origin>, RpcError> {
    let assumed = params.assume.as_ref().and_then(|a| a.adhesive_g_per_cm3);
    let Some(adhesive) = params.adhesive.as_ref().filter(|_| assumed.is_none()) else { return Ok(None) };
    let named = adhesive_words::adhesive(catalog, adhesive, &format!("{at}/adhesive"))?;
    Ok(named.origins.into_iter().find(|o| o.param == adhesive_words::DENSITY))
}

/// The question that the params put, for calculations other than a whole design.
///
/// # Errors
/// Unknown ids and figures that contradict each other, each with its pointer.
pub fn coil_spec(catalog: &Catalog, p: &CoilDesign, at: &str) -> Result<CoilSpec, RpcError> {
    let (mut wire, mut standing) = wire(catalog, &p.wire, &format!("{at}/wire"))?;
    let (material, default_slit) = former_material(catalog, &p.former.material, &format!("{at}/former/material"))?;
    let metal = material.is_metal();
    let a = p.assume.clone().unwrap_or_default();
    let share = |r: Reading<_>| r.measured();
    let adhesive = p.adhesive.as_ref().map(|a| adhesive_words::adhesive(catalog, a, &format!("{at}/adhesive")));
    let density = adhesive.transpose()?.map(|named| named.adhesive.density.value);
    let winding = winding(&p.winding, &a, &format!("{at}/winding"))?;
    lay::check(&winding).map_err(|e| winding_words::refused(e, at))?;
    if let Some(ribbon) = &winding.lay.ribbon {
        wire = ribbon.wire(wire.conductor).map_err(|e| {
            RpcError::params(format!("{at}/winding/ribbon"), format!("the rectangular wire contradicts itself: {e}"))
                .next("check its dimensions, and the ohms and the grams of a metre")
        })?;
        standing = Standing::Inline;
    }
    Ok(CoilSpec {
        wire,
        standing,
        former: Former {
            material,
            inside_diameter: p.former.inside_diameter_mm.measured(),
            wall: p.former.wall_mm.measured(),
            height: p.former.height_mm.map(Reading::measured),
            slit: p.former.slit_mm.map_or_else(
                || default_slit.unwrap_or(if metal { METAL_SLIT } else { Length::ZERO }),
                |s| s.quantity(),
            ),
            shims: p.former.shims_mm.iter().map(|s| s.quantity()).sum(),
            particulars: winding_words::particulars(&p.former, &format!("{at}/former"))?,
        },
        winding,
        leads: p.leads_m.map(Reading::measured),
        tails: p.tails_m.map(Reading::measured),
        threading: p.threading_m.map(Reading::measured),
        gap: p.gap.as_ref().map(|g| Gap {
            pole: g.pole_mm.map(Reading::measured),
            bore: g.bore_mm.map(Reading::measured),
            plate: g.plate_mm.map(Reading::measured),
            min_inner: g.min_inner_mm.map(|s| s.quantity()),
            min_outer: g.min_outer_mm.map(|s| s.quantity()),
        }),
        target: p.target.as_ref().map(|t| Target {
            dcr: t.dcr_ohm.map(|s| s.quantity()),
            tolerance: t.tolerance_pct.map(|s| s.quantity()),
            rated: t.rated_ohm.map(|s| s.quantity()),
        }),
        bench: p.bench_c.map(|s| s.quantity()),
        hot: p.hot_c.map(|s| s.quantity()),
        offset: p.offset_mm.map(|s| s.quantity()),
        assume: AssumeSpec {
            pitch_factor: a.pitch_factor.map(Reading::measured),
            nesting: a.nesting.map(Reading::measured),
            resistance_excess: a.resistance_excess_pct.map(share),
            elongation: a.elongation_pct.map(share),
            glue: a.glue_mm.map(Reading::measured),
            skin: a.skin_mm.map(Reading::measured),
            wrap: a.wrap_mm.map(Reading::measured),
            upper_layers: upper(a.alternate_layer_turns),
            adhesive: a.adhesive_g_per_cm3.map(|s| s.quantity()).or(density),
            learned: LearnedSpec::default(),
        },
    })
}

/// Slit of a metal former of which nothing else is known: 0.5 to 1.5 mm, common practice, no source.
const METAL_SLIT: Length = Length::from_mm(1.0);

fn upper(words: Option<words::UpperLayers>) -> Option<UpperLayers> {
    words.map(|u| match u {
        words::UpperLayers::OneLess => UpperLayers::OneLess,
        words::UpperLayers::Equal => UpperLayers::Equal,
    })
}

/// Layers and turns, whichever of the two says how many layers there are.
fn winding(w: &words::WindingParams, a: &words::AssumeParams, at: &str) -> Result<Winding, RpcError> {
    let width = w.width_mm.map(Reading::measured);
    let listed = match &w.turns_per_layer {
        Some(TurnsPerLayer::Each(list)) => Some(list.clone()),
        _ => None,
    };
    let Some(layers) = w.layers.or_else(|| listed.as_ref().and_then(|l| u32::try_from(l.len()).ok())) else {
        return Err(RpcError::params(
            format!("{at}/layers"),
            "`layers` is required where the turns are not listed layer by layer",
        )
        .next("add `layers`: 2 or 4 are usual"));
    };
    let lay = winding_words::lay(w);
    let inside = Laid::of(&Winding { layers, width, turns_per_layer: None, lay: lay.clone() }).inside;
    let turns_per_layer = match w.turns_per_layer {
        Some(TurnsPerLayer::First(first)) => {
            let above = if a.alternate_layer_turns == Some(words::UpperLayers::Equal) {
                first
            } else {
                first.saturating_sub(1)
            };
            // Layers are bounded by the calculation; here only the memory of an absurd number is spared.
            Some((0..layers.min(100) as usize).map(|i| if i == 0 || i == inside { first } else { above }).collect())
        }
        _ => listed,
    };
    Ok(Winding { layers, width, turns_per_layer, lay })
}

/// The wire that is named or written out.
pub fn wire(catalog: &Catalog, wanted: &WireRef, at: &str) -> Result<(Wire, Standing), RpcError> {
    match wanted {
        Ref::Id(id) => {
            let record = catalog
                .wire(id)
                .ok_or_else(|| unknown(catalog, "wire", id, &catalog.nearest_wire(id), "wire.list", at))?;
            Ok((record.wire.clone(), record.standing))
        }
        Ref::Inline(w) => Ok((inline_wire(w, at)?, Standing::Inline)),
    }
}

fn inline_wire(w: &InlineWire, at: &str) -> Result<Wire, RpcError> {
    let bad = |member: &str, met: f64| {
        RpcError::params(format!("{at}/{member}"), format!("{met} is not possible for a wire"))
            .met(met)
            .allowed("more than 0")
            .next("check the number and its unit")
    };
    for (member, met) in [
        ("bare_mm", Some(w.bare_mm.value)),
        ("overall_mm", Some(w.overall_mm.value)),
        ("overall_min_mm", w.overall_min_mm.map(|s| s.value)),
        ("overall_max_mm", w.overall_max_mm.map(|s| s.value)),
        ("ohm_per_m", w.ohm_per_m.map(|r| r.value)),
        ("g_per_m", w.g_per_m.map(|r| r.value)),
    ] {
        if let Some(met) = met.filter(|m| *m <= 0.0) {
            return Err(bad(member, met));
        }
    }
    let overall = w.overall_mm.measured();
    let overall_limits = match (w.overall_min_mm, w.overall_max_mm) {
        (None, None) => None,
        (min, max) => Some(Limits {
            min: min.map_or(overall.value, |s| s.quantity()),
            max: max.map_or(overall.value, |s| s.quantity()),
        }),
    };
    Wire::new(WireFigures {
        conductor: w.conductor.into(),
        bare: w.bare_mm.measured(),
        bare_limits: None,
        overall,
        overall_limits,
        ohm_per_m: w.ohm_per_m.map(Reading::measured),
        ohm_per_m_limits: None,
        g_per_m: w.g_per_m.map(Reading::measured),
    })
    .map_err(|e| {
        RpcError::params(at, e.to_string())
            .met(json!(w))
            .next("check the figures against the maker's table; leave out what is not known")
    })
}

/// The former material that is named or written out, and the slit that is usual for it.
pub fn former_material(
    catalog: &Catalog,
    wanted: &FormerRef,
    at: &str,
) -> Result<(FormerMaterial, Option<Length>), RpcError> {
    match wanted {
        Ref::Id(id) => {
            let record = catalog.former(id).ok_or_else(|| {
                unknown(catalog, "former material", id, &catalog.nearest_former(id), "former.list", at)
            })?;
            Ok((record.material.clone(), Some(record.slit)))
        }
        Ref::Inline(m) => Ok((inline_material(m, at)?, None)),
    }
}

fn inline_material(m: &InlineMaterial, at: &str) -> Result<FormerMaterial, RpcError> {
    let density = m.density_g_per_cm3;
    if !(0.05..=25.0).contains(&density.value) {
        return Err(RpcError::params(
            format!("{at}/density_g_per_cm3"),
            format!("{} g/cm³ is the density of no former", density.value),
        )
        .met(density.value)
        .allowed("0.05 to 25")
        .next("check the number: it is in grams per cubic centimetre"));
    }
    if let Some(r) = m.resistivity_ohm_m.filter(|r| !(1e-9..=1e-2).contains(&r.value)) {
        return Err(RpcError::params(
            format!("{at}/resistivity_ohm_m"),
            format!("{} Ω·m is the resistivity of no metal", r.value),
        )
        .met(r.value)
        .allowed("1e-9 to 1e-2")
        .next("check the number, or leave it out for an insulator"));
    }
    if let Some(t) = m.heat_limit_c.filter(|t| !(20.0..=1500.0).contains(&t.value)) {
        return Err(RpcError::params(
            format!("{at}/heat_limit_c"),
            format!("{} °C is no heat that a former bears", t.value),
        )
        .met(t.value)
        .allowed("20 to 1500")
        .next("give the temperature it bears in continuous use, or leave it out"));
    }
    if let Some(e) = m.expansion_per_k.filter(|e| !(-1e-4..=1e-3).contains(&e.value)) {
        return Err(RpcError::params(
            format!("{at}/expansion_per_k"),
            format!("{} per kelvin is the expansion of no solid", e.value),
        )
        .met(e.value)
        .allowed("-1e-4 to 1e-3")
        .next("write it like 2.3e-5, or leave it out"));
    }
    Ok(FormerMaterial {
        density: density.measured(),
        resistivity: m.resistivity_ohm_m.map(|r| r.quantity()),
        heat_limit: m.heat_limit_c.map(|t| t.quantity()),
        expansion_per_k: m.expansion_per_k.map(|e| e.quantity()),
    })
}

/// "There is no such thing", with the nearest ones, or the plugin that has it and is switched off.
pub fn unknown(catalog: &Catalog, what: &str, id: &str, nearest: &[&str], list: &str, at: &str) -> RpcError {
    let e = RpcError::not_found(at, format!("there is no {what} `{id}` in the catalog")).met(id);
    if let Some(off) = catalog.off_with(id) {
        let id = &off.id;
        return e.next(format!(
            "the plugin `{id}`, which has it, is switched off: `coilwright plugin on {id} --data DIR --reload`"
        ));
    }
    match nearest.first() {
        Some(near) => e.allowed(json!(nearest)).next(format!(
            "write `{near}` if that is what was meant, write the {what} out as an object, or see `{list}`"
        )),
        None => e.next(format!("see `{list}`, or write the {what} out as an object")),
    }
}

/// Why there is no such coil, with the pointer to what is wrong.
pub fn refused(e: DesignError, at: &str) -> RpcError {
    let text = e.to_string();
    match e {
        DesignError::OutOfRange(o) => {
            let unit = if o.unit.is_empty() { String::new() } else { format!(" {}", o.unit) };
            RpcError::params(format!("{at}{}", o.pointer), text)
                .met(o.met)
                .allowed(format!("{} to {}{unit}", o.min, o.max))
                .next("check the number and its unit")
        }
        DesignError::Lay(e) => winding_words::refused(e, at),
        DesignError::WindingOpen => RpcError::params(format!("{at}/winding"), text)
            .next("give `width_mm` (the turns follow) or `turns_per_layer`"),
        DesignError::LayersDisagree { listed, layers } => {
            RpcError::params(format!("{at}/winding/turns_per_layer"), text)
                .met(listed)
                .allowed(layers)
                .next("list the turns of every layer, or leave `layers` out")
        }
        DesignError::TooNarrow { width_mm, .. } => RpcError::params(format!("{at}/winding/width_mm"), text)
            .met(width_mm)
            .next("give more width, a thinner wire, or fewer layers"),
    }
}

/// A wire of the catalog as it is answered.
pub fn wire_in_words(record: &WireRecord) -> WireAnswer {
    let w = &record.wire;
    WireAnswer {
        wire: record.id.clone(),
        label: record.label.clone(),
        conductor: w.conductor.into(),
        series: record.series.clone(),
        size: record.size.clone(),
        build: record.build.clone(),
        standing: if record.standing == Standing::Listed { WireStanding::Listed } else { WireStanding::Computed },
        bare_mm: w.bare.into(),
        bare_min_mm: w.bare_limits.map(|l| bare(l.min)),
        bare_max_mm: w.bare_limits.map(|l| bare(l.max)),
        overall_mm: w.overall.into(),
        overall_min_mm: w.overall_limits.map(|l| bare(l.min)),
        overall_max_mm: w.overall_limits.map(|l| bare(l.max)),
        ohm_per_m: w.ohm_per_m().into(),
        ohm_per_m_min: w.ohm_per_m_limits.map(|l| bare(l.min)),
        ohm_per_m_max: w.ohm_per_m_limits.map(|l| bare(l.max)),
        g_per_m: w.g_per_m().into(),
        plugin: record.at.plugin.clone(),
        source: record.source.clone(),
    }
}

/// What the design of a coil noticed, as it is answered.
pub fn finding(f: Finding) -> FindingAnswer {
    let level = match f.level {
        Level::Stop => FindingLevel::Stop,
        Level::Watch => FindingLevel::Watch,
        Level::Note => FindingLevel::Note,
    };
    FindingAnswer { code: f.code, level, text: f.text, figure: f.figure, limit: f.limit }
}

/// Where a default came from, as it is answered.
pub fn origin(o: Origin) -> OriginAnswer {
    OriginAnswer { param: o.param, value: o.value, u: o.u, unit: o.unit.into(), mark: o.mark.into(), source: o.source }
}
