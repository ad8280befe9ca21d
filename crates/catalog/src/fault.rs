//! A fault in a plugin: where it is to the line and column, what is wrong, and the way out.

use std::fmt;

/// Faults told of one plugin; what is beyond them is only counted.
const MOST: usize = 40;

/// What is wrong with a plugin, and exactly where.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Fault {
    /// Id of the plugin, or the name of its folder where it has no readable id.
    pub plugin: String,
    /// The file within the plugin's folder, with forward slashes.
    pub file: Option<String>,
    /// The line, from 1.
    pub line: Option<u64>,
    /// Name of the table's column, or of the key in a TOML or JSON file.
    pub column: Option<String>,
    /// One lower-case sentence: what was met and what was allowed.
    pub message: String,
    /// What to do about it.
    pub next_step: Option<String>,
}

impl Fault {
    /// A fault whose place is yet to be added; the plugin's name comes with [`Faults::push`].
    pub(crate) fn new(message: impl Into<String>) -> Fault {
        Fault { plugin: String::new(), file: None, line: None, column: None, message: message.into(), next_step: None }
    }
    pub(crate) fn file(self, file: &str) -> Fault {
        Fault { file: Some(file.to_owned()), ..self }
    }
    pub(crate) fn line(self, line: u64) -> Fault {
        Fault { line: Some(line), ..self }
    }
    pub(crate) fn column(self, column: impl Into<String>) -> Fault {
        Fault { column: Some(column.into()), ..self }
    }
    pub(crate) fn next(self, next_step: impl Into<String>) -> Fault {
        Fault { next_step: Some(next_step.into()), ..self }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "plugin {}", self.plugin)?;
        if let Some(file) = &self.file {
            write!(f, ", {file}")?;
        }
        if let Some(line) = self.line {
            write!(f, ", line {line}")?;
        }
        if let Some(column) = &self.column {
            write!(f, ", column {column}")?;
        }
        write!(f, ": {}", self.message)?;
        match &self.next_step {
            Some(next) => write!(f, "; {next}"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for Fault {}

/// The faults of one plugin, in the order in which they were met.
#[derive(Debug)]
pub(crate) struct Faults {
    plugin: String,
    list: Vec<Fault>,
    untold: usize,
}

impl Faults {
    pub(crate) fn of(plugin: &str) -> Faults {
        Faults { plugin: plugin.to_owned(), list: Vec::new(), untold: 0 }
    }

    /// From now on the plugin is known by this id instead of its folder's name.
    pub(crate) fn known_as(&mut self, id: &str) {
        self.plugin = id.to_owned();
    }

    pub(crate) fn push(&mut self, fault: Fault) {
        self.push_made(|| fault);
    }

    /// Makes the fault only if it will be told: for one that is costly to make and may come for every row.
    pub(crate) fn push_made(&mut self, make: impl FnOnce() -> Fault) {
        if self.list.len() < MOST {
            self.list.push(Fault { plugin: self.plugin.clone(), ..make() });
        } else {
            self.untold += 1;
        }
    }

    /// Keeps what is right, puts down what is not.
    pub(crate) fn take<T>(&mut self, result: Result<T, Fault>) -> Option<T> {
        result.map_err(|fault| self.push(fault)).ok()
    }

    pub(crate) fn none(&self) -> bool {
        self.list.is_empty()
    }

    pub(crate) fn into_list(mut self) -> Vec<Fault> {
        if self.untold > 0 {
            let more = Fault::new(format!("{} more faults are not listed", self.untold));
            self.list.push(Fault { plugin: self.plugin, ..more });
        }
        self.list
    }
}
