//! Reading an answer without fuss: a member that is not there is empty.

use serde_json::Value;

/// The items of a list member.
pub fn items<'a>(v: &'a Value, name: &str) -> impl Iterator<Item = &'a Value> + use<'a> {
    v[name].as_array().into_iter().flatten()
}

/// A member of text.
pub fn text(v: &Value, name: &str) -> String {
    v[name].as_str().unwrap_or_default().into()
}
