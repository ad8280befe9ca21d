//! A plugin's folder or archive looked at as a daemon would: everything that is wrong with it, and its examples.

use crate::scripts::bare_room;
use coilwright_catalog::{CaseResult, Catalog, Fault, Loaded, PluginInfo, PluginOrigin, Trial, folder_name};
use std::path::{Path, PathBuf};

/// What a look at a plugin came to.
#[derive(Debug)]
pub struct Looked {
    /// The plugin, if a daemon would take it.
    pub info: Option<PluginInfo>,
    /// What is wrong with it.
    pub faults: Vec<Fault>,
    /// Its examples: all that could be replayed.
    pub cases: Vec<CaseResult>,
    /// Faults that other plugins have only because of it.
    pub others: Vec<Fault>,
}

/// Why nothing was done with a plugin.
#[derive(Debug, thiserror::Error)]
pub enum PluginError {
    /// There is no such folder or file.
    #[error("there is no {}; {next}", path.display())]
    NotThere {
        /// What was named.
        path: PathBuf,
        /// What to do.
        next: &'static str,
    },
    /// The folder is taken.
    #[error("{} is there already; take another name, or another place with --dir", path.display())]
    There {
        /// The folder.
        path: PathBuf,
    },
    /// No plugin can be called this.
    #[error("{why}; {next}")]
    Name {
        /// Why not.
        why: String,
        /// What to do.
        next: &'static str,
    },
    /// There is no beginning of this kind.
    #[error("there is no kind `{kind}`; write one of {kinds}")]
    Kind {
        /// What was asked.
        kind: String,
        /// What there is.
        kinds: String,
    },
    /// There is no plugin of this id.
    #[error("there is no plugin `{id}`; there are {known}")]
    Unknown {
        /// What was asked.
        id: String,
        /// What there is.
        known: String,
    },
    /// The plugin is not right.
    #[error("{}", told(faults))]
    Refused {
        /// Why, each with its place.
        faults: Vec<Fault>,
    },
    /// Without it there would be no wires at all.
    #[error("without `{id}` there is no wire left; add a plugin with wires first")]
    LastWires {
        /// The plugin.
        id: String,
    },
    /// The file is not the one that was promised.
    #[error("the SHA-256 of {} is {met}, promised {promised}; fetch the file again", path.display())]
    OtherFile {
        /// The file.
        path: PathBuf,
        /// What it is.
        met: String,
        /// What was asked for.
        promised: String,
    },
    /// The system said no.
    #[error("{doing} {}: {why}", path.display())]
    System {
        /// What was tried.
        doing: &'static str,
        /// On what.
        path: PathBuf,
        /// What the system said.
        why: std::io::Error,
    },
}

impl PluginError {
    pub(super) fn system(doing: &'static str, path: &Path) -> impl FnOnce(std::io::Error) -> PluginError {
        let path = path.to_path_buf();
        move |why| PluginError::System { doing, path, why }
    }

    pub(super) fn refused(plugin: &str, fault: Fault) -> PluginError {
        PluginError::Refused { faults: vec![Fault { plugin: plugin.to_owned(), ..fault }] }
    }
}

fn told(faults: &[Fault]) -> String {
    faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

/// Looks at a plugin's folder: manifest, tables, scripts and examples, beside the built-in plugins and those in `others`.
///
/// # Errors
/// The folder is not there.
pub fn look_at_plugin(folder: &Path, others: Option<&Path>) -> Result<Looked, PluginError> {
    if !folder.is_dir() {
        return Err(PluginError::NotThere {
            path: folder.to_path_buf(),
            next: "name the folder that holds the plugin.toml; `coilwright plugin new` makes one",
        });
    }
    Ok(look(&Trial::Folder(folder), &folder_name(folder), others))
}

/// The folder of others, if it is there.
pub(super) fn there(others: Option<&Path>) -> Option<&Path> {
    others.filter(|folder| folder.is_dir())
}

pub(super) fn look(trial: &Trial<'_>, name: &str, others: Option<&Path>) -> Looked {
    let Loaded { catalog, faults, mut tried } = Catalog::load_trying(there(others), trial, Some(&bare_room()));
    let own_place = match trial {
        Trial::Folder(path) => path.to_path_buf(),
        Trial::Files { name, .. } => PathBuf::from(name),
    };
    let is_it = |info: &&PluginInfo| {
        info.id == name && matches!(&info.origin, PluginOrigin::Folder { path, .. } if *path == own_place)
    };
    let info = catalog.plugins().iter().find(is_it).cloned();
    let (mut own, mut others_faults): (Vec<Fault>, Vec<Fault>) = faults.into_iter().partition(|f| f.plugin == name);
    if own.is_empty() && info.is_none() {
        // Its id and its folder's name differ: it is told by its id.
        std::mem::swap(&mut own, &mut others_faults);
    }
    if !others_faults.is_empty() {
        let before = Catalog::load_in(there(others), &bare_room()).faults;
        others_faults.retain(|fault| !before.contains(fault));
    }
    let cases = info.as_ref().map(|info| info.cases.clone()).or_else(|| tried.remove(name)).unwrap_or_default();
    Looked { info, faults: own, cases, others: others_faults }
}
