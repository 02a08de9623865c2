//! Fields of the sheet: inputs that change one value of the text.
//!
//! An input names its place in `data-at`. The script sends what is written there when it is left or Enter is pressed; an
//! emptied field takes its key out of the text. Without the script fields can be read and not changed.

use maud::{Markup, html};
use tidewall_desk::outline::Shown;
use tidewall_report::words::harmless;

use super::Sheet;

/// What a field is like.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form<'f> {
    /// A text of so many characters, such as a quantity.
    Text(u8),
    /// A text with suggestions from the list of that id.
    Listed(u8, &'f str),
    /// A whole number.
    Whole,
    /// One of these, or nothing.
    OneOf(&'f [&'f str]),
    /// Yes or no.
    Truth,
}

/// A field for the value at a place. `filled` is what holds where nothing is written.
pub fn field(sheet: &Sheet, at: &str, label: &str, form: Form<'_>, filled: &str) -> Markup {
    let Ok(outline) = &sheet.outline else {
        return html! {};
    };
    let shown = outline.get(at);
    // What is a list or a table here is edited by fields of its own, or as text.
    if matches!(shown, Some(Shown::List(_) | Shown::Table)) {
        return html! { a.hint href="#part-text" { "in the text" } };
    }
    let value = outline.text(at);
    // Characters that steer or turn the text round would be written back in another form, or show what is not there.
    if harmless(&value) != value {
        return html! { span { (harmless(&value)) } " " a.hint href="#part-text" { "in the text" } };
    }
    let fault = sheet.fault().filter(|(place, _)| place == at);
    let id = format!("f-{at}");
    let told = fault.as_ref().map(|_| format!("e-{at}"));
    let invalid = fault.is_some().then_some("true");
    html! {
        @match form {
            Form::Text(size) => input id=(id) data-at=(at) value=(value) placeholder=(filled) size=(size) aria-label=(label)
                aria-invalid=[invalid] aria-describedby=[told.as_deref()] autocomplete="off" spellcheck="false";,
            Form::Listed(size, list) => input id=(id) data-at=(at) value=(value) placeholder=(filled) size=(size) list=(list)
                aria-label=(label) aria-invalid=[invalid] aria-describedby=[told.as_deref()] autocomplete="off"
                spellcheck="false";,
            Form::Whole => input id=(id) data-at=(at) data-form="whole" value=(value) placeholder=(filled) size="6"
                inputmode="numeric" aria-label=(label) aria-invalid=[invalid] aria-describedby=[told.as_deref()]
                autocomplete="off";,
            Form::OneOf(words) => select id=(id) data-at=(at) aria-label=(label) aria-invalid=[invalid]
                aria-describedby=[told.as_deref()] {
                option value="" selected[value.is_empty()] {
                    @if filled.is_empty() { "–" } @else { (filled) }
                }
                @if !value.is_empty() && !words.contains(&value.as_str()) { option selected { (value) } }
                @for word in words { option value=(word) selected[value == *word] { (word) } }
            },
            Form::Truth => input id=(id) data-at=(at) data-form="truth" type="checkbox" checked[value == "true"]
                aria-label=(label) aria-invalid=[invalid] aria-describedby=[told.as_deref()];,
        }
        @if let Some((_, report)) = fault {
            span.wrong id=(told.unwrap_or_default()) {
                (harmless(&report.message)) "."
                @if let Some(expected) = &report.expected { " Expected: " (harmless(expected)) "." }
                @if let Some(hint) = &report.hint { " " (harmless(hint)) "." }
            }
        }
    }
}

/// A small labelled field, for those that stand beside each other.
pub fn labelled(sheet: &Sheet, at: &str, label: &str, form: Form<'_>, filled: &str) -> Markup {
    html! { span.pair { span.label aria-hidden="true" { (label) } (field(sheet, at, label, form, filled)) } }
}

/// The fault of an entry or table itself, where it is none of a field.
pub fn fault_of(sheet: &Sheet, place: &str) -> Markup {
    match sheet.fault() {
        Some((at, report)) if at == place => html! {
            p.wrong role="alert" {
                (harmless(&report.message)) "."
                @if let Some(expected) = &report.expected { " Expected: " (harmless(expected)) "." }
                @if let Some(hint) = &report.hint { " " (harmless(hint)) "." }
            }
        },
        _ => html! {},
    }
}

/// Buttons that move and remove an entry of a list of tables.
pub fn handles(list: &str, at: usize, count: usize, name: &str) -> Markup {
    html! {
        span.handles {
            button type="button" data-do="move" data-list=(list) data-from=(at) data-to=(at.saturating_sub(1))
                data-key=(format!("{list}.{at}.up")) disabled[at == 0] aria-label=(format!("Move {name} towards the connector or up")) { "↑" }
            button type="button" data-do="move" data-list=(list) data-from=(at) data-to=(at + 1)
                data-key=(format!("{list}.{at}.down")) disabled[at + 1 >= count] aria-label=(format!("Move {name} towards the pin or down")) { "↓" }
            button type="button" data-do="remove" data-list=(list) data-from=(at)
                data-key=(format!("{list}.{at}.remove")) aria-label=(format!("Remove {name}")) { "✕" }
        }
    }
}

/// The words of a text that is no TOML, for sections that cannot show fields then.
pub fn unreadable(sheet: &Sheet) -> Option<Markup> {
    sheet.outline.as_ref().err().map(|_| {
        html! {
            p.hint { "These fields come back when the " a href="#part-text" { "text" } " can be read again." }
        }
    })
}
