//! An outlook in words and as a drawing: dates instead of days, usable wire beside all of it.

use crate::day;
use coilwright_core::measured::Measured;
use coilwright_core::quantity::Length;
use coilwright_planner::{Depletion, Short};
use coilwright_proto::outlook::{OutlookChart, OutlookDay, OutlookItem, OutlookShort};
use coilwright_proto::quantity::{Setting, bare};
use coilwright_sheets::Figure as Printed;
use coilwright_sheets::outlook::{FirstShort, Outlook, Point, chart, outlook};
use coilwright_shop::state::State;
use jiff::civil::Date;

/// What is looked at, and from where.
pub struct Look<'a> {
    /// The day it looks from.
    pub as_of: Date,
    /// Days ahead.
    pub days: u32,
    /// The shop.
    pub state: &'a State,
    /// Jobs that run short, the first one first.
    pub short: &'a [Short],
    /// Spool by spool rather than wire by wire.
    pub by_spool: bool,
    /// How each is drawn.
    pub chart: OutlookChart,
}

impl Look<'_> {
    /// A spool or wire by day.
    pub fn item(&self, d: &Depletion, wire: String, series: Vec<OutlookDay>) -> OutlookItem {
        let usual = self.state.figures().shortest_usual_m(&wire);
        let first = self.first(|s| if self.by_spool { s.spool.as_ref() == Some(&d.name) } else { s.wire == wire });
        let (left, usable) =
            d.days.first().map_or((Measured::certain(Length::ZERO), Length::ZERO), |now| (now.left, now.usable));
        let sentence = self.of_one(&d.name, (left.value.m(), usable.m()), usual, series.last(), first.as_ref());
        let mut item = OutlookItem {
            name: d.name.clone(),
            wire,
            left_m: left.into(),
            usable_m: bare(usable),
            series,
            sentence,
            usual_coil_m: usual.map(Setting::of),
            first_short: first,
            chart: None,
        };
        item.chart = self.drawn(&item);
        item
    }

    /// The first of some jobs to run short.
    pub fn first(&self, which: impl Fn(&Short) -> bool) -> Option<OutlookShort> {
        let (f, on) = self.short.iter().filter(|s| which(s)).find_map(|s| Some((s, s.day?)))?;
        Some(OutlookShort {
            job: f.job.clone(),
            wire: f.wire.clone(),
            on: day::days_after(self.as_of, on - 1).to_string(),
            probability: f.probability,
            spool: f.spool.clone(),
        })
    }

    /// The outlook in a sentence.
    pub fn sentence(&self) -> String {
        let until = day::days_after(self.as_of, i32::try_from(self.days).unwrap_or(i32::MAX) - 1);
        let first = match self.first(|_| true) {
            None => format!("Nothing with a date runs short of wire up to {until}."),
            Some(f) => format!("{} is the first job to run short: {}.", f.job, when(&f)),
        };
        let undated: Vec<&str> = self.short.iter().filter(|s| s.day.is_none()).map(|s| s.job.as_str()).collect();
        match undated[..] {
            [] => first,
            [one] => format!("{first} {one}, due on no day, lacks wire too."),
            _ => format!("{first} {}, due on no day, lack wire too.", undated.join(", ")),
        }
    }

    fn of_one(
        &self,
        name: &str,
        (left, usable): (f64, f64),
        usual: Option<f64>,
        last: Option<&OutlookDay>,
        first: Option<&OutlookShort>,
    ) -> String {
        let of_use = usual.map_or_else(
            || format!("{usable:.2} m of it safely free"),
            |coil| format!("{usable:.2} m of it in pieces long enough for the shortest usual coil ({coil:.2} m)"),
        );
        let then = last.map_or_else(String::new, |d| {
            format!("; if the plan is wound, {:.2} m and {:.2} m on {}", d.left_m.value, d.usable_m.value, d.on)
        });
        let short = match first {
            None => String::new(),
            Some(f) => format!(" First to run short: {}, {}.", f.job, when(f)),
        };
        format!("{name}: {left:.2} m left, {of_use}{then}.{short}")
    }

    fn drawn(&self, item: &OutlookItem) -> Option<String> {
        let point = |day: f64, on: &str, left: (f64, f64), usable: f64| Point {
            day,
            on: on.to_owned(),
            left_m: Printed { value: left.0, u: left.1 },
            usable_m: Some(usable),
        };
        let days = |on: &str| on.parse().map_or(0.0, |d: Date| f64::from(day::days_between(self.as_of, d)));
        let mut points = vec![point(0.0, "now", (item.left_m.value, item.left_m.u), item.usable_m.value)];
        points.extend(
            item.series.iter().map(|d| point(days(&d.on) + 1.0, &d.on, (d.left_m.value, d.left_m.u), d.usable_m.value)),
        );
        let shown = Outlook {
            title: format!("{} from {} on", item.name, self.as_of),
            points,
            first_short: item.first_short.as_ref().map(|f| FirstShort {
                job: f.job.clone(),
                day: days(&f.on) + 1.0,
                on: f.on.clone(),
                probability: f.probability,
            }),
            sentence: item.sentence.clone(),
        };
        match self.chart {
            OutlookChart::None => None,
            OutlookChart::Svg => chart(&shown).ok(),
            OutlookChart::Figure => outlook(&shown).ok(),
        }
    }
}

fn when(f: &OutlookShort) -> String {
    format!("on {}, with a probability of {:.1} % for want of {}", f.on, 100.0 * f.probability, f.wire)
}
