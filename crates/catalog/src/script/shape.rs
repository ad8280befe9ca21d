//! Shapes that a plugin declares for its settings, and for the params and results of its methods; values are checked
//! against them on the way in and on the way out.

use super::room::Asking;
use super::value::{into_script, out_of_script};
use crate::catalog::Catalog;
use crate::nearest::nearest;
use coilwright_core::typed::{self, Kind as Quantity};
use rhai::{Dynamic, Map};
use rust_decimal::Decimal;
use serde_json::{Value, json};

/// What a value must be.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// Its kind.
    pub kind: Kind,
    /// What it is, for people.
    pub description: String,
    /// Least value of a number, or least count of a list.
    pub minimum: Option<f64>,
    /// Greatest value of a number, greatest count of a list, or most characters of a text.
    pub maximum: Option<f64>,
}

/// The kinds of value.
#[derive(Debug, Clone, PartialEq)]
pub enum Kind {
    /// Text.
    Text,
    /// One of some words.
    Word(Vec<String>),
    /// A number; its unit, if any, is the end of its name.
    Number,
    /// A whole number.
    Integer,
    /// True or false.
    YesNo,
    /// A value and its standard uncertainty.
    Measured,
    /// A decimal amount in the shop's currency.
    Money,
    /// Params of `coil.design`.
    Coil,
    /// Id of a wire, or a wire written out.
    Wire,
    /// Id of a former material, or a material written out.
    Former,
    /// Id of a job.
    Job,
    /// Several of one shape.
    List(Box<Shape>),
    /// Members by name.
    Group(Vec<Member>),
    /// Whatever JSON can hold: only in results.
    Any,
}

/// A member of a group.
#[derive(Debug, Clone, PartialEq)]
pub struct Member {
    /// Its name; a number with a dimension ends in its unit.
    pub name: String,
    /// Whether it must be there.
    pub required: bool,
    /// What it is.
    pub shape: Shape,
}

/// A value that does not have its shape.
#[derive(Debug, Clone, PartialEq)]
pub struct Misfit {
    /// JSON pointer to it.
    pub pointer: String,
    /// What is wrong, in a sentence.
    pub message: String,
    /// What was met.
    pub met: Value,
    /// What would have been taken.
    pub allowed: Option<String>,
    /// What to do.
    pub next_step: Option<String>,
}

impl Misfit {
    pub(crate) fn new(pointer: &str, message: impl Into<String>) -> Misfit {
        Misfit { pointer: pointer.into(), message: message.into(), met: Value::Null, allowed: None, next_step: None }
    }
    fn met(self, met: &Value) -> Misfit {
        Misfit { met: met.clone(), ..self }
    }
    fn allowed(self, allowed: impl Into<String>) -> Misfit {
        Misfit { allowed: Some(allowed.into()), ..self }
    }
}

/// Units that a name may end in: their text in the grammar of quantities, their kind, and one of them in SI.
const UNITS: [(&str, Quantity, f64); 14] = [
    ("_ohm_per_m", Quantity::LinearResistance, 1.0),
    ("_g_per_m", Quantity::LinearMass, 1e-3),
    ("_mm", Quantity::Length, 1e-3),
    ("_um", Quantity::Length, 1e-6),
    ("_m", Quantity::Length, 1.0),
    ("_kg", Quantity::Mass, 1.0),
    ("_g", Quantity::Mass, 1e-3),
    ("_ohm", Quantity::Resistance, 1.0),
    ("_c", Quantity::Temperature, 1.0),
    ("_n", Quantity::Force, 1.0),
    ("_uh", Quantity::Inductance, 1e-6),
    ("_pct", Quantity::Ratio, 1e-2),
    ("_min", Quantity::Duration, 60.0),
    ("_hz", Quantity::Frequency, 1.0),
];

impl Shape {
    /// A value from outside in the form that a script gets. Without anybody to ask, ids and currency are not looked up.
    ///
    /// # Errors
    /// What does not fit, with its pointer.
    pub(crate) fn take(&self, name: &str, value: &Value, at: &str, asking: Option<&Asking>) -> Result<Dynamic, Misfit> {
        let wrong = |wanted: &str| Misfit::new(at, format!("{wanted} is wanted")).met(value).allowed(wanted);
        match &self.kind {
            Kind::Text => {
                let text = value.as_str().ok_or_else(|| wrong("text"))?;
                let most = self.maximum.unwrap_or(LONGEST_TEXT);
                if text.chars().count() as f64 > most {
                    return Err(Misfit::new(at, format!("the text is longer than {most} characters")));
                }
                Ok(Dynamic::from(text.to_owned()))
            }
            Kind::Word(words) => match value.as_str() {
                Some(word) if words.iter().any(|w| w == word) => Ok(Dynamic::from(word.to_owned())),
                _ => Err(wrong(&format!("one of {}", words.join(", ")))),
            },
            Kind::Number => {
                let number = number(name, value, at)?.ok_or_else(|| wrong("a number"))?;
                self.bounded(number, at, value)?;
                Ok(Dynamic::from_float(number))
            }
            Kind::Integer => {
                let whole = value.as_i64().ok_or_else(|| wrong("a whole number"))?;
                self.bounded(whole as f64, at, value)?;
                Ok(Dynamic::from_int(whole))
            }
            Kind::YesNo => value.as_bool().map(Dynamic::from_bool).ok_or_else(|| wrong("true or false")),
            Kind::Measured => {
                let (of, u) = match value.as_object() {
                    Some(pair) => (pair.get("value").unwrap_or(&Value::Null), pair.get("u").and_then(Value::as_f64)),
                    None => (value, Some(0.0)),
                };
                let number = number(name, of, at)?.ok_or_else(|| wrong("a number, or {value, u}"))?;
                let u = u.filter(|u| *u >= 0.0).ok_or_else(|| wrong("a number, or {value, u}"))?;
                self.bounded(number, at, value)?;
                Ok(into_script(&json!({ "value": number, "u": u })))
            }
            Kind::Money => {
                let amount = self.money(value, at, asking.map(Asking::currency).as_deref())?;
                Ok(Dynamic::from_decimal(amount))
            }
            Kind::Coil => {
                let Some(asking) = asking else { return Ok(into_script(value)) };
                let coil = asking.room().coil(asking.catalog(), value).map_err(|unable| Misfit {
                    pointer: format!("{at}{}", unable.pointer.unwrap_or_default()),
                    next_step: unable.next_step,
                    ..Misfit::new(at, unable.message)
                })?;
                Ok(into_script(&coil))
            }
            Kind::Wire | Kind::Former => {
                if let (Some(id), Some(asking)) = (value.as_str(), asking) {
                    self.known(id, at, asking.catalog())?;
                }
                let named = value.is_string() || value.is_object();
                if named { Ok(into_script(value)) } else { Err(wrong("an id, or an object that writes it out")) }
            }
            Kind::Job => value.as_str().map(|id| Dynamic::from(id.to_owned())).ok_or_else(|| wrong("the id of a job")),
            Kind::List(of) => {
                let items = value.as_array().ok_or_else(|| wrong("a list"))?;
                self.counted(items.len(), at)?;
                let each = items.iter().enumerate().map(|(i, item)| of.take(name, item, &format!("{at}/{i}"), asking));
                Ok(Dynamic::from_array(each.collect::<Result<_, _>>()?))
            }
            Kind::Group(members) => {
                let object = value.as_object().ok_or_else(|| wrong("an object"))?;
                for name in object.keys() {
                    if !members.iter().any(|m| m.name == *name) {
                        let near = nearest(name, members.iter().map(|m| m.name.as_str()), 1);
                        let next = near.first().map(|near| format!("write `{near}` if that is what was meant"));
                        let known = members.iter().map(|m| m.name.as_str()).collect::<Vec<_>>().join(", ");
                        let misfit = Misfit::new(&format!("{at}/{name}"), format!("there is no param `{name}`"));
                        return Err(Misfit { next_step: next, allowed: Some(known), ..misfit });
                    }
                }
                let mut map = Map::new();
                for member in members {
                    let at = format!("{at}/{}", member.name);
                    match object.get(&member.name).filter(|v| !v.is_null()) {
                        Some(value) => {
                            let taken = member.shape.take(&member.name, value, &at, asking)?;
                            map.insert(member.name.as_str().into(), taken);
                        }
                        None if member.required => {
                            return Err(Misfit::new(&at, format!("`{}` is required", member.name)));
                        }
                        None => {}
                    }
                }
                Ok(Dynamic::from_map(map))
            }
            Kind::Any => Ok(into_script(value)),
        }
    }

    /// What a script answered, as JSON.
    ///
    /// # Errors
    /// In words, with the pointer, what the declared shape does not allow.
    pub(crate) fn give(&self, value: &Dynamic, at: &str, currency: &str) -> Result<Value, String> {
        let here = if at.is_empty() { "/" } else { at };
        let wrong = |wanted: &str| Err(format!("at {here}: {wanted} was promised, a {} came", value.type_name()));
        let bounded = |number: f64| match self.bounded(number, at, &Value::Null) {
            Ok(()) => Ok(()),
            Err(misfit) => Err(format!("at {here}: {}", misfit.message)),
        };
        match &self.kind {
            Kind::Number => {
                let Some(number) = value.as_float().ok().or_else(|| value.as_int().ok().map(|i| i as f64)) else {
                    return wrong("a number");
                };
                bounded(number)?;
                out_of_script(&Dynamic::from_float(number)).map_err(|e| format!("at {here}: {e}"))
            }
            Kind::Integer => match value.as_int() {
                Ok(whole) => bounded(whole as f64).map(|()| whole.into()),
                Err(_) => wrong("a whole number"),
            },
            Kind::YesNo => value.as_bool().map(Value::Bool).or_else(|_| wrong("true or false")),
            Kind::Text | Kind::Job => match value.as_immutable_string_ref() {
                Ok(text) => Ok(Value::String(text.to_string())),
                Err(_) => wrong("text"),
            },
            Kind::Word(words) => match value.as_immutable_string_ref() {
                Ok(word) if words.iter().any(|w| *w == word.as_str()) => Ok(Value::String(word.to_string())),
                _ => wrong(&format!("one of {}", words.join(", "))),
            },
            Kind::Money => match value.as_decimal() {
                Ok(amount) if amount.normalize().scale() <= 2 => {
                    Ok(json!({ "amount": written(amount), "currency": currency }))
                }
                Ok(amount) => Err(format!("at {here}: {amount} has more than two decimals: round it with cents()")),
                Err(_) => wrong("a decimal amount"),
            },
            Kind::Measured => match out_of_script(value) {
                Ok(pair) if pair["value"].is_number() && pair["u"].is_number() => Ok(pair),
                _ => wrong("#{value, u}"),
            },
            Kind::List(of) => match value.as_array_ref() {
                Ok(items) => {
                    let each = items.iter().enumerate().map(|(i, item)| of.give(item, &format!("{at}/{i}"), currency));
                    each.collect::<Result<_, _>>().map(Value::Array)
                }
                Err(_) => wrong("a list"),
            },
            Kind::Group(members) => match value.as_map_ref() {
                Ok(map) => give_group(members, &map, at, currency),
                Err(_) => wrong("an object map"),
            },
            Kind::Coil | Kind::Wire | Kind::Former | Kind::Any => {
                out_of_script(value).map_err(|e| format!("at {here}: {e}"))
            }
        }
    }

    /// A wire or former material by its id.
    fn known(&self, id: &str, at: &str, catalog: &Catalog) -> Result<(), Misfit> {
        let (what, known, near) = match self.kind {
            Kind::Wire => ("wire", catalog.wire(id).is_some(), catalog.nearest_wire(id)),
            _ => ("former material", catalog.former(id).is_some(), catalog.nearest_former(id)),
        };
        if known {
            return Ok(());
        }
        let misfit = Misfit::new(at, format!("there is no {what} `{id}`")).met(&Value::String(id.to_owned()));
        Err(Misfit { next_step: near.first().map(|near| format!("did you mean `{near}`?")), ..misfit })
    }

    fn bounded(&self, number: f64, at: &str, met: &Value) -> Result<(), Misfit> {
        let low = self.minimum.is_some_and(|least| number < least);
        let high = self.maximum.is_some_and(|most| number > most);
        if !low && !high && number.is_finite() {
            return Ok(());
        }
        let allowed = self.allowed();
        Err(Misfit::new(at, format!("{number} is outside {allowed}")).met(met).allowed(allowed))
    }

    fn counted(&self, count: usize, at: &str) -> Result<(), Misfit> {
        let most = self.maximum.unwrap_or(LONGEST_LIST);
        if (count as f64) < self.minimum.unwrap_or(0.0) || count as f64 > most {
            let allowed = Shape { maximum: Some(most), ..self.clone() }.allowed();
            return Err(Misfit::new(at, format!("a list of {count} is outside {allowed}")).allowed(allowed));
        }
        Ok(())
    }

    fn allowed(&self) -> String {
        match (self.minimum, self.maximum) {
            (Some(least), Some(most)) => format!("{least} to {most}"),
            (Some(least), None) => format!("{least} and above"),
            (None, Some(most)) => format!("{most} and below"),
            (None, None) => "what a number can be".into(),
        }
    }

    /// An amount of money: text in a manifest, `{amount, currency}` or text on the wire.
    fn money(&self, value: &Value, at: &str, currency: Option<&str>) -> Result<Decimal, Misfit> {
        let wrong = || Misfit::new(at, "an amount like \"138.28\" is wanted").met(value);
        if let Some(currency) = currency
            && let Some(other) = value.get("currency").and_then(Value::as_str).filter(|c| *c != currency)
        {
            let misfit = Misfit::new(at, format!("the amount is in {other}, the shop counts in {currency}"));
            return Err(misfit.met(value).allowed(currency));
        }
        let text = value.as_str().or_else(|| value.get("amount").and_then(Value::as_str)).ok_or_else(wrong)?;
        let amount = amount(text).ok_or_else(wrong)?;
        let number = text.parse::<f64>().unwrap_or(f64::NAN);
        self.bounded(number, at, value)?;
        Ok(amount)
    }
}

/// Most characters of a text that declares none.
const LONGEST_TEXT: f64 = 1000.0;
/// Most items of a list that declares none.
const LONGEST_LIST: f64 = 100.0;

fn give_group(members: &[Member], map: &Map, at: &str, currency: &str) -> Result<Value, String> {
    if let Some(stray) = map.keys().find(|name| !members.iter().any(|m| m.name == name.as_str())) {
        return Err(format!("at {at}/{stray}: the manifest declares no `{stray}`"));
    }
    let mut object = serde_json::Map::new();
    for member in members {
        let at = format!("{at}/{}", member.name);
        match map.get(member.name.as_str()).filter(|v| !v.is_unit()) {
            Some(value) => drop(object.insert(member.name.clone(), member.shape.give(value, &at, currency)?)),
            None if member.required => return Err(format!("at {at}: it was promised and is not there")),
            None => {}
        }
    }
    Ok(Value::Object(object))
}

/// Whether a name ends in a unit such as `_g_per_m`; `g_per_m` alone is that unit too, and no length.
pub fn ends_in(name: &str, unit: &str) -> bool {
    name.ends_with(unit) || (unit.contains("_per_") && unit.strip_prefix('_') == Some(name))
}

/// A number, or text with the unit that the name ends in; nothing where it is neither.
fn number(name: &str, value: &Value, at: &str) -> Result<Option<f64>, Misfit> {
    let Some(text) = value.as_str() else { return Ok(value.as_f64()) };
    let Some((_, kind, scale)) = UNITS.iter().find(|(end, _, _)| ends_in(name, end)) else { return Ok(None) };
    match typed::parse(text, *kind) {
        Ok(typed) => Ok(Some(typed.si / scale)),
        Err(why) => Err(Misfit::new(at, why.to_string()).met(value)),
    }
}

/// A decimal amount as people write it: digits, a point, digits.
pub(crate) fn amount(text: &str) -> Option<Decimal> {
    let digits = text.strip_prefix('-').unwrap_or(text);
    let plain = digits.len() <= 18 && digits.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    let whole = digits.starts_with(|c: char| c.is_ascii_digit()) && digits.ends_with(|c: char| c.is_ascii_digit());
    (plain && whole).then(|| Decimal::from_str_exact(text).ok()).flatten()
}

/// An amount with two decimals.
pub(crate) fn written(amount: Decimal) -> String {
    format!("{amount:.2}")
}
