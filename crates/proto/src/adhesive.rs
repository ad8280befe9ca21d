//! `adhesive.list`, `adhesive.mix`: adhesives of the catalog; how much to mix, how it is weighed, how long it can be worked.

use crate::coil::{CoilDesign, FindingAnswer};
use crate::former::OriginAnswer;
use crate::quantity::{C, Figure, G, GPerCm3, Min, Pct, Reading, Setting};
use crate::reference::AdhesiveRef;
use crate::shape::{asks, method, tells};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What can hurt whoever works with an adhesive.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum AdhesiveKind {
    /// Epoxy resin and hardener.
    Epoxy,
    /// A solvent that has to leave.
    Solvent,
    /// Something else.
    Other,
}

asks! {
    /// An adhesive written out by the figures on its tin.
    InlineAdhesive {
        /// Density when cured.
        density_g_per_cm3: Reading<GPerCm3>,
    } may {
        /// What can hurt; `epoxy` if absent.
        kind: AdhesiveKind,
        /// Parts of hardener for 100 parts of resin, by mass; absent for one part.
        hardener_per_100_resin: f64,
        /// How far that ratio may be off.
        ratio_limit_pct: Setting<Pct>,
        /// What stays of the mass once it is dry; all of it if absent.
        solids_pct: Setting<Pct>,
        /// Minutes that it can be worked.
        pot_life_min: Setting<Min>,
        /// At this temperature of the room; 23 °C if absent.
        pot_life_at_c: Setting<C>,
        /// In one cup of up to this much.
        pot_life_mass_g: Setting<G>,
        /// Stated cures.
        cures: Vec<CureParams>,
        /// Temperature it bears in continuous use.
        heat_limit_c: Setting<C>,
    }
}

asks! {
    /// A cure as the tin states it.
    CureParams {
        /// Temperature of the work.
        at_c: Setting<C>,
        /// Time at that temperature.
        time_min: Setting<Min>,
    } may {
        /// Glass transition that it reaches.
        glass_c: Setting<C>,
    }
}

asks! {
    /// Asks for the catalog's adhesives.
    AdhesiveList {} may {}
}
method!(AdhesiveList => AdhesiveListAnswer, "adhesive.list", "Lists the adhesives of the catalog: kinds, until the shop brings what its tins say.");

tells! {
    /// The adhesives.
    AdhesiveListAnswer {
        /// The adhesives.
        items: Vec<AdhesiveAnswer>,
    } may {}
}

tells! {
    /// An adhesive of the catalog.
    AdhesiveAnswer {
        /// Its id.
        adhesive: String,
        /// In words.
        label: String,
        /// What can hurt.
        kind: AdhesiveKind,
        /// Density when cured.
        density_g_per_cm3: Figure<GPerCm3>,
        /// Cures that are stated, cool to hot.
        cures: Vec<CureAnswer>,
        /// What to mind while working with it.
        cautions: Vec<String>,
        /// Where each number came from.
        origins: Vec<OriginAnswer>,
        /// The plugin that brought it.
        plugin: String,
    } may {
        /// Parts of hardener for 100 parts of resin, by mass; absent for one part.
        hardener_per_100_resin: f64,
        /// How far that ratio may be off.
        ratio_limit_pct: Setting<Pct>,
        /// What stays of the mass once it is dry; absent without solvent.
        solids_pct: Setting<Pct>,
        /// Minutes that it can be worked.
        pot_life_min: Setting<Min>,
        /// At this temperature of the room.
        pot_life_at_c: Setting<C>,
        /// In one cup of up to this much.
        pot_life_mass_g: Setting<G>,
        /// Temperature it bears in continuous use.
        heat_limit_c: Setting<C>,
        /// Anything else worth knowing.
        note: String,
    }
}

tells! {
    /// A cure.
    CureAnswer {
        /// Temperature of the work, not of the oven's dial.
        at_c: Setting<C>,
        /// Time at that temperature.
        time_min: Setting<Min>,
        /// Whether it is stated as it stands here, or computed from the nearest stated one.
        stated: bool,
    } may {
        /// Glass transition that it reaches, where known.
        glass_c: Setting<C>,
    }
}

asks! {
    /// Asks how much adhesive to mix, and whether it stays workable long enough.
    AdhesiveMix {
        /// The adhesive.
        adhesive: AdhesiveRef,
    } may {
        /// The coil, as for `coil.design`: what its voids, film and skin take. Either this or `cured_g`.
        coil: CoilDesign,
        /// Cured adhesive that one coil takes, where it is known.
        cured_g: Reading<G>,
        /// Coils wound with one mix; 1 if absent.
        coils: u32,
        /// Lost in the cup and on the brush, of what the coils take.
        waste_pct: Setting<Pct>,
        /// The step of the scale's display; the shop's scale if absent.
        scale_resolution_g: Setting<G>,
        /// Temperature of the room; the coil's `bench_c` if absent.
        temperature_c: Setting<C>,
        /// Wet winding of all these coils, from the moment of mixing.
        winding_min: Setting<Min>,
        /// Temperature to cure at; every stated cure is told if absent.
        cure_c: Setting<C>,
        /// Temperature of the working coil; the coil's `hot_c` if absent.
        hot_c: Setting<C>,
    }
}
method!(AdhesiveMix => AdhesiveMixed, "adhesive.mix", "Says how much adhesive to mix and weigh, whether its pot life outlasts the winding, and how it cures.", leading: ["adhesive"]);

tells! {
    /// What to mix, and how it behaves.
    AdhesiveMixed {
        /// The adhesive: id, or `written out`.
        adhesive: String,
        /// In words.
        label: String,
        /// Cured adhesive in one coil.
        cured_g: Figure<G>,
        /// What the coils and the waste take, as mixed.
        needed_g: Setting<G>,
        /// What to weigh of both parts together.
        mix_g: Setting<G>,
        /// Of the resin, or of the one part, in steps of the scale.
        resin_g: Setting<G>,
        /// The step of the scale's display.
        scale_resolution_g: Setting<G>,
        /// Temperature of the room.
        temperature_c: Setting<C>,
        /// The cure asked for, or every stated one.
        cures: Vec<CureAnswer>,
        /// In a sentence.
        sentence: String,
        /// What to mind while working with it.
        cautions: Vec<String>,
        /// What must be told, the serious first.
        findings: Vec<FindingAnswer>,
        /// Where each number came from.
        origins: Vec<OriginAnswer>,
    } may {
        /// Where it goes in one coil; absent without `coil`.
        goes_to: AdhesiveParts,
        /// Of the hardener, in steps of the scale.
        hardener_g: Setting<G>,
        /// The least that this scale can weigh in the ratio.
        least_mix_g: Setting<G>,
        /// Standard uncertainty of the ratio by the scale's steps.
        ratio_u_pct: Setting<Pct>,
        /// How far the ratio of these steps is off.
        ratio_off_pct: Setting<Pct>,
        /// Minutes that it can be worked at that temperature.
        pot_life_min: Setting<Min>,
        /// Wet winding.
        winding_min: Setting<Min>,
        /// Minutes left when the winding is done; negative if they are missing.
        spare_min: Setting<Min>,
    }
}

tells! {
    /// Where the cured adhesive of one coil goes.
    AdhesiveParts {
        /// Between the turns.
        void_g: Figure<G>,
        /// The film between former and first layer.
        film_g: Figure<G>,
        /// The skin over the winding.
        skin_g: Figure<G>,
    } may {}
}
