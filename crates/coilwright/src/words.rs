//! The command line: a few commands of the program's own, and one for every method in the method's own words.

use crate::ask::Client;
use crate::exit::{EXPLAINED, End};
use crate::flags::Spoken;
use crate::{care, demo, export, flags, foreign, plugin, serve, show};
use clap::error::ErrorKind;
use clap::{Arg, ArgAction, ArgMatches, Command};
use coilwright_proto::{MethodDoc, methods};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// Where the daemon is looked for if nobody says.
pub const DEFAULT_URL: &str = "http://127.0.0.1:7348";

/// Reads the command line and does what it says.
pub fn run() -> End {
    let methods = methods();
    let given = match command(&methods).try_get_matches() {
        Ok(given) => given,
        Err(e) if e.kind() == ErrorKind::InvalidSubcommand => return foreign::run(&e, || command(&methods)),
        Err(e) => {
            let _ = e.print();
            return if e.use_stderr() { End::WrongUse } else { End::Done };
        }
    };
    match given.subcommand() {
        Some(("serve", given)) => serve::run(given),
        Some(("demo", given)) => demo::run(given),
        Some((name @ ("backup" | "restore" | "repair" | "doctor"), given)) => care::run(name, given),
        Some(("export", given)) => export::run(given),
        Some(("rpc", given)) => by_name(given),
        Some(("completions", given)) => completions(given, &methods),
        Some((noun, given)) => {
            let Some((verb, given)) = given.subcommand() else { return End::WrongUse };
            if noun == "plugin"
                && let Some(end) = plugin::run(verb, given)
            {
                return end;
            }
            match methods.iter().find(|m| m.words() == (noun, verb)) {
                Some(method) => by_words(method, given),
                None => End::WrongUse,
            }
        }
        None => End::WrongUse,
    }
}

fn command(methods: &[MethodDoc]) -> Command {
    let mut command = Command::new("coilwright")
        .version(serve::VERSION)
        .about("Inventory and planning for a workshop that rewinds loudspeaker voice coils")
        .after_help(format!("{EXPLAINED}\nA number with a unit may be written as people do: 51mm, \"2 in\", \"30 AWG\", \"0,25 mm\"; a measurement with its uncertainty: 0.279±0.007."))
        .subcommand_required(true)
        .arg_required_else_help(true)
        .arg(Arg::new("url").long("url").global(true).env("COILWRIGHT_URL").value_name("URL").default_value(DEFAULT_URL).help("Where the daemon answers"))
        .arg(Arg::new("token").long("token").global(true).hide(true).hide_env_values(true).env("COILWRIGHT_TOKEN"))
        .arg(Arg::new("token-file").long("token-file").global(true).value_name("FILE").value_parser(clap::value_parser!(PathBuf)).help("File with the token that writing needs; or set COILWRIGHT_TOKEN"))
        .arg(Arg::new("json").long("json").global(true).action(ArgAction::SetTrue).help("Print the answer as JSON, an error of the daemon as JSON on standard error"))
        .arg(Arg::new("quiet").short('q').long("quiet").global(true).action(ArgAction::SetTrue).help("Print ids only, one a line, or the one figure that was asked for"))
        .subcommand(serve::command())
        .subcommand(demo::command())
        .subcommands(care::commands())
        .subcommand(export::command())
        .subcommand(
            Command::new("rpc")
                .about("Call any method with its params as JSON")
                .arg(Arg::new("method").value_name("METHOD").required(true))
                .arg(Arg::new("params").value_name("JSON").default_value("{}")),
        )
        .subcommand(
            Command::new("completions")
                .about("Print a completion script for a shell")
                .arg(Arg::new("shell").required(true).value_parser(clap::value_parser!(clap_complete::Shell))),
        );
    let mut nouns: BTreeMap<&str, Vec<&MethodDoc>> = BTreeMap::new();
    for method in methods {
        nouns.entry(method.words().0).or_default().push(method);
    }
    for (noun, methods) in nouns {
        let about = about(noun);
        let mut sub = Command::new(noun).about(about).subcommand_required(true).arg_required_else_help(true);
        for method in methods {
            let mut verb = flags::command(&Spoken::own(method), method.words().1);
            if noun == "sheet" || method.name == "care.export" {
                verb = verb.arg(
                    Arg::new("output")
                        .short('o')
                        .long("output")
                        .value_name("FILE")
                        .value_parser(clap::value_parser!(PathBuf))
                        .help("Write to this file instead of standard output"),
                );
            }
            if method.name == "journal.verify" {
                verb = care::verify_flags(verb);
            }
            sub = sub.subcommand(verb);
        }
        if noun == "plugin" {
            sub = sub.subcommands(plugin::commands());
        }
        command = command.subcommand(sub);
    }
    command
}

fn about(noun: &str) -> &'static str {
    match noun {
        "coil" => "Design coils",
        "wire" => "The catalog's wires",
        "former" => "The catalog's former materials",
        "sheet" => "Drawings and printable sheets",
        "shop" => "How the shop and its daemon are, and what the shop decides by",
        "spool" => "Spools: arrival, readings, promises, what is left",
        "job" => "Jobs: from the customer's coil to the hand-over",
        "plan" => "Which spool for which coil, and what stands in the way of the rest",
        "learn" => "What the shop's own coils have taught",
        "care" => "What keeps the shop's memory safe, asked of the daemon",
        "plugin" => "Plugins: begun, checked, packed, added on their files; listed and reloaded by the daemon",
        "journal" => "Everything that was ever decided, by sequence",
        _ => "",
    }
}

fn by_words(method: &MethodDoc, given: &ArgMatches) -> End {
    if method.name == "journal.verify"
        && let Some(folder) = given.get_one::<PathBuf>("data")
    {
        return care::verify(folder, given);
    }
    let output = given.try_get_one::<PathBuf>("output").ok().flatten();
    if method.name == "care.export" && !given.get_flag("json") {
        let params = flags::params(&Spoken::own(method), given).map_err(End::wrong_use);
        return params
            .and_then(|params| Ok(export::of_daemon(&client(given)?, params, output)))
            .unwrap_or_else(|end| end);
    }
    spoken(&Spoken::own(method), given, |answer, how| match output {
        Some(file) => show::to_file(answer, file),
        None => show::answer(method.name, answer, how),
    })
}

/// Asks a method with what the command line gives it.
pub fn spoken(method: &Spoken, given: &ArgMatches, show: impl FnOnce(&Value, show::How) -> End) -> End {
    let params = match flags::params(method, given) {
        Ok(params) => params,
        Err(why) => return End::wrong_use(why),
    };
    asked(given, &method.name, &params, show, |at| in_order(method, at))
}

/// The order of what a command takes without its name, where one of those is what was not understood.
fn in_order(method: &Spoken, at: &str) -> Option<String> {
    let leading = method.leading();
    let unnamed = leading.iter().any(|l| at.strip_prefix('/') == Some(l.as_str()));
    let all: Vec<String> = leading.iter().map(|l| l.to_uppercase()).collect();
    unnamed.then(|| format!("coilwright {} {}", method.name.replace('.', " "), all.join(" ")))
}

fn by_name(given: &ArgMatches) -> End {
    let text = given.get_one::<String>("params").map_or("{}", String::as_str);
    let method = given.get_one::<String>("method").map_or("", String::as_str);
    match serde_json::from_str::<Value>(text) {
        Ok(params) => asked(given, method, &params, |answer, _| show::json(answer), |_| None),
        Err(e) => End::wrong_use(format!("the params are no JSON: {e}")),
    }
}

fn asked(
    given: &ArgMatches,
    method: &str,
    params: &Value,
    show: impl FnOnce(&Value, show::How) -> End,
    in_order: impl FnOnce(&str) -> Option<String>,
) -> End {
    match client(given).map(|client| client.call(method, params)) {
        Ok(Ok(answer)) => show(&answer, show::How::of(given.get_flag("json"), given.get_flag("quiet"))),
        Ok(Err(e)) if given.get_flag("json") => e.report_json(),
        Ok(Err(e)) => e.report(in_order),
        Err(end) => end,
    }
}

/// The daemon that the flags name, with the token that they give.
pub fn client(given: &ArgMatches) -> Result<Client, End> {
    let url = given.get_one::<String>("url").map_or(DEFAULT_URL, String::as_str);
    token(given).map(|token| Client::new(url, token)).map_err(End::wrong_use)
}

/// The token: a file named by a flag goes before the environment.
fn token(given: &ArgMatches) -> Result<Option<String>, String> {
    match given.get_one::<PathBuf>("token-file") {
        None => Ok(given.get_one::<String>("token").map(|t| t.trim().to_owned()).filter(|t| !t.is_empty())),
        Some(file) => std::fs::read_to_string(file).map(|t| Some(t.trim().to_owned())).map_err(|e| {
            format!(
                "--token-file {}: {e}; the daemon keeps its token in the data folder's file `token`",
                file.display()
            )
        }),
    }
}

fn completions(given: &ArgMatches, methods: &[MethodDoc]) -> End {
    let Some(shell) = given.get_one::<clap_complete::Shell>("shell") else { return End::WrongUse };
    let mut script = Vec::new();
    clap_complete::generate(*shell, &mut command(methods), "coilwright", &mut script);
    show::print(&String::from_utf8_lossy(&script))
}
