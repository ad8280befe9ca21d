//! Start and stop: a listener, the port behind it, and an end that lets running requests finish.

use crate::app::App;
use crate::guard::Names;
use crate::http::{Port, router};
use crate::registry::Registry;
use crate::rpc::{Bounds, CallsLayer, Table};
use crate::settings::Settings;
use arc_swap::ArcSwap;
use coilwright_catalog::{Catalog, WireFilter};
use jsonrpsee::server::middleware::rpc::RpcServiceBuilder;
use jsonrpsee::server::{BatchRequestConfig, Server, ServerConfig, ServerHandle, stop_channel};
use std::io;
use std::net::SocketAddr;
use std::sync::Arc;
use tokio::net::TcpListener;
use tokio::sync::watch;
use tokio::task::JoinHandle;

/// A running daemon.
pub struct Daemon {
    /// Where it listens.
    pub address: SocketAddr,
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
    extend: impl FnOnce(&mut Registry),
) -> Result<Daemon, ServeError> {
    let app = Arc::new(read_catalog(settings, version)?);
    let mut registry = crate::registry(app.clone());
    extend(&mut registry);
    let table: Table = Arc::new(ArcSwap::from_pointee(registry.finish()));
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
        axum::serve(listener, router(port, names))
            .with_graceful_shutdown(async move {
                let _ = stopped.wait_for(|stop| *stop).await;
            })
            .await
    });
    tracing::info!(%address, wires = app.catalog.wires(WireFilter::default()).count(), "serving");
    Ok(Daemon { address, rpc, stopping, serving })
}

impl Daemon {
    /// Takes no new requests, lets running ones finish, closes WebSockets.
    ///
    /// # Errors
    /// What the listener met on its way down.
    pub async fn stop(self) -> io::Result<()> {
        let _ = self.rpc.stop();
        let _ = self.stopping.send(true);
        self.serving.await.map_err(io::Error::other)?
    }
}

fn read_catalog(settings: &Settings, version: &'static str) -> Result<App, ServeError> {
    let loaded = Catalog::load(settings.plugins.folder.as_deref());
    if loaded.catalog.wires(WireFilter::default()).next().is_none() {
        let why = loaded.faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ");
        return Err(ServeError::BuiltIn(why));
    }
    for fault in &loaded.faults {
        tracing::warn!(plugin = %fault.plugin, "{fault}");
    }
    Ok(App { version, catalog: loaded.catalog, faults: loaded.faults.iter().map(ToString::to_string).collect() })
}
