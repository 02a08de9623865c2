//! `tidewall explain`.

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_assess::explain::{ALL, Explanation, find};

use crate::args::{ExplainArgs, Format};
use crate::failure::Failure;
use crate::output;
use crate::sheet::page::{Page, Style};
use crate::status::Status;

/// Output of `explain` as JSON.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ExplainOutput {
    /// Version of this form.
    schema: &'static str,
    /// The check asked for, or all.
    checks: Vec<CheckText>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct CheckText {
    /// Name.
    check: &'static str,
    /// Title.
    title: &'static str,
    /// What it asks.
    asks: &'static str,
    /// How value and limit are found.
    formula: &'static str,
    /// Where the rule is from.
    source: &'static str,
    /// What to change when it fails or is unknown.
    change: &'static str,
}

impl From<&Explanation> for CheckText {
    fn from(text: &Explanation) -> Self {
        CheckText {
            check: text.check,
            title: text.title,
            asks: text.asks,
            formula: text.formula,
            source: text.source,
            change: text.change,
        }
    }
}

/// Explains one check, or lists all.
pub fn run(args: &ExplainArgs, format: Format) -> Result<Status, Failure> {
    let chosen = match &args.check {
        Some(name) => Some(find(name).ok_or_else(|| unknown(name))?),
        None => None,
    };
    match (format, chosen) {
        (Format::Json, chosen) => {
            let checks = match chosen {
                Some(text) => vec![text.into()],
                None => ALL.iter().map(CheckText::from).collect(),
            };
            output::print_json(&ExplainOutput {
                schema: "tidewall/explain/1",
                checks,
            })?;
        }
        (Format::Text, Some(text)) => output::print(&one(text))?,
        (Format::Text, None) => output::print(&list())?,
    }
    Ok(Status::Pass)
}

fn unknown(name: &str) -> Failure {
    let near = tidewall_desk::names::nearest(name, ALL.iter().map(|text| text.check));
    let hint = near.unwrap_or_else(|| "tidewall explain lists the checks".to_owned());
    Failure::usage(format!("there is no check `{name}`"), hint)
}

fn one(text: &Explanation) -> String {
    let mut page = Page::for_terminal();
    page.line(&[
        (Style::Strong, text.title),
        (Style::Plain, &format!(" ({})", text.check)),
    ]);
    for (label, words) in [
        ("asks", text.asks),
        ("formula", text.formula),
        ("source", text.source),
        ("change", text.change),
    ] {
        page.entry(&format!("{label:<9}"), words);
    }
    page.finish()
}

fn list() -> String {
    let mut page = Page::for_terminal();
    let widest = ALL.iter().map(|text| text.check.len()).max().unwrap_or(0);
    for text in ALL {
        page.entry(&format!("{:<widest$}  ", text.check), text.asks);
    }
    page.finish()
}
