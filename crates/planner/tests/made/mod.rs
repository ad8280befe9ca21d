//! Random questions, fixed by their seed.

use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use coilwright_planner::{Alternate, Job, Need, Question, Spool};

/// A stream of numbers of the test's own.
pub struct Dice(pub u64);

impl Dice {
    /// A whole number below `n`.
    pub fn below(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }

    /// True `percent` times of a hundred.
    pub fn chance(&mut self, percent: u64) -> bool {
        self.below(100) < percent
    }
}

fn metres(x: u64) -> Length {
    Length::from_m(x as f64)
}

/// A question of up to `spools` spools and `jobs` jobs on two wires.
pub fn question(dice: &mut Dice, spools: u64, jobs: u64) -> Question {
    let wires = ["A", "B"];
    let mut q = Question {
        smallest_coil: wires.iter().map(|w| ((*w).to_owned(), Length::from_m(6.0))).collect(),
        risk: dice.chance(60).then_some(0.02),
        common_share: if dice.chance(30) { 0.5 } else { 0.0 },
        minutes_per_day: dice.chance(40).then_some(60.0),
        ..Question::default()
    };
    for i in 0..1 + dice.below(spools) {
        let wire = wires[dice.below(2) as usize];
        let sd = Length::from_m(dice.below(8) as f64 * 0.1);
        q.spools.push(Spool {
            draw_doubt: 0.003 * dice.below(3) as f64,
            held: dice.chance(10),
            promised: metres(if dice.chance(15) { dice.below(8) } else { 0 }),
            opened: dice.chance(70),
            age_days: dice.below(300) as u32,
            ..Spool::new(&format!("s{i}"), wire, Measured::new(metres(5 + dice.below(45)), sd))
        });
    }
    for i in 0..1 + dice.below(jobs) {
        let wire = wires[dice.below(2) as usize];
        let need = Need { net: metres(3 + dice.below(14)), tails: Length::from_m(0.5), scrap: Length::from_m(0.25) };
        let mut job = Job {
            due_day: dice.chance(80).then_some(dice.below(6) as i32),
            minutes: dice.below(50) as f64,
            matched_set: dice.chance(15),
            ..Job::new(&format!("j{i}"), wire, 1 + dice.below(3) as u32, need, 1 + dice.below(9) as u32)
        };
        if dice.chance(40) {
            let other = if wire == "A" { "B" } else { "A" };
            job.alternates = vec![Alternate { wire: other.into(), penalty: dice.below(5) as u32, need: None }];
        }
        q.jobs.push(job);
    }
    q
}
