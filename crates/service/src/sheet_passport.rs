//! `sheet.passport`: the page that goes with a finished job to the customer.

use crate::app::App;
use crate::{adhesive_words, day, teardown, told, view, words};
use coilwright_core::adhesive::Kind;
use coilwright_proto::coil::CoilDesign;
use coilwright_proto::error::{ErrorKind, RpcError, code};
use coilwright_proto::reference::Ref;
use coilwright_proto::sheet::{SheetPassport, SheetPassportAnswer};
use coilwright_sheets::Figure;
use coilwright_sheets::passport::{Passport, Wound, passport};
use coilwright_shop::fact::{Before, JobClosed, Override};
use coilwright_shop::job::{CoilWork, Ended, Job};
use coilwright_shop::state::State;
use coilwright_shop::uncertain::Uncertain;
use coilwright_store::Published;
use jiff::Timestamp;

pub fn answer(app: &App, asked: SheetPassport) -> Result<SheetPassportAnswer, RpcError> {
    app.look(|published| printed(app, &asked, published))
}

fn printed(app: &App, asked: &SheetPassport, published: &Published<State>) -> Result<SheetPassportAnswer, RpcError> {
    let id = words::job_id(&asked.job)?;
    let state = &published.state;
    let job = state.job(id).ok_or_else(|| words::no_such("job", &asked.job))?;
    let (closed, at) = closed(job)?;
    let good = job.works.iter().filter(|(no, w)| w.is_good() && asked.coil_no.is_none_or(|wanted| wanted == **no));
    let coils: Vec<Wound> = good.map(|(no, w)| wound(state, job, *no, w)).collect();
    if let (true, Some(no)) = (coils.is_empty(), asked.coil_no) {
        return Err(RpcError::not_found("/coil_no", format!("{id} hands over no coil {no}"))
            .met(no)
            .next("leave it out for all coils, or see `job.show`"));
    }
    let coil: Option<CoilDesign> = serde_json::from_value((*job.coil).clone()).ok();
    let page = Passport {
        job: id.to_string(),
        title: job.title.clone(),
        opened_on: day::of(state, job.opened_at).to_string(),
        closed_on: day::of(state, at).to_string(),
        former: coil.as_ref().map(|c| former(app, c)).unwrap_or_default(),
        turns: job.plan.layers.iter().map(|l| l.turns).collect(),
        wanted_ohm: job.plan.target.map(|t| {
            let room = t.dcr_ohm * t.tolerance_pct / 100.0;
            (t.dcr_ohm - room, t.dcr_ohm + room)
        }),
        planned_ohm: job.plan.dcr_ohm.map(figure),
        before: before(&job.before),
        motor: teardown::motor(&job.before)
            .into_iter()
            .map(|m| {
                let name = m.name.trim_end_matches("_mm").replace('_', " ");
                (capital(&name), Figure { value: m.mm.value, u: m.mm.u }, m.times)
            })
            .collect(),
        signed: signatures(job, closed, asked.coil_no),
        coils,
        note: closed.note.clone(),
        cautions: cautions(app, coil.as_ref()),
    };
    let html = passport(&page).map_err(|e| RpcError::params("/job", e.to_string()).next("shorten the job's title"))?;
    Ok(SheetPassportAnswer { html, seq: published.head.seq })
}

/// How the job was closed; one that is not closed has no passport yet.
fn closed(job: &Job) -> Result<(&JobClosed, Timestamp), RpcError> {
    let refused = |detail: String, next: &str| {
        Err(RpcError::new(code::REFUSED, ErrorKind::Refused, detail).at("/job").next(next))
    };
    match &job.ended {
        Some(Ended::Closed { closed, at }) => Ok((closed, *at)),
        Some(Ended::Cancelled { .. }) => {
            refused(format!("{} was cancelled: nothing of it is handed over", job.id), "see `job.show`")
        }
        None => {
            let missing = job.missing();
            let why = if missing.is_empty() { "it is ready to be".to_owned() } else { missing.join("; ") };
            refused(
                format!("{} is not closed yet: {why}", job.id),
                "close it with `job close`, then print its passport",
            )
        }
    }
}

fn wound(state: &State, job: &Job, coil_no: u32, w: &CoilWork) -> Wound {
    let record = w.outcome.as_ref().map(|o| &*o.record);
    let spool = state.spool(w.started.spool);
    let lot = spool.map(|s| s.received.lot.trim()).filter(|l| !l.is_empty());
    let wire = spool.map_or_else(|| job.plan.wire.clone(), |s| s.wire().label.clone());
    let batch = record.map(|r| r.adhesive_batch.as_str()).filter(|b| !b.is_empty());
    let adhesive =
        [Some(w.started.adhesive.clone()).filter(|a| !a.is_empty()), batch.map(|b| format!("adhesive batch {b}"))];
    Wound {
        coil_no,
        turns: record.map(|r| r.turns_per_layer.clone()).unwrap_or_default(),
        dcr_ohm: w.dcr_ohm().map(figure),
        off_target: job.off_target(w).is_some(),
        width_mm: record.and_then(|r| r.width_mm),
        outside_mm: record.and_then(|r| r.outside_mm),
        mandrel_mm: record.and_then(|r| r.mandrel_mm),
        winder: record.map(|r| r.winder.clone()).unwrap_or_default(),
        wound_on: w.outcome.as_ref().map(|o| day::of(state, o.at).to_string()).unwrap_or_default(),
        wire: format!("{wire} from {}{}", w.started.spool, lot.map_or_else(String::new, |l| format!(", lot {l}"))),
        adhesive: adhesive.into_iter().flatten().collect::<Vec<_>>().join(", "),
        steps: w.steps.values().map(|done| told::step(done)).collect(),
    }
}

fn signatures(job: &Job, closed: &JobClosed, only: Option<u32>) -> Vec<String> {
    let said = |o: &Override, what: &str| format!("{} {what}, against {}: {}", o.by, o.against.join(", "), o.reason);
    let started = job.works.iter().filter(|(no, w)| w.is_good() && only.is_none_or(|wanted| wanted == **no));
    let started = started.filter_map(|(no, w)| Some(said(w.started.signed.as_ref()?, &format!("started coil {no}"))));
    closed.signed.as_ref().map(|o| said(o, "handed it over")).into_iter().chain(started).collect()
}

fn former(app: &App, coil: &CoilDesign) -> Vec<(String, String)> {
    let f = &coil.former;
    let named = match &f.material {
        Ref::Id(id) => app.catalog.former(id).map_or_else(|| id.clone(), |r| r.label.clone()),
        Ref::Inline(_) => "written out for this job".to_owned(),
    };
    let wire = match &coil.wire {
        Ref::Id(id) => app.catalog.wire(id).map_or_else(|| id.clone(), |w| w.label.clone()),
        Ref::Inline(w) => format!("{} mm bare, {} mm overall", w.bare_mm.value, w.overall_mm.value),
    };
    let mut rows = vec![
        ("Wire".to_owned(), wire),
        ("Former".to_owned(), named),
        ("Inside × wall".to_owned(), format!("{} × {} mm", f.inside_diameter_mm.value, f.wall_mm.value)),
    ];
    rows.extend(f.height_mm.map(|h| ("Height".to_owned(), format!("{} mm", h.value))));
    rows.extend(f.slit_mm.map(|s| ("Slit".to_owned(), format!("{} mm", s.value))));
    rows.extend(coil.winding.width_mm.map(|w| ("Width".to_owned(), format!("{} mm", w.value))));
    rows
}

fn before(b: &Before) -> Vec<(String, String)> {
    let [lead, hand, gap] = teardown::polarity(b).map(|word| word.map(str::to_owned));
    let old = b.dcr_ohm.map(|r| format!("{} Ω", coilwright_core::typed::shown(r.value, r.u)));
    [
        ("Start lead", lead),
        ("Winding hand", hand),
        ("Gap", gap),
        ("Rest height", b.rest_height_mm.map(|h| format!("{h} mm"))),
        ("Free fall", b.free_fall.map(|f| if f { "yes" } else { "no" }.to_owned())),
        ("Old coil", old),
        ("Photo", Some(b.photo.clone()).filter(|p| !p.is_empty())),
    ]
    .into_iter()
    .filter_map(|(name, value)| Some((name.to_owned(), value?)))
    .collect()
}

/// What bites whoever fits, tries or takes off this coil again.
fn cautions(app: &App, coil: Option<&CoilDesign>) -> Vec<String> {
    let mut all =
        vec!["before the first signal: free fall, then polarity with one cell of 1.5 V at most, a touch only."];
    let material = coil.and_then(|c| view::former_material(&app.catalog, &c.former.material, "").ok());
    if material.is_some_and(|(m, _)| m.is_metal()) {
        all.push(
            "the former is metal: its slit stays open, a closed one is a shorted turn; a bare lead must not touch it.",
        );
    }
    let glued = coil.and_then(|c| adhesive_words::adhesive(&app.catalog, c.adhesive.as_ref()?, "").ok());
    if glued.is_some_and(|g| g.adhesive.kind == Kind::Epoxy) {
        all.push("cured epoxy: its dust and the smoke of it burning are harmful; no grinding without extraction.");
    }
    all.push("burning or soldering off enamel gives off isocyanates: scrape, or extract at the source.");
    all.into_iter().map(str::to_owned).collect()
}

fn figure(v: Uncertain) -> Figure {
    Figure { value: v.value, u: v.u }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
