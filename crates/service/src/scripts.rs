//! What plugins' scripts are asked beside the program's own work, and how their answers are told.

use crate::app::App;
use crate::{coil_words, view, words};
use coilwright_catalog::{Asking, Catalog, Moment, PluginFinding, Room, Unable};
use coilwright_core::coil::spec::CoilSpec;
use coilwright_core::finding::Level;
use coilwright_core::former::FormerMaterial;
use coilwright_proto::coil::{CoilDesign, CoilDesigned, FindingAnswer, FindingLevel};
use coilwright_proto::error::RpcError;
use coilwright_proto::params;
use coilwright_proto::reference::Ref;
use coilwright_shop::figures::Figures;
use coilwright_shop::gate::{Check, Gate};
use coilwright_shop::job::Job;
use coilwright_shop::refusal::Refusal;
use coilwright_shop::state::State;
use coilwright_store::{Published, Store, Unreadable};
use serde_json::{Map, Value, json};
use std::sync::Arc;

/// The program as scripts see it: one state, or before there is one a shop that has set nothing.
struct ShopRoom(Option<Shop>);

/// The shop as it was when the scripts were called; things at rest are read when asked for.
struct Shop {
    store: Arc<Store<State, Refusal>>,
    at: Arc<Published<State>>,
}

/// Where plugins' worked examples are replayed: a shop that has set nothing and has no jobs.
pub fn bare_room() -> Arc<dyn Room> {
    Arc::new(ShopRoom(None))
}

/// The scripts of the catalog, asked about the shop as it is now.
pub fn asking(app: &App) -> Asking {
    Asking::new(app.catalog.clone(), Arc::new(here(app)))
}

fn here(app: &App) -> ShopRoom {
    ShopRoom(Some(Shop { store: app.store.clone(), at: app.store.state() }))
}

impl Room for ShopRoom {
    fn coil(&self, catalog: &Catalog, coil: &Value) -> Result<Value, Unable> {
        let understood = params::read::<CoilDesign>(&coil.to_string()).map_err(unable)?;
        view::coil_spec(catalog, &understood, "").map_err(unable)?;
        serde_json::to_value(understood).map_err(|e| Unable::because(e.to_string()))
    }

    fn design(&self, catalog: &Catalog, coil: &Value) -> Result<Value, Unable> {
        let asked = params::read::<CoilDesign>(&coil.to_string()).map_err(unable)?;
        // With the shop's own lessons where there is a shop, as `coil.design` answers.
        let designed = match &self.0 {
            Some(shop) => view::designed_here(catalog, &shop.at.state, &asked, ""),
            None => view::designed(catalog, &asked, ""),
        };
        let (spec, design) = designed.map_err(unable)?;
        Ok(for_scripts(catalog, &spec, &coil_words::designed(design, None, asked)))
    }

    fn job(&self, id: &str) -> Result<Value, Unable> {
        let found = words::job_id(id).ok().zip(self.0.as_ref());
        let found = found.map(|(id, shop)| shop.store.look_at(&shop.at, |p| p.state.job(id).map(job)));
        match found {
            Some(Ok(Some(told))) => Ok(told),
            Some(Err(Unreadable(why))) => Err(Unable::because(why)),
            _ => Err(Unable::because(format!("there is no job `{id}`"))),
        }
    }

    fn figures(&self) -> Value {
        let first = Figures::default();
        let figures = self.0.as_ref().map_or(&first, |shop| shop.at.state.figures());
        let all = serde_json::to_value(figures).unwrap_or_default();
        let values = all.as_object().into_iter().flatten().filter_map(|(name, setting)| {
            Some((name.clone(), setting.get("value")?.clone())).filter(|(name, _)| name != "plugin_settings")
        });
        Value::Object(values.collect())
    }

    fn settings(&self) -> Value {
        let set = self.0.as_ref().map(|shop| &shop.at.state.figures().plugin_settings.value);
        set.and_then(|set| serde_json::to_value(set).ok()).unwrap_or_else(|| json!({}))
    }
}

fn unable(e: RpcError) -> Unable {
    Unable { message: e.data.detail, pointer: e.data.pointer, next_step: e.data.next_step }
}

/// A designed coil with its wire and former in figures. Where defaults came from is left out: scripts judge figures.
fn for_scripts(catalog: &Catalog, spec: &CoilSpec, designed: &CoilDesigned) -> Value {
    let mut all = serde_json::to_value(designed).unwrap_or_default();
    let coil = &designed.understood;
    if let Some(members) = all.as_object_mut() {
        members.shift_remove("origins");
        members.shift_remove("understood");
    }
    let wire = &spec.wire;
    all["wire"] = json!({
        "conductor": wire.conductor.word(),
        "bare_mm": wire.bare.value.mm(),
        "overall_mm": wire.overall.value.mm(),
        "ohm_per_m": wire.ohm_per_m().value.ohm_per_m(),
        "g_per_m": wire.g_per_m().value.g_per_m(),
    });
    if let Ref::Id(id) = &coil.wire {
        all["wire"]["wire"] = id.as_str().into();
        all["wire"]["label"] = catalog.wire(id).map(|w| w.label.clone()).into();
    }
    let former = &spec.former;
    let material: &FormerMaterial = &former.material;
    all["former"] = json!({
        "metal": material.is_metal(),
        "inside_diameter_mm": former.inside_diameter.value.mm(),
        "wall_mm": former.wall.value.mm(),
        "slit_mm": former.slit.mm(),
        "height_mm": former.height.map(|h| h.value.mm()),
        "heat_limit_c": material.heat_limit.map(|t| t.c()),
    });
    if let Ref::Id(id) = &coil.former.material {
        all["former"]["former"] = id.as_str().into();
        all["former"]["label"] = catalog.former(id).map(|f| f.label.clone()).into();
    }
    all
}

/// A job as scripts are told it: what was wanted, and what became of it.
fn job(job: &Job) -> Value {
    let works: Vec<Value> = job
        .works
        .iter()
        .filter_map(|(no, work)| {
            let outcome = work.outcome.as_ref()?;
            let mut told = json!({ "coil_no": no, "good": outcome.good });
            told["minutes"] = outcome.record.minutes.into();
            told["dcr_ohm"] = outcome.record.dcr_ohm.map(|r| r.value).into();
            Some(told)
        })
        .collect();
    json!({
        "job": job.id.to_string(),
        "title": job.title,
        "status": job.status(),
        "coil": *job.coil,
        "wire": job.plan.wire,
        "coils": job.coils,
        "good": job.good(),
        "scrapped": job.scrapped(),
        "draw_m": job.plan.draw_m.value,
        "need_m": job.plan.need_m.value,
        "works": works,
    })
}

/// What the checks of plugins say of a design.
pub fn of_design(app: &App, spec: &CoilSpec, designed: &CoilDesigned) -> Vec<FindingAnswer> {
    if !app.catalog.along().iter().any(|offer| offer.moment == Moment::Design) {
        return Vec::new();
    }
    let about = json!({
        "coil": serde_json::to_value(&designed.understood).unwrap_or_default(),
        "design": for_scripts(&app.catalog, spec, designed),
    });
    asking(app).check(&Moment::Design, &about).into_iter().map(finding).collect()
}

/// What the checks of plugins say of a start, as checks of the gate: a finding that stops is a check that is not ok.
pub fn of_start(app: &App, job: &Job, coil_no: u32, spool: &str, gate: &Gate) -> Vec<Check> {
    if !app.catalog.along().iter().any(|offer| offer.moment == Moment::Start) {
        return Vec::new();
    }
    let mut about = about_job(app, job, coil_no);
    about.insert("spool".into(), spool.into());
    about.insert("p_enough".into(), gate.p_enough.into());
    let found = asking(app).check(&Moment::Start, &Value::Object(about));
    let check = |f: PluginFinding| Check {
        code: format!("{}.{}", f.plugin, f.code),
        ok: f.level != Level::Stop,
        figure: f.figure,
        limit: f.limit,
        text: f.text,
    };
    found.into_iter().map(check).collect()
}

/// Lines that plugins add to the traveller of a coil.
pub fn of_traveller(app: &App, job: &Job, coil_no: u32) -> Vec<String> {
    if !app.catalog.along().iter().any(|offer| offer.moment == Moment::Traveller) {
        return Vec::new();
    }
    asking(app).lines(&Value::Object(about_job(app, job, coil_no)))
}

/// A job with its coil designed, as checks on a start and lines of the traveller are given it.
fn about_job(app: &App, of: &Job, coil_no: u32) -> Map<String, Value> {
    let mut about = Map::new();
    about.insert("job".into(), job(of));
    about.insert("coil_no".into(), coil_no.into());
    about.insert("coil".into(), (*of.coil).clone());
    if let Ok(design) = here(app).design(&app.catalog, &of.coil) {
        about.insert("design".into(), design);
    }
    about
}

fn finding(f: PluginFinding) -> FindingAnswer {
    FindingAnswer {
        code: format!("{}.{}", f.plugin, f.code),
        level: match f.level {
            Level::Stop => FindingLevel::Stop,
            Level::Watch => FindingLevel::Watch,
            Level::Note => FindingLevel::Note,
        },
        text: f.text,
        figure: f.figure,
        limit: f.limit,
    }
}
