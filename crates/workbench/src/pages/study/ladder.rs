//! The ladder: drawn, and each stage with its fields.

use std::sync::Arc;

use maud::{Markup, html};
use tidewall_desk::outline::{Outline, Shown};
use tidewall_report::figures;
use tidewall_report::words::harmless;
use tidewall_study::{Stage, Study};

use super::Sheet;
use super::field::{Form, fault_of, field, handles, labelled, unreadable};
use crate::figures::figure;
use crate::html::asked;

/// Between which conductors a shunt may stand on a pair.
const BETWEEN: Form<'static> = Form::OneOf(&["line-line", "each-line-earth", "first-earth", "second-earth"]);
const IN_LINE: Form<'static> = Form::OneOf(&["both", "first", "second"]);
const VALUE: Form<'static> = Form::Text(8);
const PART: Form<'static> = Form::Listed(16, "parts");

/// The section. The drawing's stages and gaps are made operable by the script; everything can be done in the table too.
pub fn section(sheet: &Sheet) -> Markup {
    let Ok(outline) = &sheet.outline else {
        return html! { h2 { "Ladder" } (unreadable(sheet).unwrap_or_default()) };
    };
    let count = outline.count("ladder");
    html! {
        h2 { "Ladder" }
        @if let Some(study) = sheet.study() { div.schematic { (figure(&sheet.app, &Arc::new(figures::ladder(study)))) } }
        (parts(sheet))
        div.scroll {
            table.fields.ladder {
                thead { tr {
                    th scope="col" { "stage" }
                    th scope="col" { "is" }
                    th scope="col" { "values" }
                    th scope="col" { span.unseen { "move and remove" } }
                } }
                tbody { @for number in 0..count { (stage(sheet, outline, number, count)) } }
            }
        }
        (add(sheet, count))
    }
}

/// Names of parts to choose from: those of the study's files, then the library's.
fn parts(sheet: &Sheet) -> Markup {
    let own: Vec<&String> = sheet
        .study()
        .map(|study| study.parts.keys().collect())
        .unwrap_or_default();
    let others = sheet.library.iter().filter(|name| !own.contains(name)).take(2000);
    html! {
        datalist id="parts" {
            @for name in &own { option value=(harmless(name)) { (family(sheet, name)) } }
            @for name in others { option value=(harmless(name)) { "of the library" } }
        }
    }
}

fn family(sheet: &Sheet, part: &str) -> String {
    let known = sheet.study().and_then(|study| study.parts.get(part));
    known.map_or(String::new(), |part| part.family.to_string())
}

fn stage(sheet: &Sheet, outline: &Outline, number: usize, count: usize) -> Markup {
    let at = format!("ladder.{number}");
    let resolved = sheet.study().and_then(|study| study.ladder.get(number));
    let usual = resolved.map_or(String::new(), |stage| stage.name().to_owned());
    let written = outline.text(&format!("{at}.name"));
    let name = match (&written, &usual) {
        (written, _) if !written.is_empty() => written.clone(),
        (_, usual) if !usual.is_empty() => usual.clone(),
        _ => format!("stage {}", number + 1),
    };
    let (what, values) = if outline.get(&format!("{at}.series")).is_some() {
        ("in the line", series(sheet, outline, &at, &name))
    } else if matches!(outline.get(&format!("{at}.shunt")), Some(Shown::Table)) {
        ("capacitor across it", capacitor(sheet, &at))
    } else {
        ("across the line", shunt(sheet, &at, &name))
    };
    html! {
        tr id=(format!("stage-{number}")) data-stage-row=(number) {
            td { (field(sheet, &format!("{at}.name"), &format!("name of stage {}", number + 1), Form::Text(10), &usual)) }
            td { (what) }
            td { (values) (fault_of(sheet, &at)) }
            td { (handles("ladder", number, count, &name)) }
        }
    }
}

fn series(sheet: &Sheet, outline: &Outline, at: &str, name: &str) -> Markup {
    let line =
        html! { @if is_pair(sheet) { (labelled(sheet, &format!("{at}.line"), "line", IN_LINE, "both")) } };
    let place = format!("{at}.series");
    if let Some(Shown::Text(part)) = outline.get(&place) {
        return html! {
            (labelled(sheet, &place, "part", PART, ""))
            (line)
            (part_note(sheet, &part, name))
        };
    }
    html! {
        (labelled(sheet, &format!("{place}.resistance"), "resistance", VALUE, "0 Ω"))
        (labelled(sheet, &format!("{place}.inductance"), "inductance", VALUE, "0 H"))
        (labelled(sheet, &format!("{place}.saturation"), "saturation", VALUE, ""))
        (line)
        (fault_of(sheet, &place))
    }
}

fn shunt(sheet: &Sheet, at: &str, name: &str) -> Markup {
    let part = sheet
        .outline
        .as_ref()
        .map(|outline| outline.text(&format!("{at}.shunt")))
        .unwrap_or_default();
    html! {
        (labelled(sheet, &format!("{at}.shunt"), "part", PART, ""))
        (labelled(sheet, &format!("{at}.lead"), "lead", VALUE, ""))
        @if is_pair(sheet) { (labelled(sheet, &format!("{at}.between"), "between", BETWEEN, "")) }
        (labelled(sheet, &format!("{at}.reversed"), "turned round", Form::Truth, ""))
        (part_note(sheet, &part, name))
    }
}

fn capacitor(sheet: &Sheet, at: &str) -> Markup {
    html! {
        (labelled(sheet, &format!("{at}.shunt.capacitance"), "capacitance", VALUE, ""))
        (labelled(sheet, &format!("{at}.shunt.esr"), "series resistance", VALUE, "0 Ω"))
        (labelled(sheet, &format!("{at}.lead"), "lead", VALUE, ""))
        @if is_pair(sheet) { (labelled(sheet, &format!("{at}.between"), "between", BETWEEN, "")) }
        (fault_of(sheet, &format!("{at}.shunt")))
    }
}

/// A study that cannot be read may be a pair: then nothing is hidden.
fn is_pair(sheet: &Sheet) -> bool {
    sheet.shape().is_none_or(|study| study.port.lines == 2)
}

/// What is known of a part, where that stands, and what it went through.
fn part_note(sheet: &Sheet, name: &str, stage: &str) -> Markup {
    let Some(part) = sheet.study().and_then(|study| study.parts.get(name)) else {
        return html! {};
    };
    asked(
        &html! { (part.family) },
        &html! {
            p { strong { (harmless(name)) } ", " (part.family) "." }
            p { "From: " (harmless(&part.source)) "." }
            (went_through(sheet, stage))
        },
    )
}

/// The most that a stage had to take, and where.
fn went_through(sheet: &Sheet, stage: &str) -> Markup {
    use tidewall_assess::text;
    let Some(judged) = &sheet.judged else {
        return html! {};
    };
    let transients = &judged.assessment.transients;
    let rows = judged.study.stresses.iter().filter_map(|case| {
        let own = transients.iter().filter(|run| run.stress == case.id);
        let elements = own.flat_map(|run| run.elements.iter().filter(|element| element.name == stage));
        let most = elements.fold(None::<(f64, f64, f64)>, |most, element| {
            let (v, a, j) = most.unwrap_or_default();
            Some((
                v.max(element.peak_v),
                a.max(element.peak_a),
                j.max(element.energy_j),
            ))
        });
        most.map(|(volts, amps, joules)| {
            let words = format!(
                "at most {}, {}, {}",
                text::volts(volts),
                text::amps(amps),
                text::joules(joules)
            );
            (case.id.as_str(), words)
        })
    });
    let rows: Vec<(&str, String)> = rows.collect();
    html! {
        @if !rows.is_empty() {
            p { "Over all corners, each by itself:" }
            ul { @for (stress, words) in rows { li { (harmless(stress)) ": " (words) } } }
        }
    }
}

/// Adds a stage. The script fills in the place when a gap of the drawing is chosen.
fn add(sheet: &Sheet, count: usize) -> Markup {
    let after = |study: &Study, number: usize| {
        study
            .ladder
            .get(number)
            .map(Stage::name)
            .unwrap_or_default()
            .to_owned()
    };
    html! {
        details.add id="add-stage" {
            summary { "Add a stage" }
            form data-form="stage" {
                p {
                    label for="stage-at" { "Place: " }
                    select id="stage-at" name="at" {
                        option value="0" { "at the connector" }
                        @for number in 0..count {
                            @let name = sheet.study().map_or(format!("stage {}", number + 1), |study| after(study, number));
                            option value=(number + 1) selected[number + 1 == count] { "behind " (harmless(&name)) }
                        }
                    }
                    " "
                    label for="stage-kind" { "What: " }
                    select id="stage-kind" name="kind" {
                        option value="shunt" { "part across the line" }
                        option value="capacitor" { "capacitor across the line" }
                        option value="track" { "resistance and inductance in the line" }
                        option value="series" { "part in the line" }
                    }
                }
                p {
                    span.pair data-for="shunt series" { label for="stage-part" { "part " } input id="stage-part" name="part" list="parts" size="18" autocomplete="off"; }
                    span.pair data-for="capacitor" { label for="stage-capacitance" { "capacitance " } input id="stage-capacitance" name="capacitance" size="8" autocomplete="off"; }
                    span.pair data-for="track" { label for="stage-resistance" { "resistance " } input id="stage-resistance" name="resistance" size="8" autocomplete="off"; }
                    span.pair data-for="track" { label for="stage-inductance" { "inductance " } input id="stage-inductance" name="inductance" size="8" autocomplete="off"; }
                    span.pair data-for="shunt capacitor" { label for="stage-lead" { "lead " } input id="stage-lead" name="lead" size="8" autocomplete="off"; }
                    span.pair { label for="stage-name" { "name " } input id="stage-name" name="name" size="8" autocomplete="off"; }
                    button type="submit" { "Add" }
                }
            }
        }
    }
}
