//! Title, verdict and text of a study.

use maud::{Markup, html};
use tidewall_report::words::finding;
use tidewall_report::words::harmless;

use super::Sheet;
use crate::html::verdict;
use crate::judge::Judgement;
use crate::pages::studies::progress;

/// Title and verdict, or what is wrong with the text.
pub fn section(sheet: &Sheet) -> Markup {
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
                        @if let Some(line) = pieces.line {
                            ": line " (line)
                            @if let Some(column) = pieces.column { ", column " (column) }
                        }
                        "."
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
        p.port { (harmless(&finding::port(study))) }
        @match &sheet.judgement {
            Some(Judgement::Done(result)) => {
                p.judged { (verdict(result.verdict)) " " (harmless(&finding::reason(result))) }
                p.window { "Window: " (finding::window(result)) }
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

/// The text, with numbers of lines.
pub fn text(sheet: &Sheet) -> Markup {
    let at = sheet
        .reading
        .study
        .as_ref()
        .err()
        .and_then(|failure| failure.pieces().line);
    html! {
        h2 { "Text" }
        details.text open[at.is_some()] {
            summary { "The study as it stands in the file" }
            pre.lines tabindex="0" {
                @for (number, line) in sheet.reading.snapshot.text.lines().enumerate() {
                    @let class = if at == Some(number + 1) { "line wrong" } else { "line" };
                    span class=(class) id=(format!("line-{}", number + 1)) { (harmless(line)) "\n" }
                }
            }
        }
    }
}
