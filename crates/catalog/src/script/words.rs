//! The words that scripts have besides the language's own: decimals, refusals, and questions to the program.

use super::room::{Asking, Unable};
use super::run;
use super::shape::{amount, written};
use super::value::{into_script, out_of_script, with_whole_numbers};
use crate::former_table::FormerRecord;
use crate::supply_table::OfferRecord;
use crate::wire_table::WireRecord;
use coilwright_core::wire::Wire;
use rhai::{Dynamic, Engine, EvalAltResult, ImmutableString, NativeCallContext, Position};
use rust_decimal::{Decimal, RoundingStrategy};
use serde_json::{Value, json};

/// What goes along with a call: what it may ask, and whether it may ask the costing rules of all plugins.
#[derive(Clone)]
pub(crate) struct Tag {
    pub(crate) asking: Asking,
    pub(crate) may_ask_rules: bool,
}

type Answer = Result<Dynamic, Box<EvalAltResult>>;

pub(crate) fn register(engine: &mut Engine) {
    engine
        .register_type_with_name::<Unable>("refusal")
        .register_fn("to_string", |unable: &mut Unable| unable.message.clone())
        .register_fn("decimal", |d: Decimal| d)
        .register_fn("decimal", |whole: i64| Decimal::from(whole))
        .register_fn("decimal", |float: f64| decimal_of(float))
        .register_fn("decimal", |text: ImmutableString| {
            amount(&text).ok_or_else(|| wrong(format!("`{text}` is no decimal amount")))
        })
        .register_fn("cents", |d: Decimal| d.round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero))
        .register_fn("fixed", |d: Decimal| written(d.round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero)))
        .register_fn("fixed", |x: f64, digits: i64| format!("{x:.*}", digits.clamp(0, 9) as usize))
        .register_fn("refuse", |text: ImmutableString| refused(text.as_str(), None))
        .register_fn("refuse", |text: ImmutableString, at: ImmutableString| refused(text.as_str(), Some(at.as_str())))
        .register_fn("design", design)
        .register_fn("wire", wire)
        .register_fn("former", former)
        .register_fn("offers", offers)
        .register_fn("job", job)
        .register_fn("costing_rules", costing_rules);
}

/// The shortest decimal that reads back as this float.
fn decimal_of(float: f64) -> Result<Decimal, Box<EvalAltResult>> {
    let text = format!("{float}");
    Decimal::from_str_exact(&text)
        .or_else(|_| Decimal::try_from(float))
        .map_err(|_| wrong(format!("{float} is no decimal amount")))
}

fn wrong(message: String) -> Box<EvalAltResult> {
    EvalAltResult::ErrorRuntime(message.into(), Position::NONE).into()
}

fn unable(unable: Unable) -> Box<EvalAltResult> {
    EvalAltResult::ErrorRuntime(Dynamic::from(unable), Position::NONE).into()
}

fn refused(text: &str, at: Option<&str>) -> Answer {
    Err(unable(Unable { pointer: at.map(str::to_owned), ..Unable::because(text) }))
}

fn tag(context: &NativeCallContext<'_>) -> Result<Tag, Box<EvalAltResult>> {
    let tag = context.tag().and_then(|tag| tag.read_lock::<Tag>().map(|tag| tag.clone()));
    tag.ok_or_else(|| wrong("nothing can be asked here".into()))
}

fn design(context: NativeCallContext<'_>, coil: Dynamic) -> Answer {
    let asking = tag(&context)?.asking;
    let coil = with_whole_numbers(out_of_script(&coil).map_err(wrong)?);
    asking.room().design(asking.catalog(), &coil).map(|d| into_script(&d)).map_err(unable)
}

fn job(context: NativeCallContext<'_>, id: ImmutableString) -> Answer {
    tag(&context)?.asking.room().job(&id).map(|job| into_script(&job)).map_err(unable)
}

fn wire(context: NativeCallContext<'_>, id: ImmutableString) -> Answer {
    let asking = tag(&context)?.asking;
    let catalog = asking.catalog();
    match catalog.wire(&id) {
        Some(record) => Ok(into_script(&wire_figures(record))),
        None => Err(unable(no_such("wire", &id, &catalog.nearest_wire(&id)))),
    }
}

fn former(context: NativeCallContext<'_>, id: ImmutableString) -> Answer {
    let asking = tag(&context)?.asking;
    let catalog = asking.catalog();
    match catalog.former(&id) {
        Some(record) => Ok(former_figures(record)),
        None => Err(unable(no_such("former material", &id, &catalog.nearest_former(&id)))),
    }
}

fn offers(context: NativeCallContext<'_>, wire: ImmutableString) -> Answer {
    let asking = tag(&context)?.asking;
    let offers = asking.catalog().offers_for(&wire).iter();
    Ok(Dynamic::from_array(offers.filter_map(offer_figures).collect()))
}

/// Every costing rule of every plugin, asked about one coil; what they add, with the plugin it came from, or that one failed.
fn costing_rules(context: NativeCallContext<'_>, about: Dynamic) -> Answer {
    let tag = tag(&context)?;
    if !tag.may_ask_rules {
        return Err(wrong("only a method may ask the costing rules".into()));
    }
    let about = out_of_script(&about).map_err(wrong)?;
    let costs = run::costs(&tag.asking, &about);
    Ok(Dynamic::from_array(costs.iter().map(|cost| cost.for_script()).collect()))
}

fn no_such(what: &str, id: &str, near: &[&str]) -> Unable {
    let next_step = near.first().map(|near| format!("did you mean `{near}`?"));
    Unable { next_step, ..Unable::because(format!("there is no {what} `{id}`")) }
}

/// A wire's figures under the names of the wire.
pub(crate) fn figures_of(wire: &Wire) -> Value {
    json!({
        "conductor": wire.conductor.word(),
        "bare_mm": wire.bare.value.mm(),
        "overall_mm": wire.overall.value.mm(),
        "ohm_per_m": wire.ohm_per_m().value.ohm_per_m(),
        "g_per_m": wire.g_per_m().value.g_per_m(),
    })
}

fn wire_figures(record: &WireRecord) -> Value {
    let mut figures = figures_of(&record.wire);
    figures["wire"] = record.id.as_str().into();
    figures["label"] = record.label.as_str().into();
    figures["series"] = record.series.as_str().into();
    figures["listed"] = (record.standing == coilwright_core::wire::Standing::Listed).into();
    figures
}

fn former_figures(record: &FormerRecord) -> Dynamic {
    let figures = into_script(&json!({
        "former": record.id,
        "label": record.label,
        "metal": record.material.is_metal(),
        "density_g_per_cm3": record.numbers.iter().find(|n| n.figure == "density_g_per_cm3").map(|n| n.value),
        "heat_limit_c": record.material.heat_limit.map(|t| t.c()),
        "slit_mm": record.slit.mm(),
        "plugin": record.at.plugin,
        "currency": record.price.as_ref().map(|p| &p.currency),
    }));
    let price = record.price.as_ref().and_then(|price| amount(&price.amount));
    match (figures.clone().try_cast::<rhai::Map>(), price) {
        (Some(mut figures), Some(price)) => {
            figures.insert("price".into(), Dynamic::from_decimal(price));
            Dynamic::from_map(figures)
        }
        _ => figures,
    }
}

fn offer_figures(offer: &OfferRecord) -> Option<Dynamic> {
    let figures = into_script(&json!({
        "offer": offer.id, "supplier": offer.supplier, "net_g": offer.net.value.g(), "currency": offer.currency,
        "lead_days": offer.lead_days, "lead_days_p90": offer.lead_days_p90,
    }));
    let mut figures = figures.try_cast::<rhai::Map>()?;
    figures.insert("price".into(), Dynamic::from_decimal(amount(&offer.price)?));
    Some(Dynamic::from_map(figures))
}
