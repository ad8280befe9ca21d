//! What must be told of a mix: too little for the scale, too much for the cup, too slow hands, too hot a coil.

use super::{MixSpec, Mixed, far};
use crate::adhesive::Adhesive;
use crate::finding::Finding;
use crate::quantity::{Mass, Temperature};

/// Share of the pot life beyond which it thickens under the wire: common practice, no source.
const THICKENS: f64 = 0.8;

pub(super) fn judge(spec: &MixSpec, mixed: &Mixed) -> Vec<Finding> {
    let mut all = Vec::new();
    weighing(spec, mixed, &mut all);
    working(spec, mixed, &mut all);
    curing(spec, mixed, &mut all);
    all.sort_by_key(|f| f.level);
    all
}

fn weighing(spec: &MixSpec, mixed: &Mixed, all: &mut Vec<Finding>) {
    let (needed, total, step) = (mixed.needed.g(), mixed.weigh.total().g(), spec.step.g());
    if let Some(least) = mixed.least.map(Mass::g).filter(|least| needed < *least) {
        let limit = 100.0 * spec.adhesive.ratio_limit.unwrap_or(0.0);
        let text = format!(
            "{needed:.2} g would do, but steps of {step} g cannot hold the ratio within {limit:.0} % in less than {least:.1} g: \
             mix that much, or use a finer scale"
        );
        all.push(Finding::note("mix_set_by_scale", text).figures(needed, least));
    }
    if spec.adhesive.hardener.is_some() && spec.adhesive.ratio_limit.is_none() {
        let text = "how far the ratio may be off is not known, so no least mix was computed: see the tin".to_owned();
        all.push(Finding::note("not_computed", text));
    }
    if let Some(most) = spec.adhesive.pot_life.and_then(|p| p.up_to).map(Mass::g).filter(|most| total > *most) {
        let text = format!(
            "{total:.1} g in one cup heat themselves and set sooner: the pot life stands for up to {most:.0} g; mix in \
             several cups or spread it flat"
        );
        all.push(Finding::watch("mix_heats_itself", text).figures(total, most));
    }
}

fn working(spec: &MixSpec, mixed: &Mixed, all: &mut Vec<Finding>) {
    let room = mixed.room.c();
    let Some(pot) = mixed.pot_life_min else {
        let text = "no pot life is known of this adhesive: try a dab and note when it strings".to_owned();
        all.push(Finding::note("not_computed", text));
        return;
    };
    if spec.adhesive.pot_life.is_some_and(|p| far(p.at, mixed.room)) {
        let text =
            format!("the pot life at {room:.0} °C is a guess, far from the temperature it is stated for: try a dab");
        all.push(Finding::watch("pot_life_a_guess", text));
    }
    let Some(winding) = spec.winding_min else {
        let text = format!("without winding_min nothing says whether {} are enough", minutes(pot));
        all.push(Finding::note("not_computed", text));
        return;
    };
    if winding > pot {
        let text = format!(
            "{} of wet winding in a pot life of {} at {room:.0} °C: it would set under the wire; {}",
            minutes(winding),
            minutes(pot),
            way_out(&spec.adhesive, winding, mixed.room)
        );
        all.push(Finding::stop("pot_life_short", text).figures(winding, pot));
    } else if winding > THICKENS * pot {
        let text = format!(
            "{} of wet winding in a pot life of {}: it will be thick under the last layer",
            minutes(winding),
            minutes(pot)
        );
        all.push(Finding::watch("pot_life_close", text).figures(winding, pot));
    }
}

/// What would make the pot life long enough.
fn way_out(a: &Adhesive, winding: f64, room: Temperature) -> String {
    let cooler = a.pot_life_at(room).map(|pot| room.c() - a.doubling_k * libm::log2(winding / pot));
    let mut ways = vec!["mix a fresh cup for the later layers".to_owned(), "take a slower adhesive".to_owned()];
    // Colder than this, resins turn to honey and the bench is no place for hands.
    if let Some(t) = cooler.filter(|t| *t >= 12.0) {
        ways.insert(1, format!("wind at {:.0} °C or below", libm::floor(t)));
    }
    match ways.split_last() {
        Some((last, rest)) => format!("{}, or {last}", rest.join(", ")),
        None => String::new(),
    }
}

fn curing(spec: &MixSpec, mixed: &Mixed, all: &mut Vec<Finding>) {
    if let (Some(t), Some(cure)) = (spec.cure, mixed.cures.first()) {
        let (asked, stated) = (t.c(), cure.from.at.c());
        if asked < stated {
            let text = format!(
                "no cure is stated as cool as {asked:.0} °C; from the coolest, {stated:.0} °C, it is computed, and what glass \
                 transition it reaches is not known"
            );
            all.push(Finding::watch("cure_below_stated", text).figures(asked, stated));
        } else if far(cure.from.at, t) {
            let text = format!("the nearest stated cure is at {stated:.0} °C: the time at {asked:.0} °C is a guess");
            all.push(Finding::watch("cure_a_guess", text).figures(asked, stated));
        }
    }
    if mixed.cures.is_empty() {
        let text = "no cure is known of this adhesive: see the tin".to_owned();
        all.push(Finding::note("not_computed", text));
    }
    let Some(hot) = spec.hot.map(Temperature::c) else { return };
    if let Some(limit) = spec.adhesive.heat_limit.map(Temperature::c).filter(|limit| hot > *limit) {
        let text = format!("the coil gets {hot:.0} °C, this adhesive bears {limit:.0} °C: take one for more heat");
        all.push(Finding::stop("too_hot_for_adhesive", text).figures(hot, limit));
    }
    let best = mixed.cures.iter().filter_map(|c| c.glass).map(Temperature::c).reduce(f64::max);
    if let Some(glass) = best.filter(|glass| hot > *glass) {
        let text = format!(
            "cured so it softens at {glass:.0} °C and the coil gets {hot:.0} °C: it would creep; cure hotter if the tin \
             allows, or take one with a higher glass transition"
        );
        all.push(Finding::watch("softens_when_hot", text).figures(hot, glass));
    }
}

/// Minutes as a person says them.
fn minutes(min: f64) -> String {
    if min < 10.0 {
        format!("{min:.1} min")
    } else if min < 300.0 {
        format!("{min:.0} min")
    } else {
        format!("{:.1} h", min / 60.0)
    }
}
