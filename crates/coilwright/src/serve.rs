//! `coilwright serve`: the daemon, until it is told to stop.

use crate::exit::End;
use crate::log;
use clap::{Arg, ArgAction, ArgMatches, Command, value_parser};
use coilwright_service::{ServeError, care, settings};
use std::io::Write;
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr};
use std::path::{Path, PathBuf};

/// Version of the program.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

/// The command and its flags.
pub fn command() -> Command {
    Command::new("serve")
        .about("Run the daemon until it is stopped (Ctrl-C, or SIGTERM)")
        .arg(
            Arg::new("data")
                .long("data")
                .value_name("DIR")
                .help("Folder of the shop's journal, index and token; made at the first start"),
        )
        .arg(
            Arg::new("listen")
                .long("listen")
                .value_name("ADDR:PORT")
                .help("Where to listen; port 0 takes a free one [default: 127.0.0.1:7348]"),
        )
        .arg(
            Arg::new("config")
                .long("config")
                .value_name("FILE")
                .value_parser(value_parser!(PathBuf))
                .help("Settings file (TOML); the environment (COILWRIGHT__SECTION__KEY) and flags go on top"),
        )
        .arg(Arg::new("rehearsal").long("rehearsal").action(ArgAction::SetTrue).help(
            "Serve a copy of the folder, made beside it, to try things out on; takes a free port if none is given",
        ))
        .arg(
            Arg::new("plugins")
                .long("plugins")
                .value_name("DIR")
                .help("Folder of plugin folders that add to the built-in ones or override them"),
        )
}

/// Reads the settings, serves, and ends when asked to.
pub fn run(given: &ArgMatches) -> End {
    let flags: Vec<(&str, String)> =
        [("store.data", "data"), ("server.listen", "listen"), ("plugins.folder", "plugins")]
            .into_iter()
            .filter_map(|(key, flag)| given.get_one::<String>(flag).map(|value| (key, value.clone())))
            .collect();
    let file = given.get_one::<PathBuf>("config").map(PathBuf::as_path);
    let mut settings = match settings::read(file, std::env::vars().collect(), &flags) {
        Ok(settings) => settings,
        Err(e) => {
            eprintln!("error: {e}");
            return End::WrongUse;
        }
    };
    if let Err(e) = log::start(&settings.log) {
        eprintln!("error: {e}");
        return End::WrongUse;
    }
    if given.get_flag("rehearsal")
        && let Err(end) = rehearse(&mut settings, given.get_one::<String>("listen").is_some())
    {
        return end;
    }
    let runtime = match tokio::runtime::Runtime::new() {
        Ok(runtime) => runtime,
        Err(e) => {
            eprintln!("error: the daemon cannot start its threads: {e}");
            return End::Failed;
        }
    };
    runtime.block_on(async {
        let daemon = match coilwright_service::start(&settings, VERSION, |_| {}).await {
            Ok(daemon) => daemon,
            Err(e) => {
                eprintln!("error: {e}");
                return match e {
                    ServeError::Data(e) => End::of_folder(&e),
                    ServeError::NoData => End::WrongUse,
                    _ => End::Failed,
                };
            }
        };
        // Before the address is said: who reads it may stop the daemon at once.
        let asked_to_stop = asked_to_stop();
        say_address(daemon.address, &settings.server.names, &daemon.token_file);
        asked_to_stop.await;
        tracing::info!("stopping");
        match daemon.stop().await {
            Ok(()) => End::Done,
            Err(e) => {
                eprintln!("error: the port did not close cleanly: {e}");
                End::Failed
            }
        }
    })
}

/// Points the settings to a copy, and away from all that is the shop's own.
fn rehearse(settings: &mut settings::Settings, listen_given: bool) -> Result<(), End> {
    let Some(data) = settings.store.data.take() else { return Ok(()) };
    let copy = care::rehearse(&data).map_err(|e| {
        eprintln!("error: no rehearsal of {}: {e}", data.display());
        End::Failed
    })?;
    eprintln!("a rehearsal in {}: nothing that is done there reaches {}", copy.display(), data.display());
    settings.store.data = Some(copy);
    settings.store.backup = None;
    if !listen_given {
        settings.server.listen.set_port(0);
    }
    Ok(())
}

/// Once it answers, a line that a script reads the real address from, and a line on how to be let in.
fn say_address(address: SocketAddr, names: &[String], token: &Path) {
    let mut out = std::io::stdout();
    // Nobody can ask for "any address"; this machine's own way in is always good.
    let from_here = match address.ip() {
        IpAddr::V4(ip) if ip.is_unspecified() => SocketAddr::from((Ipv4Addr::LOCALHOST, address.port())),
        IpAddr::V6(ip) if ip.is_unspecified() => SocketAddr::from((Ipv6Addr::LOCALHOST, address.port())),
        _ => address,
    };
    let _ = writeln!(out, "coilwright answers at http://{from_here}");
    if from_here != address && names.is_empty() {
        let _ = writeln!(
            out,
            "other machines are let in by the names in `server.names` of the settings only; none is there"
        );
    }
    let _ = writeln!(out, "writing needs the token: export COILWRIGHT_TOKEN=$(cat '{}')", token.display());
    let _ = out.flush();
}

/// Ends at Ctrl-C or SIGTERM. Both are listened for from the call on, not only once it is awaited.
fn asked_to_stop() -> impl Future<Output = ()> {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        let listening = (signal(SignalKind::interrupt()), signal(SignalKind::terminate()));
        async move {
            match listening {
                (Ok(mut interrupted), Ok(mut terminated)) => {
                    tokio::select! {
                        _ = interrupted.recv() => {}
                        _ = terminated.recv() => {}
                    }
                }
                _ => {
                    let _ = tokio::signal::ctrl_c().await;
                }
            }
        }
    }
    #[cfg(not(unix))]
    async {
        let _ = tokio::signal::ctrl_c().await;
    }
}
