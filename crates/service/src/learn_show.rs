//! `learn.show`: what the shop's own coils have taught.

use crate::app::App;
use crate::words;
use coilwright_core::coil::assume::{ELONGATION_PCT, TAILS_M, THREADING_M};
use coilwright_core::learning::{Learned, Prior, Sums, first, learn, learn_draws, next_half_alone};
use coilwright_proto::error::RpcError;
use coilwright_proto::learn::{
    Interval, LearnShow, LearnShown, LearnedFigure, LearnedMinutes, LearnedRatio, LearnedScrap, Outlier,
};
use coilwright_proto::quantity::{Figure, Setting};
use coilwright_shop::learning::{self, Lessons, Off, mandrel_key};
use coilwright_shop::state::State;

/// Outliers told at once.
const MOST_OUTLIERS: usize = 50;

pub fn answer(app: &App, asked: LearnShow) -> Result<LearnShown, RpcError> {
    let published = app.store.state();
    let state = &published.state;
    let lessons = state.lessons();
    let since = state.shop().learning.frozen_at;
    Ok(LearnShown {
        on: state.figures().learning.value,
        frozen: since.is_some(),
        frozen_since: since,
        ratios: ratios(lessons, &asked),
        scatter: lessons.resistance().scatter(),
        figures: figures(lessons),
        scrap: scrap(state),
        minutes: lessons.all.log_minutes.iter().map(|(step, m)| minutes(step, m)).collect(),
        outliers: outliers(state, &asked),
        seq: published.head.seq,
    })
}

fn interval(l: &Learned) -> Interval {
    let half = l.next_half();
    Interval { min: l.mean - half, max: l.mean + half }
}

fn ratios(lessons: &Lessons, asked: &LearnShow) -> Vec<LearnedRatio> {
    let all = lessons.resistance();
    let mandrel = asked.mandrel_mm.map(|m| mandrel_key(Some(m.value)));
    let mut told = Vec::new();
    for (wire, tree) in lessons.ratios.iter().filter(|(w, _)| asked.wire.as_ref().is_none_or(|a| a == *w)) {
        for (m, branch) in tree.iter().filter(|(m, _)| mandrel.is_none_or(|a| a == **m)) {
            for (winder, own) in branch.iter().filter(|(w, _)| asked.winder.as_ref().is_none_or(|a| a == *w)) {
                let l = all.of_winder(wire, *m, winder);
                told.push(LearnedRatio {
                    wire: wire.clone(),
                    winder: winder.clone(),
                    coils: own.n,
                    mean: own.mean(),
                    learned: Figure::of(l.mean, l.u),
                    weight: l.weight,
                    next: interval(&l),
                    mandrel_mm: (*m > 0).then(|| Setting::of(*m as f64 / 1e3)),
                    deviation: own.deviation(),
                    next_alone: next_half_alone(own),
                });
            }
        }
    }
    told
}

fn figures(lessons: &Lessons) -> Vec<LearnedFigure> {
    let own = |name: &str, prior: &Prior, sums: &Sums| {
        let l = learn(prior, sums);
        LearnedFigure {
            name: name.into(),
            coils: sums.n,
            first: Figure::of(prior.mean, prior.spread),
            learned: Figure::of(l.mean, l.u),
            weight: l.weight,
            mean: (sums.n > 0).then(|| sums.mean()),
            next: Some(interval(&l)),
        }
    };
    let d = learn_draws(&first::draws(), &lessons.all.draws);
    let drawn = |name: &str, first: (f64, f64), learned: (f64, f64), weight: f64| LearnedFigure {
        name: name.into(),
        coils: lessons.all.draws.n,
        first: Figure::of(first.0, first.1),
        learned: Figure::of(learned.0, learned.1),
        weight,
        mean: None,
        next: None,
    };
    vec![
        own("pitch_factor", &first::PITCH, &lessons.all.pitch),
        own("nesting", &first::STEP, &lessons.all.nesting),
        drawn(
            "elongation_pct",
            ELONGATION_PCT,
            (ELONGATION_PCT.0 + 100.0 * d.elongation, 100.0 * d.elongation_u),
            d.weights[0],
        ),
        drawn(
            "threading_m",
            (THREADING_M.0, TAILS_M.1.hypot(THREADING_M.1)),
            (THREADING_M.0 + d.threading_m, d.threading_u_m),
            d.weights[1],
        ),
        own("metres_ratio", &first::METRES, &lessons.all.metres),
    ]
}

fn scrap(state: &State) -> LearnedScrap {
    let (share, l) = learning::scrap(state);
    let (recorded, scrapped) = (state.lessons().all.recorded, state.lessons().all.scrapped);
    LearnedScrap {
        recorded,
        scrapped,
        first_pct: 100.0 * share,
        rate_pct: 100.0 * l.share,
        min_pct: 100.0 * l.low,
        max_pct: 100.0 * l.high,
    }
}

fn minutes(step: &str, log: &Sums) -> LearnedMinutes {
    let l = learn(&first::LOG_MINUTES, log);
    let half = l.next_half();
    LearnedMinutes {
        step: step.to_owned(),
        coils: log.n,
        usual_min: Setting::of(l.mean.exp()),
        next: Interval { min: (l.mean - half).exp(), max: (l.mean + half).exp() },
    }
}

fn outliers(state: &State, asked: &LearnShow) -> Vec<Outlier> {
    let asked_for = |o: &&Off| {
        asked.wire.as_ref().is_none_or(|w| *w == o.lesson.wire)
            && asked.winder.as_ref().is_none_or(|w| *w == o.winder)
            && asked.mandrel_mm.is_none_or(|m| mandrel_key(Some(m.value)) == mandrel_key(o.lesson.mandrel_mm))
    };
    let told = state.learnt().off().filter(asked_for).filter_map(|o| {
        Some(Outlier {
            job: o.job.to_string(),
            coil_no: o.coil_no,
            wire: o.lesson.wire.clone(),
            ratio: o.lesson.dcr_ratio?,
            expected: words::figure(o.lesson.expected?),
            cause: o.lesson.cause.clone(),
            learned_from: !o.lesson.left_out,
        })
    });
    told.take(MOST_OUTLIERS).collect()
}
