//! What another coil does to a driver: from driver data and two coils to force, mass, resonance, qualities and level.

use crate::driver::Driver;
use core::f64::consts::PI;

/// Density of air, kg/m³, and speed of sound, m/s, at which levels are stated: a room of about 23 °C.
pub const AIR: (f64, f64) = (1.18, 345.0);

/// Level at 1 m of one acoustic watt into a half space, dB: 10·log(ρ0·c/2π / (20 µPa)²) = 112.1.
pub const ONE_WATT_DB: f64 = 112.1;

/// Relative standard uncertainty of a metal former's damping by the formula. Common practice: the label is ± 40 %.
pub const DAMPING_U: f64 = 0.40;

/// A level change of which nobody is aware, dB, and a change of Qts of which nobody is. Common practice, no source.
pub const UNHEARD: (f64, f64) = (0.5, 0.05);

/// What of a coil the driver feels. SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Resistance at 20 °C with leads.
    pub dcr: f64,
    /// Mass of everything that comes and goes with the coil.
    pub mass: f64,
    /// Wire that works in the field, m ([`crate::motor::Field::wire_in_it`]).
    pub in_field: f64,
    /// Mechanical resistance that the former adds per square tesla; `None` where its dimensions do not tell.
    pub damping: Option<f64>,
}

/// Figures of a driver with one coil in it. SI units; levels in dB. `None` where the data do not reach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sound {
    /// Re.
    pub re: f64,
    /// Bl.
    pub bl: Option<f64>,
    /// Mms.
    pub mms: Option<f64>,
    /// fs.
    pub fs: Option<f64>,
    /// Qes.
    pub qes: Option<f64>,
    /// Qms.
    pub qms: Option<f64>,
    /// Qts.
    pub qts: Option<f64>,
    /// 10·log(Bl²/(Re·Mms²)): the level but for the diaphragm's area.
    pub strength: Option<f64>,
    /// Level at 1 m for 1 W into Re, half space.
    pub db_1w: Option<f64>,
    /// Level at 1 m for 2.83 V, half space.
    pub db_2v83: Option<f64>,
}

/// How the damping of the two formers was set against each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Exchange {
    /// Neither adds any, or both the same.
    None,
    /// Taken out and put in, N·s/m; good to ± 40 %.
    Balanced {
        /// What the original's former adds.
        old: f64,
        /// What the substitute's adds.
        new: f64,
    },
    /// Only the direction is known: damping rises (true) or falls.
    Direction(bool),
    /// The original's former alone would damp more than all of the driver's mechanical resistance: the data contradict
    /// each other, nothing was exchanged.
    Contradiction {
        /// What the original's former should add, N·s/m.
        old: f64,
        /// All the mechanical resistance there is.
        all: f64,
    },
    /// Not even the direction is known.
    Unknown,
}

/// The driver with its original coil.
pub fn original(d: &Driver) -> Sound {
    finish(d, d.re, d.bl, d.mms, d.fs, d.qes, d.qms)
}

/// The driver with the substitute.
///
/// ```text
/// Re' = Re·(R'/R)         Bl' = Bl·(in_field'/in_field)        Mms' = Mms + (m' − m)
/// fs' = fs·√(Mms/Mms')    Qes' = 2πfs'·Mms'·Re'/Bl'²           Qms' = 2πfs'·Mms'/R_ms'
/// R_ms = 2πfs·Mms/Qms     R_ms' = R_ms − B²·r_old + B²·r_new   B = Bl/in_field
/// ```
///
/// Ratios and differences of the two coils are put upon the driver's own data, so that an error common to both coils falls
/// out. With the same former Qms' = Qms·√(Mms'/Mms). `factor` multiplies both formers' damping (1 ± 40 %); `field_known`
/// says whether `in_field` is a length or only good for a ratio. Stiffness is unchanged.
///
/// # Sources
/// Small, Journal of the Audio Engineering Society 20 (1972).
pub fn substitute(d: &Driver, old: &Part, new: &Part, factor: f64, field_known: bool) -> (Sound, Exchange) {
    let re = d.re * new.dcr / old.dcr;
    let bl = d.bl.map(|bl| bl * new.in_field / old.in_field);
    let mms = d.mms.map(|m| m + new.mass - old.mass);
    let fs = d.fs.zip(d.mms).zip(mms).map(|((fs, before), now)| fs * libm::sqrt(before / now));
    let momentum = fs.zip(mms).map(|(fs, m)| 2.0 * PI * fs * m);
    let qes = match (bl, momentum) {
        (Some(bl), Some(p)) => Some(p * re / (bl * bl)),
        // Without Bl the ratio alone carries Qes over.
        (None, _) => d.qes.zip(d.mms).zip(mms).map(|((q, before), now)| {
            q * libm::sqrt(now / before) * (re / d.re) * (old.in_field / new.in_field) * (old.in_field / new.in_field)
        }),
        _ => None,
    };
    let field = d.bl.filter(|_| field_known).map(|bl| bl / old.in_field);
    let losses = d.fs.zip(d.mms).zip(d.qms).map(|((fs, m), q)| 2.0 * PI * fs * m / q);
    let exchange = exchange(old.damping, new.damping, field, losses, factor);
    let now = losses.map(|all| match exchange {
        Exchange::Balanced { old, new } => all - old + new,
        _ => all,
    });
    let qms = momentum.zip(now).map(|(p, r)| p / r);
    (finish(d, re, bl, mms, fs, qes, qms), exchange)
}

fn exchange(old: Option<f64>, new: Option<f64>, field: Option<f64>, losses: Option<f64>, factor: f64) -> Exchange {
    match (old, new) {
        (Some(o), Some(n)) if (o - n).abs() <= 1e-9 * (o.abs() + n.abs()) => Exchange::None,
        (Some(o), Some(n)) => match (field, losses) {
            (Some(b), Some(all)) => {
                let per_t2 = factor * b * b;
                if per_t2 * o >= all {
                    Exchange::Contradiction { old: per_t2 * o, all }
                } else {
                    Exchange::Balanced { old: per_t2 * o, new: per_t2 * n }
                }
            }
            _ => Exchange::Direction(n > o),
        },
        // A metal former of unknown dimensions still damps more than none.
        (None, Some(0.0)) => Exchange::Direction(false),
        (Some(0.0), None) => Exchange::Direction(true),
        _ => Exchange::Unknown,
    }
}

fn finish(
    d: &Driver,
    re: f64,
    bl: Option<f64>,
    mms: Option<f64>,
    fs: Option<f64>,
    qes: Option<f64>,
    qms: Option<f64>,
) -> Sound {
    let qts = qes.zip(qms).map(|(e, m)| e * m / (e + m));
    let strength = bl.zip(mms).map(|(bl, m)| 10.0 * libm::log10(bl * bl / (re * m * m)));
    let db_1w = strength.zip(d.sd).map(|(s, sd)| s + area_db(sd));
    let db_2v83 = db_1w.map(|db| db + voltage_db(re));
    Sound { re, bl, mms, fs, qes, qms, qts, strength, db_1w, db_2v83 }
}

/// Level at 1 m of a unit of strength.
///
/// ```text
/// η0 = ρ0/(2πc)·Bl²·Sd²/(Re·Mms²)        SPL(1 W) = 112.1 + 10·log η0
/// ```
fn area_db(sd: f64) -> f64 {
    ONE_WATT_DB + 10.0 * libm::log10(AIR.0 / (2.0 * PI * AIR.1) * sd * sd)
}

/// What 2.83 V gives beyond 1 W: 8 Ω take one watt from it.
fn voltage_db(re: f64) -> f64 {
    10.0 * libm::log10(8.0 / re)
}

impl Sound {
    /// The level for 1 W against another coil's in the same driver, dB; the diaphragm falls out.
    pub fn db_over(&self, other: &Sound) -> Option<f64> {
        self.strength.zip(other.strength).map(|(a, b)| a - b)
    }

    /// The level for one voltage against another coil's, dB.
    pub fn db_over_at_one_voltage(&self, other: &Sound) -> Option<f64> {
        self.db_over(other).map(|db| db + voltage_db(self.re) - voltage_db(other.re))
    }

    /// Qts over another coil's, less one.
    pub fn qts_change(&self, other: &Sound) -> Option<f64> {
        self.qts.zip(other.qts).map(|(a, b)| a / b - 1.0)
    }

    /// How far the two are apart to the ear: 1 is where a change begins to matter.
    ///
    /// ```text
    /// √( (ΔdB/0.5)² + (ΔQts/5 %)² )
    /// ```
    ///
    /// Without a moving mass the force alone is compared, as the level it would make.
    pub fn apart(&self, other: &Sound, bl_ratio: f64) -> f64 {
        let db = self.db_over(other).unwrap_or_else(|| 10.0 * libm::log10(bl_ratio * bl_ratio * other.re / self.re));
        libm::hypot(db / UNHEARD.0, self.qts_change(other).unwrap_or(0.0) / UNHEARD.1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::driver::DriverData;

    fn driver() -> Driver {
        let data = DriverData {
            re: Some(5.8),
            bl: Some(7.2),
            mms: Some(0.0185),
            fs: Some(38.0),
            qms: Some(4.1),
            sd: Some(0.0214),
            ..DriverData::default()
        };
        data.complete(1.0).unwrap()
    }
    const COIL: Part = Part { dcr: 5.8, mass: 0.0101, in_field: 6.5, damping: Some(0.0) };

    fn close(a: Option<f64>, b: f64) {
        assert!((a.unwrap() / b - 1.0).abs() < 1e-12, "{a:?} against {b}");
    }

    #[test]
    fn the_same_coil_again_changes_nothing() {
        let d = driver();
        let (s, x) = substitute(&d, &COIL, &COIL, 1.0, true);
        let o = original(&d);
        assert_eq!(x, Exchange::None);
        close(s.qts, o.qts.unwrap());
        close(s.qms, 4.1);
        assert!(s.db_over(&o).unwrap().abs() < 1e-12 && s.apart(&o, 1.0) < 1e-10);
    }

    /// Efficiency by Small's other form: η0 = 4π²/c³·fs³·Vas/Qes, Vas = ρ0·c²·Sd²·Cms, Cms = 1/((2πfs)²·Mms). Exact algebra,
    /// another way.
    #[test]
    fn level_agrees_with_the_volume_form_of_efficiency() {
        let o = original(&driver());
        let (rho, c) = AIR;
        let (fs, mms, sd) = (38.0, 0.0185, 0.0214);
        let w = 2.0 * PI * fs;
        let vas = rho * c * c * sd * sd / (w * w * mms);
        let eta = 4.0 * PI * PI / (c * c * c) * fs * fs * fs * vas / o.qes.unwrap();
        close(o.db_1w, 112.1 + 10.0 * libm::log10(eta));
        close(o.db_2v83, o.db_1w.unwrap() + 10.0 * libm::log10(8.0 / 5.8));
    }

    /// One acoustic watt over a half sphere at 1 m: I = 1/2π W/m², p² = I·ρ0·c, against 20 µPa.
    #[test]
    fn one_acoustic_watt_is_112_1_db() {
        let db = 10.0 * libm::log10(AIR.0 * AIR.1 / (2.0 * PI) / 4e-10);
        assert!((db - ONE_WATT_DB).abs() < 0.05, "{db}");
    }

    /// Scaling: twice the wire of the same mass: Bl doubles, Re doubles, Qes halves, level for 1 W rises by 3 dB.
    #[test]
    fn twice_the_wire_in_the_field_halves_qes() {
        let d = driver();
        let (s, _) = substitute(&d, &COIL, &Part { dcr: 11.6, in_field: 13.0, ..COIL }, 1.0, true);
        let o = original(&d);
        close(s.bl, 14.4);
        close(s.qes, o.qes.unwrap() / 2.0);
        close(s.db_over(&o), 10.0 * libm::log10(2.0));
        assert!(s.db_over_at_one_voltage(&o).unwrap().abs() < 1e-12);
    }

    #[test]
    fn a_heavier_coil_lowers_resonance_and_level_and_raises_the_qualities() {
        let d = driver();
        let mut before = original(&d);
        for grams in [0.5, 1.0, 2.0, 4.0] {
            let (s, _) = substitute(&d, &COIL, &Part { mass: COIL.mass + 1e-3 * grams, ..COIL }, 1.0, true);
            assert!(s.fs < before.fs && s.db_1w < before.db_1w && s.qes > before.qes && s.qms > before.qms);
            close(s.qms, 4.1 * libm::sqrt(s.mms.unwrap() / 0.0185));
            before = s;
        }
    }

    #[test]
    fn a_metal_former_is_exchanged_by_its_share_of_the_losses() {
        let d = driver();
        let all = 2.0 * PI * 38.0 * 0.0185 / 4.1;
        let field = 7.2 / 6.5;
        let (s, x) = substitute(&d, &Part { damping: Some(0.5), ..COIL }, &COIL, 1.0, true);
        assert_eq!(x, Exchange::Balanced { old: field * field * 0.5, new: 0.0 });
        close(s.qms, 4.1 * all / (all - field * field * 0.5));
        let (s, x) = substitute(&d, &COIL, &Part { damping: Some(2.0), ..COIL }, 1.0, true);
        assert!(matches!(x, Exchange::Balanced { .. }) && s.qms.unwrap() < 4.1);
        let (s, x) = substitute(&d, &Part { damping: Some(2.0), ..COIL }, &COIL, 1.0, true);
        assert!(matches!(x, Exchange::Contradiction { .. }), "more than all the losses there are");
        close(s.qms, 4.1);
        let (_, x) = substitute(&d, &Part { damping: Some(0.5), ..COIL }, &COIL, 1.0, false);
        assert_eq!(x, Exchange::Direction(false));
        let (_, x) = substitute(&d, &COIL, &Part { damping: None, ..COIL }, 1.0, true);
        assert_eq!(x, Exchange::Direction(true));
    }

    #[test]
    fn without_a_moving_mass_there_is_no_level() {
        let d = DriverData { bl: Some(7.2), ..DriverData::default() }.complete(5.8).unwrap();
        let (s, _) = substitute(&d, &COIL, &Part { in_field: 7.15, ..COIL }, 1.0, true);
        close(s.bl, 7.92);
        assert_eq!((s.mms, s.fs, s.qts, s.db_1w), (None, None, None, None));
    }
}
