//! Methods: name, params, answer and example of each, in one list that the daemon documents and the commands are made of.

use crate::adhesive::{AdhesiveList, AdhesiveMix};
use crate::alert::{AlertList, AlertSeen};
use crate::batch::{JobBatch, SpoolYields};
use crate::bench::{CoilHeat, CoilReading, CoilTrim};
use crate::buying::PlanBuy;
use crate::care::{CareBackup, CareExport, CareImport};
use crate::coil::CoilDesign;
use crate::former::{FormerCompare, FormerList, FormerMandrel};
use crate::identify::WireIdentify;
use crate::inductance::CoilInductance;
use crate::job::{
    JobCancel, JobChange, JobClose, JobGate, JobList, JobOpen, JobProgress, JobRecord, JobShow, JobStart, JobStep,
};
use crate::journal::{JournalRead, JournalUndo, JournalVerify};
use crate::learn::{LearnFreeze, LearnReset, LearnShow};
use crate::matching::{CoilFit, CoilMatch};
use crate::outlook::PlanOutlook;
use crate::plan::{PlanAccept, PlanMake, PlanShow};
use crate::plugin::{PluginList, PluginReload};
use crate::sheet::{SheetLabel, SheetPassport, SheetSection, SheetTraveller};
use crate::shop::{ShopFigures, ShopSet, ShopStatus};
use crate::sound::{CoilPair, CoilSound};
use crate::spool::{
    SpoolHold, SpoolList, SpoolMeasure, SpoolMove, SpoolReceive, SpoolRelease, SpoolRetire, SpoolShow, SpoolWeigh,
};
use crate::unlock::PlanUnlock;
use crate::wire::{WireList, WireShow};
use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

/// A method, by the type of its params.
pub trait Method: DeserializeOwned + JsonSchema + Send + 'static {
    /// What it answers.
    type Answer: Serialize + JsonSchema;
    /// Its name: noun, dot, verb.
    const NAME: &'static str;
    /// What it does, in a sentence.
    const SUMMARY: &'static str;
    /// Whether it writes to the journal.
    const WRITES: bool = false;
    /// Params that a command takes without their name, in this order.
    const LEADING: &'static [&'static str] = &[];
}

/// What the documentation and the commands need to know of a method.
#[derive(Debug, Clone, Copy)]
pub struct MethodDoc {
    /// Its name.
    pub name: &'static str,
    /// What it does.
    pub summary: &'static str,
    /// Whether it writes to the journal.
    pub writes: bool,
    /// Params that a command takes without their name.
    pub leading: &'static [&'static str],
    /// Schema of the params object.
    pub params: fn(&mut SchemaGenerator) -> Schema,
    /// Schema of the answer, by reference.
    pub answer: fn(&mut SchemaGenerator) -> Schema,
    /// Name of the answer's schema.
    pub answer_name: fn() -> String,
    /// Params and answer of an example that a test replays, as JSON.
    pub example: &'static str,
}

fn doc<M: Method>(example: &'static str) -> MethodDoc {
    MethodDoc {
        name: M::NAME,
        summary: M::SUMMARY,
        writes: M::WRITES,
        leading: M::LEADING,
        params: |g| M::json_schema(g),
        answer: |g| g.subschema_for::<M::Answer>(),
        answer_name: || M::Answer::schema_name().into_owned(),
        example,
    }
}

macro_rules! method_list {
    ($($params:ty => $example:literal,)+) => {
        /// All built-in methods, in the order in which they are documented.
        pub fn methods() -> Vec<MethodDoc> {
            vec![$( doc::<$params>(include_str!(concat!("../examples/", $example, ".json"))) ),+]
        }
    };
}

method_list! {
    ShopStatus => "shop.status",
    ShopFigures => "shop.figures",
    ShopSet => "shop.set",
    WireList => "wire.list",
    WireShow => "wire.show",
    WireIdentify => "wire.identify",
    FormerList => "former.list",
    FormerCompare => "former.compare",
    FormerMandrel => "former.mandrel",
    AdhesiveList => "adhesive.list",
    AdhesiveMix => "adhesive.mix",
    CoilDesign => "coil.design",
    CoilMatch => "coil.match",
    CoilFit => "coil.fit",
    CoilSound => "coil.sound",
    CoilPair => "coil.pair",
    CoilInductance => "coil.inductance",
    CoilReading => "coil.reading",
    CoilTrim => "coil.trim",
    CoilHeat => "coil.heat",
    SheetSection => "sheet.section",
    SheetTraveller => "sheet.traveller",
    SheetPassport => "sheet.passport",
    SheetLabel => "sheet.label",
    SpoolReceive => "spool.receive",
    SpoolWeigh => "spool.weigh",
    SpoolMeasure => "spool.measure",
    SpoolMove => "spool.move",
    SpoolHold => "spool.hold",
    SpoolRelease => "spool.release",
    SpoolRetire => "spool.retire",
    SpoolList => "spool.list",
    SpoolShow => "spool.show",
    SpoolYields => "spool.yields",
    JobOpen => "job.open",
    JobChange => "job.change",
    JobCancel => "job.cancel",
    JobList => "job.list",
    JobShow => "job.show",
    JobBatch => "job.batch",
    JobGate => "job.gate",
    JobStart => "job.start",
    JobProgress => "job.progress",
    JobRecord => "job.record",
    JobStep => "job.step",
    JobClose => "job.close",
    PlanMake => "plan.make",
    PlanShow => "plan.show",
    PlanAccept => "plan.accept",
    PlanOutlook => "plan.outlook",
    PlanUnlock => "plan.unlock",
    PlanBuy => "plan.buy",
    AlertList => "alert.list",
    AlertSeen => "alert.seen",
    LearnShow => "learn.show",
    LearnFreeze => "learn.freeze",
    LearnReset => "learn.reset",
    JournalRead => "journal.read",
    JournalVerify => "journal.verify",
    JournalUndo => "journal.undo",
    CareBackup => "care.backup",
    CareExport => "care.export",
    CareImport => "care.import",
    PluginList => "plugin.list",
    PluginReload => "plugin.reload",
}

/// The generator that all schemas of the document come from: draft-07, parts under `#/components/schemas`.
pub fn generator() -> SchemaGenerator {
    SchemaSettings::draft07().with(|s| s.definitions_path = "/components/schemas".into()).into_generator()
}

impl MethodDoc {
    /// Noun and verb.
    pub fn words(&self) -> (&'static str, &'static str) {
        self.name.split_once('.').unwrap_or((self.name, ""))
    }

    /// Params and answer of the example.
    pub fn example(&self) -> Option<(Value, Value)> {
        let mut example: Value = serde_json::from_str(self.example).ok()?;
        Some((example.get_mut("params")?.take(), example.get_mut("result")?.take()))
    }
}
