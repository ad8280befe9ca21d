//! `shop.status`: how the shop and its daemon are.

use crate::alert::AlertItem;
use crate::money::Money;
use crate::quantity::{G, M, Mm, Ohm, Setting};
use crate::shape::{asks, method, tells};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Asks how things are.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShopStatus {}

/// Whether all is well.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Health {
    /// All is well.
    Good,
    /// Reading goes on, something else does not: see `faults`.
    Degraded,
}

tells! {
    /// How the shop and its daemon are.
    ShopStatusAnswer {
        /// Version of the program.
        version: String,
        /// Whether all is well.
        health: Health,
        /// What is not well, in sentences.
        faults: Vec<String>,
        /// How far the journal goes.
        journal: JournalHead,
        /// How much there is of what.
        counts: Counts,
        /// The plugins in use.
        plugins: Vec<PluginAnswer>,
        /// Alerts that nobody has seen.
        alerts: Vec<AlertItem>,
        /// What plugins propose upon what happened last. Nothing of it happens by itself.
        proposals: Vec<ProposalAnswer>,
        /// Digest of everything the catalog holds: the same digest answers the same questions in the same way.
        catalog_digest: String,
    } may {}
}

tells! {
    /// How much there is of what.
    Counts {
        /// Wires in the catalog.
        wires: usize,
        /// Former materials in the catalog.
        formers: usize,
        /// Spools in use.
        spools: usize,
        /// Jobs that have not ended.
        jobs: usize,
        /// Coils on the winder.
        winding: usize,
    } may {}
}

tells! {
    /// How far the journal goes.
    JournalHead {
        /// The last entry.
        head: u64,
        /// Its hash.
        hash: String,
    } may {}
}

tells! {
    /// A plugin in use.
    PluginAnswer {
        /// Its id.
        plugin: String,
        /// Its version.
        version: String,
        /// What it is.
        title: String,
        /// `built-in`, or the folder it was read from.
        origin: String,
    } may {}
}

tells! {
    /// What a plugin proposes.
    ProposalAnswer {
        /// The plugin, a dot, and its stable word for it.
        code: String,
        /// What it proposes.
        text: String,
        /// The spool or job it is about.
        about: String,
        /// The entry that it reacts to.
        seq: u64,
    } may {
        /// The method that would do it.
        method: String,
        /// Its params.
        params: serde_json::Value,
    }
}

method!(ShopStatus => ShopStatusAnswer, "shop.status", "Says how the shop and its daemon are.");

asks! {
    /// Asks what the shop decides by.
    ShopFigures {} may {}
}
method!(ShopFigures => ShopFiguresAnswer, "shop.figures", "Shows what the shop decides by, and where each figure came from.");

tells! {
    /// What the shop decides by.
    ShopFiguresAnswer {
        /// Every figure with its origin.
        figures: Vec<ShopFigure>,
        /// The last entry that changed one; 0 if none did.
        rev: u64,
        /// The entry up to which the answer looks.
        seq: u64,
    } may {}
}

tells! {
    /// One figure.
    ShopFigure {
        /// Its name, as `shop.set` takes it.
        name: String,
        /// Its value.
        value: serde_json::Value,
        /// `common_practice`, `derived`, `first_guess` or `set`.
        origin: String,
    } may {
        /// The entry that set it.
        set_by: u64,
    }
}

asks! {
    /// The shop's scale.
    ScaleFigures {
        /// Standard uncertainty of a weighing, without its last digit's.
        u_g: Setting<G>,
        /// The step of its display.
        resolution_g: Setting<G>,
    } may {}
}

asks! {
    /// The shop's ohmmeter, by the limits in its papers.
    MeterFigures {
        /// Limit, per cent of the reading.
        pct: f64,
        /// Limit, further digits of the display.
        digits: f64,
        /// The step of its display.
        resolution_ohm: Setting<Ohm>,
    } may {}
}

asks! {
    /// A resistor that readings are compared with on the same test leads.
    ReferenceResistor {
        /// What it is marked.
        ohm: Setting<Ohm>,
        /// Limit of the marking, per cent.
        pct: f64,
    } may {}
}

asks! {
    /// A coil that the shop makes again and again.
    UsualCoil {
        /// What it is, in words.
        title: String,
        /// Wire it needs, with tails and threading.
        need_m: Setting<M>,
    } may {
        /// The wire, if only of one.
        wire: String,
    }
}

asks! {
    /// What an hour costs and what goes on top.
    RateFigures {
        /// An hour of work.
        hour: Money,
        /// On top of labour.
        overhead_pct: f64,
        /// Of the price.
        margin_pct: f64,
    } may {}
}

asks! {
    /// Sets what the shop decides by: what is given; the rest stays.
    ShopSet {} may {
        /// Probability that the wire is there which a start or a promise must have.
        confidence: f64,
        /// Risk that any coil of a plan runs out.
        plan_risk_pct: f64,
        /// Standard uncertainty of a table's mass per metre.
        g_per_m_u_pct: f64,
        /// Standard uncertainty of a table's resistance per metre.
        ohm_per_m_u_pct: f64,
        /// Standard uncertainty of a marked or book length.
        marked_u_pct: f64,
        /// Standard uncertainty of a tare read off a label or from a like reel.
        tare_u_g: Setting<G>,
        /// The usual scale.
        scale: ScaleFigures,
        /// The usual ohmmeter.
        meter: MeterFigures,
        /// Reference resistors in the drawer.
        reference_resistors: Vec<ReferenceResistor>,
        /// Standard uncertainty of a diameter taken with the micrometer.
        micrometer_u_mm: Setting<Mm>,
        /// Standard uncertainty of a length taken with the caliper.
        caliper_u_mm: Setting<Mm>,
        /// Standard uncertainty of a length of wire along the rule.
        rule_u_mm: Setting<Mm>,
        /// Standard uncertainty of a bench temperature, in kelvin.
        temperature_u_c: f64,
        /// Two equal weighings of one spool within this many seconds are one.
        same_weighing_s: f64,
        /// A spool not read for more days than this is worth a look.
        weigh_every_days: f64,
        /// Coils made again and again.
        usual_coils: Vec<UsualCoil>,
        /// Hours at the winder, Monday to Sunday.
        winder_hours: [f64; 7],
        /// Share of coils scrapped, expected before own figures are there.
        scrap_pct: f64,
        /// What an hour costs and what goes on top.
        rates: RateFigures,
        /// Mandrels in the drawer.
        mandrels_mm: Vec<Setting<Mm>>,
        /// Release shims in the drawer.
        shims_mm: Vec<Setting<Mm>>,
        /// Whether the shop's own coils move planned figures.
        learning: bool,
        /// Time zone of all dates, by its IANA name.
        time_zone: String,
        /// Currency of all amounts.
        currency: String,
        /// Settings of plugins: plugin, setting, value; null takes one back. What is not named stays. See `plugin.list`.
        plugin_settings: std::collections::BTreeMap<String, std::collections::BTreeMap<String, serde_json::Value>>,
        /// Only if the figures still are at this revision.
        if_rev: u64,
        /// The same key with the same params gets the first answer again.
        idempotency_key: String,
    }
}
method!(ShopSet => ShopFiguresAnswer, "shop.set", "Sets what the shop decides by.", writes: true);
