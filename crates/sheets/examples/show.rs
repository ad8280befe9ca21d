//! Writes a few sheets to a folder, to be looked at: `cargo run --example show -- DIR`.

use coilwright_sheets::bars::{CoilBar, PlanBars, SpoolBar, plan_bars};
use coilwright_sheets::cross_section::{CrossSection, Gap, Layout, cross_section};
use coilwright_sheets::label::{Label, label, label_sheet};
use coilwright_sheets::outlook::{FirstShort, Outlook, Point, outlook};
use coilwright_sheets::page::page;
use coilwright_sheets::steps::usual_steps;
use coilwright_sheets::traveller::{Meter, Polarity, SpoolUse, Traveller, traveller};
use coilwright_sheets::{Figure, Word};

fn baseline() -> CrossSection {
    CrossSection {
        title: "Ossipan B12 bass, 51 mm".into(),
        subtitle: "job j-4, coil 1 of 2".into(),
        wire: "cu-awg30-single".into(),
        former: "aluminium foil".into(),
        dcr_ohm: Some(Figure { value: 5.799, u: 0.071 }),
        turns_per_layer: vec![52, 51],
        width_mm: 15.0,
        bare_mm: 0.2540,
        overall_mm: 0.27686,
        pitch_mm: 0.282397,
        nesting: 0.90,
        former_inside_mm: 51.0,
        wall_mm: 0.12,
        glue_mm: 0.01,
        skin_mm: 0.02,
        former_height_mm: Some(38.0),
        former_beyond_mm: 2.0,
        outside_crossover_mm: 52.40744,
        offset_mm: 0.0,
        gap: Some(Gap {
            pole_mm: Some(50.5),
            bore_mm: Some(53.0),
            plate_mm: Some(8.0),
            min_inner_mm: Some(0.2),
            min_outer_mm: Some(0.25),
            clearance_inner_mm: Some(0.25),
            clearance_outer_mm: Some(0.29628),
            clearance_outer_hot_mm: Some(0.225),
            hot_c: Some(180.0),
        }),
        verdict: vec![
            "With the largest wire of its table the outer clearance is 0.281 mm: still above the minimum.".into(),
        ],
    }
}

fn with(change: impl FnOnce(&mut CrossSection)) -> CrossSection {
    let mut c = baseline();
    change(&mut c);
    c
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let dir = std::env::args().nth(1).unwrap_or_else(|| ".".into());
    let fat = with(|c| {
        c.title = "Quillmere 10, first try".into();
        c.turns_per_layer = vec![50, 49, 50, 49];
        c.outside_crossover_mm = 53.56;
        if let Some(g) = &mut c.gap {
            g.clearance_outer_mm = Some(-0.28);
            g.clearance_outer_hot_mm = Some(-0.351);
        }
        c.verdict = vec!["Four layers of this wire do not pass the bore; two do.".into()];
    });
    let fine = with(|c| {
        c.turns_per_layer = vec![295; 6];
        c.bare_mm = 0.040;
        c.overall_mm = 0.0495;
        c.pitch_mm = 0.0505;
        c.outside_crossover_mm = 51.26 + 12.0 * 0.0495 + 0.04;
        if let Some(g) = &mut c.gap {
            g.clearance_outer_mm = None;
            g.clearance_outer_hot_mm = None;
        }
    });
    let few = with(|c| {
        c.turns_per_layer = vec![5];
        c.width_mm = 5.0 * 0.2824 + 0.27686;
        c.outside_crossover_mm = 51.26 + 2.0 * 0.27686 + 0.04;
        c.former_height_mm = None;
        if let Some(g) = &mut c.gap {
            g.clearance_outer_mm = None;
            g.clearance_outer_hot_mm = None;
        }
    });
    let tight = with(|c| {
        c.title = "A very long title that a customer dictated over the telephone & <b>would not</b> shorten for anybody at all".into();
        c.offset_mm = 1.0;
        c.width_mm = 9.0;
        c.turns_per_layer = vec![30, 29, 30, 29, 30];
        c.overall_mm = 0.2;
        c.bare_mm = 0.18;
        c.pitch_mm = 0.29;
        c.outside_crossover_mm = 51.26 + 10.0 * 0.2 + 0.04;
        c.former_height_mm = Some(12.0);
        if let Some(g) = &mut c.gap {
            g.pole_mm = Some(51.1);
            g.clearance_inner_mm = Some(-0.05);
            g.bore_mm = Some(53.5);
            g.clearance_outer_mm = None;
            g.clearance_outer_hot_mm = Some(0.03);
        }
    });
    let long = with(|c| {
        c.turns_per_layer = vec![66, 65, 66];
        (c.width_mm, c.overall_mm, c.bare_mm, c.pitch_mm) = (61.274, 0.8454, 0.7915, 0.91559);
        (c.former_inside_mm, c.wall_mm, c.outside_crossover_mm) = (23.128, 0.047, 28.3536);
        c.former_height_mm = Some(141.6);
        c.gap = Some(Gap {
            pole_mm: Some(22.6),
            bore_mm: Some(28.7),
            plate_mm: Some(8.0),
            min_inner_mm: Some(0.2),
            min_outer_mm: Some(0.25),
            clearance_outer_hot_mm: Some(0.1),
            ..Gap::default()
        });
    });
    let alone = with(|c| c.gap = None);
    let sheets = [
        ("base", baseline()),
        ("fat", fat),
        ("fine", fine),
        ("few", few),
        ("alone", alone),
        ("tight", tight),
        ("long", long),
    ];
    for (name, coil) in sheets {
        std::fs::write(format!("{dir}/{name}.svg"), cross_section(&coil, Layout::Full)?)?;
        std::fs::write(format!("{dir}/{name}-panel.svg"), cross_section(&coil, Layout::Panel)?)?;
    }
    std::fs::write(format!("{dir}/traveller.html"), traveller(&job())?)?;
    let mut worst = job();
    worst.title = "Twelve drivers of a touring company, second delivery, as measured on the bench by two people".into();
    worst.notes = vec![
            "Watch: a finding of the usual length with a figure of 0.281 mm and a limit of 0.25 mm beside it.".into();
            6
        ];
    worst.drawing.turns_per_layer = vec![50, 49, 50, 49, 50, 49];
    worst.drawing.outside_crossover_mm = 54.62;
    worst.drawing.subtitle = "second of two coils for the left cabinet".into();
    worst.tension_g = vec![233.0, 163.0, 163.0, 163.0, 163.0, 163.0];
    worst.spool.iter_mut().for_each(|s| s.id = "s-1234".into());
    worst.drawing.gap.iter_mut().for_each(|g| {
        g.clearance_outer_mm = None;
        g.clearance_outer_hot_mm = Some(-0.93);
    });
    std::fs::write(format!("{dir}/worst.html"), traveller(&worst)?)?;
    let spool = Label {
        spool: "s-17".into(),
        wire: "copper AWG 30 single, 0.254 bare, 0.277 overall".into(),
        tare_g: Some(Figure { value: 97.0, u: 0.5 }),
        left_m: Figure { value: 112.4, u: 1.4 },
        left_on: "2031-05-04".into(),
        width_mm: 62.0,
        height_mm: 29.0,
    };
    std::fs::write(format!("{dir}/label.svg"), label(&spool)?)?;
    std::fs::write(
        format!("{dir}/labels.html"),
        label_sheet(&[spool.clone(), Label { spool: "s-18".into(), ..spool }])?,
    )?;
    std::fs::write(format!("{dir}/bars.html"), page("Plan of the week", &plan_bars(&plan())?))?;
    std::fs::write(format!("{dir}/outlook.html"), page("Outlook", &outlook(&days())?))?;
    Ok(())
}

fn job() -> Traveller {
    let mut drawing = baseline();
    drawing.subtitle.clear();
    Traveller {
        job: "j-4".into(),
        title: drawing.title.clone(),
        due_on: Some("2031-05-16".into()),
        coils: 2,
        coil_no: Some(1),
        drawing,
        blank_length_mm: Some(159.6),
        blank_width_mm: Some(38.0),
        slit_mm: Some(1.0),
        mandrel_mm: Some(50.9),
        shims_mm: vec![0.05],
        tension_g: vec![233.0, 163.0],
        spool: Some(SpoolUse {
            id: "s-17".into(),
            place: Some("rack 2, shelf 3".into()),
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
        notes: vec!["Watch: with the largest wire of its table the outer clearance is 0.281 mm.".into()],
        steps: usual_steps(true),
    }
}

fn plan() -> PlanBars {
    let row = |spool: &str, wire: &str, left: f64, u, coils: &[(&str, f64)], word, probability| SpoolBar {
        spool: spool.into(),
        wire: wire.into(),
        left_m: Figure { value: left, u },
        coils: coils.iter().map(|&(job, need_m)| CoilBar { job: job.into(), need_m }).collect(),
        end_m: left - coils.iter().map(|c| c.1).sum::<f64>(),
        word,
        probability,
    };
    let (a, b) = (("j-4", 17.76), ("j-5", 14.6));
    PlanBars {
        title: "Coils on spools".into(),
        spools: vec![
            row("s-17", "cu-awg30-single", 60.1, 1.4, &[a, a, b], Word::Enough, 0.9997),
            row("s-18", "cu-awg31-single", 142.5, 1.8, &[b, b, b, b, b, ("j-7", 31.0), a], Word::Doubtful, 0.957),
            row("s-3", "cu-awg31-single", 12.62, 0.21, &[b], Word::Short, 0.0),
            row("s-4", "cu-0.250-grade1", 31.0, 1.0, &[], Word::Enough, 1.0),
        ],
    }
}

fn days() -> Outlook {
    let at = |day: f64, value, u| Point {
        day,
        on: format!("2031-05-{:02}", day as u32 + 4),
        left_m: Figure { value, u },
        usable_m: Some(if value > 14.6 { value - 2.0 } else { 0.0 }),
    };
    Outlook {
        title: "cu-awg31-single".into(),
        points: vec![
            at(0.0, 142.5, 1.8),
            at(3.0, 113.3, 2.1),
            at(8.0, 69.5, 2.4),
            at(10.0, 40.3, 2.7),
            at(15.0, 11.1, 3.0),
        ],
        first_short: Some(FirstShort { job: "j-9".into(), day: 17.0, on: "2031-05-21".into(), probability: 0.87 }),
        sentence: "Enough until 2031-05-21, when j-9 runs short with a probability of 87 %.".into(),
    }
}
