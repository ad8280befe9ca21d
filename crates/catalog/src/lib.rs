//! The plugin host: reads plugin folders, checks them to the line and column, replays their worked examples, and answers
//! with wires, former materials, adhesives and what suppliers offer.
//!
//! A plugin is a folder: `plugin.toml`, `tables/*.csv`, `scripts/*.rhai`, `cases/*.json`, `SOURCES.md` (see `plugins/PLUGINS.md`). The built-in
//! ones are embedded when the program is built and go through the very same door as the user's. Files are read here and
//! nowhere else in the crate than in `folder`; there is no clock, socket or environment.

// A fault carries everything a person needs to find it, and is made rarely: at load, off every hot path.
#![allow(clippy::result_large_err)]

mod adhesive_table;
mod archive;
mod cases;
mod catalog;
mod contents;
mod fault;
mod figure_table;
mod folder;
mod former_table;
mod load;
mod manifest;
mod money;
mod nearest;
mod off;
mod scaffold;
mod script;
mod supply_table;
mod table;
mod together;
mod wire_columns;
mod wire_derived;
mod wire_table;

pub use adhesive_table::{AdhesiveRecord, CureOrigin};
pub use archive::{ARCHIVE_BYTES, Packed, pack, sha256, unpack};
pub use cases::{CaseResult, Compared};
pub use catalog::{Catalog, Loaded, PluginInfo, PluginOrigin, Trial, WireFilter};
pub use fault::Fault;
pub use figure_table::Number;
pub use folder::{Files, PluginFolder, folder_name};
pub use former_table::{FormerPrice, FormerRecord};
pub use manifest::is_free_id;
pub use off::{OFF, OffPlugin};
pub use scaffold::{kinds, scaffold};
pub use script::{
    Asking, Bounds, CallError, ExtraCost, Kind, Member, MethodOffer, Misfit, Moment, Per, PluginFinding, Proposal,
    Room, ScriptOffer, SettingOffer, Shape, Unable, ends_in,
};
pub use supply_table::OfferRecord;
pub use wire_table::{Place, WireRecord};
