//! A test plan as sections of a page.

use maud::{Markup, html};
use tidewall_assess::plan::{HealthCheck, Noted, StressTest, TestPlan, Verification};
use tidewall_report::words::number::in_one_unit;
use tidewall_report::words::plan::{PRACTICE, count, duration, joined, levels, marked};
use tidewall_report::words::shots::{SETTINGS_NOTES, settings, shots};
use tidewall_report::words::{harmless, sentence};
use tidewall_units::{Celsius, Quantity, Volts};

use crate::html::aligned;

/// A plan.
pub fn plan(plan: &TestPlan) -> Markup {
    html! {
        div.caution role="note" aria-label="Caution" {
            ul { @for line in &plan.cautions { li { (harmless(&sentence(line))) } } }
        }
        table.values {
            tbody {
                tr {
                    th scope="row" { "shots" }
                    td {
                        (plan.shots.map_or("not known".to_owned(), |shots| shots.to_string())) "; "
                        (plan.lasts_s.map_or("time not known".to_owned(), duration))
                        " at the stated intervals, without setting up and measuring (a minute of bursts is a shot)"
                    }
                }
                tr {
                    th scope="row" { "predicted" }
                    td { "with typical parts at " (Celsius(plan.ambient_c).rounded(3))
                        " and the generator's nominal level; in brackets the span of parts low to high" }
                }
                tr { th scope="row" { "digest" } td.digest { code { (plan.study.digest) } } }
            }
        }
        @if !plan.missing.is_empty() {
            h2 { "To be provided or agreed" }
            ul { @for missing in &plan.missing { li { (harmless(&sentence(missing))) } } }
        }
        @for test in &plan.tests { (self::test(test)) }
        h2 { "In the laboratory" }
        (noted("Before the first shot", &plan.before))
        (health(&plan.health))
        (noted("Record at each shot", &plan.record))
        (noted("Stop when", &plan.stop))
        @if !plan.assumptions.is_empty() {
            h2 { "Assumed" }
            ul { @for line in &plan.assumptions { li { (harmless(&sentence(line))) } } }
        }
    }
}

fn noted(title: &str, notes: &[Noted]) -> Markup {
    let practice = notes.iter().any(|note| note.mark == PRACTICE);
    let text = |note: &Noted| {
        if note.mark == PRACTICE {
            note.text.clone()
        } else {
            marked(note)
        }
    };
    html! {
        h3 { (title) }
        ul { @for note in notes { li { (harmless(&sentence(&text(note)))) } } }
        @if practice { p.hint { "Without another mark: " (PRACTICE) "." } }
    }
}

fn test(test: &StressTest) -> Markup {
    let row = |title: &str, text: &str| {
        html! { tr { th scope="row" { (title) } td { (harmless(&sentence(text))) } } }
    };
    let points: Vec<&str> = test.points.iter().map(|point| point.name.as_str()).collect();
    html! {
        h2 { (harmless(&test.stress)) ": " (harmless(&test.title)) }
        table.values {
            tbody {
                (row("standard", &format!("{}, {}", test.standard, marked(&test.edition))))
                (row("levels", &levels(test)))
                (row("coupling", &test.coupling))
                (row("points", &points.join(", ")))
                (row("state", &test.states.join("; ")))
                (row("shots", &count(test)))
                (row("accepted", &test.criterion))
                @if let Some(volts) = test.connector_probe_v {
                    (row("probe", &format!("at the connector for at least {}: a protector may fail open", Volts(volts).rounded(3))))
                } @else {
                    (row("probe", "rating at the connector not known: the generator's open-circuit voltage is missing"))
                }
            }
        }
        h3 { "Shots in their order, and the peaks to expect" }
        (groups(test))
        (oscilloscope(test))
        h3 { "Equipment, verified without the specimen" }
        (verification(test))
        details.more {
            summary { "Phase, climate, generator and sources" }
            table.values {
                tbody {
                    (row("phase", &marked(&test.phase_note)))
                    (row("climate", &joined(&test.environment)))
                    (row("generator", &test.network.join("; ")))
                    @for note in &test.notes { (row("note", &marked(note))) }
                    @for source in &test.sources { (row("source", &format!("{}: {}", source.what, marked(&source.source)))) }
                }
            }
        }
    }
}

fn groups(test: &StressTest) -> Markup {
    let shots = shots(test);
    let any = |of: fn(&tidewall_report::words::shots::Group) -> &String| {
        shots.groups.iter().any(|group| !of(group).is_empty())
    };
    let (point, phase) = (any(|group| &group.point), any(|group| &group.phase));
    html! {
        div.scroll tabindex="0" role="region" aria-label=(format!("Shots of {}", harmless(&test.stress))) {
            table.shots {
                thead { tr {
                    th.n scope="col" { "group" }
                    th.n scope="col" { "level" }
                    @if point { th scope="col" { "point" } }
                    th scope="col" { "sign" }
                    th.n scope="col" { "line at" }
                    @if phase { th.n scope="col" { "phase" } }
                    th.n scope="col" { "shots" }
                    @for place in &shots.places { th.n scope="col" { (harmless(place)) } }
                } }
                tbody {
                    @for group in &shots.groups {
                        tr {
                            th.n scope="row" { (group.number) }
                            td.n { (group.level) }
                            @if point { td { (harmless(&group.point)) } }
                            td { (group.polarity) }
                            td.n { (group.line_at) }
                            @if phase { td.n { (group.phase) } }
                            td.n { (group.shots) }
                            @for (k, peak) in group.peaks.iter().enumerate() {
                                td.n {
                                    (peak.as_deref().unwrap_or("?"))
                                    @if let Some(back) = group.back.as_ref().and_then(|back| back.get(k)).filter(|back| !back.is_empty()) {
                                        br; span.hint { "then " (back) }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
        @if shots.larger_of_pair { p.hint { "Of a pair the larger of the lines stands here; the JSON and the CSV have each." } }
        @for group in test.groups.iter().filter(|group| !group.differs.is_empty()) {
            p { strong { "Group " (group.number) ": " } (harmless(&sentence(&group.differs.join("; ")))) }
        }
        @for group in test.groups.iter().filter(|group| group.missing.is_some()) {
            p { strong { "Group " (group.number) " has no prediction: " } (harmless(&sentence(group.missing.as_deref().unwrap_or_default()))) }
        }
    }
}

fn oscilloscope(test: &StressTest) -> Markup {
    let Some((list, times)) = settings(test) else {
        return html! {};
    };
    html! {
        details.more {
            summary { "Oscilloscope at the required level" }
            p.hint { "Eight divisions, zero in the middle; ten along." }
            div.scroll tabindex="0" role="region" aria-label=(format!("Oscilloscope settings of {}", harmless(&test.stress))) {
                table {
                    thead { tr {
                        th scope="col" { "place" }
                        th.n scope="col" { "from" }
                        th.n scope="col" { "to" }
                        th scope="col" { "unit" }
                        th.n scope="col" { "per division" }
                        th.n scope="col" { "rise 10–90 %" }
                        th.n scope="col" { "bandwidth at least" }
                    } }
                    tbody {
                        @for of in &list {
                            tr {
                                th scope="row" { (harmless(&of.place)) }
                                td.n { (of.from) }
                                td.n { (of.to) }
                                td { (of.unit) }
                                td.n { (of.per_division) }
                                td.n { (of.rise) }
                                td.n { (of.bandwidth) }
                            }
                        }
                    }
                }
            }
            ul {
                @if !times.is_empty() { li { "Time: " (times) "." } }
                @for note in SETTINGS_NOTES { li { (sentence(note)) } }
            }
        }
    }
}

fn verification(test: &StressTest) -> Markup {
    let outside = test
        .verification
        .iter()
        .any(|row: &Verification| row.inside == Some(false));
    html! {
        div.scroll tabindex="0" role="region" aria-label=(format!("Verification of {}", harmless(&test.stress))) {
            table {
                thead { tr {
                    th scope="col" { "where" }
                    th scope="col" { "quantity" }
                    th.n scope="col" { "model" }
                    th.n scope="col" { "at least" }
                    th.n scope="col" { "at most" }
                    th scope="col" { "unit" }
                    th scope="col" { "model inside" }
                    th scope="col" { "limits" }
                } }
                tbody {
                    @for row in &test.verification {
                        @let (texts, unit) = in_one_unit(&[row.computed, row.lowest, row.highest], row.unit);
                        @let texts = aligned(&texts);
                        tr {
                            th scope="row" { (harmless(&row.load)) }
                            td { (row.quantity) }
                            @for text in &texts { td.n { @if text.is_empty() { "?" } @else { (text) } } }
                            td { (unit) }
                            td { @match row.inside { Some(true) => "yes", Some(false) => strong { "no" }, None => "–" } }
                            td { (row.mark) }
                        }
                    }
                }
            }
        }
        @if outside { p { strong { "A modelled quantity lies outside the standard's limits: the prediction stands for that wave." } } }
        @if !test.verification_notes.is_empty() {
            ul { @for note in &test.verification_notes { li { (harmless(&sentence(&marked(note)))) } } }
        }
    }
}

fn health(checks: &[HealthCheck]) -> Markup {
    if checks.is_empty() {
        return html! {};
    }
    html! {
        h3 { "Protectors: measure before the first shot, after each group and at the end" }
        div.scroll tabindex="0" role="region" aria-label="Protectors" {
            table {
                thead { tr {
                    th scope="col" { "element" }
                    th scope="col" { "part" }
                    th scope="col" { "quantity" }
                    th.n scope="col" { "at least" }
                    th.n scope="col" { "at most" }
                    th scope="col" { "unit" }
                    th scope="col" { "limits from" }
                } }
                tbody {
                    @for check in checks {
                        @let (texts, unit) = in_one_unit(&[check.lowest, check.highest], check.unit);
                        @let known = check.lowest.is_some() || check.highest.is_some();
                        tr {
                            th scope="row" { (harmless(&check.element)) }
                            td { (harmless(&check.part)) }
                            td { (harmless(&check.quantity)) }
                            td.n { (texts[0]) }
                            td.n { @if known { (texts[1]) } @else { "?" } }
                            td { (unit) }
                            td { (harmless(&check.note)) }
                        }
                    }
                }
            }
        }
    }
}
