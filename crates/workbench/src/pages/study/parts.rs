//! Port, stresses, ladder and pin of a study.

use maud::{Markup, html};
use tidewall_assess::origins::origins;
use tidewall_assess::text;
use tidewall_report::words::harmless;
use tidewall_study::{SeriesElement, Stage, Study, Withstand};

use super::Sheet;
use crate::html::asked;

fn with_study(sheet: &Sheet, draw: impl FnOnce(&Study) -> Markup) -> Markup {
    match &sheet.reading.study {
        Ok(study) => draw(study),
        Err(_) => html! {},
    }
}

/// What the port normally carries, each value with its origin.
pub fn port(sheet: &Sheet) -> Markup {
    with_study(sheet, |study| {
        let values = origins(study);
        let of_port = values
            .iter()
            .filter(|value| !value.what.starts_with("stress ") && !value.what.starts_with("part "));
        html! {
            h2 { "Port" }
            table.values {
                tbody {
                    @for value in of_port {
                        tr {
                            th scope="row" { (value.what) }
                            td { (asked(&html! { (value.value) }, &html! { p { (harmless(&value.origin)) "." } })) }
                        }
                    }
                }
            }
        }
    })
}

/// The stresses.
pub fn stresses(sheet: &Sheet) -> Markup {
    with_study(sheet, |study| {
        html! {
            h2 { "Stresses" }
            div.scroll {
                table {
                    thead { tr {
                        th scope="col" { "id" }
                        th scope="col" { "disturbance" }
                        th scope="col" { "open circuit" }
                        th scope="col" { "short circuit" }
                        th scope="col" { "from" }
                    } }
                    tbody {
                        @for case in &study.stresses {
                            tr {
                                th scope="row" { (harmless(&case.id)) }
                                td {
                                    (asked(&html! { (harmless(&case.disturbance.title)) }, &html! {
                                        ul {
                                            @for note in &case.disturbance.sources {
                                                li { (note.what) ": " (harmless(&note.source)) }
                                            }
                                        }
                                    }))
                                }
                                td.n { (text::volts(case.disturbance.open_circuit_peak_v)) }
                                td.n { (text::amps(case.disturbance.short_circuit_peak_a)) }
                                td { "line " (case.line) }
                            }
                        }
                    }
                }
            }
        }
    })
}

/// The ladder from the connector inwards.
pub fn ladder(sheet: &Sheet) -> Markup {
    with_study(sheet, |study| {
        html! {
            h2 { "Ladder" }
            div.scroll {
                table {
                    thead { tr {
                        th scope="col" { "stage" }
                        th scope="col" { "is" }
                        th scope="col" { "value" }
                        th scope="col" { "path" }
                    } }
                    tbody { @for stage in &study.ladder { (stage_row(study, stage)) } }
                }
            }
        }
    })
}

fn stage_row(study: &Study, stage: &Stage) -> Markup {
    let (kind, value, path) = match stage {
        Stage::Series(series) => match &series.element {
            SeriesElement::Passive {
                resistance_ohm,
                inductance_h,
                ..
            } => (
                "in the line",
                html! { (text::ohms(*resistance_ohm)) ", " (text::henries(*inductance_h)) },
                String::new(),
            ),
            SeriesElement::Part(part) => ("in the line", part_note(study, part), String::new()),
        },
        Stage::Shunt(shunt) => (
            "across the line",
            part_note(study, &shunt.part),
            text::henries(shunt.lead_h),
        ),
        Stage::Capacitor(capacitor) => (
            "across the line",
            html! { (text::farads(capacitor.capacitance_f)) ", " (text::ohms(capacitor.esr_ohm)) },
            text::henries(capacitor.lead_h),
        ),
    };
    html! {
        tr {
            th scope="row" { (harmless(stage.name())) }
            td { (kind) }
            td { (value) }
            td.n { (path) }
        }
    }
}

fn part_note(study: &Study, name: &str) -> Markup {
    let Some(sheet) = study.parts.get(name) else {
        return html! { (harmless(name)) };
    };
    asked(
        &html! { (harmless(name)) },
        &html! {
            p { (sheet.family) "." }
            p { "From " (harmless(&sheet.source)) "." }
        },
    )
}

/// The protected circuit.
pub fn pin(sheet: &Sheet) -> Markup {
    with_study(sheet, |study| {
        let levels = |list: &[Withstand]| -> String {
            let words = list.iter().map(|level| {
                let lasts = if level.lasts_s.is_finite() {
                    format!(" for {}", text::seconds(level.lasts_s))
                } else {
                    " for any time".to_owned()
                };
                format!("{}{lasts}", text::volts(level.voltage_v))
            });
            words.collect::<Vec<_>>().join(", ")
        };
        let pin = &study.pin;
        let or_unknown = |text: String| {
            if text.is_empty() {
                "unknown".to_owned()
            } else {
                text
            }
        };
        html! {
            h2 { "Pin" }
            table.values {
                tbody {
                    tr { th scope="row" { "name" } td { (harmless(&pin.name)) } }
                    tr { th scope="row" { "withstand" } td { (or_unknown(levels(&pin.withstand))) } }
                    tr { th scope="row" { "negative withstand" } td { (or_unknown(levels(&pin.negative_withstand))) } }
                    tr {
                        th scope="row" { "capacitance" }
                        td { (pin.capacitance_f.map_or("unknown".to_owned(), text::farads)) }
                    }
                }
            }
        }
    })
}
