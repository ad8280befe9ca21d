//! The question of a match, checked and looked up: wires, formers, bounds and the sound to come close to.

use crate::app::App;
use crate::match_shelf;
use crate::match_words::{Named, layers, target, within};
use crate::{sound_words, view, winding_words};
use coilwright_catalog::WireFilter;
use coilwright_core::coil::assume::{assumed, least};
use coilwright_core::coil::design;
use coilwright_core::coil::spec::{CoilSpec, LearnedSpec};
use coilwright_core::finding::Finding;
use coilwright_core::fit::largest_overall;
use coilwright_core::matching::{Bounds, FormerFrame, SoundBounds, WireFrame};
use coilwright_core::motor::{FIELD_OVER_PLATE, Field, OVERHUNG_OVER_PLATE};
use coilwright_core::origin::Origin;
use coilwright_core::quantity::Length;
use coilwright_core::sound::Part;
use coilwright_core::substitution::{DriverInputs, damping};
use coilwright_core::wire::Standing;
use coilwright_proto::coil::{CoilDesign, FormerParams, TargetParams, WindingParams};
use coilwright_proto::error::RpcError;
use coilwright_proto::matching::{CoilMatch, MatchFormer, MatchFrom, MatchMaterial, MatchSound};
use coilwright_proto::quantity::{Reading, Setting};
use coilwright_proto::reference::FormerRef;
use coilwright_shop::state::State;

const DEFAULT_LIMIT: u32 = 20;
const MOST: u32 = 200;
const DEFAULT_NEAR: u32 = 10;
const MOST_NEAR: u32 = 100;
/// Wires that one request may name.
const MOST_WIRES: usize = 1000;
/// Former materials that one request may choose from.
const MOST_MATERIALS: usize = 20;

/// A former to choose.
pub struct Choice {
    /// Its material as it was asked for.
    pub material: FormerRef,
    /// A coil on it, of any wire.
    pub spec: CoilSpec,
}

/// What is searched.
pub struct Question {
    /// The wires.
    pub wires: Vec<Named>,
    /// The same as numbers.
    pub frames: Vec<WireFrame>,
    /// The formers.
    pub choices: Vec<Choice>,
    /// The same as numbers.
    pub formers: Vec<FormerFrame>,
    /// What must be kept to.
    pub bounds: Bounds,
    /// The sound to come close to.
    pub sound: Option<SoundBounds>,
    /// Driver and original coil, to tell how each copy sounds.
    pub original: Option<(DriverInputs, CoilSpec)>,
    /// Tails and threading.
    pub beyond_winding: Length,
    /// Whether spools count.
    pub shelf: bool,
    /// Whether something stands in the way that no winding mends.
    pub hopeless: bool,
    /// Coils to tell.
    pub limit: usize,
    /// Misses to tell.
    pub near_limit: usize,
    /// What must be told of the whole.
    pub findings: Vec<Finding>,
    /// What was taken for granted.
    pub origins: Vec<Origin>,
}

/// Reads the question.
///
/// # Errors
/// Whatever is wrong with it, with its pointer.
pub fn question(app: &App, state: &State, asked: &CoilMatch) -> Result<Question, RpcError> {
    let (mut findings, mut origins) = (Vec::new(), Vec::new());
    let target = target(&asked.target, &mut origins)?;
    let (width_min, width_max) = (asked.width_mm.min.value, asked.width_mm.max.value);
    within("/width_mm/min", width_min, 0.1, 500.0, "mm")?;
    within("/width_mm/max", width_max, width_min, 500.0, "mm")?;
    if let Some(mass) = asked.mass_max_g {
        within("/mass_max_g", mass.value, 0.001, 5000.0, "g")?;
    }
    let counts = layers(asked.layers.as_deref())?;
    let limit = count("/limit", asked.limit.unwrap_or(DEFAULT_LIMIT), 1, MOST)?;
    let near_limit = count("/near_limit", asked.near_limit.unwrap_or(DEFAULT_NEAR), 0, MOST_NEAR)?;
    let wires = wires(app, state, asked, &mut findings)?;
    let choices = choices(app, asked, &wires)?;
    let first = choices.first().ok_or_else(|| {
        RpcError::params("/former/materials", "there is no material to choose from").next("name at least one")
    })?;
    let plate = first.spec.gap.as_ref().and_then(|g| g.plate).map(|p| p.value.m());
    let with = |wire: &Named| {
        let mut spec = first.spec.clone();
        spec.wire = wire.wire.clone();
        spec.assume.learned = view::learned(state, &wire.key(), &spec.former);
        WireFrame::new(&wire.wire, &assumed(&spec))
    };
    let frames: Vec<WireFrame> = wires.iter().map(with).collect();
    let mut formers: Vec<FormerFrame> = choices.iter().map(|c| FormerFrame::of(&c.spec, plate)).collect();
    let inside = first.spec.former.inside_diameter.value;
    let least = first.spec.gap.as_ref().map(|g| least(g, inside));
    let bore = first.spec.gap.as_ref().and_then(|g| g.bore).map(|b| b.value.m());
    let (least_inner, least_outer) = least.unwrap_or((Length::ZERO, Length::ZERO));
    let hopeless = hopeless(first, &formers, frames.first(), least_inner, least_outer, bore, &mut findings);
    if bore.is_none() {
        findings.push(Finding::note(
            "not_computed",
            "without gap.bore_mm nothing is too fat: the fit is not looked at".into(),
        ));
    }
    let bounds = Bounds {
        target,
        bore,
        min_outer: least_outer.m(),
        width_min: asked.width_mm.min.quantity().m(),
        width_max: asked.width_mm.max.quantity().m(),
        layers: counts.iter().fold(0, |mask, n| mask | 1 << n),
        mass_max: asked.mass_max_g.map_or(f64::INFINITY, |m| 1e-3 * m.value),
    };
    let original = asked
        .sound
        .as_ref()
        .map(|s| sound(app, state, s, &mut formers, plate, &mut findings, &mut origins))
        .transpose()?;
    // What a design of the first wire takes for granted is taken for all of them, but for what was learned of one wire.
    let mut any = first.spec.clone();
    any.assume.learned = LearnedSpec { dcr_ratio: None, ..view::learned(state, "", &any.former) };
    let used = assumed(&any);
    origins.extend(
        design(&any).map(|d| d.origins).unwrap_or_default().into_iter().filter(|o| !o.param.starts_with("wire.")),
    );
    let (sound, original) = original.unzip();
    Ok(Question {
        beyond_winding: used.tails.value + used.threading.value,
        wires,
        frames,
        choices,
        formers,
        bounds,
        sound,
        original,
        shelf: asked.from != Some(MatchFrom::Catalog),
        hopeless,
        limit,
        near_limit,
        findings,
        origins,
    })
}

fn count(pointer: &str, met: u32, min: u32, max: u32) -> Result<usize, RpcError> {
    if (min..=max).contains(&met) {
        return Ok(met as usize);
    }
    Err(RpcError::params(pointer, format!("{met} is not taken here"))
        .met(met)
        .allowed(format!("{min} to {max}"))
        .next("ask for less, and narrow the range"))
}

/// The wires to look at: those named, or the shelf's and the listed ones of the catalog, each once.
fn wires(app: &App, state: &State, asked: &CoilMatch, findings: &mut Vec<Finding>) -> Result<Vec<Named>, RpcError> {
    let mut all: Vec<Named> = match &asked.wires {
        Some(named) => {
            if named.is_empty() || named.len() > MOST_WIRES {
                return Err(RpcError::params("/wires", format!("1 to {MOST_WIRES} wires can be named"))
                    .met(named.len())
                    .allowed(format!("1 to {MOST_WIRES}"))
                    .next("leave it out for all wires"));
            }
            let read = named.iter().enumerate().map(|(i, w)| Named::asked(&app.catalog, w, &format!("/wires/{i}")));
            read.collect::<Result<_, _>>()?
        }
        None => {
            let mut all = if asked.from == Some(MatchFrom::Catalog) {
                Vec::new()
            } else {
                match_shelf::wires(state, &app.catalog)
            };
            if asked.from != Some(MatchFrom::Shelf) {
                let on_shelf: std::collections::BTreeSet<String> = all.iter().map(Named::key).collect();
                let listed = WireFilter { standing: Some(Standing::Listed), ..WireFilter::default() };
                all.extend(app.catalog.wires(listed).filter(|w| !on_shelf.contains(&w.id)).map(Named::of));
            }
            all
        }
    };
    // A computed wire on the shelf is there; one that is not cannot be bought.
    let shelf = match_shelf::Shelf::of(state);
    all.retain(|w| {
        let proposed =
            w.standing != Standing::Computed || (asked.from != Some(MatchFrom::Catalog) && shelf.has(&w.key()));
        if !proposed {
            findings.push(Finding::watch(
                "wire_computed",
                format!("{}: no source lists it, so it is not proposed", w.label),
            ));
        }
        proposed
    });
    if all.is_empty() {
        findings.push(Finding::watch(
            "no_wire",
            "there is no wire to look at: nothing is on the shelf, or nothing that was named can be bought".into(),
        ));
    }
    Ok(all)
}

/// The formers to choose from, each with a coil on it that the calculation accepts.
fn choices(app: &App, asked: &CoilMatch, wires: &[Named]) -> Result<Vec<Choice>, RpcError> {
    let any = wires
        .first()
        .map(|w| w.reference.clone())
        .or_else(|| app.catalog.wires(WireFilter::default()).next().map(|w| Named::of(w).reference));
    let Some(wire) = any else {
        return Err(RpcError::not_found("/wires", "the catalog has no wire").next("see `plugin.list`"));
    };
    materials(&asked.former)?
        .into_iter()
        .map(|(m, at)| {
            view::former_material(&app.catalog, &m.material, &format!("{at}/material"))?;
            let params = CoilDesign {
                wire: wire.clone(),
                former: FormerParams {
                    material: m.material.clone(),
                    inside_diameter_mm: asked.former.inside_diameter_mm,
                    wall_mm: m.wall_mm,
                    height_mm: asked.former.height_mm,
                    slit_mm: m.slit_mm,
                    shims_mm: Vec::new(),
                    outside_diameters_mm: Vec::new(),
                    vents: None,
                    cone_deg: None,
                },
                winding: WindingParams {
                    layers: Some(2),
                    width_mm: Some(Reading::of(asked.width_mm.max.value)),
                    ..WindingParams::default()
                },
                leads_m: asked.leads_m,
                tails_m: asked.tails_m,
                threading_m: asked.threading_m,
                adhesive: None,
                gap: asked.gap.clone(),
                target: Some(TargetParams {
                    dcr_ohm: Some(asked.target.dcr_ohm),
                    tolerance_pct: asked.target.tolerance_pct.or(Some(Setting::of(3.0))),
                    rated_ohm: asked.target.rated_ohm,
                }),
                bench_c: asked.bench_c,
                hot_c: asked.hot_c,
                offset_mm: None,
                assume: asked.assume.clone(),
            };
            let mut spec = view::coil_spec(&app.catalog, &params, "")?;
            // Any wire serves for the check of the other dimensions; whether it fits the width is the search's matter.
            spec.winding.width = Some(coilwright_core::measured::Measured::certain(Length::from_mm(100.0)));
            coilwright_core::coil::range::check(&spec).map_err(|e| {
                let mut refused = view::refused(e.into(), "");
                // The wall and the slit of one of several materials stand where it is listed.
                if let Some(member) = refused.data.pointer.as_deref().and_then(|p| p.strip_prefix("/former/"))
                    && matches!(member, "wall_mm" | "slit_mm")
                {
                    refused.data.pointer = Some(format!("{at}/{member}"));
                }
                refused
            })?;
            Ok(Choice { material: m.material, spec })
        })
        .collect()
}

/// The materials with their walls, and where each stands in the request.
fn materials(f: &MatchFormer) -> Result<Vec<(MatchMaterial, String)>, RpcError> {
    match (&f.material, f.wall_mm, &f.materials) {
        (Some(material), Some(wall_mm), None) => {
            Ok(vec![(MatchMaterial { material: material.clone(), wall_mm, slit_mm: f.slit_mm }, "/former".into())])
        }
        (None, None, Some(list)) if (1..=MOST_MATERIALS).contains(&list.len()) => {
            Ok(list.iter().enumerate().map(|(i, m)| (m.clone(), format!("/former/materials/{i}"))).collect())
        }
        (None, None, Some(list)) => {
            Err(RpcError::params("/former/materials", format!("1 to {MOST_MATERIALS} materials can be chosen from"))
                .met(list.len())
                .allowed(format!("1 to {MOST_MATERIALS}"))
                .next("name fewer"))
        }
        _ => {
            Err(RpcError::params("/former", "a former is one material with its wall, or a list of them to choose from")
                .next("give `material` and `wall_mm`, or `materials` with a material and a wall each"))
        }
    }
}

/// Whether something stands in the way of every coil: the former does not go over the pole, or fills the gap by itself.
fn hopeless(
    first: &Choice,
    formers: &[FormerFrame],
    wire: Option<&WireFrame>,
    least_inner: Length,
    least_outer: Length,
    bore: Option<f64>,
    findings: &mut Vec<Finding>,
) -> bool {
    let before = findings.len();
    if let Some(pole) = first.spec.gap.as_ref().and_then(|g| g.pole) {
        let inner = (first.spec.former.inside_diameter.value - pole.value).mm() / 2.0;
        if inner < least_inner.mm() - 1e-6 {
            let what =
                if inner < 0.0 { "the former does not go over the pole" } else { "the former is too near to the pole" };
            findings.push(
                Finding::stop(
                    "inner_clearance_small",
                    format!("{what}: {inner:.3} mm a side, {:.3} mm wanted; no winding mends that", least_inner.mm()),
                )
                .figures(inner, least_inner.mm()),
            );
        }
    }
    if let (Some(bore), Some(wire)) = (bore, wire) {
        let thinnest = formers.iter().map(|f| f.outside).fold(f64::INFINITY, f64::min) + 2.0 * wire.glue;
        let room = largest_overall(bore, least_outer.m(), wire.over, thinnest, 1);
        if room <= 0.0 {
            let (left, wanted) = (500.0 * (bore - thinnest), least_outer.mm() + 1e3 * wire.over);
            findings.push(
                Finding::stop("former_fills_gap", format!("the former alone, {:.3} mm over its glue, leaves {left:.3} mm a side in a bore of {:.3} mm, and {wanted:.3} mm of clearance and skin are wanted: no wire fits", 1e3 * thinnest, 1e3 * bore))
                    .figures(left, wanted),
            );
        }
    }
    findings.len() > before
}

/// The sound to come close to: the driver completed with its original coil, and the limits.
fn sound(
    app: &App,
    state: &State,
    asked: &MatchSound,
    formers: &mut [FormerFrame],
    plate: Option<f64>,
    findings: &mut Vec<Finding>,
    origins: &mut Vec<Origin>,
) -> Result<(SoundBounds, (DriverInputs, CoilSpec)), RpcError> {
    winding_words::driven(&asked.original, "/sound/original")?;
    let (spec, d) = view::designed_here(&app.catalog, state, &asked.original, "/sound/original")?;
    let driver = sound_words::inputs(&asked.driver);
    let alone =
        sound_words::compared(&driver, [&spec, &spec], true, ["/sound/driver", "/sound/original", "/sound/original"])?;
    findings.extend(alone.findings.iter().filter(|f| f.code != "taken_as_overhung").cloned());
    origins.extend(alone.origins.iter().filter(|o| o.param != "alike").cloned());
    let plate = plate.or_else(|| spec.gap.as_ref().and_then(|g| g.plate).map(|p| p.value.m()));
    let width = d.width.value.m();
    let height = FIELD_OVER_PLATE.0 * plate.unwrap_or(1.0 / FIELD_OVER_PLATE.0);
    let wire_in = |field: Field| d.in_field(field);
    let winding = d.mass.wire.value + d.mass.adhesive.value;
    // Where one of the formers' heights is not known neither is weighed: the copy's own stands in for the original's.
    let former = match (&d.mass.former, formers.first()) {
        (Some(own), Some(copy)) if copy.mass > 0.0 => own.value.kg(),
        (_, copy) => copy.map_or(0.0, |c| c.mass),
    };
    let limit = |given: Option<f64>| given.unwrap_or(f64::INFINITY);
    let bounds = SoundBounds {
        driver: alone.driver,
        original: Part {
            dcr: d.dcr.value.ohm(),
            mass: winding.kg() + former,
            in_field: wire_in(Field::Filled(height)),
            damping: damping(&spec.former, (spec.former.inside_diameter.value + spec.former.wall.value).m(), plate),
        },
        in_tall_field: wire_in(Field::Tall(height)),
        overhung: plate.is_none_or(|p| width >= OVERHUNG_OVER_PLATE * p),
        plate,
        field: height,
        level_db: limit(asked.level_db.map(|s| s.value)),
        qts: limit(asked.qts_pct.map(|s| s.value / 100.0)),
        fs: limit(asked.fs_pct.map(|s| s.value / 100.0)),
    };
    for (pointer, met, most) in [
        ("/sound/level_db", asked.level_db.map(|s| s.value), 40.0),
        ("/sound/qts_pct", asked.qts_pct.map(|s| s.value), 500.0),
        ("/sound/fs_pct", asked.fs_pct.map(|s| s.value), 500.0),
    ] {
        if let Some(met) = met {
            within(pointer, met, 0.0, most, "")?;
        }
    }
    Ok((bounds, (driver, spec)))
}
