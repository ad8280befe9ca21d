//! `plan.*`: which spool for which coil, how surely, and what stands in the way of the rest.

use crate::money::Money;
use crate::quantity::{Figure, G, M, Mm, Ohm, Setting};
use crate::shape::{asks, method, tells};
use crate::spool::EnoughWord;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How hard to look for a proof.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ProofDepth {
    /// A bound at once.
    Quick,
    /// Also the linear program and, if the question is small, every plan there is.
    Full,
}

asks! {
    /// Asks for a plan. Planning writes nothing.
    PlanMake {} may {
        /// Risk, shared by the whole plan, that any spool runs short; the shop's own if left out.
        risk_pct: f64,
        /// Rounds of improvement: counted, so that the same question has the same answer; 2000 if left out.
        rounds: u32,
        /// Only jobs planned in these wires.
        wires: Vec<String>,
        /// Only jobs due up to this date.
        until_on: String,
        /// The day to plan on; today in the shop's time zone if left out.
        as_of: String,
        /// How hard to look for a proof; `quick` if left out.
        proof: ProofDepth,
    }
}
method!(PlanMake => PlanAnswer, "plan.make", "Plans the waiting jobs onto the spools: no coil is joined, no spool runs short beyond the risk, and every refusal has its reason.");

asks! {
    /// Asks for the accepted plan, repaired to what is there now.
    PlanShow {} may {
        /// The day to look on; today in the shop's time zone if left out.
        as_of: String,
    }
}
method!(PlanShow => PlanAnswer, "plan.show", "Shows the accepted plan, repaired with few changes to what is there now, and proposes a new one if that is better.");

tells! {
    /// A plan.
    PlanAnswer {
        /// Priorities of the jobs in it, less the penalties of other wires.
        value: f64,
        /// No plan that keeps the risk is worth more.
        bound: f64,
        /// How far the value may be from the best, per cent of the bound.
        gap_pct: f64,
        /// `optimal`, `optimal_at_factor` or `gap`: what is proved of the value. Nothing is claimed of the later goals.
        proof: String,
        /// Risk that any spool of the plan runs short.
        risk_pct: PlanRisk,
        /// Coils on spools, coils already started among them.
        assign: Vec<PlanAssign>,
        /// Why each of them comes from its spool and not from another, in the same order.
        reasons: Vec<PlanChoice>,
        /// Jobs left out.
        refused: Vec<PlanRefused>,
        /// Every spool.
        spools: Vec<PlanSpool>,
        /// Ends on touched spools too short for any usual coil, together.
        stranded_m: Setting<M>,
        /// Rounds of improvement run.
        rounds: u32,
        /// The search was stopped from outside; the plan is valid all the same.
        stopped_early: bool,
        /// The plan in a sentence.
        sentence: String,
        /// How sure it is that no plan is better, in a sentence.
        sure: String,
        /// The day it was made for.
        as_of: String,
        /// The entry up to which it looks.
        seq: u64,
    } may {
        /// Cheapest purchase that lets all refused jobs be done that can be bought for.
        purchase: PlanPurchase,
        /// The entry that accepted it; only of `plan.show`.
        accepted_by: u64,
        /// Job and spool pairs that the repair changed; only of `plan.show`.
        changes: usize,
        /// A new plan that would be better; only of `plan.show`, and only if there is one.
        proposal: PlanProposal,
    }
}

tells! {
    /// A plan made anew that is better than the accepted one as it stands: to be accepted or not.
    PlanProposal {
        /// The proposal in a sentence.
        text: String,
        /// Worth more by this.
        gain: f64,
        /// Less is stranded by this.
        stranded_less_m: Setting<M>,
        /// Fewer spools are touched by this.
        spools_less: i64,
        /// Job and spool pairs that differ from the plan shown.
        moves: usize,
        /// Its risk.
        risk_pct: PlanRisk,
        /// Coils on spools, ready for `plan.accept`.
        assign: Vec<PlanAssign>,
    } may {}
}

tells! {
    /// Why coils come from the spool that they come from.
    PlanChoice {
        /// The job.
        job: String,
        /// The spool.
        spool: String,
        /// Its coils from there.
        coils: u32,
        /// Why from there, compared with the best other spool.
        text: String,
    } may {}
}

tells! {
    /// Risk of a plan.
    PlanRisk {
        /// What the shop allows.
        promised: f64,
        /// What this plan has.
        computed: f64,
    } may {}
}

asks! {
    /// Coils of a job on a spool.
    PlanAssign {
        /// The job.
        job: String,
        /// The wire it is made of.
        wire: String,
        /// The spool.
        spool: String,
        /// How many of its coils.
        coils: u32,
    } may {}
}

tells! {
    /// A job left out.
    PlanRefused {
        /// The job.
        job: String,
        /// The first thing in its way: `no_continuous_length`, `tails`, `not_enough_coils`, `risk`, `held`,
        /// `displaced_by_frozen`, `displaced`, `no_time`, `new_plan`, `plan_risk`, `design` or `wire_changed`.
        reason: String,
        /// In a sentence with its figures.
        detail: String,
        /// What would let it be done, cheapest first.
        unlock: Vec<PlanWay>,
    } may {}
}

tells! {
    /// Something that would let a refused job be done.
    PlanWay {
        /// `weigh_again`, `release`, `other_wire`, `buy`, `ask_supplier`, `change_coil`, `record_coil`,
        /// `more_time` or `more_worth`; the last two only of `plan.unlock`.
        remedy: String,
        /// In a sentence with its figures.
        text: String,
    } may {
        /// Spools concerned.
        spools: Vec<String>,
        /// Uncertainty that a weighing would have to reach.
        u_needed_m: Setting<M>,
        /// The same on the scale; only of `plan.unlock`.
        u_needed_g: Setting<G>,
        /// The other wire.
        wire: String,
        /// How the coil comes out in the other wire; only of `plan.unlock`.
        fit: WayFit,
        /// What to buy.
        purchase: PlanPurchase,
        /// Other refused jobs that it lets in too; only of `plan.unlock`.
        also_unlocks: Vec<String>,
    }
}

tells! {
    /// How a coil comes out in another wire.
    WayFit {
        /// Resistance at 20 °C.
        dcr_ohm: Figure<Ohm>,
    } may {
        /// Play to the bore.
        clearance_outer_mm: Figure<Mm>,
    }
}

tells! {
    /// What to buy.
    PlanPurchase {
        /// Spools, by size.
        lines: Vec<PurchaseLine>,
        /// In words, to read out to a supplier.
        text: String,
        /// Price of all.
        cost: Money,
        /// Days until the last is here.
        lead_days: u32,
        /// Whether everything cheaper was tried and did not do; otherwise something cheaper may do as well.
        all_cheaper_tried: bool,
        /// Jobs that can be done then and could not before.
        jobs: Vec<String>,
    } may {}
}

tells! {
    /// One line of a purchase.
    PurchaseLine {
        /// The offer.
        offer: String,
        /// The supplier.
        supplier: String,
        /// The wire.
        wire: String,
        /// Wire on one such spool.
        left_m: Figure<M>,
        /// How many of them.
        count: u32,
    } may {}
}

tells! {
    /// A spool under the plan.
    PlanSpool {
        /// The spool.
        spool: String,
        /// Its wire.
        wire: String,
        /// Longest total that is safe for the plan.
        safe_m: Setting<M>,
        /// What the plan draws.
        used_m: Setting<M>,
        /// What is expected to be left then.
        end_m: Setting<M>,
        /// What of it can be made into the shortest usual coil, safely: whole coils, as `plan.outlook` counts them.
        usable_m: Setting<M>,
        /// That end is too short for any usual coil, and the spool is touched.
        useless_end: bool,
        /// What is left then, in words.
        end_text: String,
        /// The word for what is drawn and promised.
        word: EnoughWord,
        /// The probability behind it.
        probability: f64,
    } may {}
}

asks! {
    /// A plan becomes the one that the shop goes by. Without `assign` it is the one that is proposed now: what `plan.show`
    /// proposes, or the plan it shows if that was repaired; the one of `plan.make` if none was accepted yet.
    PlanAccept {} may {
        /// Coils on spools, as `plan.make` answered.
        assign: Vec<PlanAssign>,
        /// The entry that the plan looked up to, as it answered; needed with `assign`. Without it, what is proposed is
        /// taken only if no entry came since.
        seq: u64,
        /// Risk it was made for, only with `assign`; the shop's own if left out.
        risk_pct: f64,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(PlanAccept => PlanAccepted, "plan.accept", "Accepts a plan, checked against the state of this moment.", writes: true);

tells! {
    /// The plan that the shop goes by.
    PlanAccepted {
        /// The entry that accepted it.
        accepted: u64,
        /// Its value.
        value: f64,
        /// Its risk.
        risk_pct: PlanRisk,
        /// The entry in the journal.
        seq: u64,
    } may {
        /// The entry whose plan it replaces.
        replaces: u64,
        /// What was taken, in a sentence; only if `assign` was left out.
        taken: String,
    }
}
