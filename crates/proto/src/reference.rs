//! A thing of the catalog by its id, or the thing itself written out: wherever a wire, a former or an adhesive is taken.

use crate::adhesive::InlineAdhesive;
use crate::former::InlineMaterial;
use crate::wire::InlineWire;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::value::MapAccessDeserializer;
use serde::de::{self, MapAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

/// What can be written out in place of an id.
pub trait Inline: JsonSchema + for<'de> Deserialize<'de> {
    /// What it is, for error texts and schema names.
    const WHAT: &'static str;
    /// Name of the reference's schema.
    const SCHEMA: &'static str;
    /// An id that exists.
    const EXAMPLE: &'static str;
}

impl Inline for InlineWire {
    const WHAT: &'static str = "wire";
    const SCHEMA: &'static str = "WireRef";
    const EXAMPLE: &'static str = "cu-awg30-single";
}
impl Inline for InlineMaterial {
    const WHAT: &'static str = "former material";
    const SCHEMA: &'static str = "FormerRef";
    const EXAMPLE: &'static str = "aluminium-foil";
}
impl Inline for InlineAdhesive {
    const WHAT: &'static str = "adhesive";
    const SCHEMA: &'static str = "AdhesiveRef";
    const EXAMPLE: &'static str = "epoxy-slow-equal";
}

/// An id or an inline object.
#[derive(Debug, Clone, PartialEq)]
pub enum Ref<T> {
    /// Id in the catalog.
    Id(String),
    /// Written out.
    Inline(Box<T>),
}

/// A wire by id or by its figures.
pub type WireRef = Ref<InlineWire>;
/// A former material by id or by its figures.
pub type FormerRef = Ref<InlineMaterial>;
/// An adhesive by id or by its figures.
pub type AdhesiveRef = Ref<InlineAdhesive>;

impl<T: Serialize> Serialize for Ref<T> {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        match self {
            Ref::Id(id) => id.serialize(s),
            Ref::Inline(inline) => inline.serialize(s),
        }
    }
}

struct EitherForm<T>(PhantomData<T>);

impl<'de, T: Inline> Visitor<'de> for EitherForm<T> {
    type Value = Ref<T>;
    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "a {} id like `{}`, or an object with its figures", T::WHAT, T::EXAMPLE)
    }
    fn visit_str<E: de::Error>(self, id: &str) -> Result<Self::Value, E> {
        Ok(Ref::Id(id.into()))
    }
    fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Self::Value, A::Error> {
        T::deserialize(MapAccessDeserializer::new(map)).map(|t| Ref::Inline(Box::new(t)))
    }
}

impl<'de, T: Inline> Deserialize<'de> for Ref<T> {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        d.deserialize_any(EitherForm(PhantomData))
    }
}

impl<T: Inline> JsonSchema for Ref<T> {
    fn schema_name() -> Cow<'static, str> {
        T::SCHEMA.into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let inline = generator.subschema_for::<T>();
        json_schema!({ "anyOf": [
            { "type": "string", "description": format!("Id of a {} in the catalog.", T::WHAT), "examples": [T::EXAMPLE] },
            inline,
        ]})
    }
}
