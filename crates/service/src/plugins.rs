//! The plugins of a running daemon: their methods run one at a time, and the whole set is swapped at once.

use crate::app::App;
use crate::registry::{Handler, Registry};
use crate::rpc::Table;
use crate::scripts::{asking, bare_room};
use coilwright_catalog::{CallError, Catalog, Fault, Loaded, MethodOffer, WireFilter};
use coilwright_proto::error::{ErrorKind, RpcError, code};
use serde_json::Value;
use serde_json::value::to_raw_value;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// Calls of plugins' methods that may wait for the one that runs.
const WAITING: usize = 16;

/// What a daemon needs to read its plugins anew.
pub struct Plugins {
    /// The folder that the settings name.
    folder: Option<PathBuf>,
    /// The folder within the shop's own, which need not be there.
    usual: PathBuf,
    extend: Box<dyn Fn(&mut Registry) + Send + Sync>,
    table: OnceLock<Table>,
    reading: Mutex<()>,
    lane: Mutex<()>,
    waiting: AtomicUsize,
}

/// What a reload came to.
pub struct Reloaded {
    /// Whether the new set is in use.
    pub swapped: bool,
    /// The catalog in use now.
    pub catalog: Arc<Catalog>,
    /// What is wrong with the plugins as they lie there.
    pub faults: Vec<Fault>,
}

impl Plugins {
    /// Plugins of this folder beside the built-in ones, or of `plugins` in the shop's folder where none is named; `extend` adds
    /// to every registry that is made.
    pub fn new(folder: Option<PathBuf>, data: &Path, extend: Box<dyn Fn(&mut Registry) + Send + Sync>) -> Plugins {
        let (reading, lane) = (Mutex::new(()), Mutex::new(()));
        let usual = data.join("plugins");
        Plugins { folder, usual, extend, table: OnceLock::new(), reading, lane, waiting: AtomicUsize::new(0) }
    }

    /// Reads all plugins as they lie there.
    pub fn read(&self) -> Loaded {
        let usual = Some(self.usual.as_path()).filter(|folder| folder.is_dir());
        Catalog::load_in(self.folder.as_deref().or(usual), &bare_room())
    }

    /// Makes the registry of an app, and takes over the table in which later ones will be put.
    pub fn registry(&self, app: &Arc<App>) -> Registry {
        let mut registry = crate::registry(app.clone());
        for method in app.catalog.methods() {
            registry.add_plugin_method(method, handler(app.clone(), method.clone()));
        }
        registry.are_off(app.catalog.off().iter().map(|plugin| plugin.id.clone()).collect());
        (self.extend)(&mut registry);
        registry
    }

    /// The table in use, once there is one.
    pub fn use_table(&self, table: Table) {
        let _ = self.table.set(table);
    }

    /// Reads all plugins anew. One fault keeps the old set, unless what is right shall be taken without it.
    pub fn reload(&self, app: &App, without_faulty: bool) -> Reloaded {
        let _one = self.reading.lock().unwrap_or_else(PoisonError::into_inner);
        let loaded = self.read();
        let usable = loaded.catalog.wires(WireFilter::default()).next().is_some();
        let Some(table) = self.table.get().filter(|_| usable && (loaded.faults.is_empty() || without_faulty)) else {
            return Reloaded { swapped: false, catalog: app.catalog.clone(), faults: loaded.faults };
        };
        let catalog = Arc::new(loaded.catalog);
        let next = Arc::new(App { catalog: catalog.clone(), refused: loaded.faults.clone(), ..app.clone() });
        // One store of a pointer: a request sees the old set or the new one, never a part of each.
        table.store(Arc::new(self.registry(&next).finish()));
        tracing::info!(plugins = catalog.plugins().len(), digest = catalog.digest(), "plugins read anew");
        Reloaded { swapped: true, catalog, faults: loaded.faults }
    }

    /// Runs a method of a plugin when no other one runs: a script that takes its whole time keeps one thread busy, not all.
    fn alone<T>(&self, run: impl FnOnce() -> T) -> Result<T, RpcError> {
        let waiting = self.waiting.fetch_add(1, Ordering::SeqCst);
        let ran = (waiting < WAITING).then(|| {
            let _lane = self.lane.lock().unwrap_or_else(PoisonError::into_inner);
            run()
        });
        self.waiting.fetch_sub(1, Ordering::SeqCst);
        ran.ok_or_else(|| {
            RpcError::new(code::BUSY, ErrorKind::Failed, format!("{WAITING} calls of plugins' methods wait already"))
                .next("ask again in a moment")
        })
    }
}

fn handler(app: Arc<App>, method: MethodOffer) -> Handler {
    Arc::new(move |_, text| {
        let params: Value = serde_json::from_str(text)
            .ok()
            .filter(Value::is_object)
            .ok_or_else(|| RpcError::params("", "params are taken by name only, as a JSON object"))?;
        let answer = app.plugins.alone(|| asking(&app).call(&method, &params))?.map_err(told)?;
        to_raw_value(&answer).map_err(|e| RpcError::new(code::INTERNAL, ErrorKind::Failed, e.to_string()))
    })
}

/// Why a plugin's method gave no answer, on the wire.
fn told(error: CallError) -> RpcError {
    let next = |e: RpcError, step: Option<String>| match step {
        Some(step) => e.next(step),
        None => e,
    };
    match error {
        CallError::Params(misfit) => {
            let mut e = RpcError::params(misfit.pointer, misfit.message).met(misfit.met);
            if let Some(allowed) = misfit.allowed {
                e = e.allowed(allowed);
            }
            next(e, misfit.next_step)
        }
        CallError::Refused(unable) => {
            let e = RpcError::new(code::REFUSED, ErrorKind::Refused, unable.message);
            next(e.at(unable.pointer.unwrap_or_default()), unable.next_step)
        }
        CallError::Fault(fault) => RpcError::new(code::PLUGIN_FAILED, ErrorKind::Failed, fault.to_string())
            .next("tell the plugin's owner; everything else goes on"),
    }
}
