//! Parts side by side in one stage, and the parts nearest to one.

mod sheet;

use axum::extract::{Path, State};
use maud::{Markup, html};
use tidewall_report::words::harmless;
use tidewall_study::Stage;
use tidewall_study::parts::is_series;

use super::runs::{Desk, Shown, refused, shown};
use crate::asked::Asked;
use crate::error::Refusal;
use crate::html::{Page, Place, StudyPage, page as frame};
use crate::jobs::Kind;
use crate::product::Product;
use crate::state::App;
use crate::work::{everything, shunt_stage};

/// Fields for parts; a longer list comes from the ranking.
const FIELDS: usize = 4;
/// Names that are offered while one is typed.
const OFFERED: usize = 2000;

/// `GET /study/{name}/compare`
pub async fn page(State(app): State<App>, Path(name): Path<String>, asked: Asked) -> Result<Page, Refusal> {
    let desk = Desk::of(&app, name, asked).await?;
    let names = names(&desk).await?;
    let section = section(&desk).await;
    let body = html! {
        (desk.heading("Compare"))
        @if desk.study().is_some() {
            (form(&desk, &names))
            (section)
        }
    };
    let title = format!("Compare: {}", desk.title());
    Ok(frame(
        &app,
        Place::Study(&desk.name, StudyPage::Compare),
        &title,
        &body,
    ))
}

/// `GET /study/{name}/compare/part`
pub async fn part(State(app): State<App>, Path(name): Path<String>, asked: Asked) -> Result<Page, Refusal> {
    let desk = Desk::of(&app, name, asked).await?;
    Ok(Page(section(&desk).await))
}

/// Names of all parts that go across the line.
async fn names(desk: &Desk) -> Result<Vec<String>, Refusal> {
    let Some(study) = desk.study().cloned() else {
        return Ok(Vec::new());
    };
    let list = desk.app.blocking(move |app| Ok(everything(app, &study)?)).await;
    // Without a library that can be read there are still the names that somebody types.
    let list = list.unwrap_or_default();
    let across = list.iter().filter(|part| !is_series(part.family));
    Ok(across.take(OFFERED).map(|part| part.name.to_string()).collect())
}

/// What is asked: parts side by side, or those nearest to one.
fn question(desk: &Desk) -> Option<(Kind, Asked)> {
    let asked = &desk.asked;
    if asked.one("of").is_some() {
        let question = asked.only(&["stage", "of", "from", "family", "top"]);
        return Some((Kind::Equivalents, question));
    }
    if asked.one("part").is_some() {
        return Some((Kind::Comparison, asked.only(&["stage", "part"])));
    }
    None
}

async fn section(desk: &Desk) -> Markup {
    let page = StudyPage::Compare.address(&desk.name);
    let address = format!("{page}/part{}", desk.asked.query());
    let Some((kind, question)) = question(desk) else {
        let hint = html! {
            p.hint { "Name parts, or tick them in the ranking. Each is judged in the stage at all corners, at the currents that \
                      really flow there." }
        };
        return desk.section("part-compare", &address, None, &hint);
    };
    let run = match desk.answered(kind, question).await {
        Ok(run) => run,
        Err(refusal) => return desk.section("part-compare", &address, None, &refused(&refusal.report)),
    };
    let body = html! {
        (shown(&run, &html! {}, |job, product| match product {
            Product::Comparison(comparison) => sheet::comparison(desk, comparison),
            Product::Equivalents(found) => sheet::equivalents(desk, job, found),
            _ => html! {},
        }))
        (desk.again(&run, &page))
    };
    let job = match &run {
        Shown::Job(job) => Some(job.as_ref()),
        Shown::None | Shown::Lost => None,
    };
    desk.section("part-compare", &address, job, &body)
}

fn form(desk: &Desk, names: &[String]) -> Markup {
    let Some(study) = desk.study() else {
        return html! {};
    };
    let asked = &desk.asked;
    let page = StudyPage::Compare.address(&desk.name);
    let present = shunt_stage(study, asked).ok();
    let parts = asked.all("part");
    let stands = present
        .as_ref()
        .and_then(|stage| study.shunt(stage))
        .map(|shunt| shunt.part.clone());
    // What stands in the stage is what others are compared with, until somebody says otherwise.
    let parts = if parts.is_empty() {
        stands.iter().cloned().collect()
    } else {
        parts
    };
    let of = asked.one("of").map(str::to_owned).or(stands);
    let stages = || {
        html! {
            label { "stage "
                select name="stage" {
                    @for stage in &study.ladder {
                        @if matches!(stage, Stage::Shunt(_)) {
                            option value=(stage.name()) selected[present.as_deref() == Some(stage.name())] { (harmless(stage.name())) }
                        }
                    }
                }
            }
        }
    };
    html! {
        datalist id="parts" { @for name in names { option value=(name) {} } }
        form.setup method="get" action=(page) aria-label="Parts side by side" {
            fieldset {
                legend { "Side by side" }
                p.weights {
                    (stages())
                    @for k in 0..FIELDS.max(parts.len()) {
                        label { "part " (k + 1) " "
                            input type="text" name="part" list="parts" value=[parts.get(k)] autocomplete="off" spellcheck="false"; }
                    }
                    button.main type="submit" { "Compare" }
                }
            }
        }
        form.setup method="get" action=(page) aria-label="Equivalents" {
            fieldset {
                legend { "Equivalents of a part" }
                p.weights {
                    (stages())
                    label { "in place of "
                        input type="text" name="of" list="parts" value=[of] autocomplete="off" spellcheck="false" required; }
                    @for (word, title) in [("study", "study"), ("library", "library"), ("generic", "generic classes")] {
                        @let usual = asked.all("from").is_empty() && word != "generic";
                        span.choice {
                            input type="checkbox" id=(format!("among-{word}")) name="from" value=(word)
                                checked[usual || asked.has("from", word)];
                            label for=(format!("among-{word}")) { (title) }
                        }
                    }
                    button type="submit" { "Find equivalents" }
                }
            }
        }
    }
}
