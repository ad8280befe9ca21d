//! `coilwright demo`: the main job told on an invented repair. Every figure was answered by the daemon in this run.

use crate::ask::Client;
use crate::exit::End;
use crate::serve::VERSION;
use crate::show::figure;
use clap::{Arg, ArgMatches, Command, value_parser};
use coilwright_service::settings;
use serde_json::{Value, json};
use std::cell::Cell;
use std::collections::HashMap;
use std::path::{Path, PathBuf};

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
    let flags = [("server.listen", "127.0.0.1:0".to_owned())];
    let settings = settings::read(None, HashMap::new(), &flags).map_err(|e| (End::Failed, e.to_string()))?;
    let runtime = tokio::runtime::Runtime::new().map_err(|e| (End::Failed, e.to_string()))?;
    let daemon = runtime
        .block_on(coilwright_service::start(&settings, VERSION, |_| {}))
        .map_err(|e| (End::Failed, e.to_string()))?;
    let teller = Teller { client: Client::new(&format!("http://{}", daemon.address)), as_json, calls: Cell::new(0) };
    let told = story(&teller, dir);
    runtime.block_on(daemon.stop()).map_err(|e| (End::Failed, e.to_string()))?;
    told
}

/// Asks the daemon and says what it answered.
struct Teller {
    client: Client,
    as_json: bool,
    calls: Cell<u32>,
}

impl Teller {
    fn ask(&self, method: &str, params: Value) -> Told<Value> {
        self.calls.set(self.calls.get() + 1);
        match self.client.call(method, &params) {
            Ok(answer) => {
                if self.as_json {
                    println!("{}", json!({ "method": method, "params": params, "result": answer }));
                }
                Ok(answer)
            }
            Err(e) => Err((e.report(), String::new())),
        }
    }

    fn say(&self, text: impl AsRef<str>) {
        if !self.as_json {
            println!("{}", text.as_ref());
        }
    }
}

/// The coil of the story: a 38 mm midrange whose motor was measured on the bench; only the wire differs from try to try.
fn coil(wire: &str, winding: Value) -> Value {
    json!({
        "wire": wire,
        "former": { "material": "aluminium-foil", "inside_diameter_mm": 38.30, "wall_mm": 0.10, "height_mm": 32, "slit_mm": 1.0, "shims_mm": [0.05] },
        "winding": winding,
        "leads_m": 0.12, "tails_m": 0.40, "threading_m": 0.60,
        "gap": { "pole_mm": 38.00, "bore_mm": 39.95, "plate_mm": 6.0, "min_inner_mm": 0.15, "min_outer_mm": 0.20 },
        "target": { "dcr_ohm": 5.95, "tolerance_pct": 2.5, "rated_ohm": 8 },
        "bench_c": 22, "hot_c": 180,
    })
}

fn story(t: &Teller, dir: &Path) -> Told<()> {
    t.say("An invented repair: a Quillmere 10 midrange, 8 Ω, one coil burnt open. Nobody sells the coil any more.\n");

    t.say("1. The burnt coil is measured");
    t.say("   gap: pole 38.00, bore 39.95, plate 6.0 mm · former 38.30 mm inside, 0.10 mm aluminium, slit");
    t.say("   winding 14.5 mm wide, 2 layers, 56 + 55 turns counted · wire 0.246 mm over what is left of its enamel");
    let near = t.ask(
        "wire.list",
        json!({ "conductor": "copper", "text": "awg", "bare_min_mm": 0.20, "bare_max_mm": 0.30, "limit": 50 }),
    )?;
    let candidates: Vec<String> =
        near["items"].as_array().into_iter().flatten().filter(|w| holds(w, 0.246)).map(|w| word(w, "wire")).collect();
    t.say(format!("   wires whose overall diameter may be 0.246 mm: {}", candidates.join(", ")));
    let copy =
        t.ask("coil.design", coil("cu-awg31-single", json!({ "turns_per_layer": [56, 55], "width_mm": 14.5 })))?;
    t.say(format!(
        "   with that count, AWG 31 single would have measured {} Ω at 20 °C before it burnt\n",
        figure(&copy["dcr_ohm"])
    ));

    t.say("2. \"There is AWG 29 on the shelf, use that\"");
    let fat = t.ask("coil.design", coil("cu-awg29-single", json!({ "layers": 2, "width_mm": 14.5 })))?;
    report(t, &fat);
    t.say("");

    t.say("3. AWG 31 in the same width");
    let fits = t.ask("coil.design", coil("cu-awg31-single", json!({ "layers": 2, "width_mm": 14.5 })))?;
    report(t, &fits);
    t.say(format!(
        "   blank {:.2} mm long, mandrel {:.2} mm, tension {} g hanging by layer",
        number(&fits["blank"]["length_mm"]),
        number(&fits["mandrel_mm"]),
        tension(&fits)
    ));
    t.say(format!(
        "   one spool must hold {} m in one piece; the meter should show {} Ω at 22 °C\n",
        figure(&fits["need_m"]),
        figure(&fits["dcr_bench_ohm"])
    ));

    t.say("4. The coil in its gap, drawn to scale");
    let sheet = t.ask("sheet.section", json!({ "coil": coil("cu-awg31-single", json!({ "layers": 2, "width_mm": 14.5 })), "title": "Quillmere 10, rewound" }))?;
    let file = dir.join("section.svg");
    let svg = sheet["svg"].as_str().unwrap_or_default();
    std::fs::write(&file, svg).map_err(|e| (End::WrongUse, format!("{} cannot be written: {e}", file.display())))?;
    t.say(format!("   {}", sheet["sentence"].as_str().unwrap_or_default()));
    t.say(format!("   written: {}\n", file.display()));
    t.say(format!("{} calls to the daemon; every figure above was answered by it. Solvents, epoxy and hot ovens: the safety data sheets and local codes come first.", t.calls.get()));
    Ok(())
}

fn report(t: &Teller, d: &Value) {
    t.say(format!(
        "   {} turns, {} Ω at 20 °C, {} mm over the cross-over, {} mm free outside",
        d["turns_per_layer"].as_array().map_or(String::new(), |n| n
            .iter()
            .map(Value::to_string)
            .collect::<Vec<_>>()
            .join(" + ")),
        figure(&d["dcr_ohm"]),
        figure(&d["outside_crossover_mm"]),
        figure(&d["clearance_outer_mm"]),
    ));
    for f in d["findings"].as_array().into_iter().flatten().filter(|f| f["level"] != "note") {
        t.say(format!("   {}: {}", word(f, "level").to_uppercase(), word(f, "text")));
    }
    let levels: Vec<String> = d["findings"].as_array().into_iter().flatten().map(|f| word(f, "level")).collect();
    if !levels.iter().any(|l| l == "stop") {
        let watched = levels.iter().any(|l| l == "watch");
        t.say(if watched { "   it fits; mind what is to be watched" } else { "   it fits" });
    }
}

fn holds(wire: &Value, overall_mm: f64) -> bool {
    let limit = |name: &str| wire[name].as_f64();
    limit("overall_min_mm").zip(limit("overall_max_mm")).is_some_and(|(min, max)| (min..=max).contains(&overall_mm))
}

fn word(v: &Value, name: &str) -> String {
    v[name].as_str().unwrap_or_default().into()
}

fn number(v: &Value) -> f64 {
    v.as_f64().unwrap_or(f64::NAN)
}

fn tension(d: &Value) -> String {
    d["tension_g"]
        .as_array()
        .map_or(String::new(), |t| t.iter().map(|g| format!("{:.0}", number(g))).collect::<Vec<_>>().join(" / "))
}
