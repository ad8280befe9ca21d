//! Start and stop: a listener, the port behind it, and an end that lets running requests finish.

use crate::app::App;
use crate::backups::{self, Backups};
use crate::caller::Tokens;
use crate::door::Door;
use crate::guard::Names;
use crate::http::{Port, router};
use crate::plugins::Plugins;
use crate::registry::Registry;
use crate::rpc::{Bounds, CallsLayer, Table};
use crate::settings::Settings;
use crate::upgrade;
use arc_swap::ArcSwap;
use coilwright_catalog::{Loaded, WireFilter};
use coilwright_shop::entry::Entry;
use coilwright_shop::fact::Fact;
use coilwright_store::{OpenError, Options, RealDisk, Store, newest_backup};
use jsonrpsee::server::middleware::rpc::RpcServiceBuilder;
use jsonrpsee::server::{BatchRequestConfig, Server, ServerConfig, ServerHandle, stop_channel};
use std::io;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use tokio::net::TcpListener;
use tokio::sync::watch;
use tokio::task::JoinHandle;

/// A running daemon.
pub struct Daemon {
    /// Where it listens.
    pub address: SocketAddr,
    /// Where the admin token lies.
    pub token_file: PathBuf,
    app: Arc<App>,
    rpc: ServerHandle,
    stopping: watch::Sender<bool>,
    serving: JoinHandle<io::Result<()>>,
}

/// Why the daemon did not start.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The address is taken.
    #[error(
        "{address} is in use: choose another with --listen ADDR:PORT (port 0 takes a free one), or stop what listens there"
    )]
    AddressInUse {
        /// Where it should have listened.
        address: SocketAddr,
    },
    /// The address cannot be listened on.
    #[error("cannot listen on {address}: {why}; choose another with --listen ADDR:PORT")]
    Listen {
        /// Where it should have listened.
        address: SocketAddr,
        /// What the system said.
        why: io::Error,
    },
    /// Nobody said where the data are.
    #[error("no data folder was given: name one with --data DIR; it is made at the first start")]
    NoData,
    /// The data folder cannot be used.
    #[error(transparent)]
    Data(#[from] OpenError),
    /// The backup before the first start of another version failed.
    #[error("this is another version of the program, and the backup before its first start failed: {}: {why}; make room there or set `store.backup`, or start the version before", folder.display())]
    Upgrade {
        /// Where it should have gone.
        folder: PathBuf,
        /// Why it did not.
        why: String,
    },
    /// The token file cannot be used.
    #[error("the token in {}: {why}", dir.display())]
    Token {
        /// The data folder.
        dir: PathBuf,
        /// What the system said.
        why: io::Error,
    },
    /// A built-in plugin is broken: this program was built wrong.
    #[error("built-in plugins are broken: {0}")]
    BuiltIn(String),
}

/// Reads the plugins, listens, and serves until [`Daemon::stop`]. `extend` may add to the registry before it is closed.
///
/// # Errors
/// [`ServeError`] if nothing can be served. A broken plugin of the shop's own is logged and left out, not an error.
pub async fn start(
    settings: &Settings,
    version: &'static str,
    extend: impl Fn(&mut Registry) + Send + Sync + 'static,
) -> Result<Daemon, ServeError> {
    let dir = settings.store.data.as_deref().ok_or(ServeError::NoData)?;
    let plugins = Arc::new(Plugins::new(settings.plugins.folder.clone(), dir, Box::new(extend)));
    let app = Arc::new(open(settings, dir, version, plugins)?);
    backups::start(&app);
    let tokens = Tokens::open(dir).map_err(|why| ServeError::Token { dir: dir.into(), why })?;
    let token_file = tokens.file.clone();
    let let_in = Door { tokens, reading_needs_token: settings.server.reading_needs_token };
    let table: Table = Arc::new(ArcSwap::from_pointee(app.plugins.registry(&app).finish()));
    app.plugins.use_table(table.clone());
    let address = settings.server.listen;
    let listener = TcpListener::bind(address).await.map_err(|why| match why.kind() {
        io::ErrorKind::AddrInUse => ServeError::AddressInUse { address },
        _ => ServeError::Listen { address, why },
    })?;
    let address = listener.local_addr().map_err(|why| ServeError::Listen { address, why })?;

    let limits = &settings.limits;
    let bounds = Bounds { batch: limits.batch_calls, answer: limits.answer_bytes };
    let config = ServerConfig::builder()
        .max_request_body_size(u32::try_from(limits.body_bytes).unwrap_or(u32::MAX))
        .max_response_body_size(u32::try_from(limits.answer_bytes).unwrap_or(u32::MAX))
        .max_connections(limits.connections)
        // The layer counts, so that the refusal has the shop's form.
        .set_batch_request_config(BatchRequestConfig::Unlimited)
        .build();
    let (stop, rpc) = stop_channel();
    let layers = RpcServiceBuilder::new().layer(CallsLayer { table, bounds });
    let service = Server::builder().set_config(config).set_rpc_middleware(layers).to_service_builder();
    let port = Port { service, stop, body_limit: limits.body_bytes };
    let names = Names::new(address, &settings.server.names);

    let (stopping, mut stopped) = watch::channel(false);
    let serving = tokio::spawn(async move {
        axum::serve(listener, router(port, names, let_in).into_make_service_with_connect_info::<SocketAddr>())
            .with_graceful_shutdown(async move {
                let _ = stopped.wait_for(|stop| *stop).await;
            })
            .await
    });
    tracing::info!(%address, wires = app.catalog.wires(WireFilter::default()).count(), "serving");
    Ok(Daemon { address, token_file, app, rpc, stopping, serving })
}

impl Daemon {
    /// Takes no new requests, lets running ones finish, closes WebSockets.
    ///
    /// # Errors
    /// What the listener met on its way down.
    pub async fn stop(self) -> io::Result<()> {
        self.app.stop.store(true, Ordering::Relaxed);
        let _ = self.rpc.stop();
        let _ = self.stopping.send(true);
        let served = self.serving.await.map_err(io::Error::other)?;
        // After the last request: the note of a clean stop.
        let app = self.app;
        let ended = move || {
            let stopped = app.store.stop();
            if let Some(backups) = &app.backups {
                backups::make(&app, backups);
            }
            stopped
        };
        tokio::task::spawn_blocking(ended).await.map_err(io::Error::other)??;
        served
    }
}

/// Reads the plugins and opens the shop's memory, and says what was found.
fn open(settings: &Settings, dir: &Path, version: &'static str, plugins: Arc<Plugins>) -> Result<App, ServeError> {
    let Loaded { catalog, faults: refused, .. } = plugins.read();
    if catalog.wires(WireFilter::default()).next().is_none() {
        return Err(ServeError::BuiltIn(refused.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")));
    }
    let mut faults = Vec::new();
    let mut options = Options::new(subjects).map_err(|why| ServeError::Token { dir: dir.into(), why })?;
    let backup = settings.store.backup.as_deref();
    match backup.map(|place| newest_backup(&RealDisk, place)) {
        Some(Ok(newest)) => options.witnesses.extend(newest.map(|newest| newest.witness())),
        Some(Err(why)) => faults.push(format!("the backup was not heard as a witness: {why}")),
        None => {}
    }
    if let Some(taken) = upgrade::backup_first(dir, version, backup)? {
        let (head, folder) = (taken.backed_up.head.seq, taken.folder.display());
        tracing::info!(before = taken.before, now = version, head, %folder, "another version: backed up first");
    }
    let (store, report) = Store::open(dir, options)?;
    if let Err(why) = upgrade::note(dir, version) {
        tracing::warn!(%why, "the version was not noted; the next start takes a backup again");
    }
    faults.extend(report.journal.findings.iter().map(|f| format!("{}: {}", f.path.display(), f.text)));
    for fault in &refused {
        tracing::warn!("{fault}");
    }
    for fault in &faults {
        tracing::warn!("{fault}");
    }
    tracing::info!(head = report.journal.head.seq, folded = report.folded, index = ?report.index, "the shop's memory is open");
    Ok(App {
        version,
        catalog: Arc::new(catalog),
        store: Arc::new(store),
        backups: backup.map(|place| Arc::new(Backups::new(place.into(), settings.store.backup_minutes))),
        full_plans: Arc::new(Mutex::new(())),
        stop: Arc::new(AtomicBool::new(false)),
        faults,
        refused,
        plugins,
        proposals: Arc::default(),
    })
}

/// What an entry is about, for the history of a thing.
pub fn subjects(entry: &Entry) -> Vec<String> {
    let mut about: Vec<String> = entry.facts.iter().filter_map(Fact::subject).map(String::from).collect();
    about.dedup();
    about
}
