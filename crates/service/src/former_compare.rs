//! `former.compare`: one coil on several formers, side by side, in the trade's words. Looks at what the shop
//! learned, writes nothing.

use crate::app::App;
use crate::{sound_words, view};
use coilwright_core::coil::Design;
use coilwright_core::coil::spec::CoilSpec;
use coilwright_core::finding::Level;
use coilwright_core::former::growth;
use coilwright_core::measured::Measured;
use coilwright_core::origin::{Mark, Origin};
use coilwright_core::quantity::{Length, Mass};
use coilwright_core::ring::MetalFormer;
use coilwright_core::sound::DAMPING_U;
use coilwright_proto::coil::CoilDesign;
use coilwright_proto::error::RpcError;
use coilwright_proto::former::{ComparedFormer, FormerCompare, FormerCompared, OtherFormer};
use coilwright_proto::money::Money;
use coilwright_proto::quantity::{Reading, bare};
use coilwright_proto::reference::{FormerRef, Ref};

/// Most formers beside the coil's own.
const MOST: usize = 20;

pub fn answer(app: &App, asked: FormerCompare) -> Result<FormerCompared, RpcError> {
    if asked.formers.is_empty() || asked.formers.len() > MOST {
        return Err(RpcError::params("/formers", format!("1 to {MOST} formers are set beside the coil's own"))
            .met(asked.formers.len())
            .allowed(format!("1 to {MOST}"))
            .next("name at least one other material, e.g. [{\"material\": \"polyimide-film\"}]"));
    }
    if !asked.coil.former.outside_diameters_mm.is_empty() {
        return Err(RpcError::params(
            "/coil/former/outside_diameters_mm",
            "a former that is used again has six diameters of its own: no other former has those",
        )
        .next("leave them out and give the wall: the new formers are then set beside a new one of that material"));
    }
    let field = asked.field_t.map(Reading::measured);
    if let Some(b) = field.filter(|b| !(0.05..=2.5).contains(&b.value)) {
        return Err(RpcError::params("/field_t", format!("{} T is the field of no gap", b.value))
            .met(b.value)
            .allowed("0.05 to 2.5 T")
            .next("leave it out: damping is then told per square tesla"));
    }
    let mut origins = Vec::new();
    let first = One::of(app, &asked.coil, asked.price_per_m2.clone(), ("", "/price_per_m2"), &mut origins)?;
    let mut items = vec![first.in_words(None, field)?];
    for (i, other) in asked.formers.iter().enumerate() {
        let at = format!("/formers/{i}");
        let coil = on(app, &asked.coil, other, &at, &mut origins)?;
        let price_at = format!("{at}/price_per_m2");
        let one = One::of(app, &coil, other.price_per_m2.clone(), (&at, &price_at), &mut origins)?;
        items.push(one.in_words(Some(&first), field)?);
    }
    Ok(FormerCompared { items, origins: origins.into_iter().map(view::origin).collect() })
}

/// The same coil on another former.
fn on(
    app: &App,
    coil: &CoilDesign,
    other: &OtherFormer,
    at: &str,
    origins: &mut Vec<Origin>,
) -> Result<CoilDesign, RpcError> {
    view::former_material(&app.catalog, &other.material, &format!("{at}/material"))?;
    let mut coil = coil.clone();
    let own = coil.former.wall_mm.value;
    let record = match &other.material {
        Ref::Id(id) => app.catalog.former(id),
        Ref::Inline(_) => None,
    };
    let usual = record.into_iter().flat_map(|r| &r.walls).map(|w| w.mm());
    let nearest = usual.min_by(|a, b| (a - own).abs().total_cmp(&(b - own).abs()));
    coil.former.wall_mm = match (other.wall_mm, nearest) {
        (Some(wall), _) => {
            if !(0.005..=10.0).contains(&wall.value) {
                return Err(RpcError::params(format!("{at}/wall_mm"), format!("{} mm is no wall", wall.value))
                    .met(wall.value)
                    .allowed("0.005 to 10 mm")
                    .next("check the number and its unit"));
            }
            wall
        }
        (None, Some(wall)) => {
            let number = record.into_iter().flat_map(|r| &r.numbers).find(|n| n.figure == "wall_mm" && n.value == wall);
            origins.push(Origin {
                param: format!("formers[{}].wall_mm", at.rsplit('/').next().unwrap_or_default()),
                value: wall,
                u: 0.0,
                unit: "mm",
                mark: number.map_or(Mark::Memory, |n| n.mark),
                source: "of the usual walls the nearest to the coil's own".into(),
            });
            Reading::of(wall)
        }
        (None, None) => {
            return Err(RpcError::params(format!("{at}/wall_mm"), "no usual wall is known of this material")
                .next("give `wall_mm`"));
        }
    };
    coil.former.material = other.material.clone();
    coil.former.slit_mm = other.slit_mm;
    Ok(coil)
}

/// One former with the coil on it.
struct One {
    id: String,
    label: String,
    spec: CoilSpec,
    design: Design,
    price: Option<Money>,
}

impl One {
    fn of(
        app: &App,
        coil: &CoilDesign,
        per_m2: Option<Money>,
        (at, price_at): (&str, &str),
        origins: &mut Vec<Origin>,
    ) -> Result<One, RpcError> {
        // Errors of the coil itself were told with the first former, whose pointers begin with `/coil`.
        let (spec, design) = view::designed_here(
            &app.catalog,
            &app.store.state().state,
            coil,
            if at.is_empty() { "/coil" } else { at },
        )?;
        let (id, label) = match &coil.former.material {
            FormerRef::Id(id) => {
                let record = app.catalog.former(id);
                for n in record.into_iter().flat_map(|r| &r.numbers).filter(|n| n.figure != "wall_mm") {
                    origins.push(Origin {
                        param: format!("{id}.{}", n.figure),
                        value: n.value,
                        u: n.u.unwrap_or(0.0),
                        unit: n.unit,
                        mark: n.mark,
                        source: n.source.clone(),
                    });
                }
                (id.clone(), record.map_or_else(|| id.clone(), |r| r.label.clone()))
            }
            FormerRef::Inline(_) => ("written out".into(), "the material that was written out".into()),
        };
        let area = design.blank_width.zip(design.blank_length).map(|(w, length)| length.mm() * w.mm());
        let price = per_m2.zip(area).map(|(per_m2, mm2)| price(&per_m2, mm2, price_at)).transpose()?;
        Ok(One { id, label, spec, design, price })
    }

    fn coil_mass(&self) -> Option<Measured<Mass>> {
        let m = &self.design.mass;
        let former = m.former?;
        let u = root_of_squares(&[m.wire.u.g(), m.adhesive.u.g(), former.u.g()]);
        Some(Measured::new(m.wire.value + m.adhesive.value + former.value, Mass::from_g(u)))
    }

    /// Damping closed and slit per square tesla; of a metal above a known plate.
    fn damping(&self) -> Option<(f64, Option<f64>)> {
        let metal = MetalFormer::of(&self.spec.former)?;
        let plate = self.spec.gap.as_ref()?.plate?.value.m();
        Some((metal.damping_closed(plate), self.spec.former.height.map(|_| metal.damping_slit(plate))))
    }

    /// How much former and winding grow from bench to working temperature.
    fn grows(&self) -> (Option<Length>, Option<Length>) {
        let Some((cold, hot)) = self.spec.bench.zip(self.spec.hot) else { return (None, None) };
        let f = &self.spec.former;
        let middle = f.inside_diameter.value + f.wall.value;
        let grown = |alpha: f64, d: Length| growth(alpha, d, cold, hot);
        let winding = grown(self.spec.wire.conductor.expansion_per_k(), self.design.base_diameter.value);
        (f.material.expansion_per_k.map(|alpha| grown(alpha, middle)), Some(winding))
    }

    fn in_words(&self, first: Option<&One>, field: Option<Measured<f64>>) -> Result<ComparedFormer, RpcError> {
        let d = &self.design;
        let damping = self.damping();
        let rough = |r: f64| sound_words::figure(Measured::new(r, r * DAMPING_U));
        // The field enters squared: twice its own share.
        let in_field = |r: f64| {
            field.map(|b| {
                let r = r * b.value * b.value;
                sound_words::figure(Measured::new(r, r * DAMPING_U.hypot(2.0 * b.u / b.value)))
            })
        };
        let (former_growth, winding_growth) = self.grows();
        Ok(ComparedFormer {
            former: self.id.clone(),
            label: self.label.clone(),
            wall_mm: bare(self.spec.former.wall.value),
            slit_mm: bare(self.spec.former.slit),
            blank: crate::winding_words::blank(d).unwrap_or_default(),
            dcr_ohm: d.dcr.into(),
            sentence: self.sentence(first),
            findings: d.findings.iter().filter(|f| f.level != Level::Note).cloned().map(view::finding).collect(),
            former_g: d.mass.former.map(Into::into),
            coil_g: self.coil_mass().map(Into::into),
            clearance_outer_mm: d.clearance_outer.map(Into::into),
            clearance_cost_mm: self.cost(first.unwrap_or(self)).map(bare),
            heat_limit_c: self.spec.former.material.heat_limit.map(bare),
            closed_per_t2: damping.map(|(closed, _)| rough(closed)),
            slit_per_t2: damping.and_then(|(_, slit)| slit).map(rough),
            closed_n_s_per_m: damping.and_then(|(closed, _)| in_field(closed)),
            slit_n_s_per_m: damping.and_then(|(_, slit)| slit).and_then(in_field),
            growth_hot_mm: former_growth.map(bare),
            winding_growth_hot_mm: winding_growth.map(bare),
            price: self.price.clone(),
        })
    }

    /// What it takes from the clearance outside.
    fn cost(&self, first: &One) -> Option<Length> {
        Some(first.design.clearance_outer?.value - self.design.clearance_outer?.value)
    }

    fn sentence(&self, first: Option<&One>) -> String {
        let mut said = vec![format!("{}, {} mm", self.label, trimmed(self.spec.former.wall.value.mm()))];
        if let Some(first) = first {
            if let Some((own, its)) = self.design.mass.former.zip(first.design.mass.former) {
                let more = (own.value - its.value).g();
                said.push(match more {
                    m if m.abs() < 0.005 => "as heavy".into(),
                    m if m < 0.0 => format!("{:.2} g lighter", -m),
                    m => format!("{m:.2} g heavier"),
                });
            }
            if let Some(cost) = self.cost(first).map(Length::mm) {
                said.push(match cost {
                    c if c.abs() < 0.0005 => "the same room outside".into(),
                    c if c < 0.0 => format!("{:.3} mm more room outside", -c),
                    c => format!("{c:.3} mm less room outside"),
                });
            }
        }
        said.push(match (self.spec.former.material.is_metal(), self.spec.former.slit.m() > 0.0) {
            (true, true) => "slit: no shorted turn, most of the damping stays".into(),
            (true, false) => "closed: a shorted turn with full damping".into(),
            (false, _) => "adds no damping".into(),
        });
        said.push(match (self.spec.former.material.heat_limit, self.spec.hot) {
            (Some(limit), Some(hot)) if hot.c() > limit.c() => {
                format!("bears {:.0} °C where the coil gets {:.0} °C: not for this coil", limit.c(), hot.c())
            }
            (Some(limit), _) => format!("bears {:.0} °C", limit.c()),
            (None, _) => "the adhesive decides how hot".into(),
        });
        if let Some(stop) = self.design.findings.iter().find(|f| f.level == Level::Stop) {
            said.push(format!("STOP: {}", stop.text));
        }
        said.join("; ") + "."
    }
}

fn root_of_squares(parts: &[f64]) -> f64 {
    parts.iter().map(|u| u * u).sum::<f64>().sqrt()
}

fn trimmed(mm: f64) -> String {
    format!("{mm:.3}").trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// What so many square millimetres cost, up to the next hundredth; decimal throughout.
fn price(per_m2: &Money, mm2: f64, at: &str) -> Result<Money, RpcError> {
    let bad = || {
        RpcError::params(format!("{at}/amount"), format!("`{}` is no price", per_m2.amount))
            .met(per_m2.amount.clone())
            .allowed("a decimal from 0 with at most four decimals, e.g. \"38.50\"")
            .next("write it as text with a decimal point")
    };
    let (whole, part) = per_m2.amount.split_once('.').unwrap_or((&per_m2.amount, ""));
    let digits = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
    if whole.is_empty() || whole.len() > 9 || part.len() > 4 || !digits(whole) || !digits(part) {
        return Err(bad());
    }
    let ten_thousandths: u128 = format!("{whole}{part:0<4}").parse().map_err(|_| bad())?;
    // Whole square millimetres, rounded up: at most a few million, so the cast holds.
    let hundredths = (ten_thousandths * mm2.ceil() as u128).div_ceil(100 * 1_000_000);
    let amount = format!("{}.{:02}", hundredths / 100, hundredths % 100);
    Ok(Money { amount, currency: per_m2.currency.clone() })
}
