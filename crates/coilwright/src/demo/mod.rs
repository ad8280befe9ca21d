//! `coilwright demo`: the main job told on an invented repair. Every figure was answered by the daemon in this run.

mod story;
mod teller;

use crate::ask::Client;
use crate::exit::End;
use crate::serve::VERSION;
use clap::{Arg, ArgMatches, Command, value_parser};
use coilwright_service::settings;
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use teller::Teller;

/// Marks a folder as one that an earlier demo made: such a one may be set aside, any other is left alone.
const MARK: &str = ".made-by-coilwright-demo";

/// The command and its flags.
pub fn command() -> Command {
    Command::new("demo").about("Tell the main job on an invented repair, with a daemon of its own, and end").arg(
        Arg::new("dir")
            .long("dir")
            .value_name("DIR")
            .value_parser(value_parser!(PathBuf))
            .default_value("demo-shop")
            .help("Folder to make; one that an earlier demo made is set aside"),
    )
}

/// Makes the folder, starts a daemon on a free loopback port, tells the story.
pub fn run(given: &ArgMatches) -> End {
    let dir = given.get_one::<PathBuf>("dir").cloned().unwrap_or_else(|| "demo-shop".into());
    let told = prepare(&dir).and_then(|()| tell(&dir, given.get_flag("json")));
    match told {
        Ok(()) => End::Done,
        Err((end, why)) => {
            if !why.is_empty() {
                eprintln!("error: {why}");
            }
            end
        }
    }
}

type Told<T> = Result<T, (End, String)>;

fn prepare(dir: &Path) -> Told<()> {
    let io = |what: &str, e: std::io::Error| (End::WrongUse, format!("{what}: {e}; choose another folder with --dir"));
    if dir.exists() {
        let of_a_demo = dir.join(MARK).is_file();
        let empty = dir.read_dir().map(|mut d| d.next().is_none()).unwrap_or(false);
        if of_a_demo {
            let aside = (1..).map(|n| PathBuf::from(format!("{}-{n}", dir.display()))).find(|p| !p.exists());
            let aside = aside.unwrap_or_else(|| dir.with_extension("aside"));
            std::fs::rename(dir, &aside).map_err(|e| io(&format!("{} cannot be set aside", dir.display()), e))?;
            eprintln!("{} of an earlier demo is set aside as {}", dir.display(), aside.display());
        } else if !empty {
            return Err((
                End::WrongUse,
                format!(
                    "{} exists and no demo made it: it is left alone; choose another folder with --dir",
                    dir.display()
                ),
            ));
        }
    }
    std::fs::create_dir_all(dir).map_err(|e| io(&format!("{} cannot be made", dir.display()), e))?;
    std::fs::write(dir.join(MARK), "").map_err(|e| io(&format!("{} cannot be written to", dir.display()), e))
}

fn tell(dir: &Path, as_json: bool) -> Told<()> {
    let failed = |why: String| (End::Failed, why);
    let flags = [("server.listen", "127.0.0.1:0".to_owned()), ("store.data", dir.join("data").display().to_string())];
    let settings = settings::read(None, HashMap::new(), &flags).map_err(|e| failed(e.to_string()))?;
    let runtime = tokio::runtime::Runtime::new().map_err(|e| failed(e.to_string()))?;
    let daemon =
        runtime.block_on(coilwright_service::start(&settings, VERSION, |_| {})).map_err(|e| failed(e.to_string()))?;
    let token = std::fs::read_to_string(&daemon.token_file).map_err(|e| failed(e.to_string()))?;
    let client = Client::new(&format!("http://{}", daemon.address), Some(token.trim().to_owned()));
    let told = story::tell(&Teller::new(client, as_json), dir);
    runtime.block_on(daemon.stop()).map_err(|e| failed(e.to_string()))?;
    told
}
