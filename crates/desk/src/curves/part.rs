//! Fitted data as a part: as text for a parts file, and in the parts library.

use tidewall_extract::family::Fit;
use tidewall_parts::{Action, Change, PartRecord, Provenance, wire};
use tidewall_study::{NoFiles, read_parts};

use crate::failure::Failure;
use crate::library::{Place, now};

use super::words::origin;

/// Stands for a family that the fit does not tell.
const OPEN: &str = "FILL IN";

/// Word of the part's family; `None` for a pin, which is no part. Some curves are those of any family.
fn family(fit: &Fit) -> Option<&str> {
    match fit.family.as_str() {
        "pin" => None,
        "avalanche-apparent" => Some("avalanche"),
        "snapback-on-branch" => Some("snapback"),
        "thyristor-surge-current" => Some("thyristor"),
        other if other.starts_with("varistor") => Some("varistor"),
        "thermal" | "leakage" | "capacitance" => Some(OPEN),
        other => Some(other),
    }
}

/// Lines of a `[[part]]`, or of a study's `[pin]`; what they are for.
pub fn lines(fit: &Fit, source: &str, name: &str) -> (&'static str, Vec<String>) {
    match family(fit) {
        None => ("the [pin] of a study", data(fit)),
        Some(family) => ("a parts file", part(fit, &origin(fit, source), name, family)),
    }
}

fn data(fit: &Fit) -> Vec<String> {
    let entries = fit.entries.iter();
    entries
        .map(|entry| format!("{} = {}", entry.key, entry.value))
        .collect()
}

fn part(fit: &Fit, source: &str, name: &str, family: &str) -> Vec<String> {
    let quoted = |text: &str| format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""));
    let mut lines = vec![
        "[[part]]".to_owned(),
        format!("name = {}", quoted(name)),
        format!("family = \"{family}\""),
        "kind = \"measured\"".to_owned(),
        format!("source = {}", quoted(source)),
    ];
    lines.extend(data(fit));
    lines
}

/// What became of the data that were put into the library.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    /// In words.
    pub words: String,
    /// What the library had to say when it was opened.
    pub notices: Vec<String>,
}

/// Puts the data of a fit to the points of `file` into the library as data of the part `name`, in one transaction. Their
/// source is `document`: specimen, instrument, date.
///
/// # Errors
/// Where the fit tells no part's data, or the library cannot be written; nothing is kept then.
pub fn keep(fit: &Fit, file: &str, name: &str, document: &str, place: &Place) -> Result<Kept, Failure> {
    let refuse = |message: String, hint: &str| Failure::library(message, hint);
    let Some(word) = family(fit) else {
        return Err(refuse(
            "a pin is no part of the library".to_owned(),
            "write the data into the [pin] of the study",
        ));
    };
    let mut library = place.open()?;
    let notices = library.notices().to_vec();
    let known = library.part(name)?;
    let word = match (&known, word) {
        (Some(known), OPEN) => wire::family_word(known.family),
        (None, OPEN) => {
            return Err(refuse(
                format!("there is no part `{name}` in the library, and this curve does not tell its family"),
                "put the part there first: tidewall parts add",
            ));
        }
        (_, word) => word,
    };
    // Through the parts file's own reader, so that the library holds what the text says.
    let text = part(fit, document, name, word).join("\n");
    let entries = read_parts("the fitted data", &text, &NoFiles)?;
    let action = Action {
        what: format!("fit of {file}"),
        document: document.to_owned(),
        at_unix_s: Some(now()),
    };
    let mut edit = library.begin(&action)?;
    let mut words = Vec::new();
    for entry in entries {
        let source = Provenance {
            document: document.to_owned(),
            place: format!("{file}: {}", origin(fit, file)),
            ..Provenance::default()
        };
        let record = PartRecord::from_datasheet(&entry.datasheet, source)
            .map_err(|error| refuse(error.to_string(), "nothing was kept"))?;
        words.push(match edit.put(&record)? {
            Change::Added => format!("kept as the new part {name}"),
            Change::Unchanged => format!("{name} had these data already"),
            Change::Changed(changes) => {
                let changes: Vec<String> = changes.iter().map(|change| change.in_words()).collect();
                format!("kept of {name}: {}", changes.join("; "))
            }
        });
    }
    edit.commit()?;
    Ok(Kept {
        words: words.join("; "),
        notices,
    })
}
