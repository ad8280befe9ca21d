//! A plan as it is answered: the planner's figures in words, shared by the requests about plans.

use crate::plan_question::{WORTH, offered_length};
use crate::words;
use coilwright_catalog::Catalog;
use coilwright_planner::{Assigned, Plan, Purchase, Refused, SpoolUse, Unlock};
use coilwright_proto::money::Money;
use coilwright_proto::plan::{
    PlanAnswer, PlanAssign, PlanPurchase, PlanRefused, PlanRisk, PlanSpool, PlanUnlock, PurchaseLine,
};
use coilwright_proto::quantity::Figure;
use jiff::civil::Date;

/// A plan on the wire. `unsound` are the jobs that were not asked about because their design says stop.
pub fn answer(catalog: &Catalog, plan: Plan, unsound: Vec<(String, String)>, as_of: Date, seq: u64) -> PlanAnswer {
    let stopped = unsound.iter().map(|(job, why)| PlanRefused {
        job: job.clone(),
        reason: "design".into(),
        detail: format!("{job}: its design says stop: {why}"),
        unlock: vec![PlanUnlock {
            remedy: "change_coil".into(),
            text: "change the coil with `job change` until its design stops for nothing".into(),
            spools: None,
            u_needed_m: None,
            wire: None,
            purchase: None,
        }],
    });
    let stopped: Vec<PlanRefused> = stopped.collect();
    PlanAnswer {
        sentence: sentence(&plan, &stopped),
        value: plan.value as f64 / WORTH,
        bound: plan.bound as f64 / WORTH,
        gap_pct: 100.0 * plan.gap,
        proof: plan.proof.as_str().into(),
        risk_pct: PlanRisk {
            promised: 100.0 * plan.risk.promised.unwrap_or(0.0),
            computed: 100.0 * plan.risk.computed,
        },
        assign: plan.assign.into_iter().map(assign).collect(),
        refused: plan.refused.into_iter().map(|r| refused(catalog, r)).chain(stopped).collect(),
        spools: plan.spools.into_iter().map(spool).collect(),
        stranded_m: words::metres(plan.stranded),
        rounds: plan.rounds,
        stopped_early: plan.stopped_early,
        as_of: as_of.to_string(),
        seq,
        purchase: plan.purchase.map(|p| purchase(catalog, p)),
        accepted_by: None,
        changes: None,
    }
}

fn sentence(plan: &Plan, stopped: &[PlanRefused]) -> String {
    let mut done: Vec<&str> = plan.assign.iter().map(|a| a.job.as_str()).collect();
    done.dedup();
    let left_out = plan.refused.iter().map(|r| r.job.as_str());
    let left_out: Vec<&str> = left_out.chain(stopped.iter().map(|r| r.job.as_str())).collect();
    let of_jobs = match (done.is_empty(), left_out.is_empty()) {
        (true, true) => return "No job waits, so there is nothing to plan.".into(),
        (false, true) if done.len() == 1 => "The one waiting job can be wound".into(),
        (false, true) => format!("All {} waiting jobs can be wound", done.len()),
        (true, false) => format!("None of the waiting jobs can be wound ({})", left_out.join(", ")),
        (false, false) => format!(
            "{} of {} waiting jobs can be wound, not {}",
            done.len(),
            done.len() + left_out.len(),
            left_out.join(", ")
        ),
    };
    let on = match plan.touched {
        0 => String::new(),
        1 => ", on one spool".into(),
        n => format!(", on {n} spools"),
    };
    format!("{of_jobs}{on}; a spool runs short with a probability of {:.2} %.", 100.0 * plan.risk.computed)
}

fn assign(a: Assigned) -> PlanAssign {
    PlanAssign { job: a.job, wire: a.wire, spool: a.spool, coils: a.coils }
}

fn spool(s: SpoolUse) -> PlanSpool {
    PlanSpool {
        spool: s.spool,
        wire: s.wire,
        safe_m: words::metres(s.safe),
        used_m: words::metres(s.used),
        end_m: words::metres(s.end),
        useless_end: s.useless_end,
        word: words::enough(s.word),
        probability: s.probability,
    }
}

fn refused(catalog: &Catalog, r: Refused) -> PlanRefused {
    PlanRefused {
        job: r.job,
        reason: r.reason.as_str().into(),
        detail: r.words,
        unlock: r.unlock.into_iter().map(|u| unlock(catalog, u)).collect(),
    }
}

fn unlock(catalog: &Catalog, u: Unlock) -> PlanUnlock {
    let remedy = |remedy: &str, text: String| PlanUnlock {
        remedy: remedy.into(),
        text,
        spools: None,
        u_needed_m: None,
        wire: None,
        purchase: None,
    };
    match u {
        Unlock::Reweigh { spool, u_needed, u_now } => PlanUnlock {
            spools: Some(vec![spool.clone()]),
            u_needed_m: Some(words::metres(u_needed)),
            ..remedy(
                "weigh_again",
                format!("weigh or measure {spool} to ± {:.2} m; it is known to ± {:.2} m now", u_needed.m(), u_now.m()),
            )
        },
        Unlock::Release { spools } => PlanUnlock {
            spools: Some(spools.clone()),
            ..remedy("release", format!("release what is promised on {}", spools.join(", ")))
        },
        Unlock::OtherWire { wire } => PlanUnlock {
            wire: Some(wire.clone()),
            ..remedy("other_wire", format!("accept {wire}, which is on the shelf and fits by its design"))
        },
        Unlock::Buy(p) => {
            let p = purchase(catalog, p);
            let lines: Vec<String> =
                p.lines.iter().map(|l| format!("{} × {} from {}", l.count, l.offer, l.supplier)).collect();
            let text = format!(
                "buy {} for {} {}, here in {} days",
                lines.join(" and "),
                p.cost.amount,
                p.cost.currency,
                p.lead_days
            );
            PlanUnlock { purchase: Some(p), ..remedy("buy", text) }
        }
    }
}

fn purchase(catalog: &Catalog, p: Purchase) -> PlanPurchase {
    let known = |offer: &str| catalog.offers().iter().find(|o| o.id == offer);
    let currency = p.lines.first().and_then(|l| known(&l.offer)).map_or_else(String::new, |o| o.currency.clone());
    let lines = p.lines.iter().map(|l| {
        let record = known(&l.offer);
        PurchaseLine {
            offer: l.offer.clone(),
            supplier: record.map_or_else(String::new, |o| o.supplier.clone()),
            wire: record.map_or_else(String::new, |o| o.wire.clone()),
            left_m: record.and_then(|o| offered_length(catalog, o)).map_or(Figure::of(0.0, 0.0), Into::into),
            count: l.count,
        }
    });
    PlanPurchase {
        lines: lines.collect(),
        cost: Money { amount: format!("{}.{:02}", p.cost / 100, p.cost % 100), currency },
        lead_days: p.lead_days,
        jobs: p.jobs,
    }
}
