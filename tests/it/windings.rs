//! Windings that are not plain, through the port: recomputed by other hands, taken as jobs, refused in the trade's words.

use crate::recompute::{python, seed};
use crate::shop::{Shop, root, with};
use serde_json::{Value, json};
use std::process::Command;

fn coil(winding: &Value) -> Value {
    json!({
        "wire": { "conductor": "copper", "bare_mm": 0.254, "overall_mm": 0.27686, "ohm_per_m": 0.34026, "g_per_m": 0.46312 },
        "former": { "material": "polyimide-film", "inside_diameter_mm": 51.0, "wall_mm": 0.12, "height_mm": 38 },
        "winding": winding,
        "leads_m": 0.12, "tails_m": 0.40, "threading_m": 0.60,
        "gap": { "pole_mm": 46.0, "bore_mm": 56.0, "plate_mm": 8.0 },
        "assume": { "pitch_factor": 1.02, "nesting": 0.90, "glue_mm": 0.01, "skin_mm": 0.02, "resistance_excess_pct": 1.0, "elongation_pct": 0.2 },
    })
}

/// A number between two others; the dice are SplitMix64 (Steele, Lea and Flood 2014).
fn between(low: f64, high: f64, dice: &mut u64) -> f64 {
    *dice = dice.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let z = (*dice ^ (*dice >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    low + (high - low) * ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
}

fn kinds() -> Vec<Value> {
    let dual = |arrangement: &str, connect: &str| json!({ "kind": "dual", "arrangement": arrangement, "connect": connect, "layers": 4, "width_mm": 15.0 });
    let ribbon = json!({ "width_mm": 0.6, "thickness_mm": 0.1, "over_width_mm": 0.63, "over_thickness_mm": 0.13, "corner_radius_mm": 0.05, "ohm_per_m": 0.2975 });
    let mut all = vec![
        json!({ "wires_in_hand": 2, "layers": 2, "width_mm": 15.0 }),
        json!({ "wires_in_hand": 3, "layers": 4, "width_mm": 15.0 }),
        json!({ "kind": "inside_outside", "layers": 4, "width_mm": 15.0 }),
        json!({ "kind": "inside_outside", "layers": 3, "inner_layers": 1, "width_mm": 15.0 }),
        json!({ "layers": 4, "width_mm": 15.0, "paper_mm": 0.05 }),
        json!({ "layers": 2, "width_mm": 15.0, "bond": { "overall_mm": 0.30, "bake_c": 180, "g_per_cm3": 1.1 } }),
        json!({ "kind": "edge_wound", "layers": 1, "width_mm": 15.0, "ribbon": ribbon }),
        with(dual("stacked", "series"), "/inner_layers", json!(1)),
        with(dual("side_by_side", "series"), "/space_mm", json!(1.0)),
        with(dual("stacked", "parallel"), "/wires_in_hand", json!(2)),
    ];
    for arrangement in ["stacked", "side_by_side", "in_hand"] {
        all.extend(["apart", "series", "parallel"].map(|connect| dual(arrangement, connect)));
    }
    all
}

#[test]
fn every_kind_of_winding_is_computed_alike_by_other_hands() {
    let Some(python) = python() else {
        println!("SKIPPED: no Python, so windings that are not plain were NOT compared with the second computation");
        return;
    };
    let seed = seed();
    println!("COILWRIGHT_SEED={seed}");
    let mut dice = seed;
    let shop = Shop::open();
    let mut lines = String::new();
    for _ in 0..5 {
        for kind in kinds() {
            let mut params = coil(&kind);
            params["winding"]["width_mm"] = json!(between(9.0, 22.0, &mut dice));
            let inside = between(49.0, 53.0, &mut dice);
            params["former"]["inside_diameter_mm"] = json!(inside);
            if between(0.0, 1.0, &mut dice) < 0.3 {
                let out: Vec<f64> = (0..6).map(|_| inside + between(0.2, 0.3, &mut dice)).collect();
                params["former"]["outside_diameters_mm"] = json!(out);
            }
            let answer = shop.answer("coil.design", &params);
            lines.push_str(&json!({ "params": params, "answer": answer }).to_string());
            lines.push('\n');
        }
    }
    let file = tempfile::NamedTempFile::new().expect("a file");
    std::fs::write(file.path(), lines).expect("written");
    let script = root().join("tests/recompute/windings.py");
    let checked = Command::new(&python).arg(script).arg("--check").arg(file.path()).output().expect("python runs");
    let said = String::from_utf8_lossy(&checked.stdout);
    let all = format!("{} cases", 5 * kinds().len());
    assert!(
        checked.status.success() && said.contains(&all) && said.contains(" 0 failed"),
        "COILWRIGHT_SEED={seed}\n{said}{}",
        String::from_utf8_lossy(&checked.stderr)
    );
}

/// Two lengths of a coil come from one spool: job, gate and plan all ask for what they take together.
#[test]
fn a_coil_of_two_lengths_asks_one_spool_for_both() {
    let shop = Shop::open();
    let dual = json!({ "kind": "dual", "arrangement": "in_hand", "connect": "series", "layers": 2, "width_mm": 15.0 });
    let mut asked = coil(&dual);
    asked["wire"] = json!("cu-awg30-single");
    let d = shop.answer("coil.design", &asked);
    assert_eq!(d["pieces"], 2);
    let (all, one) = (d["need_m"]["value"].as_f64().unwrap(), d["windings"][0]["need_m"]["value"].as_f64().unwrap());
    assert!((all - 2.0 * one).abs() < 1e-9 && all > 15.0, "{all} {one}");
    let before = json!({ "start_lead": "plus", "hand": "clockwise", "gap_polarity": "pole_north" });
    let job = shop.done("job.open", &json!({ "title": "bifilar", "coil": asked, "before": before }));
    assert_eq!(job["need_m"]["value"], d["need_m"]["value"]);
    // Enough for one of the lengths and half of the other.
    let grams = |metres: f64| 120.0 + 0.46312 * metres;
    let spool = |metres: f64| {
        let ask = json!({ "wire": "cu-awg30-single", "gross_g": grams(metres), "tare_g": { "value": 120.0, "u": 0.05 }, "scale_u_g": 0.05 });
        shop.done("spool.receive", &ask)["spool"].clone()
    };
    let short = spool(1.5 * one);
    let gate = |spool: &Value| shop.answer("job.gate", &json!({ "job": job["job"], "spool": spool }));
    let stop = gate(&short);
    let text = stop["checks"][0]["text"].as_str().unwrap().to_owned();
    assert_eq!(stop["verdict"], "stop");
    assert!(text.contains("in 2 lengths") && text.contains("it gives 1 of 2 lengths"), "{text}");
    assert_eq!(shop.answer("plan.make", &json!({}))["assign"], json!([]));
    let long = spool(4.0 * one);
    assert_eq!(gate(&long)["verdict"], "go");
    let started = shop.done("job.start", &json!({ "job": job["job"], "spool": long }));
    assert!((started["hold_m"].as_f64().unwrap() - all).abs() < 1e-6, "{started}");
    let plan = shop.answer("plan.make", &json!({}));
    assert_eq!(plan["assign"][0]["spool"], long);
    let recorded = shop.done("job.record", &json!({ "job": job["job"], "outcome": "good" }));
    assert!((recorded["drawn_m"]["value"].as_f64().unwrap() - d["draw_m"]["value"].as_f64().unwrap()).abs() < 1e-6);
}

#[test]
fn the_force_of_a_dual_coil_goes_as_it_is_joined() {
    let shop = Shop::open();
    let driver = json!({ "re_ohm": 5.8, "bl_tm": 9.0, "mms_g": 40.0, "fs_hz": 35.0, "qms": 5.0, "sd_cm2": 350.0 });
    let joined = |connect: &str| {
        coil(&json!({ "kind": "dual", "arrangement": "in_hand", "connect": connect, "layers": 2, "width_mm": 15.0 }))
    };
    let ask =
        json!({ "driver": driver, "original": joined("series"), "substitute": joined("parallel"), "same_spool": true });
    let sound = shop.answer("coil.sound", &ask);
    assert!((sound["change"]["bl_pct"]["value"].as_f64().unwrap() + 50.0).abs() < 1e-6, "{}", sound["change"]);
    assert!((sound["change"]["re_pct"]["value"].as_f64().unwrap() + 75.0).abs() < 1e-6, "{}", sound["change"]);
    let apart = with(ask, "/original/winding/connect", json!("apart"));
    assert_eq!(shop.error("coil.sound", &apart)["data"]["pointer"], "/original/winding/connect");
}

#[test]
fn what_cannot_be_laid_is_refused_in_the_trades_words() {
    let shop = Shop::open();
    let refused = |method: &str, params: &Value, pointer: &str, word: &str| {
        let e = shop.error(method, params);
        let said = e["data"]["detail"].as_str().unwrap_or_default().to_owned();
        assert_eq!(e["data"]["pointer"], pointer, "{e}");
        assert!(said.contains(word), "{said}");
        assert!(e["data"]["next_step"].as_str().is_some_and(|n| !n.is_empty()), "{e}");
    };
    let plain = |more: Value| {
        let mut winding = json!({ "layers": 2, "width_mm": 15.0 });
        winding.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        coil(&winding)
    };
    let design = "coil.design";
    refused(design, &plain(json!({ "kind": "dual" })), "/winding/arrangement", "three ways");
    refused(
        design,
        &plain(json!({ "kind": "dual", "arrangement": "stacked", "layers": 3 })),
        "/winding/inner_layers",
        "shared evenly",
    );
    refused(design, &plain(json!({ "wires_in_hand": 20 })), "/winding/wires_in_hand", "cannot be laid at once");
    refused(design, &plain(json!({ "kind": "edge_wound" })), "/winding/ribbon", "rectangular wire");
    let ribbon = json!({ "width_mm": 0.6, "thickness_mm": 0.1, "over_width_mm": 0.63, "over_thickness_mm": 0.13 });
    let edge = plain(json!({ "kind": "edge_wound", "layers": 1, "ribbon": ribbon }));
    refused(design, &edge, "/winding/ribbon/ohm_per_m", "must be measured");
    let measured = with(edge, "/winding/ribbon/ohm_per_m", json!(0.2975));
    refused(
        design,
        &with(measured, "/winding/ribbon/corner_radius_mm", json!(0.2)),
        "/winding/ribbon/corner_radius_mm",
        "corner radius",
    );
    let five = with(plain(json!({})), "/former/outside_diameters_mm", json!([51.2, 51.2, 51.2, 51.2, 51.2]));
    refused(design, &five, "/former/outside_diameters_mm", "three heights");
    let half = with(plain(json!({})), "/winding/turns_per_layer", json!([51.5, 51]));
    assert!(
        shop.error(design, &half)["data"]["pointer"]
            .as_str()
            .is_some_and(|p| p.starts_with("/winding/turns_per_layer"))
    );
    let section = json!({ "coil": plain(json!({ "wires_in_hand": 2 })) });
    refused("sheet.section", &section, "/coil/winding", "cannot be drawn yet");
    let inductance = json!({ "coil": plain(json!({ "kind": "inside_outside" })) });
    refused("coil.inductance", &inductance, "/coil/winding", "not one block");
    let trim = json!({ "coil": plain(json!({ "wires_in_hand": 2 })), "reading_ohm": 3.0, "test_leads_ohm": 0.2, "temperature_c": 20, "target_ohm": 2.0, "tolerance_ohm": 0.1 });
    refused("coil.trim", &trim, "/coil/winding", "off one wire");
}
