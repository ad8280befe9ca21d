//! How the process runs: defaults < file < environment < flags. What decides about wire is not here but in the journal.

use config::{Config, Environment, File, FileFormat};
use serde::Deserialize;
use std::collections::HashMap;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

/// Prefix of environment variables: `COILWRIGHT__SERVER__LISTEN` is `server.listen`.
pub const ENVIRONMENT_PREFIX: &str = "COILWRIGHT";

/// How the process runs.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Settings {
    /// The port.
    pub server: Server,
    /// Where the shop's memory is kept.
    pub store: Store,
    /// Bounds of what is taken and given.
    pub limits: Limits,
    /// The shop's own plugins.
    pub plugins: Plugins,
    /// The log.
    pub log: Log,
}

/// The port.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Server {
    /// Where to listen; port 0 takes a free one.
    pub listen: SocketAddr,
    /// Further names (host or host:port) that requests may be meant for.
    pub names: Vec<String>,
    /// Whether reading over loopback needs a token too; over any other way it always does.
    pub reading_needs_token: bool,
}

/// Where the shop's memory is kept.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Store {
    /// The data folder; made at the first start.
    #[serde(default)]
    pub data: Option<PathBuf>,
    /// Folder for backups, best on another disk; none are made if it is not set.
    #[serde(default)]
    pub backup: Option<PathBuf>,
    /// Minutes between backups.
    pub backup_minutes: u32,
}

/// Bounds of what is taken and given.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// Bytes of a request.
    pub body_bytes: usize,
    /// Bytes of an answer.
    pub answer_bytes: usize,
    /// Calls in a batch.
    pub batch_calls: usize,
    /// Requests and WebSockets at the same time.
    pub connections: u32,
}

/// The shop's own plugins.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plugins {
    /// Folder of plugin folders that add to the built-in ones or override them; `plugins` in the data folder if none is set.
    #[serde(default)]
    pub folder: Option<PathBuf>,
}

/// The log.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Log {
    /// For people or for programs.
    pub format: LogFormat,
    /// What is logged, e.g. `info` or `coilwright_service=debug`.
    pub filter: String,
}

/// For whom the log is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(try_from = "String")]
pub enum LogFormat {
    /// For people on a terminal, JSON otherwise.
    Auto,
    /// For people.
    Human,
    /// A JSON object a line.
    Json,
}

impl TryFrom<String> for LogFormat {
    type Error = String;
    fn try_from(word: String) -> Result<LogFormat, String> {
        match word.as_str() {
            "auto" => Ok(LogFormat::Auto),
            "human" => Ok(LogFormat::Human),
            "json" => Ok(LogFormat::Json),
            _ => Err(format!("`{word}` is no form of the log; write `auto`, `human` or `json`")),
        }
    }
}

/// The settings where nobody says anything: the commented sample in deploy/ repeats them.
const DEFAULTS: &str = r#"
[server]
listen = "127.0.0.1:7348"
names = []
reading_needs_token = false
[store]
backup_minutes = 60
[limits]
body_bytes = 1048576
answer_bytes = 16777216
batch_calls = 100
connections = 256
[plugins]
[log]
format = "auto"
filter = "info"
"#;

/// Why the settings cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum SettingsError {
    /// The file cannot be read.
    #[error("cannot read the settings file {}: {why}; check the path given with --config", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        why: std::io::Error,
    },
    /// The file has something that is not understood.
    #[error("settings file {}: {what}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// Place and cause.
        what: String,
    },
    /// An environment variable is not understood.
    #[error("environment variable {variable}: {what}")]
    Environment {
        /// Its name.
        variable: String,
        /// The cause.
        what: String,
    },
    /// A flag is not understood.
    #[error("{0}")]
    Flag(String),
}

/// Reads the settings: defaults, then `file`, then `environment` (of which only names with the prefix count), then `flags`
/// as pairs of key and value.
///
/// # Errors
/// [`SettingsError`] names the file with line and column, or the variable, and what is known there.
pub fn read(
    file: Option<&Path>,
    environment: HashMap<String, String>,
    flags: &[(&str, String)],
) -> Result<Settings, SettingsError> {
    let mut layers = Config::builder().add_source(File::from_str(DEFAULTS, FileFormat::Toml));
    if let Some(path) = file {
        let text = std::fs::read_to_string(path).map_err(|why| SettingsError::Unreadable { path: path.into(), why })?;
        let checked = toml::from_str::<partial::Settings>(&text);
        checked.map_err(|e| SettingsError::File { path: path.into(), what: e.to_string().trim_end().into() })?;
        layers = layers.add_source(File::from_str(&text, FileFormat::Toml));
    }
    let own =
        environment.into_iter().filter(|(name, _)| name.starts_with(&format!("{ENVIRONMENT_PREFIX}__"))).collect();
    let variables = Environment::with_prefix(ENVIRONMENT_PREFIX)
        .prefix_separator("__")
        .separator("__")
        .try_parsing(true)
        .list_separator(",")
        .with_list_parse_key("server.names")
        .source(Some(own));
    check_environment(&variables)?;
    layers = layers.add_source(variables);
    for (key, value) in flags {
        layers = layers.set_override(*key, value.as_str()).map_err(|e| SettingsError::Flag(e.to_string()))?;
    }
    let merged = layers.build().map_err(|e| SettingsError::Flag(e.to_string()))?;
    let read: Result<Settings, _> = serde_path_to_error::deserialize(merged);
    read.map_err(|e| SettingsError::Flag(format!("{}: {}", e.path(), e.inner())))
}

/// The variables on their own, so that a typo is blamed on the variable and not on the whole.
fn check_environment(variables: &Environment) -> Result<(), SettingsError> {
    let built = Config::builder().add_source(variables.clone()).build();
    let built =
        built.map_err(|e| SettingsError::Environment { variable: ENVIRONMENT_PREFIX.into(), what: e.to_string() })?;
    match serde_path_to_error::deserialize::<_, partial::Settings>(built) {
        Ok(_) => Ok(()),
        Err(e) => {
            let variable = format!("{ENVIRONMENT_PREFIX}__{}", e.path().to_string().to_uppercase().replace('.', "__"));
            Err(SettingsError::Environment { variable, what: e.inner().to_string() })
        }
    }
}

/// The same shape with everything optional: for looking at one layer alone.
mod partial {
    use super::LogFormat;
    use serde::Deserialize;
    use std::net::SocketAddr;
    use std::path::PathBuf;

    macro_rules! layer {
        ($($name:ident { $($field:ident: $of:ty),* $(,)? })+) => { $(
            #[derive(Deserialize)]
            #[serde(deny_unknown_fields)]
            #[allow(dead_code)]
            pub struct $name { $( #[serde(default)] $field: Option<$of>, )* }
        )+ };
    }
    layer! {
        Settings { server: Server, store: Store, limits: Limits, plugins: Plugins, log: Log }
        Server { listen: SocketAddr, names: Vec<String>, reading_needs_token: bool }
        Store { data: PathBuf, backup: PathBuf, backup_minutes: u32 }
        Limits { body_bytes: usize, answer_bytes: usize, batch_calls: usize, connections: u32 }
        Plugins { folder: PathBuf }
        Log { format: LogFormat, filter: String }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn env(pairs: &[(&str, &str)]) -> HashMap<String, String> {
        pairs.iter().map(|(k, v)| (k.to_string(), v.to_string())).collect()
    }

    fn file(text: &str) -> tempfile::NamedTempFile {
        let f = tempfile::NamedTempFile::new().unwrap();
        std::fs::write(f.path(), text).unwrap();
        f
    }

    #[test]
    fn later_layers_win() {
        let f = file("[server]\nlisten = \"127.0.0.1:1000\"\n[limits]\nbatch_calls = 7\n");
        let e = env(&[
            ("COILWRIGHT__SERVER__LISTEN", "127.0.0.1:2000"),
            ("COILWRIGHT__SERVER__NAMES", "bench.local,shop.local"),
            ("COILWRIGHT_URL", "x"),
        ]);
        let s = read(Some(f.path()), e.clone(), &[]).unwrap();
        assert_eq!((s.server.listen.port(), s.limits.batch_calls, s.limits.body_bytes), (2000, 7, 1 << 20));
        assert_eq!(s.server.names, ["bench.local", "shop.local"]);
        let s = read(Some(f.path()), e, &[("server.listen", "127.0.0.1:3000".into())]).unwrap();
        assert_eq!(s.server.listen.port(), 3000);
    }

    #[test]
    fn a_typo_is_named_with_its_place() {
        let f = file("[server]\nlisten = \"127.0.0.1:1000\"\nlisen = 3\n");
        let said = read(Some(f.path()), env(&[]), &[]).unwrap_err().to_string();
        assert!(said.contains("line 3, column 1") && said.contains("lisen") && said.contains("listen"), "{said}");
        let said = read(None, env(&[("COILWRIGHT__SERVER__LISEN", "x")]), &[]).unwrap_err().to_string();
        assert!(said.contains("COILWRIGHT__SERVER__LISEN") && said.contains("listen"), "{said}");
        let said = read(None, env(&[("COILWRIGHT__LIMITS__BATCH_CALLS", "many")]), &[]).unwrap_err().to_string();
        assert!(said.contains("COILWRIGHT__LIMITS__BATCH_CALLS"), "{said}");
        let said = read(None, env(&[]), &[("server.listen", "here".into())]).unwrap_err().to_string();
        assert!(said.contains("server.listen"), "{said}");
        let said = read(Some(Path::new("/nowhere/x.toml")), env(&[]), &[]).unwrap_err().to_string();
        assert!(said.contains("/nowhere/x.toml") && said.contains("--config"), "{said}");
    }
}
