//! The stresses.

use maud::{Markup, html};
use tidewall_assess::text;
use tidewall_report::words::harmless;
use tidewall_stress::catalogue::STANDARDS;
use tidewall_study::profile::profile;

use super::Sheet;
use super::field::{Form, fault_of, field, handles, labelled, unreadable};
use crate::html::asked;

/// Keys that a stress may have beside id, standard and level, with those words that are always the same.
const KEYS: &[(&str, Form<'static>)] = &[
    ("level_name", Form::Text(8)),
    ("edition", Form::Text(4)),
    ("coupling", Form::Listed(16, "couplings")),
    ("across", Form::OneOf(&["line-line", "line-earth"])),
    ("discharge", Form::OneOf(&["contact", "air"])),
    ("polarity", Form::OneOf(&["both", "positive", "negative"])),
    ("current", Form::Text(8)),
    ("storage", Form::Text(8)),
    ("discharge_resistance", Form::Text(8)),
    ("model", Form::OneOf(&["circuit", "current"])),
    ("pulse", Form::Text(6)),
    ("wave", Form::Text(8)),
    ("system", Form::Text(6)),
    ("suppressed", Form::Text(6)),
    ("source_resistance", Form::Text(8)),
    ("front", Form::Text(8)),
    ("tail", Form::Text(8)),
    ("width", Form::Text(8)),
    ("rise", Form::Text(8)),
    ("frequency", Form::Text(8)),
    ("repetition", Form::Text(8)),
    ("wires", Form::Whole),
    ("csv", Form::Text(16)),
    ("time_unit", Form::Text(4)),
    ("value_unit", Form::Text(4)),
    ("pulses", Form::Whole),
    ("interval", Form::Text(8)),
    ("criterion", Form::Text(6)),
];

/// Couplings of the standards that have any.
const COUPLINGS: &[&str] = &[
    "line-line",
    "line-earth",
    "line-line-capacitor",
    "line-line-arrester",
    "line-earth-capacitor",
    "line-earth-arrester",
    "symmetrical-capacitor",
    "symmetrical-arrester",
    "symmetrical-direct",
    "shield",
    "direct",
    "telecom-direct",
    "telecom-arrester",
    "network",
    "clamp-100pF",
    "clamp-200pF",
    "transverse",
    "port-earth",
    "metallic",
    "longitudinal",
];

/// The section.
pub fn section(sheet: &Sheet) -> Markup {
    let count = sheet
        .outline
        .as_ref()
        .map_or(0, |outline| outline.count("stress"));
    html! {
        h2 { "Stresses" }
        @if let Some(words) = unreadable(sheet) { (words) } @else {
            datalist id="standards" { @for each in STANDARDS { option value=(each) {} } }
            datalist id="couplings" { @for each in COUPLINGS { option value=(each) {} } }
            div.scroll {
                table.fields {
                    thead { tr {
                        th scope="col" { "id" }
                        th scope="col" { "standard" }
                        th scope="col" { "level" }
                        th scope="col" { "and" }
                        th scope="col" { "generator" }
                        th scope="col" { span.unseen { "move and remove" } }
                    } }
                    tbody { @for number in 0..count { (one(sheet, number, count)) } }
                }
            }
            (add(sheet, count))
        }
    }
}

fn one(sheet: &Sheet, number: usize, count: usize) -> Markup {
    let at = format!("stress.{number}");
    let Ok(outline) = &sheet.outline else {
        return html! {};
    };
    let id = outline.text(&format!("{at}.id"));
    let there = outline.keys(&at);
    let (written, others): (Vec<_>, Vec<_>) = KEYS
        .iter()
        .partition(|(key, _)| there.iter().any(|own| own == key));
    html! {
        tr {
            td { (field(sheet, &format!("{at}.id"), &format!("id of stress {}", number + 1), Form::Text(12), "")) }
            td { (field(sheet, &format!("{at}.standard"), &format!("standard of {id}"), Form::Listed(15, "standards"), "")) }
            td { (field(sheet, &format!("{at}.level"), &format!("level of {id}"), Form::Text(8), "")) }
            td {
                @for (key, form) in written { (labelled(sheet, &format!("{at}.{key}"), key, form, "")) }
                select.more data-more=(at) data-key=(format!("{at}.more")) aria-label=(format!("Add a key to {id}")) {
                    option value="" { "+" }
                    @for (key, _) in others { option value=(key) { (key) } }
                }
                (fault_of(sheet, &at))
            }
            td { (generator(sheet, number)) }
            td { (handles("stress", number, count, &id)) }
        }
    }
}

/// What the generator gives into nothing and into a short circuit, and where that is known from.
fn generator(sheet: &Sheet, number: usize) -> Markup {
    let Some(case) = sheet.study().and_then(|study| study.stresses.get(number)) else {
        return html! {};
    };
    let disturbance = &case.disturbance;
    let shown = format!(
        "{}, {}",
        text::volts(disturbance.open_circuit_peak_v),
        text::amps(disturbance.short_circuit_peak_a)
    );
    asked(
        &html! { (shown) },
        &html! {
            p { strong { (harmless(&disturbance.title)) } }
            p { "Peak of the open circuit " (text::volts(disturbance.open_circuit_peak_v)) ", of the short circuit "
                (text::amps(disturbance.short_circuit_peak_a)) "." }
            ul { @for note in &disturbance.sources { li { (note.what) ": " (harmless(&note.source)) } } }
        },
    )
}

/// Adds one of the profile's usual stresses, or one of a standard.
fn add(sheet: &Sheet, count: usize) -> Markup {
    let key = sheet
        .outline
        .as_ref()
        .map(|outline| outline.text("port.profile"))
        .unwrap_or_default();
    let usual = profile(&key)
        .map(|profile| profile.stresses.as_slice())
        .unwrap_or_default();
    html! {
        p.add {
            label for="add-stress" { "Add a stress: " }
            select id="add-stress" data-insert-list="stress" data-at-end=(count) {
                option value="" { "choose" }
                @if !usual.is_empty() {
                    optgroup label="usual for this port" {
                        @for stress in usual {
                            option value=(usual_entry(&stress.value.keys)) { (in_words(&stress.value.keys)) }
                        }
                    }
                }
                optgroup label="by standard, the rest to be filled in" {
                    @for standard in STANDARDS {
                        @let keys = [
                            ("id".to_owned(), format!("stress-{}", count + 1)),
                            ("standard".to_owned(), standard.to_owned()),
                        ];
                        option value=(entry(&keys)) { (standard) }
                    }
                }
            }
        }
    }
}

/// Keys with texts as JSON, in their order.
fn entry(keys: &[(String, String)]) -> String {
    object(keys.iter().map(|(key, value)| (key.as_str(), quoted(value))))
}

/// Keys with values as TOML, which are texts and whole numbers in profiles, as JSON.
fn usual_entry(keys: &[(String, String)]) -> String {
    let as_json = |value: &str| match serde_json::from_str::<serde_json::Value>(value) {
        Ok(value) => value.to_string(),
        Err(_) => quoted(value),
    };
    object(keys.iter().map(|(key, value)| (key.as_str(), as_json(value))))
}

fn object<'k>(pairs: impl Iterator<Item = (&'k str, String)>) -> String {
    let pairs: Vec<String> = pairs
        .map(|(key, value)| format!("{}:{value}", quoted(key)))
        .collect();
    format!("{{{}}}", pairs.join(","))
}

fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

fn in_words(keys: &[(String, String)]) -> String {
    let words = keys.iter().filter(|(key, _)| key != "id");
    words
        .map(|(_, value)| value.trim_matches('"'))
        .collect::<Vec<_>>()
        .join(", ")
}
