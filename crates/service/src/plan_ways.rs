//! Refusals and the ways out of them in words: weigh again, release, other wire, buy; shared by the requests about plans.

use crate::day;
use crate::plan_question::{LeftOut, offered_length};
use crate::words;
use coilwright_catalog::Catalog;
use coilwright_core::quantity::Length;
use coilwright_planner::{Purchase, Reason, Refused, Tell, Unlock};
use coilwright_proto::money::Money;
use coilwright_proto::plan::{PlanPurchase, PlanRefused, PlanWay, PurchaseLine};
use coilwright_proto::quantity::Figure;
use jiff::civil::Date;

/// A day counted from today as 1, as its date.
pub fn day_of(as_of: Date) -> impl Fn(i32) -> String {
    move |n| day::days_after(as_of, n - 1).to_string()
}

/// A job that no plan was asked about.
pub fn not_asked(l: LeftOut) -> PlanRefused {
    let LeftOut { job, why, by_design } = l;
    let (reason, detail, unlock) = if by_design {
        let way = way("change_coil", "change the coil with `job change` until its design stops for nothing".into());
        ("design", format!("{job}: its design says stop: {why}"), way)
    } else {
        let text = "record the coil on the winder as good or scrapped with `job record`; the rest is planned then";
        ("wire_changed", format!("{job}: {why}"), way("record_coil", text.into()))
    };
    PlanRefused { job, reason: reason.into(), detail, unlock: vec![unlock] }
}

/// A job left out, with what would let it in.
pub fn refused(catalog: &Catalog, r: &Refused, tell: Tell) -> PlanRefused {
    PlanRefused {
        job: r.job.clone(),
        reason: r.reason.as_str().into(),
        detail: r.sentence(tell),
        unlock: r.unlock.iter().map(|u| unlock(catalog, u)).chain(too_long(catalog, r)).collect(),
    }
}

/// A way out with nothing but its words.
pub fn way(remedy: &str, text: String) -> PlanWay {
    PlanWay {
        remedy: remedy.into(),
        text,
        spools: None,
        u_needed_m: None,
        u_needed_g: None,
        wire: None,
        fit: None,
        purchase: None,
        also_unlocks: None,
    }
}

/// One way out.
pub fn unlock(catalog: &Catalog, u: &Unlock) -> PlanWay {
    match u {
        Unlock::Reweigh { spool, u_needed, u_now } => PlanWay {
            spools: Some(vec![spool.clone()]),
            u_needed_m: Some(words::metres(*u_needed)),
            ..way(
                "weigh_again",
                format!("weigh or measure {spool} to ± {:.2} m; it is known to ± {:.2} m now", u_needed.m(), u_now.m()),
            )
        },
        Unlock::Release { spools } => PlanWay {
            spools: Some(spools.clone()),
            ..way("release", format!("release what is promised on {}", spools.join(", ")))
        },
        Unlock::OtherWire { wire } => PlanWay {
            wire: Some(wire.clone()),
            ..way("other_wire", format!("accept {wire}, which is on the shelf and fits by its design"))
        },
        Unlock::Buy(p) => {
            let p = purchase(catalog, p.clone());
            PlanWay { text: format!("buy {}", p.text), purchase: Some(p), ..way("buy", String::new()) }
        }
    }
}

/// What to say where nothing that is sold would help: no size holds one coil.
fn too_long(catalog: &Catalog, r: &Refused) -> Option<PlanWay> {
    let needed = match r.reason {
        Reason::NoContinuousLength { needed, .. } | Reason::Tails { needed, .. } => needed,
        _ => return None,
    };
    if r.unlock.iter().any(|u| matches!(u, Unlock::Buy(_))) {
        return None;
    }
    let sold = |o| offered_length(catalog, o).map(|l| l.value);
    let longest = catalog.offers_for(&r.wire).iter().filter_map(sold).fold(Length::ZERO, Length::max);
    let text = if longest.m() <= 0.0 {
        format!("nobody on file sells {}: add an offer (`coilwright plugin new NAME --kind supply`)", r.wire)
    } else if longest < needed {
        format!(
            "no spool of {} on file holds one coil of {:.2} m (the longest {:.2} m): ask a supplier for a longer one and add it to the plugin `supply`",
            r.wire,
            needed.m(),
            longest.m()
        )
    } else {
        return None;
    };
    Some(way("ask_supplier", text))
}

/// A purchase on the wire.
pub fn purchase(catalog: &Catalog, p: Purchase) -> PlanPurchase {
    let known = |offer: &str| catalog.offers().iter().find(|o| o.id == offer);
    let currency = p.lines.first().and_then(|l| known(&l.offer)).map_or_else(String::new, |o| o.currency.clone());
    let lines: Vec<PurchaseLine> = p
        .lines
        .iter()
        .map(|l| {
            let record = known(&l.offer);
            PurchaseLine {
                offer: l.offer.clone(),
                supplier: record.map_or_else(String::new, |o| o.supplier.clone()),
                wire: record.map_or_else(String::new, |o| o.wire.clone()),
                left_m: record.and_then(|o| offered_length(catalog, o)).map_or(Figure::of(0.0, 0.0), Into::into),
                count: l.count,
            }
        })
        .collect();
    let cost = money(p.cost, &currency);
    PlanPurchase {
        text: format!("{} for {} {}, here in {}", in_words(&lines), cost.amount, cost.currency, days(p.lead_days)),
        lines,
        cost,
        lead_days: p.lead_days,
        all_cheaper_tried: p.all_cheaper_tried,
        jobs: p.jobs,
    }
}

/// An amount in hundredths.
pub fn money(minor: u64, currency: &str) -> Money {
    Money { amount: format!("{}.{:02}", minor / 100, minor % 100), currency: currency.into() }
}

/// "2 spools of 540 m of cu-awg30-single (tarn-awg30-single-250g, Tarn Wire Counter) and …".
pub fn in_words(lines: &[PurchaseLine]) -> String {
    let one = |l: &PurchaseLine| {
        let spools = if l.count == 1 { "1 spool".to_owned() } else { format!("{} spools", l.count) };
        format!("{spools} of {:.0} m of {} ({}, {})", l.left_m.value, l.wire, l.offer, l.supplier)
    };
    lines.iter().map(one).collect::<Vec<_>>().join(" and ")
}

/// "1 day", "2 days".
pub fn days(n: u32) -> String {
    if n == 1 { "1 day".into() } else { format!("{n} days") }
}
