//! `adhesive.mix`: a coil and an adhesive in; what to weigh, how long it can be worked and how it cures out. Looks at the
//! shop's scale, and writes nothing.

use crate::adhesive_words::{self, Named, cautions};
use crate::app::App;
use crate::match_words::within;
use crate::view;
use coilwright_core::coil::Design;
use coilwright_core::finding::{Finding, Level};
use coilwright_core::measured::Measured;
use coilwright_core::mixing::{MixSpec, Mixed, mix};
use coilwright_core::origin::{Mark, Origin};
use coilwright_core::quantity::Mass;
use coilwright_proto::adhesive::{AdhesiveMix, AdhesiveMixed, AdhesiveParts};
use coilwright_proto::error::RpcError;
use coilwright_proto::quantity::{Setting, bare};
use coilwright_shop::figures::Origin as FigureOrigin;

pub fn answer(app: &App, asked: AdhesiveMix) -> Result<AdhesiveMixed, RpcError> {
    checked(&asked)?;
    let named = adhesive_words::adhesive(&app.catalog, &asked.adhesive, "/adhesive")?;
    let (cured, design) = cured(app, &asked)?;
    let mut origins = named.origins.clone();
    let step = match asked.scale_resolution_g {
        Some(step) => step.quantity(),
        None => shop_step(app, &mut origins),
    };
    let coil = asked.coil.as_ref();
    let spec = MixSpec {
        adhesive: named.adhesive.clone(),
        cured,
        coils: asked.coils.unwrap_or(1),
        waste: asked.waste_pct.map(|s| s.quantity()),
        step,
        room: asked.temperature_c.or(coil.and_then(|c| c.bench_c)).map(|s| s.quantity()),
        winding_min: asked.winding_min.map(|s| s.value),
        cure: asked.cure_c.map(|s| s.quantity()),
        hot: asked.hot_c.or(coil.and_then(|c| c.hot_c)).map(|s| s.quantity()),
    };
    let mixed = mix(&spec);
    origins.extend(mixed.origins.iter().cloned());
    let mut findings = mixed.findings.clone();
    if let Some((cure, limit)) = spec.cure.zip(spec.adhesive.heat_limit).filter(|(cure, limit)| cure.c() > limit.c()) {
        findings.insert(
            0,
            Finding {
                code: "cure_above_heat_limit".into(),
                level: Level::Stop,
                text: format!("{:.0} °C is more than this adhesive bears, {:.0} °C: cure cooler", cure.c(), limit.c()),
                figure: Some(cure.c()),
                limit: Some(limit.c()),
            },
        );
    }
    if let Some((design, origins_of_coil)) = &design {
        // What stops the coil is told here too: adhesive is not mixed for a coil that rubs.
        findings.extend(design.findings.iter().filter(|f| f.level == Level::Stop).cloned());
        origins.extend(origins_of_coil.iter().cloned());
        findings.sort_by_key(|f| f.level);
    }
    Ok(in_words(&spec, named, mixed, design.map(|(d, _)| d), findings, origins))
}

/// Numbers that no shop mixes by are refused before anything is looked up.
fn checked(asked: &AdhesiveMix) -> Result<(), RpcError> {
    for (pointer, met, least, most, unit) in [
        ("/cured_g", asked.cured_g.map(|r| r.value), 1e-3, 1e4, "g"),
        ("/coils", asked.coils.map(f64::from), 1.0, 1000.0, "coils"),
        ("/waste_pct", asked.waste_pct.map(|s| s.value), 0.0, 1000.0, "%"),
        ("/scale_resolution_g", asked.scale_resolution_g.map(|s| s.value), 1e-4, 100.0, "g"),
        ("/temperature_c", asked.temperature_c.map(|s| s.value), 0.0, 60.0, "°C"),
        ("/winding_min", asked.winding_min.map(|s| s.value), 0.1, 10_000.0, "min"),
        ("/cure_c", asked.cure_c.map(|s| s.value), 0.0, 400.0, "°C"),
        ("/hot_c", asked.hot_c.map(|s| s.value), 20.0, 400.0, "°C"),
    ] {
        met.map(|met| within(pointer, met, least, most, unit)).transpose()?;
    }
    match (&asked.coil, asked.cured_g) {
        (Some(_), Some(_)) => Err(RpcError::params("/cured_g", "the coil says how much it takes already")
            .next("give either `coil` or `cured_g`")),
        (None, None) => Err(RpcError::params("/coil", "nothing says how much a coil takes")
            .next("give `coil` as for `coil.design`, or `cured_g`")),
        _ => Ok(()),
    }
}

/// Cured adhesive in one coil; with the coil's design and the origins of what its quantity rests on.
#[allow(clippy::type_complexity)]
fn cured(app: &App, asked: &AdhesiveMix) -> Result<(Measured<Mass>, Option<(Design, Vec<Origin>)>), RpcError> {
    let Some(coil) = &asked.coil else {
        return Ok((asked.cured_g.map_or(Measured::certain(Mass::ZERO), |r| r.measured()), None));
    };
    // The mix is asked for with this adhesive, whatever the coil was designed with.
    let mut coil = coil.clone();
    coil.adhesive = Some(asked.adhesive.clone());
    let (_, design) = view::designed_here(&app.catalog, &app.store.state().state, &coil, "/coil")?;
    let cured = design.mass.adhesive;
    if cured.value.g() <= 0.0 {
        return Err(RpcError::params("/coil", "this coil has no room for adhesive: no voids, no film, no skin")
            .met(0)
            .allowed("more than 0 g")
            .next("check `assume.glue_mm`, `assume.skin_mm` and the width against the turns"));
    }
    let bearing = ["assume.glue_mm", "assume.skin_mm", "assume.nesting", "assume.pitch_factor"];
    let origins = design
        .origins
        .iter()
        .filter(|o| bearing.contains(&o.param.as_str()))
        .map(|o| Origin { param: format!("coil.{}", o.param), ..o.clone() });
    let origins = origins.collect();
    Ok((cured, Some((design, origins))))
}

/// The step of the shop's scale, with a word where nobody set it.
fn shop_step(app: &App, origins: &mut Vec<Origin>) -> Mass {
    let published = app.store.state();
    let scale = &published.state.figures().scale;
    if scale.origin != FigureOrigin::Set {
        origins.push(Origin {
            param: "scale_resolution_g".into(),
            value: scale.value.resolution_g,
            u: 0.0,
            unit: "g",
            mark: Mark::CommonPractice,
            source: "first guess of the shop's scale: set yours with `shop set`".into(),
        });
    }
    Mass::from_g(scale.value.resolution_g)
}

fn in_words(
    spec: &MixSpec,
    named: Named,
    mixed: Mixed,
    design: Option<Design>,
    findings: Vec<Finding>,
    origins: Vec<Origin>,
) -> AdhesiveMixed {
    let asked_c = spec.cure.map(|t| t.c());
    let hottest = asked_c.or_else(|| spec.adhesive.cures.last().map(|c| c.at.c()));
    let pct = |share: f64| Setting::of(100.0 * share);
    AdhesiveMixed {
        sentence: sentence(spec, &mixed),
        adhesive: named.id,
        label: named.label,
        cured_g: spec.cured.into(),
        needed_g: bare(mixed.needed),
        mix_g: bare(mixed.weigh.total()),
        resin_g: bare(mixed.weigh.resin),
        scale_resolution_g: bare(spec.step),
        temperature_c: bare(mixed.room),
        cures: mixed.cures.iter().map(|c| adhesive_words::cure(c, asked_c.unwrap_or_else(|| c.from.at.c()))).collect(),
        cautions: cautions(spec.adhesive.kind, hottest),
        findings: findings.into_iter().map(view::finding).collect(),
        origins: origins.into_iter().map(view::origin).collect(),
        goes_to: design.map(|d| {
            let [void, film, skin] = d.mass.adhesive_parts;
            AdhesiveParts { void_g: void.into(), film_g: film.into(), skin_g: skin.into() }
        }),
        hardener_g: mixed.weigh.hardener.map(bare),
        least_mix_g: mixed.least.map(bare),
        ratio_u_pct: mixed.weigh.ratio_u.map(pct),
        ratio_off_pct: mixed.weigh.ratio_off.map(pct),
        pot_life_min: mixed.pot_life_min.map(Setting::of),
        winding_min: spec.winding_min.map(Setting::of),
        spare_min: mixed.spare_min.map(Setting::of),
    }
}

fn sentence(spec: &MixSpec, mixed: &Mixed) -> String {
    // As many decimals as the scale shows.
    let decimals = (-spec.step.g().log10()).ceil().clamp(0.0, 4.0) as usize;
    let grams = |m: Mass| format!("{:.decimals$} g", m.g());
    let weigh = match mixed.weigh.hardener {
        Some(hardener) => format!("{} of resin and {} of hardener", grams(mixed.weigh.resin), grams(hardener)),
        None => grams(mixed.weigh.resin),
    };
    let many = if spec.coils == 1 { "one coil".to_owned() } else { format!("{} coils", spec.coils) };
    let mut said = format!("Weigh {weigh} for {many}");
    if let Some(pot) = mixed.pot_life_min {
        said.push_str(&format!("; it can be worked for {pot:.0} min at {:.0} °C", mixed.room.c()));
    }
    match mixed.spare_min {
        Some(spare) if spare < 0.0 => said.push_str(&format!(", {:.0} min less than the winding takes", -spare)),
        Some(spare) => said.push_str(&format!(", {spare:.0} min more than the winding takes")),
        None => {}
    }
    said + "."
}
