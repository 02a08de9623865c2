//! Values to be written.

use std::fmt;

use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};

/// Keys with their values, in order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Entry(pub Vec<(String, Value)>);

/// A value to be written.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// `true` or `false`.
    Truth(bool),
    /// A whole number.
    Whole(i64),
    /// A number.
    Number(f64),
    /// A text, which is what quantities are.
    Text(String),
    /// A list.
    List(Vec<Value>),
    /// A table in one line.
    Table(Entry),
}

impl From<&str> for Value {
    fn from(text: &str) -> Value {
        Value::Text(text.to_owned())
    }
}

/// A value as TOML in one line.
impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Value::Truth(truth) => write!(f, "{truth}"),
            Value::Whole(number) => write!(f, "{number}"),
            Value::Number(number) => f.write_str(toml_edit::Value::from(*number).to_string().trim()),
            Value::Text(text) => f.write_str(toml_edit::Value::from(text.as_str()).to_string().trim()),
            Value::List(values) => {
                f.write_str("[")?;
                for (number, value) in values.iter().enumerate() {
                    let comma = if number > 0 { ", " } else { "" };
                    write!(f, "{comma}{value}")?;
                }
                f.write_str("]")
            }
            Value::Table(Entry(keys)) if keys.is_empty() => f.write_str("{}"),
            Value::Table(Entry(keys)) => {
                for (number, (key, value)) in keys.iter().enumerate() {
                    let comma = if number > 0 { ", " } else { "{ " };
                    write!(f, "{comma}{} = {value}", written_key(key))?;
                }
                f.write_str(" }")
            }
        }
    }
}

/// A key as TOML: bare where it can be.
pub(super) fn written_key(key: &str) -> String {
    toml_edit::Key::new(key).display_repr().into_owned()
}

impl<'de> Deserialize<'de> for Entry {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Keys;
        impl<'de> Visitor<'de> for Keys {
            type Value = Entry;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("keys with values")
            }

            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Entry, A::Error> {
                entry(map)
            }
        }
        deserializer.deserialize_map(Keys)
    }
}

fn entry<'de, A: MapAccess<'de>>(mut map: A) -> Result<Entry, A::Error> {
    let mut keys: Vec<(String, Value)> = Vec::new();
    while let Some((key, value)) = map.next_entry::<String, Value>()? {
        if keys.iter().any(|(known, _)| *known == key) {
            return Err(serde::de::Error::custom(format!("the key `{key}` stands twice")));
        }
        keys.push((key, value));
    }
    Ok(Entry(keys))
}

impl<'de> Deserialize<'de> for Value {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Any;
        impl<'de> Visitor<'de> for Any {
            type Value = Value;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a text, a number, true or false, a list or a table")
            }

            fn visit_bool<E>(self, truth: bool) -> Result<Value, E> {
                Ok(Value::Truth(truth))
            }

            fn visit_i64<E>(self, number: i64) -> Result<Value, E> {
                Ok(Value::Whole(number))
            }

            fn visit_u64<E>(self, number: u64) -> Result<Value, E> {
                Ok(i64::try_from(number).map_or(Value::Number(number as f64), Value::Whole))
            }

            fn visit_f64<E: serde::de::Error>(self, number: f64) -> Result<Value, E> {
                Ok(Value::Number(number))
            }

            fn visit_str<E>(self, text: &str) -> Result<Value, E> {
                Ok(Value::from(text))
            }

            fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Value, A::Error> {
                let mut values = Vec::new();
                while let Some(value) = list.next_element()? {
                    values.push(value);
                }
                Ok(Value::List(values))
            }

            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Value, A::Error> {
                entry(map).map(Value::Table)
            }
        }
        deserializer.deserialize_any(Any)
    }
}
