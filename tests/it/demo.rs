//! The demo: it ends well, writes a drawing, leaves other people's folders alone, and prints no figure of its own.

use crate::shop::command;
use serde_json::Value;
use std::path::Path;
use std::process::Output;

fn demo(dir: &Path, more: &[&str]) -> Output {
    let mut args = vec!["demo", "--dir", dir.to_str().expect("a path of text")];
    args.extend(more);
    command(&args).output().expect("it runs")
}

#[track_caller]
fn told(out: Output) -> String {
    let (said, err) = (String::from_utf8_lossy(&out.stdout), String::from_utf8_lossy(&out.stderr));
    assert_eq!(out.status.code(), Some(0), "{said}{err}");
    said.into_owned()
}

#[test]
fn it_ends_well_and_writes_a_drawing() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("shop");
    let story = told(demo(&dir, &[]));
    // The job's turning points: the first wire is refused by the gap, in figures, and another fits.
    let (refused, fits) = (story.find("STOP"), story.find("it fits"));
    assert!(refused.is_some() && fits > refused, "{story}");
    assert!(story.contains("short of the"), "{story}");
    let drawing = std::fs::read_to_string(dir.join("section.svg")).expect("a drawing");
    let drawing = roxmltree::Document::parse(&drawing).expect("well-formed");
    assert_eq!(drawing.root_element().tag_name().name(), "svg");
}

#[test]
fn a_second_run_sets_the_first_aside() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("shop");
    told(demo(&dir, &[]));
    std::fs::write(dir.join("mine.txt"), "notes").unwrap();
    for n in 1..=2 {
        told(demo(&dir, &[]));
        assert!(dir.join("section.svg").is_file() && !dir.join("mine.txt").exists());
        assert!(folder.path().join(format!("shop-{n}")).join("section.svg").is_file(), "shop-{n}");
    }
    assert_eq!(std::fs::read_to_string(folder.path().join("shop-1/mine.txt")).unwrap(), "notes", "nothing is lost");
}

#[test]
fn a_folder_that_no_demo_made_is_refused_untouched() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("photos");
    std::fs::create_dir(&dir).unwrap();
    std::fs::write(dir.join("a.txt"), "mine").unwrap();
    let out = demo(&dir, &[]);
    let said = String::from_utf8_lossy(&out.stderr);
    assert_eq!(out.status.code(), Some(2), "{said}");
    assert!(said.contains("photos") && said.contains("left alone") && said.contains("--dir"), "{said}");
    let left: Vec<_> = std::fs::read_dir(&dir).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert_eq!(left, ["a.txt"]);
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "nothing beside it either");
    // A file in its place is no folder at all.
    let file = folder.path().join("file");
    std::fs::write(&file, "mine").unwrap();
    assert_eq!(demo(&file, &[]).status.code(), Some(2));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "mine");
}

#[test]
fn every_figure_of_the_story_was_answered_or_asked() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("shop");
    let story = told(demo(&dir, &[])).replace(folder.path().to_str().unwrap(), "");
    let calls = calls(&told(demo(&dir, &["--json"])));
    let strange = strange(&story, &calls);
    assert!(strange.is_empty(), "figures that no call of the demo asked or answered: {strange:?}\n{story}");
}

/// The comparison itself: one digit changed must be found.
#[test]
fn a_figure_made_up_is_found() {
    let calls =
        [serde_json::json!({ "params": { "width_mm": 14.5 }, "result": { "dcr_ohm": { "value": 5.9502, "u": 0.0871 },
        "findings": [{ "text": "clearance is 0.073 mm" }] } })];
    assert!(strange("14.5 mm wide, 5.95 ± 0.09 Ω, clearance is 0.073 mm", &calls).is_empty());
    for made_up in ["14.6 mm wide", "5.96 ± 0.09 Ω", "5.95 ± 0.08 Ω", "clearance is 0.072 mm"] {
        assert_eq!(strange(made_up, &calls).len(), 1, "{made_up}");
    }
}

fn calls(text: &str) -> Vec<Value> {
    let calls: Vec<Value> =
        text.lines().map(|l| serde_json::from_str(l).unwrap_or_else(|e| panic!("{e}: {l}"))).collect();
    assert!(calls.len() >= 5 && calls.iter().all(|c| c["method"].is_string() && !c["result"].is_null()));
    calls
}

/// Numbers of the story that are neither in the params nor in the results of its calls, rounded as they are printed.
///
/// A value with an uncertainty must be one that was answered as such. Small whole numbers stand for steps and counts of
/// the telling (`1.`, `5 calls`), not for figures.
fn strange(story: &str, calls: &[Value]) -> Vec<String> {
    let (mut plain, mut measured) = (Vec::new(), Vec::new());
    for call in calls {
        gather(&call["params"], &mut plain, &mut measured);
        gather(&call["result"], &mut plain, &mut measured);
    }
    let mut strange = Vec::new();
    for line in story.lines() {
        let numbers = numbers(line);
        let mut at = 0;
        while at < numbers.len() {
            let (_, end, number) = &numbers[at];
            let next = numbers.get(at + 1).filter(|(start, _, _)| line[*end..*start].trim() == "±");
            if let Some((_, _, u)) = next {
                if !measured.iter().any(|(v, w)| prints(*v, number) && prints(*w, u)) {
                    strange.push(format!("{number} ± {u}"));
                }
                at += 2;
                continue;
            }
            let telling = number.parse::<u32>().is_ok_and(|n| n <= 31);
            if !telling && !plain.iter().any(|v| prints(*v, number)) {
                strange.push(number.clone());
            }
            at += 1;
        }
    }
    strange
}

/// Whether `value` rounded to as many decimals as `printed` has is `printed`.
fn prints(value: f64, printed: &str) -> bool {
    let decimals = printed.split_once('.').map_or(0, |(_, d)| d.len());
    printed.parse::<f64>().is_ok_and(|p| (value.abs() - p).abs() <= 0.5 * 10f64.powi(-(decimals as i32)) * (1.0 + 1e-9))
}

fn gather(v: &Value, plain: &mut Vec<f64>, measured: &mut Vec<(f64, f64)>) {
    match v {
        Value::Number(n) => plain.extend(n.as_f64()),
        Value::String(s) => plain.extend(numbers(s).iter().filter_map(|(_, _, n)| n.parse::<f64>().ok())),
        Value::Array(a) => a.iter().for_each(|v| gather(v, plain, measured)),
        Value::Object(o) => {
            measured.extend(o.get("value").and_then(Value::as_f64).zip(o.get("u").and_then(Value::as_f64)));
            o.values().for_each(|v| gather(v, plain, measured));
        }
        _ => {}
    }
}

/// Runs of digits with at most one point between them, with where they begin and end.
fn numbers(text: &str) -> Vec<(usize, usize, String)> {
    let mut found: Vec<(usize, usize, String)> = Vec::new();
    let mut chars = text.char_indices().peekable();
    while let Some((start, c)) = chars.next() {
        if !c.is_ascii_digit() {
            continue;
        }
        let mut number = c.to_string();
        while let Some((at, c)) = chars.peek().copied() {
            let after_a_digit = text[at + c.len_utf8()..].starts_with(|c: char| c.is_ascii_digit());
            if c.is_ascii_digit() || (c == '.' && after_a_digit && !number.contains('.')) {
                number.push(c);
                chars.next();
            } else {
                break;
            }
        }
        found.push((start, start + number.len(), number));
    }
    found
}
