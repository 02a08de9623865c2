//! Title and verdict of a study.

use maud::{Markup, html};
use tidewall_report::words::finding;
use tidewall_report::words::harmless;

use super::Sheet;
use super::field::{Form, labelled};
use crate::html::verdict;
use crate::judge::Judgement;
use crate::pages::studies::progress;

/// Title and verdict, or what is wrong with the text.
pub fn section(sheet: &Sheet) -> Markup {
    html! { div.head { div { (said(sheet)) } (steps(sheet)) } }
}

/// Undo and redo.
fn steps(sheet: &Sheet) -> Markup {
    let snapshot = &sheet.reading.snapshot;
    let button = |verb: &str, label: &str, step: &Option<String>| {
        let words = step.as_ref().map(|step| format!("{label}: {step}"));
        html! {
            button type="button" data-do=(verb) data-key=(verb) disabled[step.is_none()] title=[words] { (label) }
        }
    };
    html! {
        div.steps {
            (button("undo", "Undo", &snapshot.undo))
            (button("redo", "Redo", &snapshot.redo))
        }
    }
}

fn said(sheet: &Sheet) -> Markup {
    let snapshot = &sheet.reading.snapshot;
    let study = match &sheet.reading.study {
        Ok(study) => study,
        Err(failure) => {
            let pieces = failure.pieces();
            return html! {
                h1 { (harmless(&snapshot.name)) }
                div.fault role="alert" {
                    p {
                        strong { "This study cannot be read" }
                        @if let Some(file) = pieces.file.as_deref().filter(|file| *file != snapshot.name) {
                            " because of " (harmless(file))
                        }
                        @if let Some(line) = pieces.line {
                            ": line " (line)
                            @if let Some(column) = pieces.column { ", column " (column) }
                        }
                        "."
                        @if let Some((place, _)) = sheet.fault() {
                            " " a href=(format!("#f-{place}")) { "To the place" }
                        }
                    }
                    p.message { (harmless(&pieces.message)) }
                    @if let Some(expected) = &pieces.expected { p { "Expected: " (harmless(expected)) } }
                    @if let Some(hint) = &pieces.hint { p.hint { (harmless(hint)) } }
                }
            };
        }
    };
    html! {
        h1 { (harmless(&study.title)) }
        p { (labelled(sheet, "title", "title", Form::Text(48), "")) (labelled(sheet, "margin", "margin", Form::Text(6), "10 %")) }
        p.port { (harmless(&finding::port(study))) }
        @match &sheet.judgement {
            Some(Judgement::Done(judged)) => {
                p.judged { (verdict(judged.assessment.verdict)) " " (harmless(&finding::reason(&judged.assessment))) }
                p.window { "Window: " (finding::window(&judged.assessment)) }
            }
            Some(Judgement::Running { done, all }) => {
                p.judged { span.verdict.running { "computing" } " " (progress(&snapshot.name, *done, *all)) }
            }
            Some(Judgement::Broken) => {
                p.judged { span.verdict.unknown { "unknown" } " the computation broke; please report this study" }
            }
            None => {}
        }
        @if snapshot.gone {
            p.fault role="alert" { "The file is no longer there: it was removed or renamed by another program. What it said \
                is still shown below." }
        }
    }
}
