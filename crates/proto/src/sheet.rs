//! `sheet.*`: drawings and printable sheets.

use crate::coil::CoilDesign;
use crate::quantity::{Mm, Ohm, Setting};
use crate::shape::{asks, method, tells};

asks! {
    /// Asks for the drawing of a coil.
    SheetSection {
        /// The coil, as for `coil.design`.
        coil: CoilDesign,
    } may {
        /// What the title block calls it.
        title: String,
    }
}

tells! {
    /// The drawing.
    SheetSectionAnswer {
        /// A whole SVG document.
        svg: String,
        /// The drawing in a sentence, for those who do not see it.
        sentence: String,
    } may {}
}

method!(SheetSection => SheetSectionAnswer, "sheet.section", "Draws the section of coil, former and gap to scale, as SVG.");

asks! {
    /// Asks for the sheet that goes with a job to the winder.
    SheetTraveller {
        /// The job.
        job: String,
    } may {
        /// Which coil; the one on the winder, or the next one, if left out.
        coil_no: u32,
        /// From which spool; the one it was started from, or the accepted plan's, if left out.
        spool: String,
        /// Test leads of the bench, shorted; 0.2 Ω if left out.
        test_leads_ohm: Setting<Ohm>,
        /// The day to look on; today in the shop's time zone if left out.
        as_of: String,
    }
}
method!(SheetTraveller => SheetTravellerAnswer, "sheet.traveller", "Makes the sheet that goes with a job to the winder: one A5 page of HTML.", leading: ["job"]);

tells! {
    /// The sheet.
    SheetTravellerAnswer {
        /// A whole HTML page that asks nothing from outside.
        html: String,
        /// The entry up to which it looks.
        seq: u64,
    } may {
        /// The spool it names.
        spool: String,
    }
}

asks! {
    /// Asks for the sheet that goes with a closed job to the customer.
    SheetPassport {
        /// The job.
        job: String,
    } may {
        /// Which coil; all that were handed over if left out.
        coil_no: u32,
    }
}
method!(SheetPassport => SheetPassportAnswer, "sheet.passport", "Makes the passport of a closed job: one A5 page of HTML with what was measured, by whom and when, and every signature.", leading: ["job"]);

tells! {
    /// The sheet.
    SheetPassportAnswer {
        /// A whole HTML page that asks nothing from outside.
        html: String,
        /// The entry up to which it looks.
        seq: u64,
    } may {}
}

asks! {
    /// Asks for a spool's label.
    SheetLabel {
        /// The spool.
        spool: String,
    } may {
        /// Width of the label; 62 mm if left out.
        width_mm: Setting<Mm>,
        /// Height of the label; 29 mm if left out.
        height_mm: Setting<Mm>,
        /// The day it is printed on; today in the shop's time zone if left out.
        as_of: String,
    }
}
method!(SheetLabel => SheetLabelAnswer, "sheet.label", "Makes a spool's label as SVG, with a code that a scanner reads.", leading: ["spool"]);

tells! {
    /// The label.
    SheetLabelAnswer {
        /// A whole SVG document.
        svg: String,
        /// The entry up to which it looks.
        seq: u64,
    } may {}
}
