//! The usual steps of winding one coil, each with the caution that belongs to it.

/// One step of a job, to be ticked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// What is to be done.
    pub text: String,
    /// What bites at this step.
    pub caution: Option<String>,
}

impl Step {
    /// A step with its caution ("" for none).
    pub fn new(text: impl Into<String>, caution: &str) -> Step {
        Step { text: text.into(), caution: (!caution.is_empty()).then(|| caution.to_string()) }
    }
}

/// The sentence that stands under every list of steps.
pub const PRECEDENCE: &str = "The safety data sheet of what you use and the rules of your place come before this sheet; \
what needs a licence is for those who hold one.";

/// The usual order of work for a wet-wound coil on a new former; a metal former adds its slit and its isolation test.
pub fn usual_steps(metal_former: bool) -> Vec<Step> {
    let mut steps = vec![
        Step::new(
            "Before taking apart: + terminal, lead side, rest height and free fall are noted.",
            "A magnet pulls blades and tools: keep steel away from the gap.",
        ),
        Step::new(
            "Clean the gap; take off the old coil.",
            "Solvent vapour burns: no heat gun, iron or brushed motor near. Old grey fibrous former: stop, it may be asbestos, get advice.",
        ),
        Step::new("Cut the blank and deburr it.", "Strip edges cut."),
    ];
    steps.push(if metal_former {
        Step::new("Mandrel, release shims, blank: the ends must not touch, the slit stays open.", "")
    } else {
        Step::new("Mandrel, release shims, blank: the ends butt without overlap.", "")
    });
    steps.extend([
        Step::new("Weigh the spool: is it still enough? Only then mix.", ""),
        Step::new(
            "Mix the adhesive by weight; note the time.",
            "Epoxy can sensitise for good: gloves to mix, and off before the mandrel turns.",
        ),
        Step::new(
            "Wind layer by layer with the weight of the table; count the turns back.",
            "Nothing loose, no gloves near a turning mandrel. Powered: guard, earth and RCD, foot release, eye protection.",
        ),
        Step::new(
            "Cure by the adhesive's sheet, on the mandrel.",
            "Thermostat, nothing flammable inside, never an oven for food.",
        ),
        Step::new(
            "Bare the lead ends.",
            "Burning or soldering off enamel gives off isocyanates: scrape, or extract at the source; flux fumes too.",
        ),
        Step::new("Measure, correct for temperature and test leads; trim by whole turns if above.", ""),
    ]);
    if metal_former {
        steps.push(Step::new("Off the mandrel: coil isolated from the former, no shorted turn.", ""));
    }
    steps.push(Step::new(
        "Assemble, free fall, then a cell across the terminals: + must throw the coil outward.",
        "One cell of 1.5 V at most, a touch only.",
    ));
    steps
}
