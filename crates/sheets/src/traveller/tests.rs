use super::*;
use crate::cross_section::Gap;
use crate::steps::usual_steps;

fn job() -> Traveller {
    Traveller {
        job: "j-4".into(),
        title: "Ossipan B12".into(),
        due_on: Some("2031-05-16".into()),
        coils: 2,
        coil_no: Some(1),
        drawing: CrossSection {
            title: "Ossipan B12".into(),
            subtitle: String::new(),
            wire: "cu-awg30-single".into(),
            former: "aluminium foil".into(),
            dcr_ohm: Some(Figure { value: 5.799, u: 0.071 }),
            turns_per_layer: vec![52, 51],
            width_mm: 15.0,
            bare_mm: 0.254,
            overall_mm: 0.27686,
            pitch_mm: 0.2824,
            nesting: 0.9,
            former_inside_mm: 51.0,
            wall_mm: 0.12,
            glue_mm: 0.01,
            skin_mm: 0.02,
            former_height_mm: Some(38.0),
            former_beyond_mm: 2.0,
            outside_crossover_mm: 52.407,
            offset_mm: 0.0,
            gap: Some(Gap { pole_mm: Some(50.5), bore_mm: Some(53.0), plate_mm: Some(8.0), ..Gap::default() }),
            verdict: vec![],
        },
        blank_length_mm: Some(159.6),
        blank_width_mm: Some(38.0),
        slit_mm: Some(1.0),
        mandrel_mm: Some(50.9),
        shims_mm: vec![0.05],
        tension_g: vec![233.0, 163.0],
        spool: Some(SpoolUse {
            id: "s-17".into(),
            place: Some("rack 2".into()),
            left_m: Figure { value: 60.1, u: 1.4 },
            need_m: 17.756,
            after_m: Figure { value: 42.4, u: 1.4 },
            word: Word::Enough,
            probability: 0.99999,
        }),
        meter: Some(Meter {
            bench_c: 23.0,
            test_leads_ohm: 0.21,
            expect_ohm: Figure { value: 6.078, u: 0.072 },
            accept_ohm: Some((5.83, 6.33)),
            can_decide: Some(true),
        }),
        polarity: Some(Polarity {
            start_lead: "plus".into(),
            hand: "clockwise".into(),
            gap_polarity: "pole north".into(),
        }),
        notes: vec!["Watch: the largest wire leaves 0.281 mm.".into()],
        steps: usual_steps(true),
    }
}

#[test]
fn the_page_says_what_the_winder_needs() {
    let out = traveller(&job()).unwrap();
    for part in [
        "Job j-4: Ossipan B12",
        "coil 1 of 2",
        "2031-05-16",
        "159.60 × 38 mm",
        "1.00 mm open",
        "Ø 50.90 mm",
        "0.05 mm per side",
        "<b>52, 233 g</b>",
        "<b>51, 163 g</b>",
        "Spool s-17",
        "60.1 ± 1.4 m",
        "17.76 m",
        "42.4 ± 1.4 m",
        "enough (over 99.9 %)",
        "Meter at 23 °C",
        "6.078 ± 0.072 Ω",
        "5.83 to 6.33 Ω",
        "0.21 Ω",
        "5.799 ± 0.071 Ω",
        "clockwise",
        "pole north",
        "the largest wire leaves 0.281 mm",
        "Outer clearance 0.297 mm.",
        "isocyanates",
        "safety data sheet",
        "Ø 53.00 bore",
        "QR code: coilwright:job/j-4",
    ] {
        assert!(out.contains(part), "{part:?} is missing");
    }
    assert_eq!(out.matches("type=\"checkbox\"").count(), job().steps.len());
    assert_eq!(out.matches("<svg").count(), 2);
}

#[test]
fn what_is_unknown_leaves_no_trace() {
    let bare = Traveller {
        due_on: None,
        coil_no: None,
        blank_length_mm: None,
        blank_width_mm: None,
        slit_mm: None,
        mandrel_mm: None,
        shims_mm: vec![],
        tension_g: vec![],
        spool: None,
        meter: None,
        polarity: None,
        notes: vec![],
        drawing: CrossSection { gap: None, ..job().drawing },
        ..job()
    };
    let out = traveller(&bare).unwrap();
    for word in
        ["due", "Blank", "Slit", "<dt>Mandrel", "hanging", "<h2>Spool", "Meter at", "Polarity", "class=\"notes\""]
    {
        assert!(!out.contains(word), "{word}");
    }
}

#[test]
fn the_page_asks_the_network_for_nothing_and_runs_nothing() {
    let out = traveller(&job()).unwrap();
    for word in ["<script", "src=", "url(http", "@import", "<link", "<img", "<iframe", " onload", "javascript:"] {
        assert!(!out.contains(word), "{word}");
    }
    let rest = out.replace("http://www.w3.org/2000/svg", "").replace("http-equiv", "");
    assert!(!rest.contains("http"));
}

#[test]
fn markup_in_any_text_is_inert() {
    let evil = "\"'><script>alert(1)</script><img src=x onerror=alert(2)>";
    let mut t = job();
    t.job = "j<script>".into();
    t.title = evil.into();
    t.due_on = Some(evil.into());
    t.notes = vec![evil.into()];
    t.steps = vec![Step::new(evil, evil)];
    t.drawing.title = evil.into();
    t.drawing.wire = evil.into();
    t.drawing.former = evil.into();
    if let Some(s) = &mut t.spool {
        s.id = evil.into();
        s.place = Some(evil.into());
    }
    t.polarity = Some(Polarity { start_lead: evil.into(), hand: evil.into(), gap_polarity: evil.into() });
    let out = traveller(&t).unwrap();
    assert!(!out.contains("<script") && !out.contains("<img"));
}

#[test]
fn notes_without_room_are_counted() {
    let mut t = job();
    t.notes = (1..=9).map(|i| format!("finding {i}")).collect();
    let out = traveller(&t).unwrap();
    assert!(out.contains("finding 7") && !out.contains("finding 8"));
    assert!(out.contains("And 2 more"));
}

#[test]
fn numbers_that_are_none_are_refused_by_name() {
    let mut t = job();
    t.mandrel_mm = Some(f64::NAN);
    assert!(traveller(&t).unwrap_err().to_string().starts_with("mandrel_mm is NaN"));
    let mut t = job();
    t.spool.as_mut().unwrap().probability = 2.0;
    assert!(traveller(&t).unwrap_err().to_string().starts_with("spool.probability is 2"));
    let mut t = job();
    t.job = "j".repeat(100);
    assert!(matches!(traveller(&t), Err(CannotDraw::TooLong { name: "job", .. })));
}

#[test]
fn a_paper_former_is_given_no_slit_to_keep_open() {
    let said: Vec<String> = usual_steps(false).into_iter().map(|s| s.text).collect();
    assert!(said.iter().all(|s| !s.contains("slit")) && said.iter().any(|s| s.contains("butt")));
    assert!(usual_steps(true).iter().any(|s| s.text.contains("the slit stays open")));
}
