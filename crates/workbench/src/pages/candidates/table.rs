//! The table of a ranking, and the list of what was rejected.

use maud::{Markup, html};
use tidewall_assess::rank::{Candidate, CheckLine, Placed, Ranking, Standing};
use tidewall_assess::result::Verdict;
use tidewall_report::words::number::{corner_words, in_one_unit, percent};
use tidewall_report::words::rank::{closest, placed, short};
use tidewall_report::words::{harmless, sentence};
use tidewall_study::{SeriesElement, Stage, Study};

use super::super::runs::{Desk, fault};
use super::draws;
use super::view::{Key, STEP, View, let_through};
use crate::html::{StudyPage, aligned, asked, verdict};
use crate::jobs::Job;
use crate::product::Ranked;

/// A ranking.
pub fn ranking(desk: &Desk, job: &Job, ranked: &Ranked) -> Markup {
    let ranking = &ranked.ranking;
    let view = match View::of(&desk.asked) {
        Ok(view) => view,
        Err(failure) => {
            let all = StudyPage::Candidates.address(&desk.name);
            return html! { (fault(&failure)) p { a href=(all) { "Show all" } } };
        }
    };
    html! {
        (desk.stale(job))
        (counts(ranking))
        @if ranking.ranked.is_empty() {
            p { strong { @if ranking.complete { "No candidate holds." } @else { "No candidate holds so far." } } }
            p.hint { "The nearest misses are below; “What must a part be?” says what would hold, and what opens the window." }
        } @else {
            (filters(desk, ranking))
            (table(desk, job, ranked, &view))
        }
        @if let Some(list) = &ranking.short_list { (draws::section(list)) }
        (rejected(ranking, &view))
    }
}

fn counts(ranking: &Ranking) -> Markup {
    let counts = &ranking.counts;
    html! {
        p {
            @if ranking.complete { (counts.candidates) " candidates in " }
            @else { strong { (counts.judged) " of " (counts.candidates) " candidates (stopped)" } " in " }
            (harmless(&ranking.positions.join(" and "))) ": "
            (counts.pass) " pass, " (counts.marginal) " marginal, " (counts.unknown) " unknown; "
            (counts.rejected_without_transient) " fail by their data, " (counts.rejected_in_transient) " in one of "
            (counts.transients) " transients."
        }
        p.hint { "Order: " (ranking.order) "." }
    }
}

/// Fields that narrow the table; a plain form, so that it also works without script.
fn filters(desk: &Desk, ranking: &Ranking) -> Markup {
    let asked = &desk.asked;
    let mut families: Vec<&str> = ranking
        .ranked
        .iter()
        .chain(&ranking.rejected)
        .flat_map(|candidate| &candidate.placed)
        .filter_map(|placed| placed.family.as_deref())
        .collect();
    families.sort_unstable();
    families.dedup();
    let field = |name: &'static str, title: &'static str, hint: &'static str| {
        html! {
            label { (title) " "
                input.short id=(format!("only-{name}")) type="text" name=(name) value=[asked.one(name)] placeholder=(hint)
                    autocomplete="off" spellcheck="false"; }
        }
    };
    html! {
        form.filters id="view" method="get" action=(StudyPage::Candidates.address(&desk.name)) data-view="part-ranking"
            aria-label="Which candidates to show" {
            @if let Some(run) = asked.one("run") { input type="hidden" name="run" value=(run); }
            label { "family "
                select id="only-family" name="family" {
                    option value="" { "all" }
                    @for family in families {
                        option value=(family) selected[asked.one("family") == Some(family)] { (harmless(family)) }
                    }
                }
            }
            label { "verdict "
                select id="only-verdict" name="verdict" {
                    option value="" { "all" }
                    @for word in ["pass", "marginal", "unknown"] {
                        option value=(word) selected[asked.one("verdict") == Some(word)] { (word) }
                    }
                }
            }
            (field("text", "name has", ""))
            (field("margin", "margin ≥ %", ""))
            (field("capacitance", "capacitance ≤", "1 nF"))
            (field("area", "area ≤ mm²", ""))
            (field("cost", "cost ≤", ""))
            button id="only-apply" type="submit" { "Show" }
        }
    }
}

/// Texts of the rows, column by column.
struct Columns {
    margins: Vec<String>,
    let_through: Vec<String>,
    capacitances: Vec<String>,
    farads: String,
    areas: Vec<String>,
    costs: Vec<String>,
}

impl Columns {
    fn of(rows: &[&Candidate]) -> Columns {
        let one = |of: &dyn Fn(&Candidate) -> Option<f64>, unit: &str| {
            let values: Vec<Option<f64>> = rows.iter().map(|row| of(row)).collect();
            let (texts, unit) = in_one_unit(&values, unit);
            (aligned(&texts), unit)
        };
        let margins: Vec<String> = rows
            .iter()
            .map(|row| match &row.standing {
                Standing::Ranked {
                    worst_margin: Some(margin),
                    ..
                } => percent(*margin),
                _ => String::new(),
            })
            .collect();
        let through = |row: &Candidate| let_through(checks(row)).and_then(|check| check.value);
        let (capacitances, farads) = one(&|row| row.capacitance_f, "F");
        Columns {
            margins: aligned(&margins),
            let_through: one(&through, "V").0,
            capacitances,
            farads,
            areas: one(&|row| row.area_m2.map(|area| area * 1e6), "mm²").0,
            costs: one(&|row| row.cost, "cost").0,
        }
    }
}

fn checks(candidate: &Candidate) -> &[CheckLine] {
    match &candidate.standing {
        Standing::Ranked { checks, .. } => checks,
        Standing::Rejected { .. } => &[],
    }
}

fn table(desk: &Desk, job: &Job, ranked: &Ranked, view: &View) -> Markup {
    let ranking = &ranked.ranking;
    let numbers = view.ranked(&ranking.ranked);
    let most = usize::try_from(view.top).unwrap_or(usize::MAX);
    let shown = &numbers[..numbers.len().min(most)];
    let rows: Vec<&Candidate> = shown.iter().map(|&row| &ranking.ranked[row]).collect();
    let columns = Columns::of(&rows);
    // Only parts in one stage across the line can stand side by side.
    let compared = compared(desk, ranking);
    let head = |key: Key, title: Markup, number: bool| {
        html! {
            th.n[number] scope="col" aria-sort=(view.aria(key)) {
                button.sort id=(format!("sort-{}", key.word())) type="submit" form="view" name="sort" value=(view.press(key)) {
                    (title)
                    span aria-hidden="true" { @match view.aria(key) { "ascending" => " ↑", "descending" => " ↓", _ => "" } }
                }
            }
        }
    };
    let farads = if columns.farads.is_empty() {
        "F"
    } else {
        &columns.farads
    };
    html! {
        p role="status" { (numbers.len()) " of " (ranking.ranked.len()) " that hold are shown"
            @if numbers.len() > shown.len() { ", the first " (shown.len()) " of them here" } "." }
        @if let Some(stage) = &compared {
            form id="side-by-side" method="get" action=(StudyPage::Compare.address(&desk.name)) {
                input type="hidden" name="stage" value=(stage);
            }
        }
        div.scroll tabindex="0" role="region" aria-label="Ranking" {
            table.ranking {
                thead { tr {
                    @if compared.is_some() { th scope="col" { "compare" } }
                    (head(Key::Place, html! { "place" }, true))
                    (head(Key::Part, html! { "part" }, false))
                    (head(Key::Verdict, html! { "verdict" }, false))
                    (head(Key::Margin, html! { "margin, %" }, true))
                    th scope="col" { "closest check" }
                    (head(Key::LetThrough, html! { "let-through, V" }, true))
                    (head(Key::Capacitance, html! { "capacitance, " (farads) }, true))
                    (head(Key::Area, html! { "area, mm²" }, true))
                    (head(Key::Cost, html! { "cost" }, true))
                    th scope="col" { "in the study" }
                } }
                tbody {
                    @for (k, (&number, candidate)) in shown.iter().zip(&rows).enumerate() {
                        tr {
                            @if compared.is_some() {
                                td { input type="checkbox" form="side-by-side" name="part" value=(only_part(candidate))
                                    aria-label=(format!("compare {}", harmless(only_part(candidate)))); }
                            }
                            td.n { (number + 1) }
                            th scope="row" { (asked(&html! { (harmless(&placed(&candidate.placed))) }, &about(candidate))) }
                            td { @if let Standing::Ranked { verdict: word, .. } = &candidate.standing { (verdict(*word)) } }
                            td.n { (columns.margins[k]) }
                            td { (deciding(candidate)) }
                            td.n { (columns.let_through[k]) }
                            td.n { (columns.capacitances[k]) }
                            td.n { (columns.areas[k]) }
                            td.n { (columns.costs[k]) }
                            td { (take(desk, job, ranked, number, candidate)) }
                        }
                    }
                }
            }
        }
        p.actions {
            @if compared.is_some() {
                button type="submit" form="side-by-side" { "Compare the ticked parts" }
            }
            @if numbers.len() > shown.len() {
                button type="submit" form="view" id="more" name="top" value=(view.top + STEP * 4) { "Show more" }
            }
        }
    }
}

/// The one stage across the line that is ranked, if it is one.
fn compared(desk: &Desk, ranking: &Ranking) -> Option<String> {
    match ranking.positions.as_slice() {
        [stage] => desk.study()?.shunt(stage).map(|shunt| shunt.name.clone()),
        _ => None,
    }
}

fn only_part(candidate: &Candidate) -> &str {
    let first = candidate.placed.first();
    first
        .and_then(|placed| placed.part.as_deref())
        .unwrap_or_default()
}

/// Families, and every check with its margin.
fn about(candidate: &Candidate) -> Markup {
    let families: Vec<&str> = candidate
        .placed
        .iter()
        .filter_map(|placed| placed.family.as_deref())
        .collect();
    let close: Vec<&CheckLine> = checks(candidate)
        .iter()
        .filter(|check| check.verdict != Verdict::Pass || check.margin.is_some())
        .take(10)
        .collect();
    html! {
        @if !families.is_empty() { p { (harmless(&families.join(", "))) "." } }
        @if !close.is_empty() {
            ul {
                @for check in &close {
                    li { (harmless(&short(check))) ": " (check.verdict.word())
                        @if let Some(margin) = check.margin { ", " (percent(margin)) " %" } }
                }
            }
        }
        p { (candidate.transients) " transients were run for it." }
    }
}

/// The check that decides, with its reason.
fn deciding(candidate: &Candidate) -> Markup {
    let Standing::Ranked {
        verdict,
        worst_margin,
        checks,
        ..
    } = &candidate.standing
    else {
        return html! {};
    };
    match closest(*verdict, checks, *worst_margin) {
        None => html! { "–" },
        Some(check) => html! {
            (asked(&html! { (harmless(&short(check))) }, &html! {
                p { (harmless(&sentence(&check.why))) }
                @if let Some(corner) = &check.corner { p { "Corner: " (corner_words(corner)) "." } }
                @if let Some(missing) = &check.missing { p { "Missing: " (harmless(missing)) "." } }
            }))
        },
    }
}

/// The button that puts a candidate into the study, or why there is none.
fn take(desk: &Desk, job: &Job, ranked: &Ranked, row: usize, candidate: &Candidate) -> Markup {
    let names = || candidate.placed.iter().filter_map(|placed| placed.part.as_ref());
    if names().any(|name| ranked.generic.contains(name)) {
        return html! { span.hint { "a class, no part" } };
    }
    if desk.study().is_some_and(|study| stands(study, &candidate.placed)) {
        return html! { "stands there" };
    }
    let stages: Vec<&str> = candidate
        .placed
        .iter()
        .map(|placed| placed.stage.as_str())
        .collect();
    let title = format!("Use in {}", harmless(&stages.join(" and ")));
    let label = format!("{title}: {}", harmless(&placed(&candidate.placed)));
    html! {
        button type="button" data-use=(row) data-of-run=(job.id) data-base=(desk.reading.snapshot.revision)
            data-address=(format!("/api/study/{}/use", crate::html::escaped(&desk.name)))
            data-key=(format!("use-{row}")) aria-label=(label) { (title) }
    }
}

/// The candidate is what the study has.
fn stands(study: &Study, places: &[Placed]) -> bool {
    places.iter().all(|placed| {
        let stage = study.ladder.iter().find(|stage| stage.name() == placed.stage);
        match stage {
            Some(Stage::Shunt(shunt)) => placed.part.as_ref() == Some(&shunt.part),
            Some(Stage::Series(series)) => match &series.element {
                SeriesElement::Part(part) => placed.part.as_ref() == Some(part),
                SeriesElement::Passive { resistance_ohm, .. } => {
                    placed.resistance_ohm == Some(*resistance_ohm)
                }
            },
            _ => false,
        }
    })
}

fn rejected(ranking: &Ranking, view: &View) -> Markup {
    let all = view.rejected(&ranking.rejected);
    let most = usize::try_from(view.rejected).unwrap_or(usize::MAX);
    let shown = &all[..all.len().min(most)];
    html! {
        @if !ranking.rejected.is_empty() {
            h2 id="rejected" { "Rejected" }
            p { (all.len()) " of " (ranking.rejected.len()) " that fail, nearest miss first, each with its first reason"
                @if shown.len() < all.len() { "; the first " (shown.len()) " here" } "." }
            div.scroll tabindex="0" role="region" aria-label="Rejected" {
                table.rejected {
                    thead { tr {
                        th scope="col" { "part" }
                        th scope="col" { "family" }
                        th scope="col" { "fails" }
                        th.n scope="col" { "margin, %" }
                        th scope="col" { "why" }
                    } }
                    tbody { @for candidate in shown { (rejected_row(candidate)) } }
                }
            }
            @if shown.len() < all.len() && !ranking.ranked.is_empty() {
                p.actions { button type="submit" form="view" id="more-rejected" name="rejected" value=(view.rejected + STEP * 4) {
                    "Show more of the rejected" } }
            }
        }
    }
}

fn rejected_row(candidate: &Candidate) -> Markup {
    let Standing::Rejected { reason, .. } = &candidate.standing else {
        return html! {};
    };
    let families: Vec<&str> = candidate
        .placed
        .iter()
        .filter_map(|placed| placed.family.as_deref())
        .collect();
    html! {
        tr {
            th scope="row" { (harmless(&placed(&candidate.placed))) }
            td { (harmless(&families.join(", "))) }
            td { (harmless(&short(reason))) }
            td.n { (reason.margin.map(percent).unwrap_or_default()) }
            td.why { (harmless(&sentence(&reason.why)))
                @if let Some(corner) = &reason.corner { span.hint { " " (corner_words(corner)) "." } } }
        }
    }
}
