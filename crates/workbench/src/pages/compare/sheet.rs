//! A comparison, and equivalents, as sections of a page.

use std::sync::Arc;

use maud::{Markup, html};
use tidewall_assess::compare::{Compared, Comparison, Equivalents, differences};
use tidewall_report::figures;
use tidewall_report::words::compare::{VERDICT_ROW, rows};
use tidewall_report::words::number::{corner_words, percent};
use tidewall_report::words::rank::short;
use tidewall_report::words::{harmless, sentence};

use super::super::runs::Desk;
use crate::figures::figure;
use crate::html::{escaped, verdict};
use crate::jobs::Job;

/// Differences that are told at once.
const TOLD: usize = 6;

/// Parts side by side.
pub fn comparison(desk: &Desk, comparison: &Comparison) -> Markup {
    html! {
        h2 { "In " (harmless(&comparison.stage)) }
        (decides(&comparison.parts))
        (against(&comparison.parts))
        (side_by_side(desk, &comparison.parts))
        (pictures(desk, comparison))
    }
}

/// Parts that can stand for another.
pub fn equivalents(desk: &Desk, job: &Job, found: &Equivalents) -> Markup {
    let reference = &found.reference;
    let mut all = vec![reference.clone()];
    all.extend(found.equivalents.iter().map(|equivalent| equivalent.part.clone()));
    html! {
        (desk.stale(job))
        h2 { "In place of " (harmless(&reference.part)) " in " (harmless(&found.stage)) }
        p {
            (harmless(&reference.part)) " (" (reference.family) ") is " (verdict(reference.verdict)) " here. "
            (found.candidates) " candidates were looked at"
            @if !found.complete { strong { " (stopped)" } }
            "; " (found.rejected) " of them fail."
        }
        @if found.equivalents.is_empty() {
            p { strong { @if found.complete { "No part can stand for it here." } @else { "None so far can stand for it here." } } }
        } @else {
            p.hint { "Nearest first. The distance is that of the margins of all checks of this port: 0 % is alike." }
            ol.near {
                @for equivalent in &found.equivalents {
                    li {
                        strong { (harmless(&equivalent.part.part)) } " " (verdict(equivalent.part.verdict)) " "
                        (percent(equivalent.distance)) " % away"
                        (told(&equivalent.differences))
                    }
                }
            }
            (side_by_side(desk, &all))
            (pictures(desk, &Comparison {
                schema: tidewall_assess::compare::COMPARISON_SCHEMA,
                version: found.version,
                study: found.study.clone(),
                stage: found.stage.clone(),
                parts: all,
            }))
        }
    }
}

/// What decides each part, in words.
fn decides(parts: &[Compared]) -> Markup {
    html! {
        dl.decides {
            @for part in parts {
                div {
                    dt { (verdict(part.verdict)) " " (harmless(&part.part)) }
                    dd {
                        @match part.checks.first() {
                            Some(worst) => {
                                (harmless(&short(worst))) ": " (harmless(&sentence(&worst.why)))
                                @if let Some(corner) = &worst.corner { span.hint { " " (corner_words(corner)) "." } }
                            }
                            None => "Nothing was checked.",
                        }
                        @if let Some(missing) = &part.missing { " No V-I band: " (harmless(&sentence(missing))) }
                    }
                }
            }
        }
    }
}

/// Differences, the largest first; those that follow are a press away.
fn told(words: &[String]) -> Markup {
    let (first, more) = words.split_at(words.len().min(TOLD));
    let list = |words: &[String]| html! { ul { @for word in words { li { (harmless(&sentence(word))) } } } };
    html! {
        (list(first))
        @if !more.is_empty() {
            details.more { summary { (more.len()) " more" } (list(more)) }
        }
    }
}

/// How the others differ from the part that is named first.
fn against(parts: &[Compared]) -> Markup {
    let Some((first, others)) = parts.split_first() else {
        return html! {};
    };
    html! {
        @for other in others {
            @let words = differences(first, other);
            h3 { (harmless(&other.part)) " against " (harmless(&first.part)) }
            @if words.is_empty() { p { "Alike in all that this port asks." } }
            @else { (told(&words)) }
        }
    }
}

fn side_by_side(desk: &Desk, parts: &[Compared]) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label="Side by side" {
            table.beside {
                thead { tr {
                    th scope="col" { span.aside { "quantity" } }
                    @for part in parts {
                        th scope="col" { (harmless(&part.part)) }
                    }
                } }
                tbody {
                    @for (label, cells) in rows(parts) {
                        tr.within[label.starts_with(' ')] {
                            th scope="row" { (harmless(label.trim_start())) }
                            @for (cell, part) in cells.iter().zip(parts) {
                                td { @if label == VERDICT_ROW { (verdict(part.verdict)) } @else { (harmless(cell)) } }
                            }
                        }
                    }
                    tr {
                        th scope="row" { "data from" }
                        @for part in parts { td.source { (harmless(&part.source)) } }
                    }
                    tr {
                        th scope="row" { "others like it" }
                        @for part in parts {
                            td { a href=(format!("{}?of={}", crate::html::StudyPage::Compare.address(&desk.name), escaped(&part.part)))
                                aria-label=(format!("equivalents of {}", harmless(&part.part))) { "equivalents" } }
                        }
                    }
                }
            }
        }
    }
}

fn pictures(desk: &Desk, comparison: &Comparison) -> Markup {
    html! {
        h2 { "Clamping over temperature" }
        (figure(&desk.app, &Arc::new(figures::clamp_over_temperature(comparison))))
        h2 { "Voltage and current" }
        (figure(&desk.app, &Arc::new(figures::v_i_bands(comparison))))
    }
}
