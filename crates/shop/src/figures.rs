//! What the shop decides by: confidence, risk, instruments, hours, rates, own tools; each with its origin.
//!
//! First values are there from the start and are marked; only a `FiguresSet` fact changes one, and then it is the shop's.

use crate::entry::Seq;
use crate::uncertain::{Money, Uncertain};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;

/// Where a figure came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Origin {
    /// Common practice of the trade; no source.
    CommonPractice,
    /// Follows from the project's own formulae and other first values.
    Derived,
    /// Nobody can know it of this shop: set it before relying on it.
    FirstGuess,
    /// Set by the shop.
    Set,
}

/// A figure with its origin.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Setting<T> {
    /// The figure.
    pub value: T,
    /// Where it came from.
    pub origin: Origin,
    /// The entry that set it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seq: Option<Seq>,
}

/// A coil that this shop makes again and again: an end too short for all of them is stranded.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct UsualCoil {
    /// What it is, in words.
    pub title: String,
    /// Wire it needs, with tails and threading.
    pub need_m: f64,
    /// The wire, if only of one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wire: Option<String>,
}

/// A scale.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Scale {
    /// Standard uncertainty of a weighing without its last digit's.
    pub u_g: f64,
    /// The step of its display.
    pub resolution_g: f64,
}

impl Scale {
    /// Standard uncertainty of one weighing: √(u² + (step/√12)²).
    ///
    /// # Sources
    /// The display's step as a rectangular distribution: JCGM 100:2008, F.2.2.1.
    pub fn weighing_u_g(self) -> f64 {
        libm::hypot(self.u_g, self.resolution_g / libm::sqrt(12.0))
    }
}

/// An ohmmeter, by the limits in its papers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Meter {
    /// Limit, per cent of the reading.
    pub pct: f64,
    /// Limit, further digits of the display.
    pub digits: f64,
    /// The step of its display.
    pub resolution_ohm: f64,
}

impl Meter {
    /// Standard uncertainty of one reading: (|reading|·pct + digits·step)/√3.
    ///
    /// # Sources
    /// A limit as a rectangular distribution: JCGM 100:2008, 4.3.7.
    pub fn reading_u_ohm(self, ohm: f64) -> f64 {
        (ohm.abs() * self.pct / 100.0 + self.digits * self.resolution_ohm) / libm::sqrt(3.0)
    }
}

/// A resistor that readings are compared with on the same test leads.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ReferenceResistor {
    /// What it is marked.
    pub ohm: f64,
    /// Limit of the marking, per cent.
    pub pct: f64,
}

/// What an hour costs and what goes on top.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rates {
    /// An hour of work.
    pub hour: Money,
    /// On top of labour.
    pub overhead_pct: f64,
    /// Of the price.
    pub margin_pct: f64,
}

/// What the shop set of its plugins' settings: plugin, setting, value.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct PluginSettings(pub BTreeMap<String, BTreeMap<String, Value>>);

/// How a new value takes the place of an old one.
trait Over {
    fn over(&self, old: &Self) -> Self;
}

/// Whole: a list is given whole or not at all.
macro_rules! whole {
    ($($type:ty),+) => { $( impl Over for $type {
        fn over(&self, _: &Self) -> Self {
            self.clone()
        }
    } )+ };
}
whole!(f64, bool, String, Scale, Meter, Rates, Vec<ReferenceResistor>, Vec<UsualCoil>, Vec<f64>, [f64; 7]);

/// Setting by setting; null takes one back, so that the plugin's own value holds again.
impl Over for PluginSettings {
    fn over(&self, old: &Self) -> Self {
        let mut all = old.clone();
        for (plugin, settings) in &self.0 {
            let there = all.0.entry(plugin.clone()).or_default();
            for (name, value) in settings {
                if value.is_null() {
                    there.remove(name);
                } else {
                    there.insert(name.clone(), value.clone());
                }
            }
        }
        all.0.retain(|_, settings| !settings.is_empty());
        all
    }
}

macro_rules! figures {
    ($( $(#[$doc:meta])* $name:ident: $type:ty = $first:expr, $origin:ident; )+) => {
        /// All figures the shop decides by. A snapshot from before a figure was there has its first value.
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
        #[serde(default)]
        pub struct Figures {
            $( $(#[$doc])* pub $name: Setting<$type>, )+
            /// The last entry that changed any of them; 0 if none did.
            pub rev: Seq,
        }

        impl Default for Figures {
            fn default() -> Figures {
                Figures {
                    $( $name: Setting { value: $first, origin: Origin::$origin, seq: None }, )+
                    rev: 0,
                }
            }
        }

        /// Figures were set: those that are here; the others stay.
        #[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
        #[serde(default)]
        pub struct FiguresSet {
            $( $(#[$doc])* #[serde(skip_serializing_if = "Option::is_none")] pub $name: Option<$type>, )+
        }

        impl Figures {
            /// Takes over what was set.
            pub(crate) fn set(&mut self, seq: Seq, set: &FiguresSet) {
                $( if let Some(value) = &set.$name {
                    let value = value.over(&self.$name.value);
                    self.$name = Setting { value, origin: Origin::Set, seq: Some(seq) };
                } )+
                self.rev = seq;
            }
        }

        impl FiguresSet {
            /// Names of the figures that are set.
            pub fn names(&self) -> Vec<&'static str> {
                let mut names = Vec::new();
                $( if self.$name.is_some() { names.push(stringify!($name)); } )+
                names
            }
        }
    };
}

figures! {
    /// Probability that the wire is there which a start or a promise must have.
    confidence: f64 = 0.98, CommonPractice;
    /// Risk that any coil of a plan runs out.
    plan_risk_pct: f64 = 2.0, CommonPractice;
    /// Standard uncertainty of a table's mass per metre, where nothing better is given.
    g_per_m_u_pct: f64 = 1.5, CommonPractice;
    /// Standard uncertainty of a table's resistance per metre, where nothing better is given.
    ohm_per_m_u_pct: f64 = 1.3, CommonPractice;
    /// Standard uncertainty of a marked or book length.
    marked_u_pct: f64 = 3.0, CommonPractice;
    /// Standard uncertainty of a tare read off a label or from a like reel.
    tare_u_g: f64 = 1.0, CommonPractice;
    /// The usual scale.
    scale: Scale = Scale { u_g: 0.1, resolution_g: 0.1 }, FirstGuess;
    /// The usual ohmmeter.
    meter: Meter = Meter { pct: 0.8, digits: 3.0, resolution_ohm: 0.01 }, CommonPractice;
    /// Reference resistors in the drawer, for resistances that the meter alone does not decide.
    reference_resistors: Vec<ReferenceResistor> = Vec::new(), FirstGuess;
    /// Standard uncertainty of a diameter taken with the micrometer.
    micrometer_u_mm: f64 = 0.003, CommonPractice;
    /// Standard uncertainty of a length taken with the caliper.
    caliper_u_mm: f64 = 0.02, CommonPractice;
    /// Standard uncertainty of a length of wire along the rule.
    rule_u_mm: f64 = 1.0, CommonPractice;
    /// Standard uncertainty of a bench temperature.
    temperature_u_c: f64 = 1.0, FirstGuess;
    /// Two equal weighings of one spool within this time are one weighing.
    same_weighing_s: f64 = 120.0, FirstGuess;
    /// A spool not read for more days than this is worth a look.
    weigh_every_days: f64 = 90.0, CommonPractice;
    /// Coils made again and again; an end too short for all of them is stranded.
    usual_coils: Vec<UsualCoil> = vec![
        usual("25 mm, two layers", 7.0), usual("38 mm, two layers", 14.6), usual("51 mm, two layers", 17.8),
    ], Derived;
    /// Hours at the winder, Monday to Sunday.
    winder_hours: [f64; 7] = [6.0, 6.0, 6.0, 6.0, 6.0, 0.0, 0.0], FirstGuess;
    /// Share of coils scrapped, expected before own figures are there.
    scrap_pct: f64 = 14.0, CommonPractice;
    /// What an hour costs and what goes on top.
    rates: Rates = Rates {
        hour: Money { amount: "48.00".to_owned(), currency: "EUR".to_owned() }, overhead_pct: 18.0, margin_pct: 25.0,
    }, FirstGuess;
    /// Mandrels in the drawer.
    mandrels_mm: Vec<f64> = Vec::new(), FirstGuess;
    /// Release shims in the drawer, thickness.
    shims_mm: Vec<f64> = vec![0.05, 0.10], FirstGuess;
    /// Whether the shop's own coils move planned figures.
    learning: bool = true, CommonPractice;
    /// Time zone of all dates, by its IANA name.
    time_zone: String = "UTC".to_owned(), FirstGuess;
    /// Currency of all amounts.
    currency: String = "EUR".to_owned(), FirstGuess;
    /// Settings of plugins that the shop set.
    plugin_settings: PluginSettings = PluginSettings::default(), Derived;
}

fn usual(title: &str, need_m: f64) -> UsualCoil {
    UsualCoil { title: title.to_owned(), need_m, wire: None }
}

impl Figures {
    /// A tare without uncertainty given gets the usual one.
    pub fn tare(&self, value_g: f64) -> Uncertain {
        Uncertain::new(value_g, self.tare_u_g.value)
    }

    /// A marked length without uncertainty given gets the usual one.
    pub fn marked(&self, value_m: f64) -> Uncertain {
        Uncertain::new(value_m, value_m.abs() * self.marked_u_pct.value / 100.0)
    }

    /// The shortest usual coil of this wire: a shorter end is stranded. `None` if no usual coil is made of it.
    pub fn shortest_usual_m(&self, wire: &str) -> Option<f64> {
        let of_it = |c: &&UsualCoil| c.wire.as_deref().is_none_or(|w| w == wire);
        self.usual_coils.value.iter().filter(of_it).map(|c| c.need_m).reduce(f64::min)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn first_values_carry_their_origin_and_setting_one_leaves_the_others() {
        let mut f = Figures::default();
        assert_eq!((f.confidence.value, f.confidence.origin), (0.98, Origin::CommonPractice));
        let set: FiguresSet = serde_json::from_str(r#"{"confidence":0.95,"currency":"CHF"}"#).unwrap();
        assert_eq!(set.names(), ["confidence", "currency"]);
        f.set(7, &set);
        assert_eq!((f.confidence.value, f.confidence.origin, f.confidence.seq), (0.95, Origin::Set, Some(7)));
        assert_eq!((f.plan_risk_pct.value, f.plan_risk_pct.seq), (2.0, None));
        assert_eq!(f.rev, 7);
    }

    #[test]
    fn plugin_settings_are_set_one_by_one_and_taken_back_with_null() {
        let mut f = Figures::default();
        let set = |f: &mut Figures, text: &str| f.set(1, &serde_json::from_str(text).unwrap());
        set(&mut f, r#"{"plugin_settings":{"a":{"x":1,"y":2},"b":{"z":"0.60"}}}"#);
        set(&mut f, r#"{"plugin_settings":{"a":{"x":3},"b":{"z":null}}}"#);
        let left: FiguresSet = serde_json::from_str(r#"{"plugin_settings":{"a":{"x":3,"y":2}}}"#).unwrap();
        assert_eq!(Some(f.plugin_settings.value), left.plugin_settings);
    }

    /// Handbook's figures for a handheld meter on 6 Ω: ± 0.08 Ω at 0.01 Ω steps, ± 0.35 Ω at 0.1 Ω, as limits.
    #[test]
    fn meter_limits_become_standard_uncertainties() {
        let fine = Meter { pct: 0.8, digits: 3.0, resolution_ohm: 0.01 };
        assert!((fine.reading_u_ohm(6.0) * 3f64.sqrt() - 0.078).abs() < 1e-12);
        let coarse = Meter { resolution_ohm: 0.1, ..fine };
        assert!((coarse.reading_u_ohm(6.0) - 0.20).abs() < 0.005);
    }
}
