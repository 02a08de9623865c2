//! What the port normally carries: what is written, what the profile fills in, and where each value comes from.

use maud::{Markup, html};
use tidewall_assess::origins::origins;
use tidewall_assess::result::OriginResult;
use tidewall_desk::outline::Shown;
use tidewall_report::words::harmless;
use tidewall_study::profile::profiles;
use tidewall_study::{PortKind, Study};

use super::Sheet;
use super::field::{Form, fault_of, field, labelled, unreadable};
use crate::html::asked;

/// A row: key, label, what [`origins`] calls it, and the form of its field.
struct Row {
    key: &'static str,
    label: &'static str,
    origin: &'static str,
    form: Form<'static>,
    shown: fn(&Study) -> bool,
}

const fn row(
    key: &'static str,
    label: &'static str,
    origin: &'static str,
    form: Form<'static>,
    shown: fn(&Study) -> bool,
) -> Row {
    Row {
        key,
        label,
        origin,
        form,
        shown,
    }
}

fn always(_: &Study) -> bool {
    true
}

fn pair(study: &Study) -> bool {
    study.port.lines == 2
}

fn alternating(study: &Study) -> bool {
    study.port.kind == PortKind::Ac
}

fn direct(study: &Study) -> bool {
    !alternating(study)
}

fn without_profile(study: &Study) -> bool {
    study.port.profile.is_none()
}

const RANGE: Form<'static> = Form::Text(22);
const VALUE: Form<'static> = Form::Text(10);

const ROWS: &[Row] = &[
    row("profile", "profile", "", Form::Listed(22, "profiles"), always),
    row(
        "kind",
        "kind",
        "",
        Form::OneOf(&["dc", "ac", "signal"]),
        without_profile,
    ),
    row("ambient", "ambient", "ambient", RANGE, always),
    row("working", "working voltage", "working voltage", RANGE, direct),
    row(
        "working_rms",
        "working voltage, r.m.s.",
        "working voltage",
        RANGE,
        alternating,
    ),
    row("frequency", "frequency", "", VALUE, alternating),
    row(
        "must_not_conduct",
        "must not conduct",
        "must not conduct",
        RANGE,
        always,
    ),
    row(
        "must_not_conduct_between",
        "must not conduct between the lines",
        "must not conduct between the lines",
        RANGE,
        pair,
    ),
    row(
        "source_current",
        "source current",
        "source current",
        VALUE,
        always,
    ),
    row(
        "source_resistance",
        "source resistance",
        "source resistance",
        VALUE,
        always,
    ),
    row(
        "capacitance_limit",
        "capacitance limit",
        "capacitance limit",
        VALUE,
        always,
    ),
    row("capacitance_matching", "capacitance matching", "", VALUE, pair),
    row("leakage_limit", "leakage limit", "leakage limit", VALUE, always),
    row("lines", "lines", "", Form::Whole, without_profile),
    row(
        "polarity",
        "polarity",
        "",
        Form::OneOf(&["uni", "bi"]),
        without_profile,
    ),
    row(
        "powered",
        "powered",
        "",
        Form::OneOf(&["powered", "unpowered", "both"]),
        always,
    ),
];

/// The section.
pub fn section(sheet: &Sheet) -> Markup {
    let values = sheet.shape().map(origins).unwrap_or_default();
    let written = |key: &str| {
        let outline = sheet.outline.as_ref().ok();
        outline.is_some_and(|outline| outline.get(&format!("port.{key}")).is_some())
    };
    // Of a text that is no study every field is shown, since none may be hidden that is wrong.
    let shown = |row: &&Row| written(row.key) || sheet.shape().is_none_or(row.shown);
    html! {
        h2 { "Port" }
        @if let Some(words) = unreadable(sheet) { (words) } @else {
            (fault_of(sheet, "port"))
            datalist id="profiles" { @for each in profiles() { option value=(each.key) { (each.title) } } }
            table.values.fields {
                thead { tr { th scope="col" { "value" } th scope="col" { "written" } th scope="col" { "in force" } } }
                tbody {
                    @for row in ROWS.iter().filter(shown) { (one(sheet, row, &values)) }
                    (abnormal(sheet, &values))
                }
            }
        }
    }
}

fn one(sheet: &Sheet, row: &Row, values: &[OriginResult]) -> Markup {
    let at = format!("port.{}", row.key);
    let value = values.iter().find(|value| value.what == row.origin);
    // A value is filled in where none is written; an r.m.s. value in force would be an amplitude.
    let filled = match value {
        Some(value) if row.key != "working_rms" => value.value.as_str(),
        _ => "",
    };
    html! {
        tr {
            th scope="row" { (row.label) }
            td { (field(sheet, &at, row.label, row.form, filled)) }
            td { @if let Some(value) = value { (origin(value)) } }
        }
    }
}

/// A value in force, which says where it comes from when it is asked.
fn origin(value: &OriginResult) -> Markup {
    asked(
        &html! { (value.value) },
        &html! { p { "From: " (harmless(&value.origin)) "." } },
    )
}

fn abnormal(sheet: &Sheet, values: &[OriginResult]) -> Markup {
    let of_profile = values.iter().filter(|value| value.what == "abnormal level");
    let Ok(outline) = &sheet.outline else {
        return html! {};
    };
    let count = match outline.get("port.abnormal") {
        Some(Shown::List(count)) => count,
        _ => {
            return html! {
                @for value in of_profile {
                    tr { th scope="row" { "abnormal level" } td.hint { "of the profile" } td { (origin(value)) } }
                }
                (add(0))
            };
        }
    };
    html! {
        @for number in 0..count {
            @let at = format!("port.abnormal.{number}");
            tr {
                th scope="row" { "abnormal level" }
                td {
                    (labelled(sheet, &format!("{at}.level"), "level", VALUE, ""))
                    (labelled(sheet, &format!("{at}.lasts"), "lasts", VALUE, ""))
                    (labelled(sheet, &format!("{at}.may_conduct"), "may conduct", Form::Truth, ""))
                    button type="button" data-do="unset" data-place=(at) data-key=(format!("{at}.remove"))
                        aria-label="Remove this level" { "✕" }
                    (fault_of(sheet, &at))
                }
                td { @if let Some(value) = of_profile.clone().nth(number) { (origin(value)) } }
            }
        }
        (add(count))
    }
}

/// Adds a level with neither voltage nor time: both have to be given.
fn add(count: usize) -> Markup {
    let place = if count == 0 {
        "port.abnormal".to_owned()
    } else {
        format!("port.abnormal.{count}")
    };
    let entry = r#"{"level":"","lasts":""}"#;
    let value = if count == 0 {
        format!("[{entry}]")
    } else {
        entry.to_owned()
    };
    html! {
        tr {
            td {}
            td {
                button type="button" data-do="set" data-place=(place) data-value=(value) data-key="abnormal.add" {
                    @if count == 0 { "State abnormal levels here" } @else { "Add an abnormal level" }
                }
            }
            td {}
        }
    }
}
