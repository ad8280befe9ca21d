//! `plugin.toml`: who a plugin is and what it offers.

use crate::fault::{Fault, Faults};
use crate::folder::{Folder, MANIFEST_BYTES};
use crate::nearest::nearest;
use crate::script::offers::{RawCheck, RawMethod, RawReaction, RawRule, RawScripts, RawSetting};
use coilwright_core::conductor::Conductor;
use coilwright_core::origin::Mark;
use serde::Deserialize;
use std::collections::BTreeMap;
use toml::Spanned;

/// Name of the file.
pub(crate) const FILE: &str = "plugin.toml";
/// The format of plugin folders that this program reads.
const FORMAT: i64 = 1;
/// First words of the program's own methods, which a plugin's id must not take.
const RESERVED: [&str; 17] = [
    "adhesive", "alert", "care", "catalog", "coil", "former", "job", "journal", "learn", "plan", "plugin", "rpc",
    "sheet", "shop", "spool", "token", "wire",
];
/// The program's own commands, which a plugin's commands must not take either.
const COMMANDS: [&str; 9] = ["backup", "completions", "demo", "doctor", "export", "help", "repair", "restore", "serve"];

/// A manifest, read and checked.
#[derive(Debug)]
pub(crate) struct Manifest {
    pub(crate) id: String,
    pub(crate) version: String,
    pub(crate) title: String,
    pub(crate) licence: String,
    pub(crate) wire_tables: Vec<WireTable>,
    pub(crate) wires_derived: Vec<WireDerived>,
    pub(crate) former_tables: Vec<FormerTable>,
    pub(crate) supply_tables: Vec<SupplyTable>,
    pub(crate) adhesive_tables: Vec<AdhesiveTable>,
    /// What it says of scripts, and the manifest's own text for the lines of faults.
    pub(crate) scripts: RawScripts,
    pub(crate) text: String,
}

/// A table of wires, with what holds for each row that does not say otherwise.
#[derive(Debug)]
pub(crate) struct WireTable {
    pub(crate) file: String,
    pub(crate) conductor: Option<Conductor>,
    pub(crate) series: String,
    pub(crate) mark: Option<Mark>,
    pub(crate) source: Option<String>,
    pub(crate) note: Option<String>,
}

/// The same sizes in another conductor.
#[derive(Debug)]
pub(crate) struct WireDerived {
    /// What the ids of the listed wires begin with.
    pub(crate) from: String,
    /// What the ids of the computed ones begin with instead.
    pub(crate) to: String,
    pub(crate) conductor: Conductor,
    /// Line of the manifest.
    pub(crate) line: u64,
}

/// A table of former materials and the table of their figures.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct FormerTable {
    pub(crate) file: String,
    pub(crate) figures: String,
}

/// A table of what suppliers offer, with the source of each row that does not name its own.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SupplyTable {
    pub(crate) file: String,
    pub(crate) source: Option<String>,
}

/// A table of adhesives, the table of their figures and that of their cures.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct AdhesiveTable {
    pub(crate) file: String,
    pub(crate) figures: String,
    pub(crate) cures: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Raw {
    /// Looked at before anything else.
    #[serde(rename = "format")]
    _format: toml::Value,
    id: Spanned<String>,
    version: Spanned<String>,
    title: Spanned<String>,
    licence: Spanned<String>,
    #[serde(default)]
    wire_table: Vec<RawWireTable>,
    #[serde(default)]
    wire_derived: Vec<RawDerived>,
    #[serde(default)]
    former_table: Vec<FormerTable>,
    #[serde(default)]
    supply_table: Vec<SupplyTable>,
    #[serde(default)]
    adhesive_table: Vec<AdhesiveTable>,
    #[serde(default)]
    settings: BTreeMap<String, RawSetting>,
    #[serde(default)]
    method: Vec<RawMethod>,
    #[serde(default)]
    check: Vec<RawCheck>,
    #[serde(default)]
    sheet_lines: Vec<RawCheck>,
    #[serde(default)]
    costing_rule: Vec<RawRule>,
    #[serde(default)]
    reaction: Vec<RawReaction>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawWireTable {
    file: String,
    conductor: Option<Spanned<String>>,
    series: Spanned<String>,
    mark: Option<Spanned<String>>,
    source: Option<String>,
    note: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawDerived {
    from: Spanned<String>,
    to: Spanned<String>,
    conductor: Spanned<String>,
}

/// Reads and checks the manifest. Faults are put down; from the moment the id is known they carry it.
pub(crate) fn read(folder: &mut Folder, folder_name: &str, faults: &mut Faults) -> Option<Manifest> {
    let text = faults.take(folder.text(FILE, MANIFEST_BYTES).map_err(|f| match f.message.as_str() {
        "the file is not there" => f.next(
            "every folder here is a plugin and needs one, its name in small letters; move other folders elsewhere",
        ),
        _ => f,
    }))?;
    let table = faults.take(toml::from_str::<toml::Table>(&text).map_err(|e| toml_fault(&text, &e)))?;
    match table.get("format").and_then(toml::Value::as_integer) {
        Some(FORMAT) => {}
        Some(newer) => {
            let fault = Fault::new(format!("written for plugin format {newer}; this program reads format {FORMAT}"));
            faults.push(fault.file(FILE).column("format").next("use a program or a plugin of the other version"));
            return None;
        }
        None => {
            let fault = Fault::new("the plugin format is not stated").file(FILE).column("format");
            faults.push(fault.next(format!("write `format = {FORMAT}` at the top")));
            return None;
        }
    }
    let raw = faults.take(toml::from_str::<Raw>(&text).map_err(|e| toml_fault(&text, &e)))?;
    let key = |spanned: &Spanned<String>, key: &str, message: String| {
        Fault::new(message).file(FILE).line(line_of(&text, spanned.span().start)).column(key)
    };

    let id = raw.id.get_ref();
    if !is_plugin_id(id) {
        if let Err((why, next)) = is_free_id(id) {
            faults.push(key(&raw.id, "id", why).next(next));
        }
        return None;
    }
    faults.known_as(id);
    if id != folder_name {
        let fault = key(&raw.id, "id", format!("the id is `{id}`, but the folder is called `{folder_name}`"));
        faults.push(fault.next("give both the same name"));
    }
    if is_plugin_id(id)
        && let Err((why, next)) = is_free_id(id)
    {
        faults.push(key(&raw.id, "id", why).next(next));
    }
    let version = raw.version.get_ref();
    if version.split('.').count() != 3 || version.split('.').any(|n| n.parse::<u32>().is_err()) {
        faults.push(
            key(&raw.version, "version", format!("`{version}` is no version")).next("write three numbers, e.g. 1.0.0"),
        );
    }
    for (name, text) in [("title", &raw.title), ("licence", &raw.licence)] {
        if text.get_ref().trim().is_empty() {
            faults.push(key(text, name, format!("the {name} is empty")));
        }
    }
    let conductor = |spanned: &Spanned<String>| {
        Conductor::from_word(spanned.get_ref()).ok_or_else(|| {
            key(spanned, "conductor", format!("`{}` is no conductor", spanned.get_ref())).next(CONDUCTORS)
        })
    };
    let mut wire_tables = Vec::new();
    for t in raw.wire_table {
        if !is_word(t.series.get_ref()) {
            let fault = key(&t.series, "series", format!("`{}` is no name of a series", t.series.get_ref()));
            faults.push(fault.next("write awg, metric, or another word of small letters, digits and hyphens"));
        }
        wire_tables.push(WireTable {
            file: t.file,
            conductor: t.conductor.as_ref().and_then(|c| faults.take(conductor(c))),
            series: t.series.into_inner(),
            mark: t.mark.as_ref().and_then(|m| {
                let unknown = || key(m, "mark", format!("`{}` is no mark", m.get_ref())).next(MARKS);
                faults.take(mark(m.get_ref()).ok_or_else(unknown))
            }),
            source: t.source,
            note: t.note,
        });
    }
    let mut wires_derived = Vec::new();
    for d in raw.wire_derived {
        for (name, text) in [("from", &d.from), ("to", &d.to)] {
            if text.get_ref().is_empty() {
                faults.push(key(text, name, "the beginning of the ids is empty".into()).next("write it like `cu-`"));
            }
        }
        if d.from.get_ref() == d.to.get_ref() {
            faults.push(key(&d.to, "to", "the computed wires would have the ids of the listed ones".into()));
        }
        if let Some(conductor) = faults.take(conductor(&d.conductor)) {
            let line = line_of(&text, d.from.span().start);
            wires_derived.push(WireDerived { from: d.from.into_inner(), to: d.to.into_inner(), conductor, line });
        }
    }
    Some(Manifest {
        id: raw.id.into_inner(),
        version: raw.version.into_inner(),
        title: raw.title.into_inner(),
        licence: raw.licence.into_inner(),
        wire_tables,
        wires_derived,
        former_tables: raw.former_table,
        supply_tables: raw.supply_table,
        adhesive_tables: raw.adhesive_table,
        scripts: RawScripts {
            settings: raw.settings,
            method: raw.method,
            check: raw.check,
            sheet_lines: raw.sheet_lines,
            costing_rule: raw.costing_rule,
            reaction: raw.reaction,
        },
        text,
    })
}

/// The next step after an unknown conductor.
pub(crate) const CONDUCTORS: &str = "write copper, aluminium, cca10 or cca15";
/// The next step after an unknown mark.
pub(crate) const MARKS: &str = "write published, derived, common_practice or memory";

/// A mark from its word. `learned` is the shop's own and never a plugin's.
pub(crate) fn mark(word: &str) -> Option<Mark> {
    Some(match word {
        "published" => Mark::Published,
        "derived" => Mark::Derived,
        "common_practice" => Mark::CommonPractice,
        "memory" => Mark::Memory,
        _ => return None,
    })
}

/// Whether a text is made of small letters, digits and hyphens.
pub(crate) fn is_word(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
}

/// Whether a plugin may be called this.
///
/// # Errors
/// Why not, and what to do.
pub fn is_free_id(id: &str) -> Result<(), (String, &'static str)> {
    const ANOTHER: &str = "take another id, e.g. with the shop's name before it";
    if !is_plugin_id(id) {
        return Err((
            format!("`{id}` is no plugin id"),
            "use up to 40 small letters, digits and hyphens, a letter first",
        ));
    }
    if RESERVED.contains(&id) {
        return Err((format!("`{id}` is the first word of the program's own methods"), ANOTHER));
    }
    if COMMANDS.contains(&id) {
        return Err((format!("`{id}` is a command of the program's own"), ANOTHER));
    }
    Ok(())
}

fn is_plugin_id(id: &str) -> bool {
    is_word(id) && id.len() <= 40 && id.starts_with(|c: char| c.is_ascii_lowercase())
}

/// Line, from 1, of a byte offset.
pub(crate) fn line_of(text: &str, offset: usize) -> u64 {
    1 + text.bytes().take(offset).filter(|b| *b == b'\n').count() as u64
}

/// The parser's error with its line; an unknown key is told with the nearest known one.
fn toml_fault(text: &str, error: &toml::de::Error) -> Fault {
    let line = error.span().map(|span| line_of(text, span.start));
    let at = |fault: Fault| {
        let fault = fault.file(FILE);
        line.map_or_else(|| fault.clone(), |line| fault.clone().line(line))
    };
    // The parser says "unknown field `a`, expected one of `b`, `c`": its own words, but the names in them are what we need.
    let quoted: Vec<&str> = error.message().split('`').skip(1).step_by(2).collect();
    match quoted.as_slice() {
        [unknown, known @ ..] if error.message().starts_with("unknown field") => {
            let known: Vec<&str> = known.iter().copied().filter(|k| !k.starts_with('_')).collect();
            let fault = at(Fault::new(format!("no key is called `{unknown}` here")).column(*unknown));
            match nearest(unknown, known.iter().copied(), 1).first() {
                Some(near) => fault.next(format!("did you mean `{near}`?")),
                None => fault.next(format!("the keys here are: {}", known.join(", "))),
            }
        }
        [missing] if error.message().starts_with("missing field") => {
            let fault = at(Fault::new(format!("the key `{missing}` is missing")).column(*missing));
            fault.next(format!("add a line `{missing} = …`"))
        }
        _ => {
            let next = if error.message().contains("expected a sequence") {
                "write the heading with two brackets, e.g. [[wire_table]]"
            } else {
                "put text, versions and names of files in quotation marks, e.g. version = \"1.0.0\"; numbers and true or false stand without"
            };
            at(Fault::new(error.message().trim().replace('\n', " "))).next(next)
        }
    }
}
