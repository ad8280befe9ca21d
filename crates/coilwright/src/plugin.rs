//! Plugins from the command line, on their files: begin, check, test, pack, add, off, on. No daemon is needed.

use crate::exit::End;
use crate::show;
use crate::words::client;
use clap::{Arg, ArgAction, ArgMatches, Command, value_parser};
use coilwright_service::care::{self, Looked, PluginError};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// The rules for an id, and the kinds, as the help tells them.
const NEW: &str = "NAME becomes the plugin's id and its folder: up to 40 small letters, digits and hyphens, a letter first, \
no first word of the program's own commands. Then: change the files with a text editor, `coilwright plugin check NAME`, \
`coilwright plugin add NAME --data DIR`.";

/// The verbs that work on files; those that ask the daemon (`list`, `reload`) stand beside them.
pub fn commands() -> [Command; 7] {
    let switch = |name: &'static str, about: &'static str| {
        reloading(placed(
            Command::new(name).about(about).arg(
                Arg::new("id").value_name("ID").required(true).help("The plugin's id, see `coilwright plugin list`"),
            ),
            true,
        ))
    };
    [
        Command::new("new")
            .about("Begin a plugin: a folder with a worked example that holds, to be changed with a text editor")
            .after_help(NEW)
            .arg(Arg::new("name").value_name("NAME").required(true).help("Its id, e.g. tarn-wires"))
            .arg(
                Arg::new("kind")
                    .long("kind")
                    .value_name("KIND")
                    .required(true)
                    .value_parser(care::plugin_kinds())
                    .help("What it offers at first; a plugin may have several, copied together"),
            )
            .arg(path("dir", "DIR", "Folder to make it in [default: here]").long("dir")),
        placed(
            Command::new("check")
                .about("Check a plugin's folder: every fault with file, line and column; ends with 0 if all is right")
                .after_help("Ends with 1 if a daemon would refuse it, 3 if there is no such folder: fit for a script.")
                .arg(path("folder", "DIR", "The plugin's folder").required(true)),
            false,
        ),
        placed(
            Command::new("test")
                .about("Replay a plugin's worked examples: each figure as met and as promised; ends with 0 if all hold")
                .arg(path("folder", "DIR", "The plugin's folder").required(true)),
            false,
        ),
        placed(
            Command::new("pack")
                .about("Pack a plugin's folder into one file with the checksums of its files, to be passed on")
                .arg(path("folder", "DIR", "The plugin's folder").required(true))
                .arg(
                    path("output", "FILE", "The file to write [default: ID-VERSION.tar.gz]").short('o').long("output"),
                ),
            false,
        ),
        reloading(placed(
            Command::new("add")
                .about(
                    "Add a plugin, a file or a folder, to a shop; what is wrong with it is refused and nothing changes",
                )
                .after_help("One of the same id that is there is set aside into `.before` beside it.")
                .arg(path("from", "FILE|DIR", "What `plugin pack` made, or the plugin's folder").required(true))
                .arg(
                    Arg::new("sha256")
                        .long("sha256")
                        .value_name("HEX")
                        .help("Take the file only if this is its SHA-256"),
                ),
            true,
        )),
        switch("off", "Switch a plugin off, a built-in one too; it stays where it is"),
        switch("on", "Switch a plugin on again"),
    ]
}

fn path(name: &'static str, of: &'static str, help: &'static str) -> Arg {
    Arg::new(name).value_name(of).value_parser(value_parser!(PathBuf)).help(help)
}

/// Which shop, or which folder of plugins.
fn placed(command: Command, needed: bool) -> Command {
    let data = if needed {
        "The shop's folder; its plugins are in DIR/plugins"
    } else {
        "Check it beside the plugins of this shop"
    };
    let plugins = "The folder of plugins, where the daemon runs with --plugins";
    let data = path("data", "DIR", data).long("data");
    let plugins = path("plugins", "DIR", plugins).long("plugins").conflicts_with("data");
    command.arg(if needed { data.required_unless_present("plugins") } else { data }).arg(plugins)
}

fn reloading(command: Command) -> Command {
    command.arg(
        Arg::new("reload")
            .long("reload")
            .action(ArgAction::SetTrue)
            .help("Have the running daemon (--url, with its token) take it at once"),
    )
}

/// Does one of [`commands`]; none if it is none of them.
pub fn run(verb: &str, given: &ArgMatches) -> Option<End> {
    let path = |name: &str| given.get_one::<PathBuf>(name).map(PathBuf::as_path);
    let text = |name: &str| given.get_one::<String>(name).map_or("", String::as_str);
    let named = |name: &str| path(name).unwrap_or(Path::new("."));
    let asked = |name: &str| given.try_get_one::<PathBuf>(name).ok().flatten().cloned();
    let plugins = asked("plugins").or_else(|| asked("data").map(|data| data.join("plugins")));
    let how = show::How::of(given.get_flag("json"), given.get_flag("quiet"));
    let there = || match asked("data") {
        Some(data) if !data.is_dir() => {
            let next = "name the shop's folder, as `coilwright serve --data` does";
            Err(PluginError::NotThere { path: data, next })
        }
        _ => Ok(plugins.clone().unwrap_or_default()),
    };
    let done = match verb {
        "new" => care::new_plugin(text("name"), text("kind"), named("dir")).map(|folder| {
            let at = folder.display().to_string();
            show::answer("plugin.new", &json!({ "plugin": text("name"), "folder": at }), how)
        }),
        "check" | "test" => care::look_at_plugin(named("folder"), plugins.as_deref())
            .map(|looked| told(&looked, json!(null), &format!("plugin.{verb}"), how)),
        "pack" => care::pack_plugin(named("folder"), path("output"), plugins.as_deref()).map(|done| {
            let files: Vec<&String> = done.packed.files.keys().collect();
            let answer = json!({
                "plugin": done.packed.id, "version": done.packed.version, "file": done.file.display().to_string(),
                "sha256": done.sha256, "files": files, "left_out": done.left_out,
            });
            show::answer("plugin.pack", &answer, how)
        }),
        "add" => there()
            .and_then(|plugins| {
                care::add_plugin(named("from"), given.get_one::<String>("sha256").map(String::as_str), &plugins)
            })
            .map(|done| {
                let more = json!({
                    "folder": done.folder.display().to_string(), "off": done.off, "left_out": done.left_out,
                    "set_aside": done.set_aside.map(|path| path.display().to_string()),
                });
                reloaded(told(&done.looked, more, "plugin.add", how), given, how)
            }),
        "off" | "on" => {
            there().and_then(|plugins| care::switch_plugin(text("id"), verb == "off", &plugins)).map(|done| {
                let faults: Vec<String> = done.faults.iter().map(ToString::to_string).collect();
                let answer = json!({ "plugin": text("id"), "state": verb, "changed": done.changed, "faults": faults });
                reloaded(show::answer("plugin.switch", &answer, how), given, how)
            })
        }
        _ => return None,
    };
    Some(done.unwrap_or_else(|e| failed(&e)))
}

/// What was found, told as an answer of `method`; the faults on standard error.
fn told(looked: &Looked, more: Value, method: &str, how: show::How) -> End {
    let info = looked.info.as_ref();
    let cases: Vec<Value> =
        looked.cases.iter().map(|c| json!({ "file": c.file, "title": c.title, "figures": c.compared })).collect();
    let mut answer = json!({
        "right": info.is_some() && looked.faults.is_empty(),
        "plugin": info.map(|info| &info.id), "version": info.map(|info| &info.version),
        "offers": info.map(care::plugin_offers), "cases": cases,
        "faults": looked.faults, "others": looked.others,
    });
    for (name, value) in more.as_object().into_iter().flatten() {
        answer[name] = value.clone();
    }
    let shown = show::answer(method, &answer, how);
    if how != show::How::Json {
        for fault in &looked.faults {
            eprintln!("error: {fault}");
        }
        for fault in &looked.others {
            eprintln!("because of it: {fault}");
        }
    }
    if looked.info.is_some() && looked.faults.is_empty() { shown } else { End::Refused }
}

/// Has the running daemon take it, if that was asked; says how otherwise.
fn reloaded(shown: End, given: &ArgMatches, how: show::How) -> End {
    if shown != End::Done {
        return shown;
    }
    if !given.get_flag("reload") {
        if how == show::How::People || how == show::How::Pipe {
            eprintln!("A running daemon takes it with `coilwright plugin reload`; one that starts takes it by itself.");
        }
        return shown;
    }
    match client(given).map(|client| client.call("plugin.reload", &json!({}))) {
        Ok(Ok(answer)) if how == show::How::Json => {
            if answer["swapped"] == false {
                End::Refused
            } else {
                End::Done
            }
        }
        Ok(Ok(answer)) => show::answer("plugin.reload", &answer, how),
        Ok(Err(e)) => e.report(|_| None),
        Err(end) => end,
    }
}

fn failed(e: &PluginError) -> End {
    for line in e.to_string().lines() {
        eprintln!("error: {line}");
    }
    match e {
        PluginError::NotThere { .. } | PluginError::Unknown { .. } => End::NotFound,
        PluginError::There { .. } | PluginError::Name { .. } | PluginError::Kind { .. } => End::WrongUse,
        PluginError::Refused { .. } | PluginError::LastWires { .. } | PluginError::OtherFile { .. } => End::Refused,
        PluginError::System { .. } => End::Failed,
    }
}
