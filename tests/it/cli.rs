//! The commands: tables for people, tab-separated lines for a pipe, JSON where asked, and exit codes to rely on.

use crate::shop::{BINARY, Shop, command, sample};
use serde_json::{Value, json};
use std::io::Write;
use std::process::{Command, Output, Stdio};

struct Ran {
    code: Option<i32>,
    out: String,
    err: String,
}

#[track_caller]
fn ran(mut command: Command) -> Ran {
    said(command.output().expect("it runs"))
}

#[track_caller]
fn said(o: Output) -> Ran {
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
    let ran = Ran { code: o.status.code(), out: text(o.stdout), err: text(o.stderr) };
    assert!(!ran.err.contains("panicked"), "{}", ran.err);
    ran
}

impl Ran {
    #[track_caller]
    fn well(self) -> String {
        assert_eq!(self.code, Some(0), "{}{}", self.out, self.err);
        self.out
    }

    /// Ended with `code`, nothing on standard output, and words on standard error.
    #[track_caller]
    fn badly(self, code: i32, says: &[&str]) {
        assert_eq!((self.code, self.out.as_str()), (Some(code), ""), "{}", self.err);
        for word in says {
            assert!(self.err.contains(word), "it does not say {word:?}: {}", self.err);
        }
    }
}

/// Flags of the sample coil as a person writes them.
const WRITTEN: [&str; 33] = [
    "coil",
    "design",
    "--wire",
    "cu-awg30-single",
    "--former.material=aluminium-foil",
    "--former.inside-diameter-mm",
    "51mm",
    "--former.wall-mm",
    "0,12 mm",
    "--former.height-mm",
    "3.8 cm",
    "--former.slit-mm=1",
    "--former.shims-mm",
    "0.05",
    "--winding.layers=2",
    "--winding.width-mm=15.0",
    "--leads-m",
    "120 mm",
    "--tails-m=0.4",
    "--threading-m=0.6",
    "--gap.pole-mm=50.5",
    "--gap.bore-mm=53",
    "--gap.plate-mm=8",
    "--gap.min-inner-mm=0.2",
    "--gap.min-outer-mm=0.25",
    "--target.dcr-ohm",
    "5.8 ohm",
    "--target.tolerance-pct=3",
    "--target.rated-ohm=8",
    "--bench-c=23",
    "--hot-c=180",
    "--offset-mm=0",
    "--json",
];

#[test]
fn flags_say_the_same_as_params() {
    let shop = Shop::open();
    let by_flags: Value = serde_json::from_str(&ran(shop.command(&WRITTEN)).well()).unwrap();
    let mut params = sample();
    // What is assumed is left to the daemon: an assumption that is given counts as known.
    params.as_object_mut().unwrap().remove("assume");
    let args = ["coil", "design", "--json", "--params", &params.to_string()];
    let by_params: Value = serde_json::from_str(&ran(shop.command(&args)).well()).unwrap();
    let by_call = shop.answer("coil.design", &params);
    assert_eq!(by_params, by_call, "the same JSON, the same answer");
    for member in ["turns", "length_m", "dcr_ohm", "blank", "mandrel_mm", "clearance_outer_mm", "findings"] {
        assert_eq!(by_flags[member], by_call[member], "{member}");
    }
}

#[test]
fn flags_go_on_top_of_params() {
    let shop = Shop::open();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("coil.json");
    std::fs::write(&file, sample().to_string()).unwrap();
    let args =
        ["coil", "design", "--params", file.to_str().unwrap(), "--bench-c", "30", "--gap.bore-mm", "53.1", "--json"];
    let answer: Value = serde_json::from_str(&ran(shop.command(&args)).well()).unwrap();
    let understood = &answer["understood"];
    assert_eq!((&understood["bench_c"], &understood["gap"]["bore_mm"]), (&json!(30.0), &json!(53.1)));
    assert_eq!(understood["gap"]["pole_mm"], 50.5, "what no flag says stays");
}

#[test]
fn params_are_taken_from_standard_input() {
    let shop = Shop::open();
    let mut child = shop
        .command(&["coil", "design", "--params", "-", "--json"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(sample().to_string().as_bytes()).unwrap();
    let answer: Value = serde_json::from_str(&said(child.wait_with_output().unwrap()).well()).unwrap();
    assert_eq!(answer, shop.answer("coil.design", &sample()));
}

#[test]
fn a_measurement_is_written_with_its_uncertainty() {
    let shop = Shop::open();
    for written in ["0.12±0.003", "0.12 ± 0.003", "0.12+-0.003", "0,12 mm ± 3 um", "{\"value\":0.12,\"u\":0.003}"] {
        let params = sample().to_string();
        let args = ["coil", "design", "--params", &params, "--former.wall-mm", written, "--json"];
        let answer: Value = serde_json::from_str(&ran(shop.command(&args)).well()).unwrap();
        let wall = &answer["understood"]["former"]["wall_mm"];
        assert_eq!(wall["value"], 0.12, "{written}");
        assert!((wall["u"].as_f64().unwrap() - 0.003).abs() < 1e-12, "{written}: {wall}");
        assert_eq!(answer["turns"], 103);
    }
}

#[test]
fn a_wire_written_out_is_taken_as_a_flag() {
    let shop = Shop::open();
    let wire = r#"{"conductor":"copper","bare_mm":0.254,"overall_mm":0.27686,"ohm_per_m":0.34026,"g_per_m":0.46312}"#;
    let params = sample().to_string();
    let args = ["coil", "design", "--params", &params, "--wire", wire, "--json"];
    let answer: Value = serde_json::from_str(&ran(shop.command(&args)).well()).unwrap();
    assert_eq!(answer["understood"]["wire"]["ohm_per_m"], 0.34026);
}

#[test]
fn in_a_pipe_a_list_is_tab_separated_without_a_head() {
    let shop = Shop::open();
    let out = ran(shop.command(&["wire", "list", "--text", "awg30", "--limit", "2"])).well();
    let rows: Vec<Vec<&str>> = out.lines().map(|l| l.split('\t').collect()).collect();
    assert_eq!(rows.len(), 2, "{out}");
    for row in rows {
        assert_eq!(row.len(), 7, "{row:?}");
        assert!(row[0].starts_with("cu-awg30") && row[2..6].iter().all(|n| n.parse::<f64>().is_ok()), "{row:?}");
    }
    let out = ran(shop.command(&["former", "list"])).well();
    assert!(out.lines().all(|l| l.split('\t').count() == 6) && out.contains("aluminium-foil\t"), "{out}");
}

#[test]
fn in_a_pipe_an_answer_is_a_name_and_its_figures_a_line() {
    let shop = Shop::open();
    let out = ran(shop.command(&["coil", "design", "--params", &sample().to_string()])).well();
    let dcr: Vec<&str> = out.lines().find(|l| l.starts_with("dcr_ohm\t")).expect("a line").split('\t').collect();
    let answer = shop.answer("coil.design", &sample());
    assert_eq!(dcr[1].parse::<f64>().unwrap(), answer["dcr_ohm"]["value"].as_f64().unwrap());
    assert_eq!(dcr[2].parse::<f64>().unwrap(), answer["dcr_ohm"]["u"].as_f64().unwrap());
    assert!(out.lines().any(|l| l.starts_with("mass.wire_g\t")), "{out}");
}

/// `script` gives a command a terminal: it comes with every Debian.
#[cfg(target_os = "linux")]
#[track_caller]
pub fn on_a_terminal(shop: &Shop, line: &str) -> String {
    let mut script = Command::new("script");
    script.args(["-qec", &format!("'{BINARY}' {line}"), "/dev/null"]);
    script.env("COILWRIGHT_URL", shop.url()).stdin(Stdio::null());
    ran(script).well().replace('\r', "")
}

#[cfg(target_os = "linux")]
#[test]
fn on_a_terminal_a_list_is_a_table_and_says_how_it_goes_on() {
    let shop = Shop::open();
    let out = on_a_terminal(&shop, "wire list --text awg30 --limit 2");
    let lines: Vec<&str> = out.lines().collect();
    assert!(lines[0].starts_with("WIRE") && lines[0].contains("OVERALL MM"), "{out}");
    assert!(lines[1].starts_with("cu-awg30-") && lines[1].contains('±'), "{out}");
    assert!(out.contains("more: add --cursor cu-awg30-"), "{out}");
    assert!(!out.contains('\t'), "{out}");
    assert!(on_a_terminal(&shop, "former list").starts_with("FORMER"));
    assert!(on_a_terminal(&shop, "shop status").contains("good"));
}

#[cfg(target_os = "linux")]
#[test]
fn on_a_terminal_a_coil_is_told_with_what_is_wrong_first() {
    let shop = Shop::open();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("coil.json");
    std::fs::write(&file, sample().to_string()).unwrap();
    let told = |more: &str| on_a_terminal(&shop, &format!("coil design --params '{}' {more}", file.display()));
    let out = told("--gap.bore-mm 52.5");
    assert!(out.starts_with("STOP"), "{out}");
    let out = told("");
    for words in ["52 + 51 = 103", "5.80 ± 0.0", "159.60 mm", "0.296 ± 0.0", "Taken for granted"] {
        assert!(out.contains(words), "no {words:?} in {out}");
    }
}

#[test]
fn quiet_prints_ids_and_nothing_else() {
    let shop = Shop::open();
    for (args, wanted) in [
        (&["wire", "list", "--text", "awg30-s", "-q"][..], "cu-awg30-single\n"),
        (&["wire", "show", "cu-awg30-single", "-q"], "cu-awg30-single\n"),
        (&["wire", "list", "--text", "no such wire", "-q"], ""),
    ] {
        let out = ran(shop.command(args)).well();
        assert_eq!(out.trim_start_matches('\n'), wanted, "{args:?}");
    }
    let formers = ran(shop.command(&["former", "list", "-q"])).well();
    assert!(formers.lines().any(|l| l == "polyimide-film"), "{formers}");
}

#[test]
fn quiet_prints_the_one_figure_where_there_is_no_id() {
    let shop = Shop::open();
    let quiet = |args: &[&str]| ran(shop.command(&[args, &["-q"]].concat())).well().trim().to_owned();
    let dcr = shop.answer("coil.design", &sample())["dcr_ohm"]["value"].as_f64();
    assert_eq!(quiet(&["coil", "design", "--params", &sample().to_string()]).parse().ok(), dcr);
    // T = (7/6 - 1)(1 + 0.00393 * 0)/0.00393 + 20 by hand.
    let hot: f64 =
        quiet(&["coil", "heat", "--cold-ohm", "6", "--cold-c", "20", "--hot-ohm", "7", "--conductor", "copper"])
            .parse()
            .expect("a figure");
    assert!((hot - 62.409).abs() < 0.001, "{hot}");
    assert_eq!(quiet(&["shop", "status"]), "good");
    assert_eq!(quiet(&["journal", "verify"]), "0");
}

#[test]
fn json_is_the_answer_itself() {
    let shop = Shop::open();
    for (args, method, params) in [
        (&["wire", "show", "cu-awg30-single", "--json"][..], "wire.show", json!({ "wire": "cu-awg30-single" })),
        (&["rpc", "wire.show", r#"{"wire":"cu-awg30-single"}"#], "wire.show", json!({ "wire": "cu-awg30-single" })),
        (&["former", "list", "--json"], "former.list", json!({})),
        (&["rpc", "rpc.discover"], "rpc.discover", json!({})),
    ] {
        let out: Value = serde_json::from_str(&ran(shop.command(args)).well()).unwrap();
        assert_eq!(out, shop.answer(method, &params), "{args:?}");
    }
}

#[test]
fn a_list_that_ends_at_its_limit_says_beside_the_output_how_it_goes_on() {
    let shop = Shop::open();
    for how in [&[][..], &["-q"]] {
        let ask = |more: &[&str]| ran(shop.command(&[&["wire", "list", "--text", "awg30"], more, how].concat()));
        let met = ask(&["--limit", "2"]);
        assert_eq!((met.code, met.out.lines().count()), (Some(0), 2), "{}", met.out);
        let cursor = met.err.split("--cursor ").nth(1).and_then(|rest| rest.split(',').next());
        let cursor = cursor.unwrap_or_else(|| panic!("it does not say how to go on: {}", met.err));
        // What it says to type gives the rest, and the end says nothing.
        let rest = ask(&["--cursor", cursor]);
        assert_eq!(rest.err, "");
        assert_eq!(met.out + &rest.out, ask(&[]).well());
    }
    shop.done("shop.set", &json!({ "confidence": 0.97 }));
    shop.done("shop.set", &json!({ "confidence": 0.98 }));
    let met = ran(shop.command(&["journal", "read", "--limit", "1"]));
    assert!(met.err.contains("--after 1"), "{}", met.err);
}

#[test]
fn an_error_under_json_is_the_daemons_own_on_one_line() {
    let shop = Shop::open();
    let wanted = shop.refused("wire.show", &json!({ "wire": "cu-awg30-singel" }));
    let met = ran(shop.command(&["wire", "show", "cu-awg30-singel", "--json"]));
    assert_eq!((met.code, met.out.as_str(), met.err.lines().count()), (Some(3), "", 1), "{}", met.err);
    assert_eq!(serde_json::from_str::<Value>(&met.err).expect("JSON"), wanted);
}

#[test]
fn exit_codes_tell_why() {
    let shop = Shop::open();
    for args in [&["wire", "show", "cu-awg30-singel"][..], &["rpc", "wire.show", r#"{"wire":"cu-awg30-singel"}"#]] {
        ran(shop.command(args)).badly(3, &["cu-awg30-singel", "next:", "`cu-awg30-single`"]);
    }
    for (args, says) in [
        (&["coil", "design", "--wyre", "x"][..], &["--wyre", "--wire"][..]),
        (&["coil", "desing"], &["desing", "design"]),
        (&["coil", "design", "--wire", "cu-awg30-single"], &["former", "required", "next:"]),
        (&["coil", "design", "--params", "{"], &["--params"]),
        (&["coil", "design", "--params", "[1]"], &["--params", "object"]),
        (&["coil", "design", "--params", "/nowhere/coil.json"], &["/nowhere/coil.json"]),
        (&["wire", "list", "--limit", "0"], &["limit", "1 to 1000"]),
        (&["rpc", "wire.show", "{"], &["JSON"]),
        (&["rpc", "no.such", "{}"], &["no.such"]),
    ] {
        ran(shop.command(args)).badly(2, says);
    }
    let mut wall = sample();
    wall["former"]["wall_mm"] = json!("1,234 mm");
    ran(shop.command(&["coil", "design", "--params", &wall.to_string()]))
        .badly(2, &["former.wall_mm", "1.234 mm", "1234 mm"]);
    // Nobody listens where somebody has just stopped listening.
    let free = std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    let url = format!("http://{free}");
    ran(command(&["wire", "list", "--url", &url])).badly(4, &[&url, "--url", "coilwright serve"]);
}

#[test]
fn the_flag_url_wins_over_the_environment() {
    let shop = Shop::open();
    let mut command = command(&["wire", "show", "cu-awg30-single", "-q", "--url", &shop.url()]);
    command.env("COILWRIGHT_URL", "http://127.0.0.1:1");
    assert!(ran(command).well().contains("cu-awg30-single"));
}

#[test]
fn help_names_every_command_and_the_exit_codes() {
    let shop = Shop::open();
    let help = ran(command(&["--help"])).well();
    assert!(help.contains("Exit codes: 0 done"), "{help}");
    let document = shop.answer("rpc.discover", &json!({}));
    for method in document["methods"].as_array().unwrap() {
        let (noun, verb) = method["name"].as_str().unwrap().split_once('.').unwrap();
        // A plugin's command is looked up in the daemon's document.
        let help = ran(shop.command(&[noun, verb, "--help"])).well();
        let summary = method["summary"].as_str().unwrap().trim_end_matches('.');
        assert!(help.starts_with(summary), "{noun} {verb}: {help}");
    }
    assert!(ran(command(&["--version"])).well().starts_with("coilwright "));
    assert_eq!(ran(command(&[])).code, Some(2));
}

#[test]
fn completions_print_a_script_that_the_shell_reads() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let script = ran(command(&["completions", shell])).well();
        assert!(script.contains("coilwright") && script.contains("former"), "{shell}");
    }
    let script = ran(command(&["completions", "bash"])).well();
    let mut bash = Command::new("bash").arg("-n").stdin(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    bash.stdin.take().unwrap().write_all(script.as_bytes()).unwrap();
    let ended = bash.wait_with_output().unwrap();
    assert!(ended.status.success(), "{}", String::from_utf8_lossy(&ended.stderr));
}

#[test]
fn a_drawing_goes_to_a_file_or_to_standard_output() {
    let shop = Shop::open();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("section.svg");
    let params = json!({ "coil": sample(), "title": "Ossipan B12" }).to_string();
    let args = ["sheet", "section", "--params", &params];
    let written = ran(shop.command(&[&args[..], &["-o", file.to_str().unwrap()]].concat()));
    assert!(written.err.contains("section.svg"), "{}", written.err);
    assert_eq!(written.well(), "");
    let (in_file, printed) = (std::fs::read_to_string(&file).unwrap(), ran(shop.command(&args)).well());
    assert_eq!(in_file.trim_end(), printed.trim_end());
    let drawing = roxmltree::Document::parse(&in_file).expect("well-formed");
    assert_eq!(drawing.root_element().tag_name().name(), "svg");
    let nowhere = ran(shop.command(&[&args[..], &["-o", "/nowhere/section.svg"]].concat()));
    nowhere.badly(2, &["/nowhere/section.svg", "-o"]);
}

#[cfg(unix)]
#[test]
fn a_reader_that_goes_away_is_a_good_end() {
    let shop = Shop::open();
    // More than a pipe holds (64 KiB), so that the writer meets the closed end.
    let line = format!("set -o pipefail; '{BINARY}' wire list --limit 1000 --json | head -n 1");
    let mut bash = Command::new("bash");
    bash.args(["-c", &line]).env("COILWRIGHT_URL", shop.url());
    let out = ran(bash);
    assert_eq!(out.err, "");
    assert_eq!(out.well(), "{\n");
}
