//! `rpc.discover`: the OpenRPC document, made from the types that parse the params.

use crate::plugin_schema;
use coilwright_catalog::MethodOffer;
use coilwright_proto::MethodDoc;
use coilwright_proto::error::{ErrorData, code};
use coilwright_proto::method::generator;
use schemars::SchemaGenerator;
use serde::Deserialize;
use serde_json::{Map, Value, json};

/// `rpc.discover` takes nothing.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Discover {}

/// The OpenRPC 1.3 document of `methods`, and those of plugins.
pub fn document(methods: &[MethodDoc], of_plugins: &[MethodOffer], version: &str) -> Value {
    let mut schemas = generator();
    let mut described: Vec<Value> = methods.iter().map(|m| method(m, &mut schemas)).collect();
    described.extend(of_plugins.iter().map(|m| plugin_schema::method(m, &mut schemas, errors(false))));
    let _ = schemas.subschema_for::<ErrorData>();
    let mut definitions = schemas.take_definitions(true);
    for (name, schema) in &mut definitions {
        titled(schema, name);
    }
    let mut document = json!({
        "openrpc": "1.3.2",
        "info": {
            "title": "coilwright",
            "version": version,
            "description": "Inventory and planning for a coil-winding workshop. Params by name only. A number with a dimension ends in its unit; it may be given bare, as text with its unit, or as {value, u} where a measurement is meant.",
            "license": { "name": "MIT" },
        },
        "methods": described,
        "components": { "schemas": definitions },
    });
    let digest = format!("{:016x}", fnv(&document.to_string()));
    document["info"]["x-digest"] = digest.into();
    document
}

fn method(m: &MethodDoc, schemas: &mut SchemaGenerator) -> Value {
    let object = (m.params)(schemas).to_value();
    let required: Vec<&str> = object["required"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    let empty = Map::new();
    let properties = object["properties"].as_object().unwrap_or(&empty);
    let mut params: Vec<Value> =
        properties.iter().map(|(name, schema)| descriptor(name, schema, required.contains(&name.as_str()))).collect();
    // OpenRPC wants the required ones first.
    params.sort_by_key(|p| p["required"] != json!(true));
    let mut answer = (m.answer)(schemas).to_value();
    let answer_name = (m.answer_name)();
    titled(&mut answer, &answer_name);
    json!({
        "name": m.name,
        "summary": m.summary,
        "paramStructure": "by-name",
        "params": params,
        "result": { "name": answer_name, "schema": answer },
        "errors": errors(m.writes),
        "examples": example(m),
        "x-writes": m.writes,
        "x-leading": m.leading,
    })
}

fn descriptor(name: &str, schema: &Value, required: bool) -> Value {
    let mut schema = schema.clone();
    let description = schema.as_object_mut().and_then(|s| s.remove("description"));
    titled(&mut schema, name);
    let mut out = json!({ "name": name, "required": required, "schema": schema });
    if let Some(d) = description {
        out["description"] = d;
    }
    out
}

/// Every schema gets a title. Draft-07 ignores what stands beside `$ref`, so a reference is wrapped first.
fn titled(schema: &mut Value, title: &str) {
    if schema.get("$ref").is_some() {
        *schema = json!({ "allOf": [schema.take()] });
    }
    if let Some(s) = schema.as_object_mut() {
        s.entry("title").or_insert_with(|| title.into());
    }
}

fn errors(writes: bool) -> Value {
    let for_writers = [code::UNAUTHORISED, code::NOT_YOUR_ROLE, code::CONFLICT, code::KEY_REUSED, code::DEGRADED];
    code::ALL
        .iter()
        .filter(|(c, _)| *c != code::PARSE && *c != code::INVALID_REQUEST && *c != code::METHOD_NOT_FOUND)
        .filter(|(c, _)| writes || !for_writers.contains(c))
        .map(|(c, phrase)| json!({ "code": c, "message": phrase }))
        .collect()
}

fn example(m: &MethodDoc) -> Value {
    let Some((params, result)) = m.example() else { return json!([]) };
    let empty = Map::new();
    let given: Vec<Value> = params
        .as_object()
        .unwrap_or(&empty)
        .iter()
        .map(|(name, value)| json!({ "name": name, "value": value }))
        .collect();
    json!([{ "name": m.name, "params": given, "result": { "name": (m.answer_name)(), "value": result } }])
}

/// FNV-1a, 64 bits: tells whether two documents are the same, nothing more.
fn fnv(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |h, b| (h ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3))
}
