//! `sheet.traveller`: the page that goes with a job to the winder.

use crate::app::App;
use crate::drawing::section;
use crate::plan_question::{Scope, question};
use crate::{bench_words, coil_words, day, scripts, teardown, view, words};
use coilwright_core::coil::Design;
use coilwright_core::coil::findings::Level;
use coilwright_core::coil::spec::CoilSpec;
use coilwright_core::enough::Word as Enough;
use coilwright_core::measured::Measured;
use coilwright_core::quantity::{Length, Resistance, Temperature};
use coilwright_core::reading::{Question, reading};
use coilwright_planner::{Effort, repair};
use coilwright_proto::coil::{CoilDesign, FindingLevel};
use coilwright_proto::error::{ErrorKind, RpcError, code};
use coilwright_proto::sheet::{SheetTraveller, SheetTravellerAnswer};
use coilwright_sheets::steps::usual_steps;
use coilwright_sheets::traveller::{Meter, Polarity, SpoolUse, Traveller, traveller};
use coilwright_sheets::{Figure, Word};
use coilwright_shop::fact::Before;
use coilwright_shop::figures::Figures;
use coilwright_shop::id::SpoolId;
use coilwright_shop::job::Job;
use coilwright_shop::spool::Spool;
use coilwright_shop::state::State;
use coilwright_store::Published;

const USUAL_TEST_LEADS_OHM: f64 = 0.2;

pub fn answer(app: &App, asked: SheetTraveller) -> Result<SheetTravellerAnswer, RpcError> {
    app.look(|published| printed(app, &asked, published))
}

fn printed(app: &App, asked: &SheetTraveller, published: &Published<State>) -> Result<SheetTravellerAnswer, RpcError> {
    let id = words::job_id(&asked.job)?;
    let state = &published.state;
    let job = state.job(id).ok_or_else(|| words::no_such("job", &asked.job))?;
    let coil: CoilDesign = serde_json::from_value((*job.coil).clone()).map_err(|e| {
        RpcError::new(code::INTERNAL, ErrorKind::Failed, format!("the coil of {id} cannot be read any more: {e}"))
    })?;
    let (spec, d) = view::designed_here(&app.catalog, state, &coil, "")?;
    let coil_no = asked.coil_no.unwrap_or_else(|| {
        job.works.iter().find(|(_, w)| w.is_winding()).map_or_else(|| job.next_coil_no(), |(no, _)| *no)
    });
    if asked.coil_no.is_none() && job.to_start() == 0 && !job.works.contains_key(&coil_no) {
        return Err(RpcError::new(
            code::REFUSED,
            ErrorKind::Refused,
            format!("all {} coils of {id} are wound", job.coils),
        )
        .at("/job")
        .next("name the coil with `coil_no` to have its sheet again"));
    }
    let spool = wanted_spool(app, state, job, coil_no, asked)?;
    if let Some(other) = spool.filter(|s| job.accepts(s.wire().key()).is_none()) {
        let text =
            format!("spool {} holds {}, the coil is planned in {}", other.id(), other.wire().key(), job.plan.wire);
        return Err(RpcError::new(code::REFUSED, ErrorKind::Refused, text)
            .at("/spool")
            .next("take a spool of that wire, or accept the other wire with `job change`"));
    }
    let metal = spec.former.material.is_metal();
    let page = Traveller {
        job: id.to_string(),
        title: job.title.clone(),
        due_on: job.due_on.map(|d| d.to_string()),
        coils: job.coils,
        coil_no: Some(coil_no),
        drawing: section(&app.catalog, &coil, &spec, &d, job.title.chars().take(60).collect(), "/job")?,
        blank_length_mm: d.blank_length.map(Length::mm),
        blank_width_mm: d.blank_width.map(Length::mm),
        slit_mm: Some(spec.former.slit.mm()),
        mandrel_mm: Some(d.mandrel.mm()),
        shims_mm: coil.former.shims_mm.iter().map(|s| s.value).collect(),
        tension_g: d.tension.layers.iter().map(|t| t.g()).collect(),
        spool: spool.map(|s| spool_use(s, job, state.figures())),
        meter: meter(&spec, &d, state.figures(), asked.test_leads_ohm.map_or(USUAL_TEST_LEADS_OHM, |s| s.value)),
        polarity: Some(polarity(&job.before)),
        notes: notes(app, job, coil_no, &coil, &spec, &d),
        steps: usual_steps(metal),
    };
    let html = traveller(&page).map_err(|e| {
        RpcError::params("/job", e.to_string()).next("shorten the title, or check the coil's dimensions")
    })?;
    Ok(SheetTravellerAnswer { html, seq: published.head.seq, spool: spool.map(|s| s.id().to_string()) })
}

/// The spool named in the request, else the one the coil was started from, else the accepted plan's, repaired.
fn wanted_spool<'a>(
    app: &App,
    state: &'a State,
    job: &Job,
    coil_no: u32,
    asked: &SheetTraveller,
) -> Result<Option<&'a Spool>, RpcError> {
    if let Some(text) = &asked.spool {
        let id = words::spool_id(text)?;
        return state.spool(id).map(Some).ok_or_else(|| words::no_such("spool", text));
    }
    if let Some(work) = job.works.get(&coil_no) {
        return Ok(state.spool(work.started.spool));
    }
    let Some((_, accepted)) = &state.shop().plan else { return Ok(None) };
    let scope = Scope {
        as_of: day::as_of(state, asked.as_of.as_deref(), "/as_of")?,
        risk: accepted.promised_risk_pct / 100.0,
        wires: None,
        until: None,
    };
    let mended = repair(&question(&app.catalog, state, &scope), Effort::default(), &|| !app.stopping());
    let mended = mended.map_err(|e| RpcError::new(code::INTERNAL, ErrorKind::Failed, e.to_string()))?;
    let planned =
        mended.assign.iter().find(|a| a.job == job.id.to_string()).and_then(|a| a.spool.parse::<SpoolId>().ok());
    Ok(planned.and_then(|id| state.spool(id)))
}

fn spool_use(spool: &Spool, job: &Job, figures: &Figures) -> SpoolUse {
    let there = spool.remaining();
    let need = job.plan.need_m.value;
    let (word, probability) = there.judge(Length::from_m(need), figures.confidence.value);
    let after = Measured::new(
        there.left.value - Length::from_m(job.plan.draw_m.value),
        Length::from_m(there.left.u.m().hypot(there.draw_doubt * need)),
    );
    let figure = |m: Measured<Length>| Figure { value: m.value.m(), u: m.u.m() };
    SpoolUse {
        id: spool.id().to_string(),
        place: (!spool.place.is_empty()).then(|| spool.place.clone()),
        left_m: figure(there.left),
        need_m: need,
        after_m: figure(after),
        word: match word {
            Enough::Enough => Word::Enough,
            Enough::Doubtful => Word::Doubtful,
            Enough::Short => Word::Short,
        },
        probability,
    }
}

/// What the meter should show at the bench, and the limits within which a coil may be called right, as `coil.reading` says.
fn meter(spec: &CoilSpec, d: &Design, figures: &Figures, test_leads: f64) -> Option<Meter> {
    let bench = spec.bench?;
    let wanted = spec.target.as_ref().and_then(|t| t.dcr.zip(t.tolerance));
    let (target, tolerance) = wanted.unwrap_or((d.dcr.value, 0.0));
    let read = reading(&Question {
        dcr: d.dcr,
        wanted: target,
        tolerance,
        conductor: spec.wire.conductor,
        temperature: Measured::new(bench, Temperature::from_c(figures.temperature_u_c.value)),
        test_leads: Measured::certain(Resistance::from_ohm(test_leads)),
        meter: bench_words::usual_meter(figures),
    });
    Some(Meter {
        bench_c: bench.c(),
        test_leads_ohm: test_leads,
        expect_ohm: Figure { value: read.expect.value.ohm(), u: read.expect.u.ohm() },
        accept_ohm: wanted.and(read.accept).map(|(least, most)| (least.ohm(), most.ohm())),
        can_decide: wanted.map(|_| read.accept.is_some()),
    })
}

/// What the winder must see: findings of the design and of plugins, and the lines that plugins add.
fn notes(app: &App, job: &Job, coil_no: u32, coil: &CoilDesign, spec: &CoilSpec, d: &Design) -> Vec<String> {
    let own = d.findings.iter().filter_map(|f| Some(format!("{}: {}", said(f.level)?, f.text)));
    let of_plugins = scripts::of_design(app, spec, &coil_words::designed(d.clone(), None, coil.clone()));
    let of_plugins = of_plugins.into_iter().filter(|f| f.level != FindingLevel::Note);
    let of_plugins =
        of_plugins.map(|f| format!("{}: {}", if f.level == FindingLevel::Stop { "STOP" } else { "WATCH" }, f.text));
    own.chain(of_plugins).chain(scripts::of_traveller(app, job, coil_no)).collect()
}

/// The word before a finding that a winder must see.
fn said(level: Level) -> Option<&'static str> {
    match level {
        Level::Stop => Some("STOP"),
        Level::Watch => Some("WATCH"),
        Level::Note => None,
    }
}

/// What was noted before teardown; what was not is left as a blank to fill in.
fn polarity(b: &Before) -> Polarity {
    let [start_lead, hand, gap_polarity] =
        teardown::polarity(b).map(|word| word.unwrap_or("not noted: ________").to_owned());
    Polarity { start_lead, hand, gap_polarity }
}
