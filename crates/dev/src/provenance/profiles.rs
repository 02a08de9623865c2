//! Values of the port profiles with the mark and source that stand beside each.

use std::fs;
use std::path::Path;

use toml::{Table, Value};

use super::mark::Mark;
use crate::files;

/// One value of a port profile.
#[derive(Clone, Debug, PartialEq)]
pub struct ProfileValue {
    /// Number of the profile, 1 to 45.
    pub number: i64,
    /// Title of the profile.
    pub title: String,
    /// Key of the value.
    pub key: String,
    /// The value in words.
    pub value: String,
    /// Its mark.
    pub mark: Mark,
    /// Its source, or the formula.
    pub source: String,
}

/// Every marked value of the profile files, by profile.
///
/// # Errors
/// A file that cannot be read or is no TOML, a value without a mark or with an unknown one, an unknown source.
pub fn profile_values(root: &Path) -> Result<Vec<ProfileValue>, String> {
    let folder = root.join("crates/study/data");
    let table = |path: &Path| -> Result<Table, String> {
        let text = fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))?;
        text.parse()
            .map_err(|error| format!("{}: {error}", path.display()))
    };
    let sources = table(&folder.join("sources.toml"))?;
    let mut found = Vec::new();
    for path in files(&folder, "toml") {
        let document = table(&path)?;
        let profiles = document.get("profile").and_then(Value::as_array);
        for profile in profiles.into_iter().flatten().filter_map(Value::as_table) {
            values_of(profile, &sources, &mut found)?;
        }
    }
    found.sort_by_key(|value| value.number);
    Ok(found)
}

fn values_of(profile: &Table, sources: &Table, found: &mut Vec<ProfileValue>) -> Result<(), String> {
    let text = |key: &str| {
        profile
            .get(key)
            .and_then(Value::as_str)
            .unwrap_or_default()
            .to_owned()
    };
    let number = profile
        .get("number")
        .and_then(Value::as_integer)
        .unwrap_or_default();
    let title = text("title");
    for (key, value) in profile {
        let entries: Vec<&Table> = match value {
            Value::Table(table) => vec![table],
            Value::Array(list) => list.iter().filter_map(Value::as_table).collect(),
            // What the profile is, not a value of a port: number, key, title, kind, lines, across, note.
            _ => continue,
        };
        for entry in entries {
            let word = |key: &str| entry.get(key).and_then(Value::as_str).unwrap_or_default();
            let place = || format!("profile {}: {key}", text("key"));
            found.push(ProfileValue {
                number,
                title: title.clone(),
                key: key.clone(),
                value: in_words(entry),
                mark: Mark::of_profile(word("mark")).ok_or_else(|| format!("{} has no mark", place()))?,
                source: resolved(word("source"), sources)
                    .map_err(|id| format!("{}: no source {id}", place()))?,
            });
        }
    }
    Ok(())
}

/// A source `@P1 @P2` in the words of the list of sources.
fn resolved(source: &str, sources: &Table) -> Result<String, String> {
    let Some(ids) = source.strip_prefix('@') else {
        return Ok(source.to_owned());
    };
    let words = ids.split('@').map(str::trim).map(|id| {
        let words = sources.get(id).and_then(Value::as_str);
        words.ok_or_else(|| id.to_owned())
    });
    Ok(words.collect::<Result<Vec<_>, _>>()?.join("; "))
}

/// A value, an abnormal level or a usual stress in words.
fn in_words(entry: &Table) -> String {
    let plain = |value: &Value| value.as_str().map_or_else(|| value.to_string(), str::to_owned);
    if let Some(value) = entry.get("value") {
        return plain(value);
    }
    let mut words = Vec::new();
    if let Some(set) = entry.get("set").and_then(Value::as_table) {
        words.extend(set.iter().filter(|(key, _)| *key != "id").map(|(key, value)| {
            if key == "standard" {
                plain(value)
            } else {
                format!("{key} {}", plain(value))
            }
        }));
    }
    for key in ["level", "lasts"] {
        words.extend(entry.get(key).map(plain));
    }
    words.extend(entry.get("note").map(plain));
    words.join(", ")
}
