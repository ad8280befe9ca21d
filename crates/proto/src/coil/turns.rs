//! Turns of a coil's layers: one whole number for the first of them, or a list of all.

use crate::error::Explained;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::borrow::Cow;
use std::fmt;

/// Turns of each layer, or of the first one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TurnsPerLayer {
    /// Turns of the first layer; the others follow by rule.
    First(u32),
    /// Turns of each layer.
    Each(Vec<u32>),
}

impl Serialize for TurnsPerLayer {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        match self {
            TurnsPerLayer::First(n) => n.serialize(s),
            TurnsPerLayer::Each(list) => list.serialize(s),
        }
    }
}

struct TurnsForm;

impl<'de> Visitor<'de> for TurnsForm {
    type Value = TurnsPerLayer;
    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a list of whole numbers of turns like [52, 51], or one whole number for the first layer")
    }
    fn visit_u64<E: de::Error>(self, n: u64) -> Result<Self::Value, E> {
        u32::try_from(n).map(TurnsPerLayer::First).map_err(|_| E::invalid_value(de::Unexpected::Unsigned(n), &self))
    }
    fn visit_f64<E: de::Error>(self, turns: f64) -> Result<Self::Value, E> {
        whole(turns).map(TurnsPerLayer::First)
    }
    fn visit_seq<A: SeqAccess<'de>>(self, seq: A) -> Result<Self::Value, A::Error> {
        let list = Vec::<WholeTurns>::deserialize(de::value::SeqAccessDeserializer::new(seq))?;
        Ok(TurnsPerLayer::Each(list.into_iter().map(|n| n.0).collect()))
    }
}

/// Turns of one layer.
struct WholeTurns(u32);

impl Visitor<'_> for WholeTurns {
    type Value = WholeTurns;
    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a whole number of turns")
    }
    fn visit_u64<E: de::Error>(self, n: u64) -> Result<WholeTurns, E> {
        u32::try_from(n).map(WholeTurns).map_err(|_| E::invalid_value(de::Unexpected::Unsigned(n), &self))
    }
    fn visit_f64<E: de::Error>(self, turns: f64) -> Result<WholeTurns, E> {
        whole(turns).map(WholeTurns)
    }
}
impl<'de> Deserialize<'de> for WholeTurns {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        d.deserialize_any(WholeTurns(0))
    }
}

/// A count that was written with a point: `37.0` is meant as 37, `36.5` is no count of a layer.
fn whole<E: de::Error>(turns: f64) -> Result<u32, E> {
    if turns.fract() == 0.0 && (0.0..=f64::from(u32::MAX)).contains(&turns) {
        return Ok(turns as u32);
    }
    let text = format!("a layer is counted in whole turns of 360°, and {turns} is none");
    let next = "write the whole turns; where the finish lead leaves across the coil, count that half turn to the leads";
    Err(E::custom(Explained::new(&text, &turns.to_string(), "whole turns like 36", next).encoded()))
}

impl<'de> Deserialize<'de> for TurnsPerLayer {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        d.deserialize_any(TurnsForm)
    }
}
impl JsonSchema for TurnsPerLayer {
    fn schema_name() -> Cow<'static, str> {
        "TurnsPerLayer".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "anyOf": [
            { "type": "integer", "minimum": 1 },
            { "type": "array", "items": { "type": "integer", "minimum": 1 }, "minItems": 1, "maxItems": 12 },
        ]})
    }
}
