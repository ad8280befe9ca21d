//! Jobs onto spools: which jobs today's wire can finish, from which spools, how surely, and why not the others.
//!
//! Pure and repeatable: whole millimetres, counted rounds, a seed that is a value. The same question has the same answer
//! on any machine.
//!
//! Goals in strict order: worth of the jobs done (started ones before all others), least length of useless ends, fewest
//! spools touched, fewest changes to the plan in force, jobs due first, opened spools, older spools, names. A job is
//! done whole or not at all, on one wire; a coil is one unbroken length.
//!
//! A walk: [`plan`] checks the question at the door and makes whole millimetres of it (`door`), finds first plans
//! (`construct`, `place`), improves them (`improve`) while sharing the promised risk out over the spools (`search`,
//! `promise`, `risk`), proves what it can (`prove`: `bound`, `linear`, `exact`), tells why coils lie where they lie (`why`), why
//! jobs are left out (`reason`) and what would let them in (`unlock`, `sharing`, `buy`), and has the result checked by [`check`], which uses nothing of the search.
//!
//! ```
//! use coilwright_core::{measured::Measured, quantity::Length};
//! use coilwright_planner::{Effort, Job, Need, Question, Spool, plan};
//!
//! let m = Length::from_m;
//! let question = Question {
//!     spools: vec![Spool::new("s1", "cu-0.20", Measured::new(m(52.0), m(0.4)))],
//!     jobs: vec![Job::new("J1", "cu-0.20", 4, Need { net: m(12.0), tails: m(0.4), scrap: m(0.2) }, 5)],
//!     risk: Some(0.02),
//!     ..Question::default()
//! };
//! let plan = plan(&question, Effort::default(), &|| true)?;
//! assert_eq!((plan.value, plan.assign[0].coils), (5, 4));
//! assert!(plan.risk.computed < 0.001);
//! # Ok::<(), coilwright_planner::NoPlan>(())
//! ```

mod answer;
mod bound;
mod buy;
mod checker;
mod construct;
mod dice;
mod door;
mod exact;
mod improve;
mod layout;
mod linear;
mod mill;
mod outlook;
mod place;
mod plan;
mod polish;
mod promise;
mod prove;
mod question;
mod reason;
mod reorder;
mod repair;
mod risk;
mod search;
mod sense;
mod sharing;
mod slow;
mod unlock;
mod ways;
mod why;
mod words;

pub use answer::*;
pub use checker::{Checked, Fault, check};
pub use outlook::{Depletion, Level, Outlook, Short, outlook};
pub use plan::{Depth, Effort, NoPlan, plan, repair};
pub use question::*;
pub use reorder::{Demand, ReorderPoint, spools_to_order};
pub use slow::SlowPoint;
pub use why::{Chosen, Instead, Why};
pub use words::{PLAIN, Tell};
