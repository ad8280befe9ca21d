//! JSON into a script's values and back.

use rhai::{Array, Dynamic, Map};
use serde_json::{Number, Value};

/// How deep a value may be nested, on its way in and out.
pub(crate) const DEPTH: usize = 32;

/// A script's value. Every number is a float, so that 15 over 2 is 7.5; what is null is left out of objects.
pub(crate) fn into_script(value: &Value) -> Dynamic {
    match value {
        Value::Null => Dynamic::UNIT,
        Value::Bool(yes) => Dynamic::from_bool(*yes),
        Value::Number(number) => Dynamic::from_float(number.as_f64().unwrap_or(f64::NAN)),
        Value::String(text) => Dynamic::from(text.clone()),
        Value::Array(items) => Dynamic::from_array(items.iter().map(into_script).collect::<Array>()),
        Value::Object(members) => Dynamic::from_map(
            members
                .iter()
                .filter(|(_, value)| !value.is_null())
                .map(|(name, value)| (name.as_str().into(), into_script(value)))
                .collect::<Map>(),
        ),
    }
}

/// JSON of a script's value: decimals become text, `()` becomes null and is left out of objects.
///
/// # Errors
/// In words: a number that is not finite, a value that JSON has no word for, or nesting without end.
pub(crate) fn out_of_script(value: &Dynamic) -> Result<Value, String> {
    out(value, DEPTH)
}

fn out(value: &Dynamic, deeper: usize) -> Result<Value, String> {
    let Some(deeper) = deeper.checked_sub(1) else {
        return Err(format!("the value is nested more than {DEPTH} deep"));
    };
    if value.is_unit() {
        Ok(Value::Null)
    } else if let Ok(yes) = value.as_bool() {
        Ok(Value::Bool(yes))
    } else if let Ok(whole) = value.as_int() {
        Ok(whole.into())
    } else if let Ok(float) = value.as_float() {
        Number::from_f64(float).map(Value::Number).ok_or_else(|| format!("{float} is no number that JSON has"))
    } else if let Ok(decimal) = value.as_decimal() {
        Ok(Value::String(decimal.to_string()))
    } else if let Ok(text) = value.as_immutable_string_ref() {
        Ok(Value::String(text.to_string()))
    } else if let Ok(letter) = value.as_char() {
        Ok(Value::String(letter.to_string()))
    } else if let Ok(items) = value.as_array_ref() {
        items.iter().map(|item| out(item, deeper)).collect::<Result<Vec<_>, _>>().map(Value::Array)
    } else if let Ok(members) = value.as_map_ref() {
        let mut object = serde_json::Map::new();
        for (name, member) in members.iter().filter(|(_, member)| !member.is_unit()) {
            object.insert(name.to_string(), out(member, deeper)?);
        }
        Ok(Value::Object(object))
    } else {
        Err(format!("a {} is no value that can be answered", value.type_name()))
    }
}

/// The same with whole numbers written as such: a script's 2.0 layers are 2 layers to the program.
pub(crate) fn with_whole_numbers(value: Value) -> Value {
    /// Up to here every whole number is a float of its own.
    const LARGEST: f64 = 9_007_199_254_740_992.0;
    match value {
        Value::Number(number) => match number.as_f64() {
            Some(float) if number.is_f64() && float.trunc() == float && float.abs() < LARGEST => {
                Value::from(float as i64)
            }
            _ => Value::Number(number),
        },
        Value::Array(items) => items.into_iter().map(with_whole_numbers).collect(),
        Value::Object(members) => {
            Value::Object(members.into_iter().map(|(name, value)| (name, with_whole_numbers(value))).collect())
        }
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_value_comes_back_as_it_went_in_but_for_nulls() {
        let there = json!({"a": [1.5, true, "x"], "b": {"c": 2.0}, "gone": null});
        assert_eq!(out_of_script(&into_script(&there)), Ok(json!({"a": [1.5, true, "x"], "b": {"c": 2.0}})));
    }

    #[test]
    fn what_json_has_no_word_for_is_refused() {
        assert!(out_of_script(&Dynamic::from_float(f64::NAN)).is_err());
        let mut nested = Dynamic::UNIT;
        for _ in 0..=DEPTH {
            nested = Dynamic::from_array(vec![nested]);
        }
        assert!(out_of_script(&nested).unwrap_err().contains("nested"));
    }
}
