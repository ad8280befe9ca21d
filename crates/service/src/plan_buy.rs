//! `plan.buy`: by wire when to order and how much, from waiting jobs, past draws and what suppliers promise.

use crate::app::App;
use crate::caller::Caller;
use crate::patience::Patience;
use crate::plan_question::{Scope, no_plan, question, wires};
use crate::plan_ways::purchase;
use crate::wire_demand::{Drawn, Past, past};
use crate::{day, words};
use coilwright_core::quantity::Length;
use coilwright_planner::{
    Demand, Effort, Offer, Outlook, Plan, Purchase, PurchaseLine, Question, Short, plan, spools_to_order,
};
use coilwright_proto::buying::{BuyDemand, BuyItem, PlanBuy, PlanBuyAnswer};
use coilwright_proto::error::RpcError;
use coilwright_proto::quantity::Setting;
use coilwright_shop::state::State;
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};

/// Common practice, no source: one order in twenty may come too late.
const USUAL_SERVICE_PCT: f64 = 95.0;
const USUAL_HISTORY_DAYS: u32 = 365;
const MOST_HISTORY_DAYS: u32 = 3650;
/// Days ahead in which a job may run short.
const AHEAD: u32 = 365;
/// The 90 % point of the normal law: (p90 − mean) / sd.
const Z90: f64 = 1.2816;

pub fn answer(app: &App, caller: &Caller, asked: PlanBuy) -> Result<PlanBuyAnswer, RpcError> {
    let service_pct = asked.service_pct.unwrap_or(USUAL_SERVICE_PCT);
    if !(50.0..=99.9).contains(&service_pct) {
        return Err(RpcError::params("/service_pct", "orders cannot be timed by that")
            .met(service_pct)
            .allowed("50 to 99.9")
            .next("give per cent from 50 to 99.9; 95 is usual"));
    }
    let history = asked.history_days.unwrap_or(USUAL_HISTORY_DAYS);
    if !(1..=MOST_HISTORY_DAYS).contains(&history) {
        return Err(RpcError::params("/history_days", "the demand cannot be judged by that many days")
            .met(history)
            .allowed(format!("1 to {MOST_HISTORY_DAYS}"))
            .next("ask for 1 to 3650 days; 365 are usual"));
    }
    let published = app.store.state();
    let state = &published.state;
    let as_of = day::as_of(state, asked.as_of.as_deref(), "/as_of")?;
    let scope = Scope { as_of, risk: state.figures().plan_risk_pct.value / 100.0, wires: None, until: None };
    let q = question(&app.catalog, state, &scope);
    let patience = Patience::of(app, caller);
    let made = plan(&q, Effort::default(), &|| patience.go_on()).map_err(no_plan)?;
    let ahead = made.outlook(&q, AHEAD);
    let at = Counter {
        past: past(app, &published, as_of, history)?,
        state,
        q: &q,
        made: &made,
        ahead: &ahead,
        as_of,
        service: service_pct / 100.0,
        lead_p90: app.catalog.offers().iter().map(|o| (o.id.clone(), o.lead_days_p90)).collect(),
    };
    let mut found: Vec<(Option<i32>, BuyItem)> = Vec::new();
    let named = asked.wires.map(|w| wires(&app.catalog, state, &w)).transpose()?;
    for wire in named.unwrap_or_else(|| at.wires()) {
        let need = at.need(&wire);
        let order = need.order.clone().map(|p| purchase(&app.catalog, p));
        let late = need.latest;
        let mut item = at.item(&wire, need);
        item.order = order;
        found.push((late, item));
    }
    // Those without a day need no order: last, by name.
    found.sort_by_key(|(late, item)| (late.unwrap_or(i32::MAX), item.wire.clone()));
    let items: Vec<BuyItem> = found.into_iter().map(|(_, item)| item).collect();
    Ok(PlanBuyAnswer {
        sentence: sentence(&items),
        items,
        service_pct,
        as_of: as_of.to_string(),
        seq: published.head.seq,
    })
}

fn sentence(items: &[BuyItem]) -> String {
    let due: Vec<&BuyItem> = items.iter().filter(|i| i.latest_order_on.is_some()).collect();
    match (due.first(), due.len()) {
        (None, _) if items.is_empty() => "There is no wire on the shelf and no job waits for any.".into(),
        (None, _) => "Nothing needs to be ordered.".into(),
        (Some(first), n) => {
            let on = first.latest_order_on.as_deref().unwrap_or_default();
            let wires = if n == 1 { "1 wire".to_owned() } else { format!("{n} wires") };
            format!("Order {wires}; the first is {}, by {on}.", first.wire)
        }
    }
}

struct Counter<'a> {
    past: Past,
    state: &'a State,
    q: &'a Question,
    made: &'a Plan,
    ahead: &'a Outlook,
    as_of: Date,
    service: f64,
    /// Days within which nine of ten orders arrive, by offer.
    lead_p90: BTreeMap<String, u32>,
}

/// What is known of a wire before it is put in words.
struct Need {
    usable: Length,
    waiting: Length,
    point: Length,
    /// Of a slow wire: how many jobs that may come wire is kept for.
    slow: Option<u32>,
    offer: Option<(Offer, u32)>,
    order: Option<Purchase>,
    /// The last day to order on, counted from today as 1, late ones below that.
    latest: Option<i32>,
    short: Option<Short>,
}

impl Counter<'_> {
    /// All wires that are on the shelf, waited for, or to be bought for a job that accepts them.
    fn wires(&self) -> BTreeSet<String> {
        let bought = self.made.purchase.iter().flat_map(|p| &p.made_of);
        let there = self.q.spools.iter().map(|s| &s.wire).chain(self.q.jobs.iter().map(|j| &j.wire));
        there.chain(bought).cloned().collect()
    }

    fn drawn(&self, wire: &str) -> Drawn {
        self.past.of.get(wire).cloned().unwrap_or_default()
    }

    /// Metres that waiting jobs take of a wire: those due up to a day and those without a date, or all.
    fn booked(&self, wire: &str, up_to: Option<i32>) -> Length {
        let mut sum = Length::ZERO;
        for j in &self.q.jobs {
            let planned = self.made.assign.iter().find(|a| a.job == j.id).map(|a| a.wire.as_str());
            let on = planned.or_else(|| self.bought_in(&j.id)).unwrap_or(&j.wire);
            let in_time = up_to.is_none_or(|day| j.due_by().is_none_or(|due| due <= day));
            if let Some(need) = j.need_on(wire).filter(|_| on == wire && in_time) {
                sum = sum + need.total() * f64::from(j.coils);
            }
        }
        sum
    }

    fn need(&self, wire: &str) -> Need {
        let of_wire = self.ahead.wires.iter().find(|d| d.name == wire).and_then(|d| d.days.first());
        let usable = of_wire.map_or(Length::ZERO, |l| l.usable);
        let stock_u = of_wire.map_or(Length::ZERO, |l| l.left.u);
        let waiting = self.booked(wire, None);
        // Undated ones last in the outlook; here they wait for wire as of now.
        let short = self.ahead.short.iter().filter(|s| s.wire == wire).min_by_key(|s| s.day.unwrap_or(1)).cloned();
        let bought = self.bought(wire);
        let mut best: Option<Need> = None;
        for offer in self.q.supply.iter().filter(|o| o.wire == wire) {
            let p90 = self.p90(offer);
            let demand = self.demand(wire, offer, p90, stock_u);
            let seldom = demand.is_slow().then(|| demand.slow_point());
            let point = seldom.map_or_else(|| demand.reorder_point().point, |s| s.point);
            // Enough for all that waits, and for what may come before the next order is here.
            let wanted = point - demand.booked + waiting;
            let low = usable < point || short.is_some();
            let order = if low { self.topped_up(wire, offer, bought.as_ref(), usable, wanted) } else { None };
            let latest = low.then(|| {
                let dated = short.as_ref().map(|s| s.day.map_or(1, |day| demand.latest_order_day(day)));
                let by_point = (usable < point).then_some(1);
                dated.into_iter().chain(by_point).min().unwrap_or(1)
            });
            let found = Need {
                usable,
                waiting,
                point,
                slow: seldom.map(|s| s.jobs),
                offer: Some((offer.clone(), p90)),
                order,
                latest,
                short: short.clone(),
            };
            let rank = |n: &Need| {
                let lead = n.offer.as_ref().map_or(0, |(o, _)| o.lead_days);
                (n.order.is_none(), n.order.as_ref().map_or(0, |p| p.cost), lead)
            };
            if best.as_ref().is_none_or(|b| rank(&found) < rank(b)) {
                best = Some(found);
            }
        }
        best.unwrap_or_else(|| Need {
            usable,
            waiting,
            point: waiting,
            slow: None,
            offer: None,
            order: None,
            latest: short.as_ref().map(|_| 1),
            short,
        })
    }

    fn p90(&self, offer: &Offer) -> u32 {
        self.lead_p90.get(&offer.id).copied().unwrap_or(offer.lead_days)
    }

    fn demand(&self, wire: &str, offer: &Offer, p90: u32, stock_u: Length) -> Demand {
        let drawn = self.drawn(wire);
        let (mean, sd) = drawn.of_a_job();
        let horizon = i32::try_from(p90).unwrap_or(i32::MAX);
        Demand {
            jobs_per_day: drawn.by_job.len() as f64 / f64::from(self.past.days.max(1)),
            metres_per_job: mean,
            metres_sd: sd,
            lead_days: f64::from(offer.lead_days),
            lead_days_sd: f64::from(p90.saturating_sub(offer.lead_days)) / Z90,
            booked: self.booked(wire, Some(horizon)),
            stock_u,
            service: self.service,
        }
    }

    /// The wire of the purchase that lets a refused job be done.
    fn bought_in(&self, job: &str) -> Option<&str> {
        let all = self.made.purchase.as_ref()?;
        all.jobs.iter().zip(&all.made_of).find(|(id, _)| *id == job).map(|(_, wire)| wire.as_str())
    }

    /// Of the purchase that lets all refused jobs be done, what is of this wire: its lines and its jobs.
    fn bought(&self, wire: &str) -> Option<(Vec<PurchaseLine>, Vec<String>, bool)> {
        let all = self.made.purchase.as_ref()?;
        let sold = |id: &str| self.q.supply.iter().any(|o| o.id == id && o.wire == wire);
        let lines: Vec<PurchaseLine> = all.lines.iter().filter(|l| sold(&l.offer)).cloned().collect();
        let jobs =
            all.jobs.iter().zip(&all.made_of).filter(|(_, of)| *of == wire).map(|(job, _)| job.clone()).collect();
        (!lines.is_empty()).then_some((lines, jobs, all.all_cheaper_tried))
    }

    /// What the refused jobs need, and as many spools of the offer on top as bring the wire up to `wanted`.
    fn topped_up(
        &self,
        wire: &str,
        offer: &Offer,
        bought: Option<&(Vec<PurchaseLine>, Vec<String>, bool)>,
        usable: Length,
        wanted: Length,
    ) -> Option<Purchase> {
        let coil = self.usual_coil(wire);
        let known = |id: &str| self.q.supply.iter().find(|o| o.id == id);
        let (mut lines, jobs, tried): (_, Vec<String>, _) = bought.cloned().unwrap_or((Vec::new(), Vec::new(), false));
        let mut there = usable;
        for (line, o) in lines.iter().filter_map(|l| Some((l, known(&l.offer)?))) {
            let coils = (o.left.value.m() / coil.m()).floor();
            there = there + coil * (coils * f64::from(line.count));
        }
        let more = spools_to_order(offer, coil, there, wanted).unwrap_or(0);
        let for_jobs_alone = more == 0;
        if more > 0 {
            match lines.iter_mut().find(|l| l.offer == offer.id) {
                Some(line) => line.count = line.count.saturating_add(more),
                None => lines.push(PurchaseLine { offer: offer.id.clone(), count: more }),
            }
        }
        let priced = || lines.iter().filter_map(|l| Some((l, known(&l.offer)?)));
        let cost = priced().fold(0u64, |sum, (l, o)| sum.saturating_add(o.price.saturating_mul(u64::from(l.count))));
        let lead_days = priced().map(|(_, o)| o.lead_days).max()?;
        let made_of = vec![wire.to_owned(); jobs.len()];
        Some(Purchase { cost, lead_days, all_cheaper_tried: tried && for_jobs_alone, jobs, made_of, lines })
    }

    /// The coil that whole spools are counted by: the shortest usual one, else the shortest that waits.
    fn usual_coil(&self, wire: &str) -> Length {
        let waits = self.q.jobs.iter().filter_map(|j| j.need_on(wire)).map(|n| n.total());
        let shortest = waits.reduce(|a, b| if b < a { b } else { a });
        let usual = self.state.figures().shortest_usual_m(wire).map(Length::from_m);
        usual.or(shortest).filter(|l| l.m() > 0.0).unwrap_or(Length::from_m(1.0))
    }

    fn item(&self, wire: &str, need: Need) -> BuyItem {
        let drawn = self.drawn(wire);
        let promised = self.state.spools().filter(|s| s.retired.is_none() && s.wire().key() == wire);
        let promised = promised.fold(Length::ZERO, |sum, s| sum + s.held());
        BuyItem {
            wire: wire.to_owned(),
            usable_m: words::metres(need.usable),
            promised_m: words::metres(promised),
            waiting_m: words::metres(need.waiting),
            reorder_point_m: words::metres(need.point),
            slow_mover: need.slow.is_some(),
            why: self.why(&drawn, &need),
            demand: BuyDemand {
                from_on: self.past.from.to_string(),
                days: self.past.days,
                draws: drawn.draws,
                jobs: drawn.by_job.len(),
                drawn_m: Setting::of(drawn.total().m()),
            },
            order: None,
            latest_order_on: need.latest.map(|day| day::days_after(self.as_of, day.max(1) - 1).to_string()),
            lead_days: need.offer.as_ref().map(|(o, _)| o.lead_days),
            lead_days_p90: need.offer.as_ref().map(|(_, p90)| *p90),
        }
    }

    fn why(&self, drawn: &Drawn, need: &Need) -> String {
        let usable = format!("{:.1} m of use", need.usable.m());
        let point = format!("{:.1} m", need.point.m());
        let arrives = need.offer.as_ref().map_or_else(
            || "nobody on file sells it: add an offer (`coilwright plugin new NAME --kind supply`)".to_owned(),
            |(o, p90)| format!("an order takes {} days, nine in ten at most {p90}", o.lead_days),
        );
        let first = match &need.short {
            Some(Short { job, day: Some(on), .. }) => {
                let date = day::days_after(self.as_of, on - 1);
                let late = need.latest.filter(|latest| *latest < 1).map_or_else(String::new, |latest| {
                    let days = 1 - latest;
                    format!(", so it is late by {}", crate::plan_ways::days(days.unsigned_abs()))
                });
                format!("{job} runs short on {date}; {arrives}{late}")
            }
            Some(s) => format!("{} waits for wire; {arrives}", s.job),
            None if need.offer.is_none() => format!("{usable} is there for what waits; {arrives}"),
            None if need.usable < need.point => {
                format!("{usable} is less than the reorder point of {point}; {arrives}")
            }
            None => format!("{usable} is enough: the reorder point is {point}"),
        };
        let n = drawn.by_job.len();
        let jobs = match n {
            0 => "no job".to_owned(),
            1 => "1 job".to_owned(),
            n => format!("{n} jobs"),
        };
        let span = crate::plan_ways::days(self.past.days);
        let rests = match need.slow {
            Some(0) => format!("slow mover, {jobs} in {span}: buy to order"),
            Some(keep) => {
                let more = if keep == 1 { "1 job".to_owned() } else { format!("{keep} jobs") };
                format!("slow mover, {jobs} in {span}: wire for {more} that may come is kept")
            }
            None => format!("{jobs} drew {:.1} m in {span}", drawn.total().m()),
        };
        format!("{first} ({rests}).")
    }
}
