//! How often the specimens of the best fail.

use maud::{Markup, html};
use tidewall_assess::rank::ShortListed;
use tidewall_report::words::draws::{in_words, place};
use tidewall_report::words::harmless;
use tidewall_report::words::number::percent;
use tidewall_report::words::rank::placed;

/// Draws of the best.
pub fn section(list: &[ShortListed]) -> Markup {
    let Some(first) = list.first() else {
        return html! {};
    };
    html! {
        h2 { "Draws of the best" }
        p { (first.draws.asked) " specimens of each within all tolerances, seed " (first.draws.seed) ", "
            (first.draws.distribution.words()) "." }
        div.scroll tabindex="0" role="region" aria-label="Draws of the best" {
            table {
                thead { tr {
                    th scope="col" { "part" }
                    th scope="col" { "some check fails" }
                    th scope="col" { "closest check" }
                    th.n scope="col" { "margin, %" }
                    th scope="col" { "moved most by" }
                } }
                tbody { @for entry in list { (row(entry)) } }
            }
        }
    }
}

fn row(entry: &ShortListed) -> Markup {
    let draws = &entry.draws;
    let closest = entry.sensitivity.first();
    let swing = closest.and_then(|closest| {
        let mut axes = closest.axes.iter();
        axes.find_map(|axis| Some((axis, axis.swing?)))
    });
    html! {
        tr {
            th scope="row" { (harmless(&placed(&entry.placed))) }
            td {
                @match &draws.any_failure {
                    Some(any) => { (any.count) " of " (any.of) ": " (in_words(any)) }
                    None => "not drawn",
                }
                @if draws.undecided > 0 { "; " (draws.undecided) " undecided" }
                @if !draws.complete { " (stopped)" }
            }
            td { @if let Some(closest) = closest {
                (harmless(&place(closest.check, closest.stress.as_deref(), &closest.element))) } }
            td.n { (closest.map(|closest| percent(closest.margin)).unwrap_or_default()) }
            td { @if let Some((axis, swing)) = swing {
                (harmless(&axis.axis)) " (" (harmless(&axis.what)) "): " (percent(swing)) " points from low to high" } }
        }
    }
}
