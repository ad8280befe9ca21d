//! Numbers with a dimension: one name, three forms in, one form out.
//!
//! In: a bare number in the unit that the name ends in, text that carries its unit, or `{value, u}` where a measurement is
//! meant. Out: `{value, u}` for what was measured or predicted, a bare number for settings and counts.

use crate::error::Explained;
use coilwright_core::measured::Measured;
use coilwright_core::quantity::{
    Density, Inductance, Length, LinearMass, LinearResistance, Mass, Quantity, Resistance, Resistivity, Temperature,
};
pub use coilwright_core::typed::shown;
use coilwright_core::typed::{self, Kind};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, MapAccess, Visitor};
use serde::ser::SerializeStruct;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

/// The unit that a member's name ends in.
pub trait Unit: Copy + fmt::Debug + PartialEq + Send + Sync + 'static {
    /// The quantity it measures.
    type Of: Quantity;
    /// The unit as UCUM writes it, in the schema's `x-ucum`.
    const UCUM: &'static str;
    /// Name of the schema's part, e.g. `Mm`.
    const NAME: &'static str;
    /// Its plain spelling in text, or empty where only bare numbers are taken.
    const TEXT: &'static str;
    /// The kind of text that is understood; `None` where only bare numbers are.
    const KIND: Option<Kind>;
    /// SI units in one of it.
    const SCALE: f64;
}

macro_rules! units {
    ($($(#[$doc:meta])* $name:ident: $of:ty, $ucum:literal, $text:literal, $kind:expr, $scale:expr;)+) => { $(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq)]
        pub struct $name;
        impl Unit for $name {
            type Of = $of;
            const UCUM: &'static str = $ucum;
            const NAME: &'static str = stringify!($name);
            const TEXT: &'static str = $text;
            const KIND: Option<Kind> = $kind;
            const SCALE: f64 = $scale;
        }
    )+ };
}

units! {
    /// Millimetres.
    Mm: Length, "mm", "mm", Some(Kind::Length), 1e-3;
    /// Micrometres.
    Um: Length, "um", "um", Some(Kind::Length), 1e-6;
    /// Metres.
    M: Length, "m", "m", Some(Kind::Length), 1.0;
    /// Grams.
    G: Mass, "g", "g", Some(Kind::Mass), 1e-3;
    /// Ohms.
    Ohm: Resistance, "Ohm", "ohm", Some(Kind::Resistance), 1.0;
    /// Ohms per metre.
    OhmPerM: LinearResistance, "Ohm/m", "ohm/m", Some(Kind::LinearResistance), 1.0;
    /// Grams per metre.
    GPerM: LinearMass, "g/m", "g/m", Some(Kind::LinearMass), 1e-3;
    /// Degrees Celsius.
    C: Temperature, "Cel", "°C", Some(Kind::Temperature), 1.0;
    /// Per cent.
    Pct: f64, "%", "%", Some(Kind::Ratio), 1e-2;
    /// A bare ratio.
    One: f64, "1", "", None, 1.0;
    /// Microhenries.
    Uh: Inductance, "uH", "uH", Some(Kind::Inductance), 1e-6;
    /// Grams per cubic centimetre.
    GPerCm3: Density, "g/cm3", "", None, 1e3;
    /// Ohm metres.
    OhmM: Resistivity, "Ohm.m", "", None, 1.0;
    /// Minutes.
    Min: f64, "min", "min", Some(Kind::Duration), 60.0;
    /// Per kelvin.
    PerK: f64, "K-1", "", None, 1.0;
    /// Hertz.
    Hz: f64, "Hz", "Hz", Some(Kind::Frequency), 1.0;
    /// Tesla metres: force per current.
    Tm: f64, "T.m", "T·m", Some(Kind::ForceFactor), 1.0;
    /// Square centimetres.
    Cm2: f64, "cm2", "cm2", Some(Kind::Area), 1e-4;
    /// Decibels.
    Db: f64, "dB", "", None, 1.0;
    /// Tesla.
    Tesla: f64, "T", "", None, 1.0;
    /// Degrees of angle.
    Deg: f64, "deg", "", None, core::f64::consts::PI / 180.0;
    /// Newton seconds per metre: mechanical resistance.
    NsPerM: f64, "N.s/m", "", None, 1.0;
}

/// A number in unit `U` as it was asked: bare, as text, or with its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading<U> {
    /// The value, in `U`.
    pub value: f64,
    /// Its standard uncertainty (k = 1), in `U`; `None` if none was stated.
    pub u: Option<f64>,
    unit: PhantomData<U>,
}

impl<U: Unit> Reading<U> {
    /// A number without uncertainty.
    pub fn of(value: f64) -> Self {
        Reading { value, u: None, unit: PhantomData }
    }
    /// A measurement: value and standard uncertainty.
    pub fn known(value: f64, u: f64) -> Self {
        Reading { value, u: Some(u), unit: PhantomData }
    }
    /// The quantity; an unstated uncertainty is none.
    pub fn measured(self) -> Measured<U::Of> {
        Measured::new(U::Of::from_si(self.value * U::SCALE), U::Of::from_si(self.u.unwrap_or(0.0) * U::SCALE))
    }
    /// The quantity without its uncertainty.
    pub fn quantity(self) -> U::Of {
        U::Of::from_si(self.value * U::SCALE)
    }
}

/// A number in unit `U` where no measurement is meant: a setting, a limit, a target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setting<U> {
    /// The value, in `U`.
    pub value: f64,
    unit: PhantomData<U>,
}

impl<U: Unit> Setting<U> {
    /// A number.
    pub fn of(value: f64) -> Self {
        Setting { value, unit: PhantomData }
    }
    /// The quantity.
    pub fn quantity(self) -> U::Of {
        U::Of::from_si(self.value * U::SCALE)
    }
}

/// A measured or predicted number in an answer, in unit `U`, with its standard uncertainty (k = 1).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure<U> {
    /// The value, in `U`.
    pub value: f64,
    /// Its standard uncertainty, in `U`.
    pub u: f64,
    unit: PhantomData<U>,
}

impl<U> Figure<U> {
    /// A value and its standard uncertainty, both in `U`.
    pub fn of(value: f64, u: f64) -> Self {
        Figure { value, u, unit: PhantomData }
    }
}

impl<U: Unit> From<Measured<U::Of>> for Figure<U> {
    fn from(m: Measured<U::Of>) -> Self {
        Figure { value: m.value.si() / U::SCALE, u: m.u.si() / U::SCALE, unit: PhantomData }
    }
}

/// A bare number in an answer: an instruction or a setting, in unit `U`.
pub fn bare<U: Unit>(quantity: U::Of) -> Setting<U> {
    Setting::of(quantity.si() / U::SCALE)
}

impl<U> Serialize for Figure<U> {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        pair(s, self.value, self.u)
    }
}
impl<U> Serialize for Reading<U> {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        match self.u {
            Some(u) => pair(s, self.value, u),
            None => s.serialize_f64(self.value),
        }
    }
}
impl<U> Serialize for Setting<U> {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.serialize_f64(self.value)
    }
}

fn pair<S: Serializer>(s: S, value: f64, u: f64) -> Result<S::Ok, S::Error> {
    let mut out = s.serialize_struct("Figure", 2)?;
    out.serialize_field("value", &value)?;
    out.serialize_field("u", &u)?;
    out.end()
}

/// A number or text in unit `U`.
struct Bare<U>(PhantomData<U>);

impl<'de, U: Unit> Visitor<'de> for Bare<U> {
    type Value = f64;
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<f64, A::Error> {
        while map.next_entry::<de::IgnoredAny, de::IgnoredAny>()?.is_some() {}
        let text = "a measurement with its uncertainty is not taken here, this is a setting";
        Err(de::Error::custom(
            Explained::new(text, "an object", "a number or text with its unit", "write the number alone").encoded(),
        ))
    }
    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        expecting::<U>(f)
    }
    fn visit_f64<E: de::Error>(self, value: f64) -> Result<f64, E> {
        Ok(value)
    }
    fn visit_i64<E: de::Error>(self, value: i64) -> Result<f64, E> {
        Ok(value as f64)
    }
    fn visit_u64<E: de::Error>(self, value: u64) -> Result<f64, E> {
        Ok(value as f64)
    }
    fn visit_str<E: de::Error>(self, text: &str) -> Result<f64, E> {
        understood::<U>(text).map_err(|e| E::custom(e.encoded()))
    }
}

fn expecting<U: Unit>(f: &mut fmt::Formatter) -> fmt::Result {
    match U::KIND {
        Some(kind) => write!(f, "a number in {} or text with its unit like `{}`", U::TEXT, kind.example()),
        None => write!(f, "a bare number"),
    }
}

/// Text in any unit of the right kind, as a number in `U`.
fn understood<U: Unit>(text: &str) -> Result<f64, Explained> {
    let Some(kind) = U::KIND else {
        return Err(Explained::new("text is not taken here", text, "a bare number", "write the number without quotes"));
    };
    match typed::parse(text, kind) {
        // The same number as written, not the number through SI and back.
        Ok(t) if t.unit == U::TEXT => Ok(t.number),
        Ok(t) => Ok(t.si / U::SCALE),
        Err(e) => {
            let units = kind.units().collect::<Vec<_>>().join(", ");
            let next = format!("write a number in {}, or text like `{}`", U::TEXT, kind.example());
            Err(Explained::new(&e.to_string(), text, &format!("units {units}"), &next))
        }
    }
}

struct AnyForm<U>(PhantomData<U>);

impl<'de, U: Unit> Visitor<'de> for AnyForm<U> {
    type Value = Reading<U>;
    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        expecting::<U>(f)?;
        f.write_str(", or {\"value\": …, \"u\": …}")
    }
    fn visit_f64<E: de::Error>(self, value: f64) -> Result<Self::Value, E> {
        Ok(Reading::of(value))
    }
    fn visit_i64<E: de::Error>(self, value: i64) -> Result<Self::Value, E> {
        Ok(Reading::of(value as f64))
    }
    fn visit_u64<E: de::Error>(self, value: u64) -> Result<Self::Value, E> {
        Ok(Reading::of(value as f64))
    }
    fn visit_str<E: de::Error>(self, text: &str) -> Result<Self::Value, E> {
        Bare::<U>(PhantomData).visit_str(text).map(Reading::of)
    }
    fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Self::Value, A::Error> {
        #[derive(Deserialize)]
        #[serde(deny_unknown_fields, bound = "U: Unit")]
        struct WithU<U> {
            value: Setting<U>,
            u: Setting<U>,
        }
        let WithU { value, u } = WithU::<U>::deserialize(de::value::MapAccessDeserializer::new(map))?;
        if u.value < 0.0 {
            let text = "a standard uncertainty cannot be negative";
            return Err(de::Error::custom(
                Explained::new(text, &u.value.to_string(), "0 or more", "leave `u` out if it is not known").encoded(),
            ));
        }
        Ok(Reading { value: value.value, u: Some(u.value), unit: PhantomData })
    }
}

impl<'de, U: Unit> Deserialize<'de> for Reading<U> {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        d.deserialize_any(AnyForm(PhantomData))
    }
}
impl<'de, U: Unit> Deserialize<'de> for Setting<U> {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        d.deserialize_any(Bare::<U>(PhantomData)).map(Setting::of)
    }
}

fn number<U: Unit>() -> Schema {
    json_schema!({ "type": "number", "x-ucum": U::UCUM })
}

fn number_or_text<U: Unit>() -> Schema {
    match U::KIND {
        Some(kind) => json_schema!({ "anyOf": [
            { "type": "number", "x-ucum": U::UCUM },
            { "type": "string", "maxLength": typed::LONGEST, "description": format!("A number with its unit, like `{}`.", kind.example()) },
        ]}),
        None => number::<U>(),
    }
}

impl<U: Unit> JsonSchema for Setting<U> {
    fn schema_name() -> Cow<'static, str> {
        format!("Setting{}", U::NAME).into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        number_or_text::<U>()
    }
}
impl<U: Unit> JsonSchema for Reading<U> {
    fn schema_name() -> Cow<'static, str> {
        format!("Reading{}", U::NAME).into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let bare = generator.subschema_for::<Setting<U>>();
        json_schema!({ "anyOf": [
            bare,
            { "type": "object", "properties": { "value": bare, "u": bare }, "required": ["value", "u"], "additionalProperties": false,
              "description": "A measurement: value and standard uncertainty (k = 1)." },
        ]})
    }
}
impl<U: Unit> JsonSchema for Figure<U> {
    fn schema_name() -> Cow<'static, str> {
        format!("Figure{}", U::NAME).into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "object", "properties": { "value": number::<U>(), "u": number::<U>() }, "required": ["value", "u"],
            "description": "Value and standard uncertainty (k = 1)." })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading(json: &str) -> Result<Reading<Mm>, String> {
        serde_json::from_str(json).map_err(|e| e.to_string())
    }

    #[test]
    fn three_forms_say_the_same() {
        let bare = reading("0.25").unwrap();
        assert_eq!(reading("\"0,25 mm\"").unwrap(), bare);
        assert_eq!(reading("\"0.25mm\"").unwrap(), bare);
        let with_u = reading("{\"value\": 0.25, \"u\": \"3 um\"}").unwrap();
        assert_eq!(with_u.value, 0.25);
        assert!((with_u.u.unwrap() - 0.003).abs() < 1e-15);
    }

    #[test]
    fn text_says_why_it_was_not_understood() {
        assert!(reading("\"1,234 mm\"").unwrap_err().contains("1234 mm"));
        assert!(reading("\"3 g\"").unwrap_err().contains("a mass"));
        assert!(reading("\"0.25\"").unwrap_err().contains("no unit"));
        assert!(reading("{\"value\": 1}").unwrap_err().contains("missing field `u`"));
        assert!(reading("{\"value\": 1, \"u\": -1}").unwrap_err().contains("negative"));
        assert!(reading("1e999").is_err());
        assert!(reading("null").is_err());
    }
}
