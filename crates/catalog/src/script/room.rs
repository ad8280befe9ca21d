//! What scripts may ask of the program while they run: pure questions, the same answer every time.

use crate::catalog::Catalog;
use serde_json::{Value, json};
use std::sync::Arc;

/// The program as scripts see it. It answers from one state and one set of figures, and writes nothing.
pub trait Room: Send + Sync {
    /// Params of `coil.design`, understood: units told in text become the numbers of their names, ids are looked up.
    ///
    /// # Errors
    /// What does not fit, with its pointer.
    fn coil(&self, catalog: &Catalog, coil: &Value) -> Result<Value, Unable>;
    /// A coil designed: the answer of `coil.design`, with the coil's wire and former in figures.
    ///
    /// # Errors
    /// Why no such coil can be.
    fn design(&self, catalog: &Catalog, coil: &Value) -> Result<Value, Unable>;
    /// A job: its coil, how many are wound and scrapped, the minutes they took.
    ///
    /// # Errors
    /// There is no such job.
    fn job(&self, id: &str) -> Result<Value, Unable>;
    /// What the shop decides by, name and value.
    fn figures(&self) -> Value;
    /// What the shop set of the plugins' settings: plugin, setting, value.
    fn settings(&self) -> Value;
}

/// A question that has no answer, or params that a plugin will not take.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unable {
    /// Why, in a sentence.
    pub message: String,
    /// JSON pointer to what is at fault, within what was asked.
    pub pointer: Option<String>,
    /// What to do.
    pub next_step: Option<String>,
}

impl Unable {
    /// A question without answer, for this reason.
    pub fn because(message: impl Into<String>) -> Unable {
        Unable { message: message.into(), pointer: None, next_step: None }
    }
}

/// A catalog and the room its scripts ask in: what one round of calls looks at.
#[derive(Clone)]
pub struct Asking {
    catalog: Arc<Catalog>,
    room: Arc<dyn Room>,
    figures: Arc<Value>,
    /// The only plugin whose costing rules are heard; all are if there is none.
    rules_of: Option<Arc<str>>,
}

impl Asking {
    /// Scripts of this catalog, asked in this room.
    pub fn new(catalog: Arc<Catalog>, room: Arc<dyn Room>) -> Asking {
        let figures = Arc::new(room.figures());
        Asking { catalog, room, figures, rules_of: None }
    }
    /// The catalog.
    pub fn catalog(&self) -> &Catalog {
        &self.catalog
    }
    pub(crate) fn shared_room(&self) -> Arc<dyn Room> {
        self.room.clone()
    }
    /// The same catalog, asked in another room, where of the costing rules only this plugin's own are heard.
    pub(crate) fn alone_with(&self, room: impl Room + 'static, plugin: &str) -> Asking {
        Asking { rules_of: Some(plugin.into()), ..Asking::new(self.catalog.clone(), Arc::new(room)) }
    }
    /// Whether the costing rules of this plugin are heard.
    pub(crate) fn hears(&self, plugin: &str) -> bool {
        self.rules_of.as_ref().is_none_or(|only| **only == *plugin)
    }
    pub(crate) fn room(&self) -> &dyn Room {
        self.room.as_ref()
    }
    pub(crate) fn figures(&self) -> &Value {
        &self.figures
    }
    pub(crate) fn currency(&self) -> String {
        self.figures["currency"].as_str().unwrap_or("EUR").to_owned()
    }
    /// What the shop set of one plugin's settings.
    pub(crate) fn settings_of(&self, plugin: &str) -> Value {
        self.room.settings().get(plugin).cloned().unwrap_or_else(|| json!({}))
    }
}
