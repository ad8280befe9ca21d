//! `plan.buy`: when to order which wire, and how much.

use crate::plan::PlanPurchase;
use crate::quantity::{M, Setting};
use crate::shape::{asks, method, tells};

asks! {
    /// Asks what to buy and by when.
    PlanBuy {} may {
        /// Only these wires; all on the shelf and all that waiting jobs need if left out.
        wires: Vec<String>,
        /// How surely a wire lasts until an order of it is here, per cent; 95 if left out.
        service_pct: f64,
        /// Days of the past to judge the demand by; 365 if left out.
        history_days: u32,
        /// The day to look on; today in the shop's time zone if left out.
        as_of: String,
    }
}
method!(PlanBuy => PlanBuyAnswer, "plan.buy", "Tells by wire when to order and how much: reorder point, offer and spools, latest day, from waiting jobs, past draws and lead times.");

tells! {
    /// What to buy.
    PlanBuyAnswer {
        /// In a sentence.
        sentence: String,
        /// By wire, the most urgent first.
        items: Vec<BuyItem>,
        /// How surely a wire lasts until an order of it is here.
        service_pct: f64,
        /// The day it was asked for.
        as_of: String,
        /// The entry up to which it looks.
        seq: u64,
    } may {}
}

tells! {
    /// One wire.
    BuyItem {
        /// The wire.
        wire: String,
        /// What can safely be made into the shortest usual coil; without usual coils all that is left.
        usable_m: Setting<M>,
        /// What is promised of it.
        promised_m: Setting<M>,
        /// What waiting jobs take of it, with tails and scrap.
        waiting_m: Setting<M>,
        /// Order once the usable wire is down to this. Where nobody sells it: what waiting jobs take.
        reorder_point_m: Setting<M>,
        /// Asked for so seldom that single jobs are counted instead of metres a day.
        slow_mover: bool,
        /// What was drawn of it.
        demand: BuyDemand,
        /// Why, in a sentence.
        why: String,
    } may {
        /// What to order; left out if nothing needs to be, or nobody sells it.
        order: PlanPurchase,
        /// The last day to order on; today's if it is late already.
        latest_order_on: String,
        /// Days from order to shelf of the offer that was reckoned with, usually.
        lead_days: u32,
        /// Days within which nine of ten such orders arrive.
        lead_days_p90: u32,
    }
}

tells! {
    /// What was drawn of a wire.
    BuyDemand {
        /// The first day that counts.
        from_on: String,
        /// Days from then on, the day asked for among them.
        days: u32,
        /// Draws noted in that time.
        draws: usize,
        /// Jobs they were for; a draw for no job counts as one.
        jobs: usize,
        /// Wire drawn in all.
        drawn_m: Setting<M>,
    } may {}
}
