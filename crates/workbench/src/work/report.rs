//! The recommendation note.

use std::sync::Arc;

use tidewall_desk::failure::Failure;
use tidewall_desk::names::quoted;
use tidewall_devices::datasheet::Datasheet;
use tidewall_report::content::{Form, note};
use tidewall_report::document::Paper;
use tidewall_report::gather::{Request, gather};
use tidewall_report::sheet::workbook;
use tidewall_study::Study;
use tidewall_transient::Options;

use super::{Work, chosen, refused};
use crate::asked::Asked;
use crate::product::{Product, Report};
use crate::state::App;

/// Most draws of a note.
const MOST_DRAWS: u64 = 100_000;
/// Longest date in characters.
const LONGEST_DATE: usize = 60;

pub(super) fn work(app: &App, study: Arc<Study>, asked: &Asked) -> Result<Work, Failure> {
    let candidates: Vec<Arc<Datasheet>> = if asked.all("from").is_empty() {
        study.parts.values().cloned().map(Arc::new).collect()
    } else {
        chosen(app, &study, asked)?
    };
    let draws = match asked.whole("draws", 0, 0..=MOST_DRAWS)? {
        0 => None,
        count => Some(super::draws::plan(asked, count)?),
    };
    let date = asked.one("date").map(str::to_owned);
    if date
        .as_ref()
        .is_some_and(|date| date.chars().count() > LONGEST_DATE)
    {
        return Err(Failure::usage(
            format!("a date has at most {LONGEST_DATE} characters"),
            "",
        ));
    }
    let form = Form {
        paper: if asked.one("paper") == Some("letter") {
            Paper::UsLetter
        } else {
            Paper::A4
        },
        date,
        command: command(&study.path, asked),
        ..Form::default()
    };
    let judged = app.judge().done(&study.digest);
    Ok(Box::new(move |run| {
        let request = Request {
            options: Options::default(),
            judged: judged.as_ref().map(|judged| (&judged.assessment, &judged.traces)),
            draws,
            candidates,
            against: Vec::new(),
            at: None,
            progress: &|what, done, all| run.show_or_stop(what, done, all),
        };
        let material = gather(&study, &request).map_err(refused)?;
        let workbook = workbook(&study, &material).map_err(|fault| {
            Failure::output(&study.path, format!("the workbook cannot be made: {fault}"), "")
        })?;
        Ok(Product::Report(Report {
            verdict: material.result.verdict,
            note: note(&study, &material, &form),
            workbook,
        }))
    }))
}

/// The command that makes the same note in the folder of the study.
fn command(path: &str, asked: &Asked) -> String {
    let name = path.rsplit(['/', '\\']).next().unwrap_or(path);
    let mut words = vec!["tidewall report".to_owned(), quoted(name)];
    if asked.one("paper") == Some("letter") {
        words.push("--paper letter".to_owned());
    }
    if let Some(date) = asked.one("date") {
        words.push(format!("--date {}", quoted(date)));
    }
    for source in asked.all("from") {
        words.push(format!("--from {}", quoted(&source)));
    }
    if let Some(draws) = asked.one("draws").filter(|draws| *draws != "0") {
        words.push(format!(
            "--draws {draws} --seed {}",
            asked.one("seed").unwrap_or("1")
        ));
        if asked.one("distribution") == Some("normal") {
            words.push("--distribution normal".to_owned());
        }
    }
    words.join(" ")
}
