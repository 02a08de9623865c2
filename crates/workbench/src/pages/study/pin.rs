//! The protected circuit.

use maud::{Markup, html};
use tidewall_desk::outline::{Outline, Shown};

use super::Sheet;
use super::field::{Form, fault_of, field, labelled, unreadable};

const VALUE: Form<'static> = Form::Text(10);
const SIGN: Form<'static> = Form::OneOf(&["positive", "negative", "both"]);

/// The section.
pub fn section(sheet: &Sheet) -> Markup {
    let Ok(outline) = &sheet.outline else {
        return html! { h2 { "Pin" } (unreadable(sheet).unwrap_or_default()) };
    };
    let pair = sheet.shape().is_none_or(|study| study.port.lines == 2);
    let row = |label: &str, fields: Markup| html! { tr { th scope="row" { (label) } td { (fields) } } };
    let plain = |key: &str, label: &str, form: Form<'_>, filled: &str| {
        row(label, field(sheet, &format!("pin.{key}"), label, form, filled))
    };
    let unknown = |known: bool| if known { "" } else { "unknown" };
    let pin = sheet.shape().map(|study| &study.pin);
    html! {
        h2 { "Pin" }
        (fault_of(sheet, "pin"))
        table.values.fields {
            tbody {
                (plain("name", "name", Form::Text(32), ""))
                (levels(sheet, outline, "withstand", "withstand"))
                (levels(sheet, outline, "negative_withstand", "withstand below the return"))
                @if pair { (levels(sheet, outline, "withstand_common", "withstand of each line to earth")) }
                (plain("capacitance", "capacitance", VALUE, unknown(pin.is_none_or(|pin| pin.capacitance_f.is_some()))))
                (plain("esr", "series resistance of it", VALUE, unknown(pin.is_none_or(|pin| pin.esr_ohm.is_some()))))
                (row("conduction", html! {
                    @for (key, label) in [
                        ("positive_threshold", "above"),
                        ("positive_resistance", "then"),
                        ("negative_threshold", "below"),
                        ("negative_resistance", "then"),
                    ] { (labelled(sheet, &format!("pin.conduction.{key}"), label, VALUE, "")) }
                    (fault_of(sheet, "pin.conduction"))
                }))
                (row("failure current", html! {
                    (labelled(sheet, "pin.failure_current.value", "current", VALUE, ""))
                    (labelled(sheet, "pin.failure_current.width", "for", VALUE, ""))
                    (fault_of(sheet, "pin.failure_current"))
                }))
                (plain("failure_energy", "failure energy", VALUE, ""))
            }
        }
    }
}

/// A list of levels, or one level for any time.
fn levels(sheet: &Sheet, outline: &Outline, key: &str, label: &str) -> Markup {
    let place = format!("pin.{key}");
    let Some(Shown::List(count)) = outline.get(&place) else {
        return html! {
            tr {
                th scope="row" { (label) }
                td {
                    (field(sheet, &place, label, VALUE, ""))
                    " "
                    button type="button" data-do="set" data-place=(place) data-key=(format!("{place}.list"))
                        data-value=(r#"[{"voltage":"","lasts":""}]"#) { "By duration" }
                }
            }
        };
    };
    html! {
        tr {
            th scope="row" { (label) }
            td {
                @for number in 0..count {
                    @let at = format!("{place}.{number}");
                    div.level {
                        (labelled(sheet, &format!("{at}.voltage"), "voltage", VALUE, ""))
                        (labelled(sheet, &format!("{at}.lasts"), "for", VALUE, ""))
                        @if key == "withstand" { (labelled(sheet, &format!("{at}.polarity"), "polarity", SIGN, "")) }
                        button type="button" data-do="unset" data-place=(at) data-key=(format!("{at}.remove"))
                            aria-label=(format!("Remove level {} of {label}", number + 1)) { "✕" }
                        (fault_of(sheet, &at))
                    }
                }
                button type="button" data-do="set" data-place=(format!("{place}.{count}"))
                    data-key=(format!("{place}.add")) data-value=(r#"{"voltage":"","lasts":""}"#) { "Add a level" }
                (fault_of(sheet, &place))
            }
        }
    }
}
