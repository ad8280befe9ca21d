//! From a method's schema to the flags of its command, and from flags back to params.
//!
//! Nobody writes a command's flags by hand: a member `gap.pole_mm` of the params is the flag `--gap.pole-mm`.

use clap::{Arg, ArgAction, ArgMatches};
use coilwright_proto::MethodDoc;
use coilwright_proto::method::generator;
use serde_json::{Map, Value, json};
use std::io::Read;

/// One flag: where its value goes, and what form it takes.
#[derive(Debug, Clone, PartialEq)]
pub struct Flag {
    /// Members from the params down, e.g. `["gap", "pole_mm"]`.
    path: Vec<String>,
    form: Form,
    help: String,
}

/// What a flag's value becomes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    /// Text as it stands.
    Text,
    /// A number, or text with its unit; `VALUE±U` for a measurement.
    Number,
    /// Text, or JSON where it starts with a brace.
    Either,
    /// Values with commas between, or JSON.
    List,
    /// JSON.
    Json,
    /// No value: its presence says yes.
    Yes,
    /// A file whose text it is, or `-` for standard input.
    File,
}

/// What a method's own flags stand under in the help.
const HEADING: &str = "Params";

/// A method as the command line needs it.
#[derive(Debug, Clone)]
pub struct Spoken {
    /// Its name.
    pub name: String,
    summary: String,
    leading: Vec<String>,
    flags: Vec<Flag>,
}

impl Spoken {
    /// A method of the program's own.
    pub fn own(method: &MethodDoc) -> Spoken {
        let mut schemas = generator();
        let object = (method.params)(&mut schemas).to_value();
        let parts = Value::Object(schemas.take_definitions(true));
        let leading = method.leading.iter().map(|l| (*l).to_owned()).collect();
        Spoken { name: method.name.into(), summary: method.summary.into(), leading, flags: of(&object, &parts) }
    }

    /// What its command takes without a name, in this order.
    pub fn leading(&self) -> &[String] {
        &self.leading
    }

    /// A method as the daemon's document describes it.
    pub fn documented(method: &Value, document: &Value) -> Option<Spoken> {
        let mut properties = Map::new();
        for param in method["params"].as_array()? {
            let mut schema = param["schema"].clone();
            if let Some(description) = param["description"].as_str() {
                schema["description"] = description.into();
            }
            properties.insert(param["name"].as_str()?.to_owned(), schema);
        }
        let leading = method["x-leading"].as_array().into_iter().flatten().filter_map(Value::as_str);
        Some(Spoken {
            name: method["name"].as_str()?.to_owned(),
            summary: method["summary"].as_str().unwrap_or_default().to_owned(),
            leading: leading.map(str::to_owned).collect(),
            flags: of(&json!({ "properties": properties }), &document["components"]["schemas"]),
        })
    }
}

/// The flags for the members of an object's schema.
fn of(object: &Value, parts: &Value) -> Vec<Flag> {
    let mut flags = Vec::new();
    walk(object, parts, &mut Vec::new(), &mut flags);
    flags
}

fn walk(object: &Value, parts: &Value, path: &mut Vec<String>, flags: &mut Vec<Flag>) {
    for (name, schema) in object["properties"].as_object().into_iter().flatten() {
        path.push(name.clone());
        let help = schema["description"].as_str().unwrap_or_default().to_owned();
        let resolved = resolve(schema, parts);
        if resolved["properties"].is_object() {
            walk(resolved, parts, path, flags);
        } else {
            flags.push(Flag { path: path.clone(), form: form(name, resolved, parts), help });
        }
        path.pop();
    }
}

/// Follows references and what `Option` adds to a schema.
fn resolve<'a>(schema: &'a Value, parts: &'a Value) -> &'a Value {
    if let Some(name) = schema["$ref"].as_str().and_then(|r| r.rsplit('/').next()) {
        return resolve(&parts[name], parts);
    }
    for key in ["allOf", "anyOf"] {
        if let Some(options) = schema[key].as_array() {
            let real: Vec<&Value> = options.iter().filter(|o| o["type"] != "null").collect();
            if let [only] = real[..] {
                return resolve(only, parts);
            }
        }
    }
    schema
}

fn form(name: &str, schema: &Value, parts: &Value) -> Form {
    let is =
        |s: &Value, kind: &str| s["type"] == kind || s["type"].as_array().is_some_and(|t| t.contains(&json!(kind)));
    let options: Vec<&Value> = schema["anyOf"].as_array().into_iter().flatten().map(|o| resolve(o, parts)).collect();
    if options.iter().any(|o| o["properties"].is_object())
        && options.iter().any(|o| is(o, "string") && o["maxLength"].is_null())
    {
        return Form::Either;
    }
    if schema["x-file"] == true {
        return Form::File;
    }
    if is(schema, "boolean") {
        return Form::Yes;
    }
    if is(schema, "array") || options.iter().any(|o| is(o, "array")) {
        return Form::List;
    }
    if is(schema, "number")
        || is(schema, "integer")
        || options.iter().any(|o| is(o, "number"))
        || options.iter().any(|o| !o["anyOf"].is_null())
    {
        return Form::Number;
    }
    if is(schema, "object") || name == "params" { Form::Json } else { Form::Text }
}

impl Flag {
    fn id(&self) -> String {
        self.path.join(".")
    }

    /// The value at a place of its own, without a flag's name.
    fn place(&self, index: usize) -> Arg {
        let id = self.id();
        let (name, help) = match self.form {
            Form::File => ("FILE".to_owned(), format!("A file, or - for standard input. {}", self.help)),
            _ => (id.to_uppercase(), self.help.clone()),
        };
        Arg::new(id).value_name(name).help(help).index(index)
    }

    /// The flag as clap knows it.
    fn arg(&self) -> Arg {
        let id = self.id();
        let long = id.replace('_', "-");
        let value = self.path.last().map_or(String::new(), |n| n.to_uppercase());
        let arg = Arg::new(id.clone()).long(long.clone()).help(self.help.clone()).help_heading(HEADING);
        let arg = if long == id { arg } else { arg.alias(id) };
        match self.form {
            Form::Yes => {
                arg.num_args(0..=1).require_equals(true).default_missing_value("true").value_parser(["true", "false"])
            }
            Form::List => arg.value_name(value).action(ArgAction::Append).allow_hyphen_values(true),
            _ => arg.value_name(value).allow_hyphen_values(true),
        }
    }
}

/// The text of a file, or of standard input.
fn file_text(name: &str) -> Result<String, String> {
    let bytes = if name == "-" {
        let mut bytes = Vec::new();
        std::io::stdin().read_to_end(&mut bytes).map(|_| bytes)
    } else {
        std::fs::read(name)
    };
    let bytes = bytes.map_err(|e| format!("{name}: {e}; give a file's name, or - for standard input"))?;
    let next = "save it as text in UTF-8 (a spreadsheet's \"CSV UTF-8\")";
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(format!("{name}: the text is in UTF-16; {next}"));
    }
    String::from_utf8(bytes).map_err(|e| {
        let good = &e.as_bytes()[..e.utf8_error().valid_up_to()];
        let line = 1 + good.iter().filter(|b| **b == b'\n').count();
        format!("{name}: line {line} is not in UTF-8; {next}")
    })
}

/// The command of a method: its flags, its leading params, and `--params` for all of them as JSON.
pub fn command(method: &Spoken, verb: &str) -> clap::Command {
    let mut command = clap::Command::new(verb.to_owned()).about(method.summary.clone()).arg(
        Arg::new("params")
            .long("params")
            .value_name("JSON")
            .help("All params as a JSON object, a file that holds one, or - for standard input; flags go on top"),
    );
    for flag in &method.flags {
        let id = flag.id();
        let leading = method.leading.iter().position(|l| *l == id);
        command = command.arg(match leading {
            Some(place) => flag.place(place + 1),
            None => flag.arg(),
        });
    }
    command
}

/// Puts the params together from the command line.
///
/// # Errors
/// In a sentence: JSON that cannot be read, or a file that cannot.
pub fn params(method: &Spoken, given: &ArgMatches) -> Result<Value, String> {
    let mut params = match given.get_one::<String>("params") {
        Some(text) => base(text)?,
        None => json!({}),
    };
    for flag in &method.flags {
        let id = flag.id();
        let value = match flag.form {
            Form::Yes => given.get_one::<String>(&id).map(|yes| json!(yes == "true")),
            Form::List => given.get_many::<String>(&id).map(list).transpose()?,
            form => given.get_one::<String>(&id).map(|text| single(form, text)).transpose()?,
        };
        if let Some(value) = value {
            put(&mut params, &flag.path, value);
        }
    }
    Ok(params)
}

fn base(text: &str) -> Result<Value, String> {
    let read = match text {
        "-" => std::io::read_to_string(std::io::stdin())
            .map_err(|e| format!("--params -: standard input cannot be read: {e}"))?,
        t if t.trim_start().starts_with('{') => t.to_owned(),
        file => std::fs::read_to_string(file)
            .map_err(|e| format!("--params {file}: {e}; give a JSON object, a file that holds one, or -"))?,
    };
    let value: Value = serde_json::from_str(&read).map_err(|e| format!("--params: no JSON object: {e}"))?;
    if value.is_object() {
        Ok(value)
    } else {
        Err("--params: a JSON object is wanted, like {\"wire\": \"cu-awg30-single\"}".into())
    }
}

fn list<'a>(all: impl Iterator<Item = &'a String>) -> Result<Value, String> {
    let mut items = Vec::new();
    for text in all {
        if text.trim_start().starts_with('[') {
            return json_value(text);
        }
        if text.trim_start().starts_with('{') {
            items.push(json_value(text)?);
        } else {
            for item in text.split(',') {
                items.push(single(Form::Number, item.trim())?);
            }
        }
    }
    Ok(Value::Array(items))
}

fn single(form: Form, text: &str) -> Result<Value, String> {
    match form {
        Form::Json => json_value(text),
        Form::Either if text.trim_start().starts_with('{') => json_value(text),
        Form::Number if text.trim_start().starts_with(['{', '[']) => json_value(text),
        Form::File => file_text(text).map(Value::String),
        Form::Number => Ok(match text.split_once('±').or_else(|| text.split_once("+-")) {
            Some((value, u)) => json!({ "value": number_or_text(value.trim()), "u": number_or_text(u.trim()) }),
            None => number_or_text(text),
        }),
        _ => Ok(text.into()),
    }
}

fn number_or_text(text: &str) -> Value {
    if let Ok(whole) = text.parse::<i64>() {
        return json!(whole);
    }
    match text.parse::<f64>() {
        Ok(x) if x.is_finite() => json!(x),
        _ => json!(text),
    }
}

fn json_value(text: &str) -> Result<Value, String> {
    serde_json::from_str(text).map_err(|e| format!("`{text}` looks like JSON and is none: {e}"))
}

fn put(into: &mut Value, path: &[String], value: Value) {
    let Some((first, rest)) = path.split_first() else { return };
    if !into.is_object() {
        *into = Value::Object(Map::new());
    }
    let Some(object) = into.as_object_mut() else { return };
    if rest.is_empty() {
        object.insert(first.clone(), value);
    } else {
        put(object.entry(first.clone()).or_insert_with(|| json!({})), rest, value);
    }
}
