//! `coil.match`: a target in; every coil that meets it, from the shelf first, and the nearest that do not. Looks at the
//! shop's spools, writes nothing.

use crate::app::App;
use crate::match_near::{Missed, in_words};
use crate::match_question::{Choice, Question, question};
use crate::match_shelf::{OnShelf, Shelf};
use crate::{sound_words, view};
use coilwright_core::coil::design;
use coilwright_core::coil::spec::CoilSpec;
use coilwright_core::finding::{Finding, Level};
use coilwright_core::matching::{Hit, Nearest, Row, Searched, search};
use coilwright_core::measured::Measured;
use coilwright_core::origin::{Mark, Origin};
use coilwright_core::quantity::Length;
use coilwright_core::substitution::sentence;
use coilwright_proto::error::RpcError;
use coilwright_proto::matching::{
    CoilMatch, CoilMatched, MatchFrom, MatchSearched, MatchedCoil, MatchedSound, MissReason, NearMiss,
};
use coilwright_proto::quantity::{Setting, bare};
use coilwright_shop::state::State;
use std::collections::BTreeMap;

pub fn answer(app: &App, asked: CoilMatch) -> Result<CoilMatched, RpcError> {
    let published = app.store.state();
    let shelf = Shelf::of(&published.state);
    let mut q = question(app, &published.state, &asked)?;
    let mut hits = Vec::new();
    let mut near = Nearest::new(q.near_limit);
    let searched = search(&q.frames, &q.formers, &q.bounds, q.sound.as_ref(), |h| hits.push(h), &mut near);
    if q.hopeless {
        hits.clear();
    }
    let mut found: Vec<Found> = hits.into_iter().map(|hit| place(&q, &shelf, hit)).collect();
    let short = take_short(&mut found, asked.from);
    found.sort_by(|a, b| {
        a.rank().cmp(&b.rank()).then(a.hit.distance.total_cmp(&b.hit.distance)).then(a.order().cmp(&b.order()))
    });
    let feasible = found.len();
    let limit = q.limit;
    let mut learned = BTreeMap::new();
    let mut items = Vec::new();
    for f in found.iter().take(limit) {
        let (item, origin) = told(&q, &published.state, &asked, f)?;
        items.push(item);
        learned.extend(origin);
    }
    if !learned.is_empty() {
        q.origins.retain(|o| o.param != EXCESS);
        q.origins.extend(learned.into_values());
    }
    let mut misses: Vec<NearMiss> = short.iter().take(q.near_limit).map(|f| spool_short(&q, f)).collect();
    misses.extend(near.all().iter().take(q.near_limit - misses.len()).map(|m| {
        let said = in_words(m, &q.bounds, q.sound.as_ref());
        let row = q.row(m.wire, m.former, m.layers);
        let turns = f64::from(m.first) + f64::from(m.layers - 1) * row.upper(f64::from(m.first));
        miss(&q, m.wire, m.former, m.layers, turns as u32, m.width, m.dcr, said).free(m.clearance_outer)
    }));
    if feasible == 0 && !q.hopeless {
        let nearest = misses
            .first()
            .map_or(String::new(), |m| format!(": the nearest is {} in {} layers, {}", m.label, m.layers, m.text));
        q.findings.push(Finding::watch("no_wire_meets_it", format!("no wire meets this target{nearest}")));
    }
    if feasible > limit {
        q.findings.push(Finding::note(
            "more_than_shown",
            format!(
                "{feasible} coils meet the target, the {limit} closest are shown: narrow the range or raise `limit`"
            ),
        ));
    }
    Ok(CoilMatched {
        feasible: items,
        near: misses,
        searched: counted(&q, searched, feasible, &shelf),
        findings: q.findings.into_iter().map(view::finding).collect(),
        origins: q.origins.into_iter().map(view::origin).collect(),
        seq: published.head.seq,
    })
}

fn counted(q: &Question, s: Searched, feasible: usize, shelf: &Shelf) -> MatchSearched {
    let small = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    MatchSearched {
        wires: small(q.wires.len()),
        combinations: s.combinations,
        too_fat: s.too_fat,
        candidates: s.candidates,
        feasible: feasible as u64,
        spools: small(shelf.len()),
    }
}

/// A coil that meets the target, and the spool for it.
struct Found<'a> {
    hit: Hit,
    need: Length,
    /// The spool that is enough.
    spool: Option<&'a OnShelf>,
    /// Where none is: the nearest.
    nearest: Option<&'a OnShelf>,
}

impl Found<'_> {
    fn rank(&self) -> bool {
        self.spool.is_none()
    }
    /// What orders two equally close copies.
    fn order(&self) -> (usize, usize, u32, u32) {
        (self.hit.wire, self.hit.former, self.hit.layers, self.hit.first)
    }
}

fn place<'a>(q: &Question, shelf: &'a Shelf, hit: Hit) -> Found<'a> {
    let row = q.row(hit.wire, hit.former, hit.layers);
    let need = Length::from_m(row.length(f64::from(hit.first))) + q.beyond_winding;
    let (spool, nearest) = match q.wires.get(hit.wire) {
        Some(w) if q.shelf => match shelf.enough(&w.key(), need) {
            Ok(spool) => (Some(spool), None),
            Err(nearest) => (None, nearest),
        },
        _ => (None, None),
    };
    Found { hit, need, spool, nearest }
}

/// Where only the shelf counts: takes out what no spool is enough for, the closest of each wire and layer count first.
fn take_short<'a>(found: &mut Vec<Found<'a>>, from: Option<MatchFrom>) -> Vec<Found<'a>> {
    if from != Some(MatchFrom::Shelf) {
        return Vec::new();
    }
    let (kept, mut short): (Vec<_>, Vec<_>) = std::mem::take(found).into_iter().partition(|f| f.spool.is_some());
    *found = kept;
    short.sort_by(|a, b| a.hit.distance.total_cmp(&b.hit.distance).then(a.order().cmp(&b.order())));
    let mut seen = std::collections::BTreeSet::new();
    short.retain(|f| seen.insert((f.hit.wire, f.hit.former, f.hit.layers)));
    short
}

fn spool_short(q: &Question, f: &Found) -> NearMiss {
    let (h, need) = (&f.hit, f.need.m());
    let free = f.nearest.map_or(0.0, |s| s.free().m());
    let text = match f.nearest {
        Some(s) => format!(
            "short by {:.2} m: {need:.2} m needed on one spool, {} has {free:.2} m to give with the shop's confidence",
            need - free,
            s.id
        ),
        None => format!("{need:.2} m needed, none on the shelf"),
    };
    let row = q.row(h.wire, h.former, h.layers);
    let turns = f64::from(h.first) + f64::from(h.layers - 1) * row.upper(f64::from(h.first));
    let said = Missed { reason: MissReason::SpoolShort, figure: free, limit: need, text };
    let mut m = miss(q, h.wire, h.former, h.layers, turns as u32, h.width, h.dcr, said).free(h.clearance_outer);
    m.spool = f.nearest.map(|s| s.id.clone());
    m
}

#[allow(clippy::too_many_arguments)]
fn miss(
    q: &Question,
    wire: usize,
    former: usize,
    layers: u32,
    turns: u32,
    width: f64,
    dcr: f64,
    said: Missed,
) -> NearMiss {
    let (w, choice) = (&q.wires[wire], &q.choices[former]);
    NearMiss {
        wire: w.reference.clone(),
        label: w.label.clone(),
        material: choice.material.clone(),
        layers,
        turns,
        width_mm: bare(Length::from_m(width)),
        dcr_ohm: Setting::of(dcr),
        reason: said.reason,
        figure: said.figure,
        limit: said.limit,
        text: said.text,
        clearance_outer_mm: None,
        spool: None,
    }
}

/// Adds what is known of the fit.
trait Free {
    fn free(self, clearance: f64) -> Self;
}
impl Free for NearMiss {
    fn free(mut self, clearance: f64) -> NearMiss {
        self.clearance_outer_mm = clearance.is_finite().then(|| bare(Length::from_m(clearance)));
        self
    }
}

/// One coil in full: designed with its uncertainty, and compared with the original where there is one; and what its wire
/// was learned to have.
fn told(
    q: &Question,
    state: &State,
    asked: &CoilMatch,
    f: &Found,
) -> Result<(MatchedCoil, Option<(String, Origin)>), RpcError> {
    let (h, w, choice) = (&f.hit, &q.wires[f.hit.wire], &q.choices[f.hit.former]);
    let spec = spec(q, state, h, choice);
    let d = design(&spec).map_err(|e| view::refused(e, ""))?;
    let learned = d.origins.iter().find(|o| o.param == EXCESS && o.mark == Mark::Learned);
    let learned = learned.map(|o| (w.key(), Origin { source: format!("{}: {}", w.key(), o.source), ..o.clone() }));
    let sound = match &q.original {
        None => None,
        Some((driver, original)) => {
            let at = ["/sound/driver", "/sound/original", ""];
            let c = sound_words::compared(driver, [original, &spec], false, at)?;
            let rated = asked.sound.as_ref().and_then(|s| s.driver.rated_ohm).or(asked.target.rated_ohm);
            Some(MatchedSound {
                bl_pct: sound_words::pct(c.bl_ratio),
                sentence: sentence(&c, rated.map(|s| s.value)),
                db_1w: c.change.db_1w.map(sound_words::figure),
                fs_hz: c.change.fs.map(sound_words::figure),
                qts_pct: c.qts_ratio.map(sound_words::pct),
            })
        }
    };
    let left: Option<Measured<Length>> = f.spool.map(|s| s.remaining.left);
    let item = MatchedCoil {
        from: if f.spool.is_some() { MatchFrom::Shelf } else { MatchFrom::Catalog },
        wire: w.reference.clone(),
        label: w.label.clone(),
        material: choice.material.clone(),
        wall_mm: bare(choice.spec.former.wall.value),
        layers: h.layers,
        turns: d.turns,
        turns_per_layer: d.turns_per_layer,
        width_mm: bare(Length::from_m(h.width)),
        width_most_mm: bare(Length::from_m(h.width_most)),
        off_pct: Setting::of(100.0 * (h.dcr / q.bounds.target.dcr - 1.0)),
        dcr_ohm: d.dcr.into(),
        need_m: d.need.into(),
        mass_g: Setting::of(1e3 * h.mass),
        distance: h.distance,
        watch: d.findings.into_iter().filter(|f| f.level != Level::Note).map(view::finding).collect(),
        clearance_outer_mm: d.clearance_outer.map(Into::into),
        spool: f.spool.map(|s| s.id.clone()),
        left_m: left.map(Into::into),
        p_enough: f.spool.map(|s| s.remaining.probability(f.need)),
        sound,
    };
    Ok((item, learned))
}

/// The member that what was learned of one wire stands for.
const EXCESS: &str = "assume.resistance_excess_pct";

/// The coil as `coil.design` would be asked for it.
fn spec(q: &Question, state: &State, h: &Hit, choice: &Choice) -> CoilSpec {
    let mut spec = choice.spec.clone();
    let w = &q.wires[h.wire];
    spec.wire = w.wire.clone();
    spec.standing = w.standing;
    spec.assume.learned = view::learned(state, &w.key(), &spec.former);
    spec.winding.layers = h.layers;
    // The width found is just the one that holds these turns: the design counts them with the same slack.
    spec.winding.width = Some(Measured::certain(Length::from_m(h.width)));
    spec.winding.turns_per_layer = None;
    spec
}

impl Question {
    /// The wire on the former in so many layers.
    pub fn row(&self, wire: usize, former: usize, layers: u32) -> Row {
        Row::bare(&self.frames[wire], &self.formers[former]).with_layers(layers)
    }
}
