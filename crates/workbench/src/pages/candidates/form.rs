//! What to try.

use maud::{Markup, html};
use tidewall_report::words::harmless;
use tidewall_study::parts::{FAMILIES, is_series};
use tidewall_study::{SeriesElement, Stage, Study};
use tidewall_units::{Henries, Ohms, Quantity};

use super::super::runs::Desk;
use crate::asked::Asked;
use crate::html::escaped;
use crate::jobs::Kind;
use crate::work::is_plain;

/// Where parts come from: word, title, whether it is taken unless another is.
const SOURCES: [(&str, &str, bool); 3] = [
    ("study", "the study and its parts files", true),
    ("library", "the parts library", true),
    ("generic", "generic classes (formulas, no real parts)", false),
];

/// What can be weighed.
const WEIGHTS: [(&str, &str); 5] = [
    ("margin", "worst margin"),
    ("let-through", "let-through margin"),
    ("area", "board area"),
    ("cost", "cost"),
    ("capacitance", "capacitance"),
];

/// The form, filled with what was asked last.
pub fn form(desk: &Desk) -> Markup {
    let Some(study) = desk.study() else {
        return html! {};
    };
    let jobs = desk.app.jobs();
    let last = jobs.latest(&desk.name, Kind::Ranking);
    let last = last.map(|job| job.asked.clone()).unwrap_or_default();
    let start = format!("/api/study/{}/run", escaped(&desk.name));
    html! {
        form.setup id="setup" data-start=(start) {
            (stages(study, &last))
            (sources(&last))
            (families(&last))
            (preference(&last))
            p.actions {
                button.main type="submit" name="kind" value="ranking" { "Rank candidates" }
                button type="submit" name="kind" value="requirement" { "What must a part be?" }
            }
            noscript { p.hint { "Runs are begun by the script of this page, which this browser does not run." } }
        }
    }
}

fn stages(study: &Study, last: &Asked) -> Markup {
    let first_shunt = study
        .ladder
        .iter()
        .find(|stage| matches!(stage, Stage::Shunt(_)))
        .map(Stage::name);
    let ticked = |stage: &Stage| {
        if last.is_empty() {
            first_shunt == Some(stage.name())
        } else {
            last.has("stage", stage.name())
        }
    };
    html! {
        fieldset {
            legend { "Stages to fill" }
            p.hint { "One, or two that are chosen together: every combination is tried." }
            @for (number, stage) in study.ladder.iter().enumerate() {
                @if !matches!(stage, Stage::Capacitor(_)) {
                    @let id = format!("stage-{number}");
                    p.choice {
                        input type="checkbox" id=(id) name="stage" value=(stage.name()) checked[ticked(stage)];
                        label for=(id) { strong { (harmless(stage.name())) } " " (holds(study, stage)) }
                        @if is_plain(stage) {
                            @let name = format!("values:{}", stage.name());
                            " "
                            label { "values "
                                input.values type="text" name=(name) value=[last.one(&name)]
                                    placeholder="E6:1Ω..47Ω" autocomplete="off" spellcheck="false"; }
                        }
                    }
                }
            }
        }
    }
}

/// What stands in a stage now.
fn holds(study: &Study, stage: &Stage) -> String {
    let part = |name: &str| {
        let family = study.parts.get(name).map(|sheet| sheet.family.to_string());
        let family = family.map_or(String::new(), |family| format!(", {family}"));
        format!("{}{family}", harmless(name))
    };
    match stage {
        Stage::Shunt(shunt) => format!("across the line, now {}", part(&shunt.part)),
        Stage::Series(series) => match &series.element {
            SeriesElement::Part(name) => format!("in the line, now {}", part(name)),
            SeriesElement::Passive {
                resistance_ohm,
                inductance_h,
                ..
            } => format!(
                "in the line, now {} and {}",
                Ohms(*resistance_ohm).rounded(3),
                Henries(*inductance_h).rounded(3)
            ),
        },
        Stage::Capacitor(_) => String::new(),
    }
}

fn sources(last: &Asked) -> Markup {
    html! {
        fieldset {
            legend { "Parts from" }
            @for (word, title, usual) in SOURCES {
                @let id = format!("from-{word}");
                @let ticked = if last.is_empty() { usual } else { last.has("from", word) };
                p.choice {
                    input type="checkbox" id=(id) name="from" value=(word) checked[ticked];
                    label for=(id) { (title) }
                }
            }
        }
    }
}

fn families(last: &Asked) -> Markup {
    let chosen = last.all("family");
    html! {
        details.more open[!chosen.is_empty()] {
            summary { "Families" @if chosen.is_empty() { ": all" } @else { ": " (chosen.join(", ")) } }
            fieldset {
                legend { "Only these families; none ticked means all" }
                div.ticks {
                    @for (word, family) in FAMILIES {
                        @let id = format!("family-{word}");
                        span.choice {
                            input type="checkbox" id=(id) name="family" value=(word) checked[last.has("family", word)];
                            label for=(id) { (family.to_string()) @if is_series(*family) { " (in the line)" } }
                        }
                    }
                }
            }
        }
    }
}

fn preference(last: &Asked) -> Markup {
    let weighed = last.one("prefer") == Some("weights");
    let drawn = last.one("draws").filter(|draws| *draws != "0");
    html! {
        details.more open[weighed || drawn.is_some()] {
            summary { "Order and draws" }
            fieldset {
                legend { "Order of those that hold" }
                p.choice {
                    input type="radio" id="prefer-turn" name="prefer" value="turn" checked[!weighed];
                    label for="prefer-turn" { "verdict, then worst margin, area, cost and capacitance in turn" }
                }
                p.choice {
                    input type="radio" id="prefer-weights" name="prefer" value="weights" checked[weighed];
                    label for="prefer-weights" { "verdict, then the smallest weighted sum, each from 0 (best) to 1 (worst or unknown)" }
                }
                p.weights {
                    @for (name, title) in WEIGHTS {
                        @let field = format!("weight:{name}");
                        label { (title) " "
                            input.short type="text" inputmode="decimal" name=(field) value=[last.one(&field)] placeholder="0"
                                autocomplete="off"; }
                    }
                }
            }
            fieldset {
                legend { "Monte Carlo draws of the best" }
                p.weights {
                    label { "draws of each " input.short type="text" inputmode="numeric" name="draws" value=[drawn] placeholder="0" autocomplete="off"; }
                    label { "of the best " input.short type="text" inputmode="numeric" name="best" value=[last.one("best")] placeholder="5" autocomplete="off"; }
                    label { "seed " input.short type="text" inputmode="numeric" name="seed" value=[last.one("seed")] placeholder="1" autocomplete="off"; }
                    label { "positions "
                        select name="distribution" {
                            option value="uniform" { "uniform between the limits" }
                            option value="normal" selected[last.one("distribution") == Some("normal")] { "normal, limits at 3 σ" }
                        }
                    }
                }
            }
        }
    }
}
