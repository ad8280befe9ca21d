//! Shapes that plugins declare, as the JSON Schema of the document.

use coilwright_catalog::{Kind, Member, MethodOffer, Shape, ends_in};
use coilwright_proto::coil::CoilDesign;
use coilwright_proto::money::Money;
use coilwright_proto::reference::{FormerRef, WireRef};
use schemars::SchemaGenerator;
use serde_json::{Map, Value, json};

/// The units that a name may end in, as UCUM writes them.
const UCUM: [(&str, &str); 14] = [
    ("_ohm_per_m", "Ohm/m"),
    ("_g_per_m", "g/m"),
    ("_mm", "mm"),
    ("_um", "um"),
    ("_m", "m"),
    ("_kg", "kg"),
    ("_g", "g"),
    ("_ohm", "Ohm"),
    ("_c", "Cel"),
    ("_n", "N"),
    ("_uh", "uH"),
    ("_pct", "%"),
    ("_min", "min"),
    ("_hz", "Hz"),
];

/// A plugin's method in the document's form.
pub fn method(m: &MethodOffer, schemas: &mut SchemaGenerator, errors: Value) -> Value {
    let answer_name = format!("{}.answer", m.name);
    let mut members: Vec<&Member> = members(&m.params).iter().collect();
    // OpenRPC wants the required ones first.
    members.sort_by_key(|member| !member.required);
    let params: Vec<Value> = members
        .iter()
        .map(|member| {
            let mut out = json!({
                "name": member.name,
                "required": member.required,
                "schema": schema(&member.name, &member.shape, true, schemas),
            });
            if !member.shape.description.is_empty() {
                out["description"] = member.shape.description.as_str().into();
            }
            out
        })
        .collect();
    let examples: Vec<Value> = m
        .example
        .iter()
        .map(|(params, answer)| {
            let given = params.as_object().into_iter().flatten();
            let given: Vec<Value> = given.map(|(name, value)| json!({ "name": name, "value": value })).collect();
            json!({ "name": m.name, "params": given, "result": { "name": answer_name, "value": answer } })
        })
        .collect();
    json!({
        "name": m.name,
        "summary": m.summary,
        "paramStructure": "by-name",
        "params": params,
        "result": { "name": answer_name, "schema": schema(&answer_name, &m.result, false, schemas) },
        "errors": errors,
        "examples": examples,
        "x-writes": false,
        "x-leading": m.leading,
        "x-plugin": m.plugin,
    })
}

fn members(shape: &Shape) -> &[Member] {
    match &shape.kind {
        Kind::Group(members) => members,
        _ => &[],
    }
}

fn schema(name: &str, shape: &Shape, asked: bool, schemas: &mut SchemaGenerator) -> Value {
    let mut schema = match &shape.kind {
        Kind::Text | Kind::Job => json!({ "type": "string" }),
        Kind::Word(words) => json!({ "type": "string", "enum": words }),
        Kind::Number => number(name, asked),
        Kind::Integer => json!({ "type": "integer" }),
        Kind::YesNo => json!({ "type": "boolean" }),
        Kind::Measured => {
            json!({ "type": "object", "properties": { "value": { "type": "number", "title": "value" }, "u": { "type": "number", "title": "u" } } })
        }
        Kind::Money => referred(schemas.subschema_for::<Money>().to_value()),
        Kind::Coil => referred(schemas.subschema_for::<CoilDesign>().to_value()),
        Kind::Wire => referred(schemas.subschema_for::<WireRef>().to_value()),
        Kind::Former => referred(schemas.subschema_for::<FormerRef>().to_value()),
        Kind::List(of) => json!({ "type": "array", "items": self::schema(name, of, asked, schemas) }),
        Kind::Group(members) => {
            let mut properties = Map::new();
            for member in members {
                let mut one = self::schema(&member.name, &member.shape, asked, schemas);
                if !member.shape.description.is_empty() {
                    one["description"] = member.shape.description.as_str().into();
                }
                properties.insert(member.name.clone(), one);
            }
            let required: Vec<&str> = members.iter().filter(|m| m.required).map(|m| m.name.as_str()).collect();
            json!({ "type": "object", "properties": properties, "required": required, "additionalProperties": false })
        }
        Kind::Any => json!({}),
    };
    let bounds = match &shape.kind {
        Kind::Number | Kind::Integer => ["minimum", "maximum"],
        Kind::List(_) => ["minItems", "maxItems"],
        Kind::Text => ["minLength", "maxLength"],
        _ => ["", ""],
    };
    for (word, bound) in bounds.into_iter().zip([shape.minimum, shape.maximum]) {
        if let Some(bound) = bound.filter(|_| !word.is_empty()) {
            let count = word.ends_with("Items") || word.ends_with("Length");
            schema[word] = if count { json!(bound.max(0.0) as u64) } else { json!(bound) };
        }
    }
    schema["title"] = name.into();
    schema
}

/// A number, or where it is asked for text that carries its unit.
fn number(name: &str, asked: bool) -> Value {
    match UCUM.iter().find(|(end, _)| ends_in(name, end)) {
        Some((_, unit)) if asked => json!({ "anyOf": [
            { "type": "number", "x-ucum": unit, "title": "number" },
            { "type": "string", "maxLength": 64, "title": "text with unit" },
        ] }),
        Some((_, unit)) => json!({ "type": "number", "x-ucum": unit }),
        None => json!({ "type": "number" }),
    }
}

/// Draft-07 ignores what stands beside `$ref`.
fn referred(schema: Value) -> Value {
    json!({ "allOf": [schema] })
}
