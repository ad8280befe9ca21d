//! Reads the planning fixtures: hand-made cases in metres, shop instances in centimetres.

use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use coilwright_planner::{Alternate, Assigned, Job, Need, Offer, Question, Spool};
use serde::Deserialize;
use std::collections::BTreeMap;

/// A case or an instance, in either of the two forms.
#[derive(Deserialize)]
pub struct File {
    #[allow(dead_code, reason = "only the example prints it")]
    pub name: String,
    unit: Option<String>,
    alpha_plan: Option<f64>,
    smallest_usual_coil_m: Option<f64>,
    #[serde(default)]
    rmin: BTreeMap<String, f64>,
    spools: Vec<FileSpool>,
    jobs: Vec<FileJob>,
    #[serde(default)]
    incumbent: BTreeMap<String, BTreeMap<String, u32>>,
    supplier: Option<Vec<FileOffer>>,
    minutes_per_day: Option<f64>,
    #[serde(default)]
    #[allow(dead_code, reason = "the example has nothing to compare with")]
    pub expect: serde_json::Value,
}

#[derive(Deserialize)]
struct FileSpool {
    id: String,
    wire: String,
    #[serde(alias = "mean_m")]
    mu: f64,
    #[serde(alias = "sd_m")]
    sigma: f64,
    #[serde(default)]
    k: f64,
    hold: bool,
    opened: bool,
    age_days: u32,
    cap: Option<f64>,
}

#[derive(Deserialize)]
struct FileJob {
    id: String,
    wire: String,
    #[serde(alias = "alternates")]
    alts: Vec<FileAlternate>,
    coils: u32,
    #[serde(alias = "net_m")]
    net: f64,
    #[serde(alias = "tails_m")]
    tail: f64,
    #[serde(alias = "scrap_m")]
    scrap: f64,
    priority: u32,
    due_day: i32,
    #[serde(default)]
    minutes: f64,
    started: BTreeMap<String, u32>,
}

#[derive(Deserialize)]
struct FileAlternate {
    wire: String,
    penalty: u32,
}

#[derive(Deserialize)]
struct FileOffer {
    length_m: f64,
    price: f64,
    lead_days: u32,
}

/// The question of a file's text, and the file.
pub fn read(text: &str) -> Result<(Question, File), serde_json::Error> {
    let file: File = serde_json::from_str(text)?;
    let metre = if file.unit.as_deref() == Some("cm") { 100.0 } else { 1.0 };
    let length = |x: f64| Length::from_m(x / metre);
    let spools: Vec<Spool> = file
        .spools
        .iter()
        .map(|s| Spool {
            draw_doubt: s.k,
            held: s.hold,
            opened: s.opened,
            age_days: s.age_days,
            safe: s.cap.map(length),
            ..Spool::new(&s.id, &s.wire, Measured::new(length(s.mu), length(s.sigma)))
        })
        .collect();
    let jobs = file
        .jobs
        .iter()
        .map(|j| Job {
            due_day: Some(j.due_day),
            alternates: j
                .alts
                .iter()
                .map(|a| Alternate { wire: a.wire.clone(), penalty: a.penalty, need: None })
                .collect(),
            started: j.started.clone(),
            minutes: j.minutes,
            ..Job::new(
                &j.id,
                &j.wire,
                j.coils,
                Need { net: length(j.net), tails: length(j.tail), scrap: length(j.scrap) },
                j.priority,
            )
        })
        .collect();
    let wire_of = |id: &String| spools.iter().find(|s| s.id == *id).map_or(String::new(), |s| s.wire.clone());
    let incumbent = file.incumbent.iter().flat_map(|(job, lies)| {
        lies.iter().map(|(spool, &coils)| Assigned {
            job: job.clone(),
            wire: wire_of(spool),
            spool: spool.clone(),
            coils,
        })
    });
    let mut smallest_coil: BTreeMap<String, Length> = file.rmin.iter().map(|(w, &l)| (w.clone(), length(l))).collect();
    if let Some(smallest) = file.smallest_usual_coil_m {
        smallest_coil.extend(spools.iter().map(|s| (s.wire.clone(), length(smallest))));
    }
    let offers = file.supplier.iter().flatten().enumerate().map(|(i, o)| Offer {
        id: format!("offer-{i}"),
        wire: "A".to_owned(),
        left: Measured::certain(length(o.length_m)),
        draw_doubt: 0.0,
        price: (o.price * 100.0).round() as u64,
        lead_days: o.lead_days,
    });
    let question = Question {
        smallest_coil,
        risk: file.alpha_plan,
        common_share: 0.0,
        minutes_per_day: file.minutes_per_day,
        incumbent: incumbent.collect(),
        supply: offers.collect(),
        spools,
        jobs,
    };
    Ok((question, file))
}
