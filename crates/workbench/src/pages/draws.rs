//! Monte Carlo draws, what decides, and the highest survived levels.

use std::sync::Arc;

use axum::extract::{Path, State};
use maud::{Markup, html};
use tidewall_assess::draws::{Drawn, DrawnCheck, Sensitivity};
use tidewall_assess::level::HighestLevel;
use tidewall_report::figures;
use tidewall_report::words::draws::{
    any_failure, beyond_words, place, probability, rank_words, specimen_words, worth_showing,
};
use tidewall_report::words::level::in_words;
use tidewall_report::words::number::percent;
use tidewall_report::words::{harmless, sentence};

use super::runs::{Desk, shown};
use crate::asked::Asked;
use crate::error::Refusal;
use crate::figures::figure;
use crate::html::{Page, Place, StudyPage, aligned, asked, escaped, page as frame, verdict};
use crate::jobs::{Job, Kind};
use crate::product::Product;
use crate::state::App;

/// Checks whose sensitivities are drawn.
const FIGURES: usize = 3;

/// `GET /study/{name}/draws`
pub async fn page(State(app): State<App>, Path(name): Path<String>, asked: Asked) -> Result<Page, Refusal> {
    let desk = Desk::of(&app, name, asked).await?;
    let body = html! {
        (desk.heading("Draws and highest levels"))
        @if desk.study().is_some() {
            (form(&desk))
            (draws_section(&desk))
            (levels_section(&desk))
        }
    };
    let title = format!("Draws: {}", desk.title());
    Ok(frame(
        &app,
        Place::Study(&desk.name, StudyPage::Draws),
        &title,
        &body,
    ))
}

/// `GET /study/{name}/draws/part/{part}`
pub async fn part(
    State(app): State<App>,
    Path((name, part)): Path<(String, String)>,
    asked: Asked,
) -> Result<Page, Refusal> {
    let desk = Desk::of(&app, name, asked).await?;
    match part.as_str() {
        "draws" => Ok(Page(draws_section(&desk))),
        "levels" => Ok(Page(levels_section(&desk))),
        _ => Err(Refusal::missing(
            format!("this page has no part `{part}`"),
            "reload the page",
        )),
    }
}

fn form(desk: &Desk) -> Markup {
    let last = desk.app.jobs().latest(&desk.name, Kind::Draws);
    let last = last.map(|job| job.asked.clone()).unwrap_or_default();
    html! {
        form.setup id="setup" data-start=(format!("/api/study/{}/run", escaped(&desk.name))) {
            fieldset {
                legend { "Draw specimens within all tolerances" }
                p.weights {
                    label { "draws " input.short type="text" inputmode="numeric" name="draws" value=(last.one("draws").unwrap_or("1000")) autocomplete="off"; }
                    label { "seed " input.short type="text" inputmode="numeric" name="seed" value=(last.one("seed").unwrap_or("1")) autocomplete="off"; }
                    label { "positions "
                        select name="distribution" {
                            option value="uniform" { "uniform between the limits" }
                            option value="normal" selected[last.one("distribution") == Some("normal")] { "normal, limits at 3 σ" }
                        }
                    }
                }
                p.actions {
                    button.main type="submit" name="kind" value="draws" { "Draw" }
                    button type="submit" name="kind" value="levels" { "Search the highest levels" }
                }
            }
            noscript { p.hint { "Runs are begun by the script of this page, which this browser does not run." } }
        }
    }
}

fn address(desk: &Desk, part: &str) -> String {
    format!(
        "{}/part/{part}{}",
        StudyPage::Draws.address(&desk.name),
        desk.asked.query()
    )
}

fn draws_section(desk: &Desk) -> Markup {
    let run = desk.job(Kind::Draws);
    let none = html! {
        p.hint { "Nothing has been drawn yet. Corners say what the worst specimen does; draws say how likely it is to meet one." }
    };
    let body = html! {
        h2 { "Draws" }
        (shown(&run, &none, |job, product| match product {
            Product::Draws(drawn) => drawn_sheet(desk, job, drawn),
            _ => html! {},
        }))
    };
    let job = run.job().map(AsRef::as_ref);
    desk.section("part-draws", &address(desk, "draws"), job, &body)
}

fn levels_section(desk: &Desk) -> Markup {
    let run = desk.job(Kind::Levels);
    let body = html! {
        @if run.job().is_some() {
            h2 { "Highest survived level of each stress" }
            (shown(&run, &html! {}, |job, product| match product {
                Product::Levels(levels) => levels_sheet(desk, job, levels),
                _ => html! {},
            }))
        }
    };
    let job = run.job().map(AsRef::as_ref);
    desk.section("part-levels", &address(desk, "levels"), job, &body)
}

fn drawn_sheet(desk: &Desk, job: &Job, drawn: &Drawn) -> Markup {
    let draws = &drawn.draws;
    let shown = worth_showing(draws, false);
    let others = draws.checks.len() - shown.len();
    html! {
        (desk.stale(job))
        p.judged {
            @if let Some(any) = &draws.any_failure { strong { (any_failure(any, draws.undecided)) } }
            @else { "No draw was finished." }
        }
        p {
            (draws.done)
            @if !draws.complete { " of " (draws.asked) " draws asked for, stopped: the first ones, unbroken" } @else { " draws" }
            "; seed " (draws.seed) ", " (draws.distribution.words()) "."
            @if draws.undecided > 0 { " " (draws.undecided) " draws are undecided: no check fails, but some are unknown." }
        }
        @if !shown.is_empty() { (checks(&shown)) }
        @if others > 0 { p.hint { (others) " more checks hold in every draw, the same in each or further from their limits." } }
        @if let Some(worst) = &draws.worst {
            p { (verdict(worst.verdict)) " Worst specimen, draw " (worst.draw) ": " (harmless(&specimen_words(worst))) "." }
        }
        @for beyond in &draws.beyond_corners {
            p { strong { "Beyond the corners: " } (harmless(&sentence(&beyond_words(beyond)))) }
        }
        @if draws.done > 0 { (figure(&desk.app, &Arc::new(figures::draws(draws)))) }
        @if !drawn.sensitivity.is_empty() {
            h2 { "What decides" }
            p.hint { "The margin with one tolerance at its ends, the others where the worst draw has them." }
            @for (k, of) in drawn.sensitivity.iter().enumerate() { (decides(desk, of, k < FIGURES)) }
        }
        details.more {
            summary { "What these numbers rest on" }
            ul { @for note in &draws.notes { li { (harmless(&sentence(note))) } } }
        }
    }
}

fn checks(list: &[&DrawnCheck]) -> Markup {
    let column = |of: fn(&DrawnCheck) -> Option<f64>| {
        let texts: Vec<String> = list
            .iter()
            .map(|check| of(check).map(percent).unwrap_or_default())
            .collect();
        aligned(&texts)
    };
    let worst = column(|check| check.worst_margin);
    let low = column(|check| check.margin_p05);
    let middle = column(|check| check.margin_p50);
    let high = column(|check| check.margin_p95);
    html! {
        div.scroll tabindex="0" role="region" aria-label="Checks over the draws" {
            table {
                thead { tr {
                    th scope="col" { "check" }
                    th scope="col" { "stress" }
                    th scope="col" { "element" }
                    th.n scope="col" { "fails" }
                    th scope="col" { "probability (95 %)" }
                    th.n scope="col" { "worst margin, %" }
                    th.n scope="col" { "5 %" }
                    th.n scope="col" { "median" }
                    th.n scope="col" { "95 %" }
                } }
                tbody {
                    @for (k, check) in list.iter().enumerate() {
                        tr {
                            th scope="row" { (check.check) }
                            td { (harmless(check.stress.as_deref().unwrap_or("–"))) }
                            td { (harmless(&check.element)) }
                            td.n { (check.failures) }
                            td { (probability(check)) }
                            td.n { (worst[k]) }
                            td.n { (low[k]) }
                            td.n { (middle[k]) }
                            td.n { (high[k]) }
                        }
                    }
                }
            }
        }
    }
}

fn decides(desk: &Desk, of: &Sensitivity, drawn: bool) -> Markup {
    let place = place(of.check, of.stress.as_deref(), &of.element);
    let column = |share: fn(&tidewall_assess::draws::AxisSensitivity) -> Option<f64>| {
        let texts: Vec<String> = of
            .axes
            .iter()
            .map(|axis| share(axis).map_or("?".to_owned(), percent))
            .collect();
        aligned(&texts)
    };
    let low = column(|axis| axis.margin_low);
    let high = column(|axis| axis.margin_high);
    let swing = column(|axis| axis.swing);
    html! {
        h3 { (harmless(&place)) ": " (percent(of.margin)) " % in draw " (of.draw) }
        @if drawn { (figure(&desk.app, &Arc::new(figures::sensitivity(of)))) }
        details.more {
            summary { "Each tolerance" }
            div.scroll tabindex="0" role="region" aria-label=(format!("Tolerances of {}", harmless(&place))) {
                table {
                    thead { tr {
                        th scope="col" { "tolerance" }
                        th scope="col" { "of" }
                        th.n scope="col" { "low end, %" }
                        th.n scope="col" { "high end, %" }
                        th.n scope="col" { "swing, points" }
                        th.n scope="col" { "rank correlation" }
                    } }
                    tbody {
                        @for (k, axis) in of.axes.iter().enumerate() {
                            tr {
                                th scope="row" { (harmless(&axis.axis)) }
                                td { (harmless(&axis.what)) }
                                td.n { (low[k]) }
                                td.n { (high[k]) }
                                td.n { (swing[k]) }
                                td.n { (rank_words(axis.rank_correlation)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn levels_sheet(desk: &Desk, job: &Job, levels: &[HighestLevel]) -> Markup {
    html! {
        (desk.stale(job))
        dl.decides {
            @for level in levels {
                div {
                    dt { (asked(&html! { (harmless(&level.stress)) }, &html! {
                        p { "The amplitude alone is scaled; found to 1 % between scanned levels a factor of √2 apart, at every corner \
                             of this stress." }
                        @if let Some(gives) = &level.gives_way { p { (harmless(&sentence(&gives.why))) } }
                    })) }
                    dd { (harmless(&sentence(&in_words(level)))) }
                }
            }
        }
    }
}
