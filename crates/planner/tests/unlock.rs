//! What the planner offers as a way out is one: done as offered, the job is in the plan.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod made;

use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use coilwright_planner::{
    Alternate, Depth, Effort, Job, Need, Offer, Plan, Purchase, Question, Spool, Unlock, check, plan,
};
use made::{Dice, question};

const THOROUGH: Effort = Effort { rounds: 100, seed: 1, proof: Depth::Full, explain: true };

fn metres(x: f64) -> Length {
    Length::from_m(x)
}

fn offer(id: &str, wire: &str, length: f64, price: u64) -> Offer {
    let left = Measured::new(metres(length), metres(0.2));
    Offer { id: id.into(), wire: wire.into(), left, draw_doubt: 0.003, price, lead_days: 4 }
}

/// The question after an offer was taken up, with the jobs of the plan and those that it is for.
fn after(q: &Question, plan: &Plan, jobs: &[String], unlock: &Unlock) -> Question {
    let mut q = q.clone();
    q.jobs.retain(|j| jobs.contains(&j.id) || plan.assign.iter().any(|a| a.job == j.id));
    match unlock {
        Unlock::Reweigh { spool, u_needed, .. } => {
            let spool = q.spools.iter_mut().find(|s| s.id == *spool).unwrap();
            spool.left.u = *u_needed * (1.0 - 1e-9);
        }
        Unlock::Release { spools } => {
            for spool in q.spools.iter_mut().filter(|s| spools.contains(&s.id)) {
                spool.held = false;
                spool.promised = Length::ZERO;
            }
        }
        Unlock::OtherWire { wire } => {
            for job in q.jobs.iter_mut().filter(|j| jobs.contains(&j.id)) {
                job.alternates.push(Alternate { wire: wire.clone(), penalty: 0, need: None });
            }
        }
        Unlock::Buy(purchase) => deliver(&mut q, purchase),
    }
    q
}

fn deliver(q: &mut Question, purchase: &Purchase) {
    for line in &purchase.lines {
        let offer = q.supply.iter().find(|o| o.id == line.offer).unwrap().clone();
        for n in 0..line.count {
            let spool = Spool::new(&format!("new-{}-{n}", offer.id), &offer.wire, offer.left);
            q.spools.push(Spool { draw_doubt: offer.draw_doubt, opened: false, ..spool });
        }
    }
}

#[test]
fn every_way_out_lets_the_job_in() {
    let mut met = [0; 4];
    for seed in 5000..5800 {
        let mut q = question(&mut Dice(seed), 4, 5);
        q.supply = vec![offer("a30", "A", 30.0, 500), offer("a70", "A", 70.0, 900), offer("b40", "B", 40.0, 700)];
        for job in &mut q.jobs {
            job.possible_wires = vec!["A".into(), "B".into()];
        }
        let first = plan(&q, THOROUGH, &|| true).unwrap();
        for refused in &first.refused {
            for unlock in &refused.unlock {
                met[match unlock {
                    Unlock::Reweigh { .. } => 0,
                    Unlock::Release { .. } => 1,
                    Unlock::OtherWire { .. } => 2,
                    Unlock::Buy(_) => 3,
                }] += 1;
                let then = after(&q, &first, std::slice::from_ref(&refused.job), unlock);
                let again = plan(&then, THOROUGH, &|| true).unwrap();
                assert_eq!(check(&then, &again.assign).faults, [], "seed {seed}");
                // As much as before and the job, if on the least worthy of its wires.
                let job = then.jobs.iter().find(|j| j.id == refused.job).unwrap();
                let least = ["A", "B"].iter().filter_map(|w| job.worth_on(w)).filter(|w| *w > 0).min().unwrap();
                assert!(
                    again.value >= first.value + least,
                    "seed {seed} {refused:#?}\n{first:#?}\n{again:#?}\n{then:#?}"
                );
            }
        }
    }
    assert!(met.iter().all(|&n| n >= 15), "each way should be met often enough to mean something: {met:?}");
}

#[test]
fn the_purchase_for_all_does_all_its_jobs() {
    let mut met = 0;
    for seed in 6000..6120 {
        let mut q = question(&mut Dice(seed), 4, 5);
        q.supply = vec![offer("a30", "A", 30.0, 500), offer("a70", "A", 70.0, 900), offer("b40", "B", 40.0, 700)];
        let first = plan(&q, THOROUGH, &|| true).unwrap();
        let Some(purchase) = &first.purchase else { continue };
        met += 1;
        let then = after(&q, &first, &purchase.jobs, &Unlock::Buy(purchase.clone()));
        let again = plan(&then, THOROUGH, &|| true).unwrap();
        let worth = |(id, wire): (&String, &String)| {
            let job = then.jobs.iter().find(|j| j.id == *id).unwrap();
            job.worth_on(wire).unwrap()
        };
        let all: i64 = first.value + purchase.jobs.iter().zip(&purchase.made_of).map(worth).sum::<i64>();
        assert!(again.value >= all, "seed {seed}: {} of {all}\n{first:#?}\n{again:#?}", again.value);
        let cost: u64 = purchase
            .lines
            .iter()
            .map(|l| u64::from(l.count) * q.supply.iter().find(|o| o.id == l.offer).unwrap().price)
            .sum();
        assert_eq!(cost, purchase.cost, "seed {seed}");
    }
    assert!(met >= 20, "{met}");
}

/// A spool of A holds one coil of 20 m and costs 5.00, one of B holds two and costs 7.00. J2 wants B; J1 wants A and accepts
/// B: each on its own wire 12.00, both from one spool of B 7.00.
#[test]
fn jobs_that_accept_another_wire_are_bought_for_together_where_that_is_cheaper() {
    let need = Need { net: metres(20.0), ..Need::default() };
    let other = Alternate { wire: "B".into(), penalty: 1, need: None };
    let first = Job { alternates: vec![other], ..Job::new("J1", "A", 1, need, 5) };
    let asked = |b: u64| Question {
        jobs: vec![first.clone(), Job::new("J2", "B", 1, need, 5)],
        supply: vec![offer("a30", "A", 30.0, 500), offer("b50", "B", 50.0, b)],
        ..Question::default()
    };
    let bought = |q: &Question| {
        let p = plan(q, Effort::default(), &|| true).unwrap().purchase.unwrap();
        (p.cost, p.all_cheaper_tried, p.lines.iter().map(|l| l.count).sum::<u32>(), p.made_of)
    };
    assert_eq!(bought(&asked(700)), (700, true, 1, vec!["B".to_owned(), "B".to_owned()]));
    assert_eq!(
        bought(&asked(1300)),
        (1300, true, 1, vec!["B".to_owned(), "B".to_owned()]),
        "13.00 is still less than 18.00"
    );
    let mut apart = asked(1300);
    apart.supply[1].left = Measured::new(metres(30.0), metres(0.0));
    assert_eq!(bought(&apart), (1800, true, 2, vec!["A".to_owned(), "B".to_owned()]), "a spool of B for one coil only");
    let mut none = asked(700);
    none.supply.remove(0);
    assert_eq!(bought(&none).3, ["B", "B"], "A is not sold at all");
}

/// One coil of 20 m from a spool of 22.2 m ± 1 m runs short with Φ(−2.2) = 1.39 %: one of them keeps 2 %, one of each wire
/// (2.76 %) does not. The longer ones have no doubt to speak of; one of them is bought, or both.
#[test]
fn what_is_bought_in_two_wires_keeps_the_promise_together() {
    let need = Need { net: metres(20.0), ..Need::default() };
    let spool = |id: &str, wire: &str, length: f64, price: u64| Offer {
        left: Measured::new(metres(length), metres(1.0)),
        draw_doubt: 0.0,
        ..offer(id, wire, length, price)
    };
    let q = Question {
        jobs: vec![Job::new("J1", "A", 1, need, 5), Job::new("J2", "B", 1, need, 5)],
        supply: ["A", "B"]
            .iter()
            .flat_map(|w| [spool(&format!("{w}22"), w, 22.2, 400), spool(&format!("{w}30"), w, 30.0, 900)])
            .collect(),
        risk: Some(0.02),
        ..Question::default()
    };
    let one = Question { jobs: q.jobs[..1].to_vec(), ..q.clone() };
    let p = plan(&one, THOROUGH, &|| true).unwrap().purchase.unwrap();
    assert_eq!((p.cost, p.all_cheaper_tried), (400, true));
    let first = plan(&q, THOROUGH, &|| true).unwrap();
    let p = first.purchase.clone().unwrap();
    assert!(p.cost > 800 && !p.all_cheaper_tried, "{p:?}");
    let then = after(&q, &first, &p.jobs, &Unlock::Buy(p.clone()));
    assert_eq!(plan(&then, THOROUGH, &|| true).unwrap().value, 10, "{p:?}");
}

/// Twelve jobs with two wires each are 4096 sharings: not all are tried, and that is said.
#[test]
fn of_very_many_sharings_the_purchase_says_that_not_all_were_tried() {
    let need = Need { net: metres(20.0), ..Need::default() };
    let job = |n: usize| {
        let other = Alternate { wire: "B".into(), penalty: 1, need: None };
        Job { alternates: vec![other], ..Job::new(&format!("J{n:02}"), "A", 1, need, 5) }
    };
    let q = Question {
        jobs: (0..12).map(job).collect(),
        supply: vec![offer("a30", "A", 30.0, 500), offer("b240", "B", 240.0, 700)],
        ..Question::default()
    };
    let p = plan(&q, Effort::default(), &|| true).unwrap().purchase.unwrap();
    // All on A cost 60.00; one spool of B holds twelve coils.
    assert_eq!((p.cost, p.all_cheaper_tried, p.jobs.len()), (700, false, 12));
}

#[test]
fn spools_whose_started_coils_break_the_promise_are_named_and_left_alone() {
    let need = Need { net: metres(20.0), ..Need::default() };
    let started = Job { started: [("s1".to_owned(), 2)].into(), ..Job::new("J1", "A", 2, need, 1) };
    let q = Question {
        spools: vec![
            Spool::new("s1", "A", Measured::new(metres(40.5), metres(1.0))),
            Spool::new("s2", "A", Measured::new(metres(30.0), metres(0.5))),
        ],
        jobs: vec![started, Job::new("J2", "A", 1, need, 5)],
        risk: Some(0.02),
        ..Question::default()
    };
    let plan = plan(&q, Effort::default(), &|| true).unwrap();
    assert_eq!(plan.risk.beyond_help, ["s1"]);
    assert!(plan.risk.computed > 0.3, "{:?}", plan.risk); // Φ(−0.5): the coils are on the winder already
    assert_eq!(plan.value, 6);
    assert_eq!(check(&q, &plan.assign).faults, []);
}
