//! What a part must be, before any is chosen.

use maud::{Markup, html};
use tidewall_assess::requirement::{Requirement, StressDemand};
use tidewall_report::words::number::{corner_words, in_one_unit};
use tidewall_report::words::requirement::{asks, quantity, window};
use tidewall_report::words::{harmless, sentence};
use tidewall_units::{Amps, Joules, Ohms, Quantity, Volts};

use super::super::runs::Desk;
use crate::html::{aligned, asked};
use crate::jobs::Job;

/// The requirement of each stage.
pub fn all(desk: &Desk, job: &Job, list: &[Requirement]) -> Markup {
    html! {
        (desk.stale(job))
        @for requirement in list { (one(requirement)) }
    }
}

fn one(requirement: &Requirement) -> Markup {
    let word = match requirement.window {
        Some(true) => "open",
        Some(false) => "shut",
        None => "unknown",
    };
    html! {
        h3 { "In " (harmless(&requirement.stage)) }
        p.judged {
            span.verdict.pass[requirement.window == Some(true)].fail[requirement.window == Some(false)]
                .unknown[requirement.window.is_none()] { (word) }
            " " (sentence(&window(requirement)))
        }
        table.values {
            tbody {
                @for demand in &requirement.demands {
                    tr {
                        th scope="row" { (harmless(&demand.datum)) }
                        td { (harmless(&sentence(&asks(demand)))) }
                    }
                }
            }
        }
        (stresses(&requirement.stresses))
        @if !requirement.openings.is_empty() {
            h4 { "What opens the window" }
            ul {
                @for opening in &requirement.openings {
                    li {
                        strong { (harmless(&opening.change)) }
                        @if let Some(value) = opening.value { ", " (quantity(value, opening.unit)) }
                        ": " (harmless(&sentence(&opening.why)))
                    }
                }
            }
        }
        details.more {
            summary { "How this was found" }
            ul { @for note in &requirement.notes { li { (harmless(&sentence(note))) } } }
        }
    }
}

fn stresses(list: &[StressDemand]) -> Markup {
    if list.is_empty() {
        return html! {};
    }
    let column = |of: fn(&StressDemand) -> Option<f64>, unit: &str| {
        let (texts, unit) = in_one_unit(&list.iter().map(of).collect::<Vec<_>>(), unit);
        (aligned(&texts), unit)
    };
    let (clamps, _) = column(|s| s.highest_clamp_v.filter(|_| !s.open_above), Volts::SYMBOL);
    let (amps, amp) = column(|s| Some(s.current_a), Amps::SYMBOL);
    let (joules, joule) = column(|s| Some(s.energy_j), Joules::SYMBOL);
    let (short, short_unit) = column(|s| s.as_8_20_a, Amps::SYMBOL);
    let (long, long_unit) = column(|s| s.as_10_1000_a, Amps::SYMBOL);
    let unit = |title: &str, unit: &str| {
        if unit.is_empty() {
            title.to_owned()
        } else {
            format!("{title}, {unit}")
        }
    };
    html! {
        div.scroll tabindex="0" role="region" aria-label="Under stress" {
            table {
                caption { "Under stress, with an ideal clamp in the place" }
                thead { tr {
                    th scope="col" { "stress" }
                    th.n scope="col" { "clamp at most, V" }
                    th.n scope="col" { (unit("current", &amp)) }
                    th.n scope="col" { (unit("energy", &joule)) }
                    th.n scope="col" { (unit("as 8/20", &short_unit)) }
                    th.n scope="col" { (unit("as 10/1000", &long_unit)) }
                    th.n scope="col" { "slope at most" }
                    th.n scope="col" { "pulses" }
                } }
                tbody {
                    @for (k, stress) in list.iter().enumerate() {
                        tr {
                            th scope="row" { (asked(&html! { (harmless(&stress.stress)) }, &html! {
                                p { "Largest current at " (corner_words(&stress.corner)) "." }
                                @if let Some(missing) = &stress.missing { p { "Missing: " (harmless(missing)) "." } }
                            })) }
                            td.n {
                                @match (stress.highest_clamp_v, stress.open_above, &stress.missing) {
                                    (Some(_), false, _) => (clamps[k]),
                                    (Some(_), true, _) => "any",
                                    (None, _, Some(_)) => "unknown",
                                    (None, _, None) => strong { "none" },
                                }
                            }
                            td.n { (amps[k]) }
                            td.n { (joules[k]) }
                            td.n { (short[k]) }
                            td.n { (long[k]) }
                            td.n { (stress.slope_at_most_ohm.map_or(String::new(), |ohm| Ohms(ohm).rounded(3))) }
                            td.n { (stress.impulses.map_or(String::new(), |pulses| pulses.to_string())) }
                        }
                    }
                }
            }
        }
    }
}
