//! Checks with their margins, and what stands behind the result.

use maud::{Markup, html};
use tidewall_assess::explain;
use tidewall_assess::result::{Assessment, CheckResult};
use tidewall_report::words::{finding, harmless, number::corner_words};

use super::Sheet;
use super::figures::stale;
use crate::html::{aligned, asked, verdict};

/// The last finished assessment, if there is one.
pub fn done(sheet: &Sheet) -> Option<&Assessment> {
    sheet.judged.as_deref().map(|judged| &judged.assessment)
}

/// The table of checks, worst first.
pub fn section(sheet: &Sheet) -> Markup {
    let Some(result) = done(sheet) else {
        return html! {};
    };
    let lines: Vec<_> = result.checks.iter().map(finding::line).collect();
    let column = |of: fn(&finding::Line) -> &String| {
        aligned(&lines.iter().map(|line| of(line).clone()).collect::<Vec<_>>())
    };
    let values = column(|line| &line.value);
    let limits = column(|line| &line.limit);
    let margins = column(|line| &line.margin);
    html! {
        h2 { "Checks" (stale(sheet)) }
        p { "Worst first: " (finding::counts(result)) "." }
        div.scroll {
            table.checks {
                thead { tr {
                    th scope="col" { "check" }
                    th scope="col" { "stress" }
                    th scope="col" { "element" }
                    th.n scope="col" { "value" }
                    th.n scope="col" { "limit" }
                    th scope="col" { "unit" }
                    th.n scope="col" { "margin, %" }
                    th scope="col" { "verdict" }
                } }
                tbody {
                    @for (number, check) in result.checks.iter().enumerate() {
                        tr {
                            th scope="row" { (asked(&html! { (check.check) }, &why(check))) }
                            td { (harmless(check.stress.as_deref().unwrap_or("–"))) }
                            td { (harmless(&check.element)) }
                            td.n { (values[number]) }
                            td.n { (limits[number]) }
                            td { (lines[number].unit) }
                            td.n { (margins[number]) }
                            td { (verdict(check.verdict)) }
                        }
                    }
                }
            }
        }
        @let missing = finding::missing(result);
        @if !missing.is_empty() {
            h3 { "To be provided" }
            ul { @for (datum, places) in missing { li { (harmless(datum)) " (for " (harmless(&places.join("; "))) ")" } } }
        }
    }
}

/// Where a check's numbers come from: reason, corner, origin of the limit, formula and its source.
pub fn why(check: &CheckResult) -> Markup {
    html! {
        p { (harmless(&check.why)) }
        @if let Some(corner) = &check.corner { p { "Corner: " (corner_words(corner)) "." } }
        @if let Some(origin) = &check.limit_origin { p { "Limit: " (harmless(origin)) "." } }
        @if let Some(text) = explain::find(check.check) {
            p { strong { (text.title) ". " } (text.asks) }
            p { "Formula: " (text.formula) }
            p { "Source: " (text.source) "." }
            p { "What to change: " (text.change) }
        }
    }
}

/// Assumptions, cautions and what was computed.
pub fn notes(sheet: &Sheet) -> Markup {
    let Some(result) = done(sheet) else {
        return html! {};
    };
    html! {
        h2 { "Behind the result" (stale(sheet)) }
        @if !result.assumptions.is_empty() {
            h3 { "Assumed" }
            ul { @for line in &result.assumptions { li { (harmless(line)) } } }
        }
        h3 { "Computed" }
        p { (finding::computed(result)) }
        p.digest { "Digest of the study and its files (SHA-256): " code { (result.study.digest) } }
        h3 { "Caution" }
        ul { @for line in &result.cautions { li { (line) } } }
    }
}
