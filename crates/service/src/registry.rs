//! The one registry: every method with the code that answers it, ready to be run and to be documented.

use crate::app::App;
use crate::caller::Caller;
use crate::discover;
use coilwright_catalog::MethodOffer;
use coilwright_proto::error::{ErrorKind, RpcError, code};
use coilwright_proto::{Method, MethodDoc, methods, params};
use serde::Serialize;
use serde_json::Value;
use serde_json::value::{RawValue, to_raw_value};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Answers the text of params with the text of a result. Runs on a thread that may block.
pub type Handler = Arc<dyn Fn(&Caller, &str) -> Result<Box<RawValue>, RpcError> + Send + Sync>;

/// A method in the registry.
#[derive(Clone)]
pub struct Entry {
    /// Whether it writes to the journal: then it is not run for a caller that wants no answer.
    pub writes: bool,
    /// What runs it.
    pub run: Handler,
}

/// The methods by name, and the document that describes them.
pub struct Registry {
    app: Arc<App>,
    entries: BTreeMap<String, Entry>,
    documented: Vec<MethodDoc>,
    of_plugins: Vec<MethodOffer>,
    off: Vec<String>,
}

impl Registry {
    /// An empty one over what the requests look at.
    pub fn new(app: Arc<App>) -> Registry {
        Registry { app, entries: BTreeMap::new(), documented: Vec::new(), of_plugins: Vec::new(), off: Vec::new() }
    }

    /// Adds a request that reads: `P` asks, `answer` answers.
    pub fn reads<P: Method>(
        &mut self,
        answer: impl Fn(&App, P) -> Result<P::Answer, RpcError> + Send + Sync + 'static,
    ) {
        debug_assert!(!P::WRITES, "{} writes", P::NAME);
        self.add::<P, _>(move |app, _, params| answer(app, params));
    }

    /// Adds a request that reads and may take long: it looks whether its caller still waits.
    pub fn thinks<P: Method>(
        &mut self,
        answer: impl Fn(&App, &Caller, P) -> Result<P::Answer, RpcError> + Send + Sync + 'static,
    ) {
        debug_assert!(!P::WRITES, "{} writes", P::NAME);
        self.add::<P, _>(answer);
    }

    /// Adds a request that writes, for callers who may. Its answer comes from the journal, where it was kept.
    pub fn writes<P: Method>(
        &mut self,
        answer: impl Fn(&App, &Caller, P) -> Result<Value, RpcError> + Send + Sync + 'static,
    ) {
        debug_assert!(P::WRITES, "{} does not say that it writes", P::NAME);
        self.add::<P, _>(
            move |app, caller, params| {
                if caller.may_write { answer(app, caller, params) } else { Err(unauthorised()) }
            },
        );
    }

    fn add<P: Method, R: Serialize>(
        &mut self,
        answer: impl Fn(&App, &Caller, P) -> Result<R, RpcError> + Send + Sync + 'static,
    ) {
        let app = self.app.clone();
        let run: Handler = Arc::new(move |caller, text| {
            let result = answer(&app, caller, params::read::<P>(text)?)?;
            to_raw_value(&result).map_err(|e| {
                RpcError::new(code::INTERNAL, ErrorKind::Failed, format!("the answer could not be written: {e}"))
            })
        });
        self.entries.insert(P::NAME.into(), Entry { writes: P::WRITES, run });
        self.documented.extend(methods().into_iter().find(|m| m.name == P::NAME));
    }

    /// Adds a method of a plugin; it reads.
    pub fn add_plugin_method(&mut self, method: &MethodOffer, run: Handler) {
        self.entries.insert(method.name.clone(), Entry { writes: false, run });
        self.of_plugins.push(method.clone());
    }

    /// These plugins are there and switched off: who asks for their methods is told so.
    pub fn are_off(&mut self, ids: Vec<String>) {
        self.off = ids;
    }

    /// Adds a method that has no place in the document: a bench measures the road with it.
    pub fn add_undocumented(&mut self, name: &str, run: Handler) {
        self.entries.insert(name.into(), Entry { writes: false, run });
    }

    /// The finished table, `rpc.discover` included.
    pub fn finish(mut self) -> Methods {
        let document = discover::document(&self.documented, &self.of_plugins, self.app.version);
        let raw = to_raw_value(&document).ok();
        let run: Handler = Arc::new(move |_, text| {
            params::read::<discover::Discover>(text)?;
            raw.clone()
                .ok_or_else(|| RpcError::new(code::INTERNAL, ErrorKind::Failed, "the document could not be written"))
        });
        self.entries.insert("rpc.discover".into(), Entry { writes: false, run });
        Methods { entries: self.entries, off: self.off }
    }
}

/// The methods, ready to be run.
pub struct Methods {
    entries: BTreeMap<String, Entry>,
    off: Vec<String>,
}

impl Methods {
    /// The method of this name.
    ///
    /// # Errors
    /// -32601 with the nearest name there is.
    pub fn find(&self, name: &str) -> Result<&Entry, RpcError> {
        self.entries.get(name).ok_or_else(|| {
            let known: Vec<&str> = self.entries.keys().map(String::as_str).collect();
            let e =
                RpcError::new(code::METHOD_NOT_FOUND, ErrorKind::WrongRequest, format!("there is no method `{name}`"))
                    .met(name);
            if let Some(id) = name.split_once('.').and_then(|(id, _)| self.off.iter().find(|off| *off == id)) {
                return e.next(format!(
                    "the plugin `{id}` is switched off: `coilwright plugin on {id} --data DIR --reload`"
                ));
            }
            match params::nearest(name, &known) {
                Some(near) => e.next(format!("write `{near}` if that is what was meant; `rpc.discover` lists all")),
                None => e.next("`rpc.discover` lists all methods"),
            }
        })
    }

    /// Their names.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.entries.keys().map(String::as_str)
    }
}

/// Writing needs a token.
pub fn unauthorised() -> RpcError {
    RpcError::new(code::UNAUTHORISED, ErrorKind::Refused, "writing needs a token, and none was given")
        .next("send `Authorization: Bearer …` with the token in the data folder's file `token`; commands take it from COILWRIGHT_TOKEN or --token-file")
}
