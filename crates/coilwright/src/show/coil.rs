//! A designed coil for a person at the bench: what is wrong first, then what to cut, wind and measure.

use super::number::figure;
use super::plain::findings;
use serde_json::Value;

/// The answer of `coil.design`.
pub fn design(d: &Value) -> String {
    let mut out = findings(d);
    if !out.is_empty() {
        out.push('\n');
    }
    let mut section = |title: &str, lines: Vec<(&str, Option<String>)>| {
        let lines: Vec<_> = lines.into_iter().filter_map(|(name, v)| v.map(|v| (name, v))).collect();
        if !lines.is_empty() {
            out.push_str(&format!("{title}\n"));
            for (name, value) in lines {
                out.push_str(&format!("  {name:<34}{value}\n"));
            }
        }
    };
    let with = |name: &str, unit: &str| present(&d[name]).map(|v| format!("{} {unit}", figure(v)));
    let list = |name: &str, unit: &str| {
        d[name].as_array().map(|a| format!("{} {unit}", a.iter().map(figure).collect::<Vec<_>>().join(" / ")))
    };
    section(
        "Wind",
        vec![
            ("turns by layer", Some(turns(d))),
            ("pitch", with("pitch_mm", "mm")),
            ("width these turns take", with("wound_width_mm", "mm")),
            (
                "tension, hanging weight by layer",
                d["tension_g"].as_array().map(|a| {
                    a.iter().map(|t| format!("{:.0}", t.as_f64().unwrap_or(0.0))).collect::<Vec<_>>().join(" / ") + " g"
                }),
            ),
            ("unbroken lengths of wire", present(&d["pieces"]).map(Value::to_string)),
            ("wire to have on the spool", with("need_m", "m")),
            ("wire expected to be drawn", with("draw_m", "m")),
            ("wire in the winding", with("length_m", "m")),
        ],
    );
    let blank = |name: &str| present(&d["blank"][name]).map(|v| format!("{:.2} mm", v.as_f64().unwrap_or(0.0)));
    let filled = &d["if_filled"];
    let shares = || {
        let one = |c: &Value| format!("{} in {:.0} %", c["turns"], c["share_pct"].as_f64().unwrap_or(0.0));
        let seen = |c: &&Value| c["share_pct"].as_f64().unwrap_or(0.0) >= 0.5;
        filled["first_layer"].as_array().map(|all| all.iter().filter(seen).map(one).collect::<Vec<_>>().join(", "))
    };
    section(
        "If the width is filled by eye instead of counted",
        vec![
            ("first layer", shares()),
            ("DCR at 20 °C, with leads", present(&filled["dcr_ohm"]).map(|v| format!("{} Ω", figure(v)))),
        ],
    );
    section(
        "Former",
        vec![
            ("mandrel", d["mandrel_mm"].as_f64().map(|m| format!("{m:.2} mm"))),
            ("blank, along the circumference", blank("length_mm")),
            ("blank, along the axis", blank("width_mm")),
            ("blank, radius of the inner edge", blank("inner_radius_mm")),
            ("blank, radius of the outer edge", blank("outer_radius_mm")),
            ("blank, angle", present(&d["blank"]["angle_deg"]).map(|v| format!("{:.1}°", v.as_f64().unwrap_or(0.0)))),
        ],
    );
    for (i, w) in d["windings"].as_array().into_iter().flatten().enumerate() {
        let of = |name: &str, unit: &str| present(&w[name]).map(|v| format!("{} {unit}", figure(v)));
        section(
            &format!("Winding {}", i + 1),
            vec![
                ("turns by layer", Some(plus(&w["turns_per_layer"]))),
                ("one unbroken length", of("need_m", "m")),
                ("DCR at 20 °C, with leads", of("dcr_ohm", "Ω")),
                ("wire in the field", of("field_m", "m")),
            ],
        );
    }
    let both = |how: &str, name: &str, unit: &str| present(&d[how][name]).map(|v| format!("{} {unit}", figure(v)));
    section(
        "Both windings joined",
        vec![
            ("in series, DCR at 20 °C", both("series", "dcr_ohm", "Ω")),
            ("in series, wire in the field", both("series", "field_m", "m")),
            ("in parallel, DCR at 20 °C", both("parallel", "dcr_ohm", "Ω")),
            ("in parallel, wire in the field", both("parallel", "field_m", "m")),
        ],
    );
    section(
        "Measure",
        vec![
            ("DCR at 20 °C, with leads", with("dcr_ohm", "Ω")),
            ("DCR at the bench", with("dcr_bench_ohm", "Ω")),
            ("one outer turn", with("turn_ohm", "Ω")),
            ("inductance in air", with("inductance_air_uh", "µH")),
            ("meter while it is baked", present(&d["bake"]["reading_ohm"]).map(|v| format!("{} Ω", figure(v)))),
        ],
    );
    section(
        "Fit",
        vec![
            ("under the first layer", with("base_diameter_mm", "mm")),
            ("mean diameter by layer", list("layer_diameters_mm", "mm")),
            ("outside, layers nested", with("outside_nested_mm", "mm")),
            ("outside, at the cross-over", with("outside_crossover_mm", "mm")),
            ("clearance inside", with("clearance_inner_mm", "mm")),
            ("clearance outside", with("clearance_outer_mm", "mm")),
            ("clearance outside, hot", with("clearance_outer_hot_mm", "mm")),
            ("overhang on each side", with("overhang_mm", "mm")),
        ],
    );
    let mass = |name: &str| present(&d["mass"][name]).map(|v| format!("{} g", figure(v)));
    section(
        "Mass",
        vec![
            ("wire with leads", mass("wire_g")),
            ("its metal", mass("conductor_g")),
            ("former", mass("former_g")),
            ("adhesive", mass("adhesive_g")),
        ],
    );
    origins(d, &mut out);
    out
}

/// Turns of each layer and how often the coil goes round; of two windings side by side, for each of them.
fn turns(d: &Value) -> String {
    let each = plus(&d["turns_per_layer"]);
    let sum: u64 = d["turns_per_layer"].as_array().into_iter().flatten().filter_map(Value::as_u64).sum();
    if d["turns"].as_u64() == Some(2 * sum) {
        format!("2 × ({each}) = {}", d["turns"])
    } else {
        format!("{each} = {}", d["turns"])
    }
}

fn plus(list: &Value) -> String {
    list.as_array().map_or(String::new(), |t| t.iter().map(Value::to_string).collect::<Vec<_>>().join(" + "))
}

fn present(v: &Value) -> Option<&Value> {
    (!v.is_null()).then_some(v)
}

fn origins(d: &Value, out: &mut String) {
    let all = d["origins"].as_array().map_or(&[][..], Vec::as_slice);
    if all.is_empty() {
        return;
    }
    out.push_str("Taken for granted\n");
    for o in all {
        let text = |name: &str| o[name].as_str().unwrap_or_default();
        let value = super::shown(o["value"].as_f64().unwrap_or(0.0), o["u"].as_f64().unwrap_or(0.0));
        out.push_str(&format!(
            "  {:<34}{value} {} ({}: {})\n",
            text("param"),
            text("unit"),
            text("mark").replace('_', " "),
            text("source")
        ));
    }
}
