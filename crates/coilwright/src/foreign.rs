//! Commands beyond the program's own: looked up in the document of the daemon, which knows its plugins.

use crate::ask::{Client, NoAnswer};
use crate::exit::End;
use crate::flags::{self, Spoken};
use crate::show;
use crate::words::{DEFAULT_URL, spoken};
use clap::Command;
use serde_json::{Value, json};

/// Flags that stand for every command and take a value.
const WITH_VALUE: [&str; 3] = ["--url", "--token", "--token-file"];

/// Does what a word asks that is no command of the program's own, if a plugin has it; says why not otherwise.
pub fn run(unknown: &clap::Error, own: impl Fn() -> Command) -> End {
    let args: Vec<String> = std::env::args().collect();
    let as_before = || {
        let _ = unknown.print();
        End::WrongUse
    };
    let Some(noun) = first_word(&args).filter(|noun| own().find_subcommand(noun).is_none()) else { return as_before() };
    let url = value_of(&args, "--url").or_else(|| std::env::var("COILWRIGHT_URL").ok()).unwrap_or(DEFAULT_URL.into());
    let token = match value_of(&args, "--token-file") {
        Some(file) => std::fs::read_to_string(file).ok(),
        None => std::env::var("COILWRIGHT_TOKEN").ok(),
    };
    let token = token.map(|t| t.trim().to_owned()).filter(|t| !t.is_empty());
    let document = match Client::new(&url, token).call("rpc.discover", &json!({})) {
        Ok(document) => document,
        Err(why) => {
            let end = as_before();
            if let NoAnswer::Unreachable(why) = why {
                eprintln!("\nA plugin may have `{noun}`, but: {why}");
            }
            return end;
        }
    };
    let methods = of_plugin(&document, &noun);
    if methods.is_empty() {
        return as_before();
    }
    let mut sub =
        Command::new(noun.clone()).about("Methods of a plugin").subcommand_required(true).arg_required_else_help(true);
    for method in &methods {
        sub = sub.subcommand(flags::command(method, verb(method)));
    }
    let given = match own().subcommand(sub).try_get_matches_from(&args) {
        Ok(given) => given,
        Err(e) => {
            let _ = e.print();
            return if e.use_stderr() { End::WrongUse } else { End::Done };
        }
    };
    let found = given.subcommand().and_then(|(_, given)| given.subcommand());
    let Some((method, given)) =
        found.and_then(|(word, given)| Some((methods.iter().find(|m| verb(m) == word)?, given)))
    else {
        return as_before();
    };
    spoken(method, given, show::of_plugin)
}

fn verb(method: &Spoken) -> &str {
    method.name.split_once('.').map_or("", |(_, verb)| verb)
}

fn of_plugin(document: &Value, noun: &str) -> Vec<Spoken> {
    let all = document["methods"].as_array().into_iter().flatten();
    let of_it = all.filter(|m| m["x-plugin"].as_str() == Some(noun));
    of_it.filter_map(|m| Spoken::documented(m, document)).collect()
}

/// The first argument that is no flag and no flag's value.
fn first_word(args: &[String]) -> Option<String> {
    let mut rest = args.iter().skip(1);
    while let Some(arg) = rest.next() {
        if WITH_VALUE.contains(&arg.as_str()) {
            rest.next();
        } else if !arg.starts_with('-') {
            return Some(arg.clone());
        }
    }
    None
}

/// The value of a flag, wherever it stands.
fn value_of(args: &[String], flag: &str) -> Option<String> {
    let joined = format!("{flag}=");
    args.iter()
        .zip(args.iter().skip(1).map(Some).chain([None]))
        .find_map(|(arg, next)| if arg == flag { next.cloned() } else { arg.strip_prefix(&joined).map(str::to_owned) })
}
