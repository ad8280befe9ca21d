//! The service: one file per request, the registry that runs and documents them, and the one port they are reached by.

pub mod app;
mod coil_design;
mod discover;
mod former_list;
mod guard;
mod http;
mod registry;
mod rpc;
mod serve;
pub mod settings;
mod sheet_section;
mod shop_status;
mod view;
mod wire_list;
mod wire_show;

pub use registry::{Handler, Registry};
pub use serve::{Daemon, ServeError, start};

use app::App;
use std::sync::Arc;

/// All built-in methods with what answers them.
pub fn registry(app: Arc<App>) -> Registry {
    let mut r = Registry::new(app);
    r.add(shop_status::answer);
    r.add(wire_list::answer);
    r.add(wire_show::answer);
    r.add(former_list::answer);
    r.add(coil_design::answer);
    r.add(sheet_section::answer);
    r
}
