//! `tidewall report`.

pub mod args;
mod files;
mod progress;

use std::path::Path;
use std::sync::Arc;

use tidewall_assess::compare::compare;
use tidewall_assess::rank::RankError;
use tidewall_assess::result::{StudyRef, Verdict};
use tidewall_desk::candidates::{self, Sources};
use tidewall_desk::names::quoted;
use tidewall_devices::datasheet::Datasheet;
use tidewall_report::content::{self, Form};
use tidewall_report::document::{Note, Paper};
use tidewall_report::gather::{Material, Request, gather};
use tidewall_report::outputs::{ReportOutput, SCHEMA};
use tidewall_study::Study;
use tidewall_transient::Options;

use crate::args::Format;
use crate::failure::Failure;
use crate::library::Shelf;
use crate::output;
use crate::rank::{refused, stages, study};
use crate::status::Status;
use args::{PaperSize, ReportArgs};
use files::Files;
use progress::Phases;

/// Writes the note of a study, or the comparison of two parts.
pub fn run(args: &ReportArgs, library: Option<&Path>, format: Format) -> Result<Status, Failure> {
    let files = Files::of(args)?;
    let template = args.template.as_deref().map(files::template).transpose()?;
    let shelf = Shelf::new(library);
    let study = study(&shelf, &args.study, args.margin.as_deref())?;
    let form = Form {
        paper: match args.paper {
            PaperSize::A4 => Paper::A4,
            PaperSize::Letter => Paper::UsLetter,
        },
        date: args.date.clone(),
        command: command(args),
        template: template.unwrap_or_default(),
    };
    let made = if args.compare.is_empty() {
        note(args, &study, &shelf, &form)?
    } else {
        comparison(args, &study, &shelf, &form)?
    };
    let written = files.write(
        &made.note,
        made.material.as_ref().map(|material| (&study, material)),
    )?;
    let report = ReportOutput {
        schema: SCHEMA,
        version: env!("CARGO_PKG_VERSION"),
        study: StudyRef {
            title: study.title.clone(),
            digest: study.digest.clone(),
        },
        verdict: made.verdict,
        files: written,
    };
    match format {
        Format::Text => output::print(&files::words(&report))?,
        Format::Json => output::print_json(&report)?,
    }
    Ok(Status::from(made.verdict))
}

/// A note that is ready to be rendered.
struct Made {
    note: Note,
    verdict: Verdict,
    /// What it was made from, where that can go into a workbook.
    material: Option<Material>,
}

fn note(args: &ReportArgs, study: &Study, shelf: &Shelf, form: &Form) -> Result<Made, Failure> {
    let candidates = others(args, study, shelf)?;
    if let Some(at) = &args.at
        && study.shunt(at).is_none()
    {
        return Err(refused(RankError::NoStage {
            stage: at.clone(),
            stages: study.ladder.iter().map(|stage| stage.name().to_owned()).collect(),
        }));
    }
    let phases = Phases::default();
    let request = Request {
        options: Options::default(),
        judged: None,
        draws: args.draws.plan(),
        candidates,
        against: args.against.clone(),
        at: args.at.clone(),
        progress: &|what, done, all| phases.show(what, done, all),
    };
    let material = gather(study, &request).map_err(refused)?;
    phases.end();
    Ok(Made {
        note: content::note(study, &material, form),
        verdict: material.result.verdict,
        material: Some(material),
    })
}

/// The parts to be tried: the study's own, unless others are asked for, and those named in any case.
fn others(args: &ReportArgs, study: &Study, shelf: &Shelf) -> Result<Vec<Arc<Datasheet>>, Failure> {
    let asked = &Sources::from(&args.candidates);
    let mut chosen = if asked.from.is_empty() {
        let own: Vec<Arc<Datasheet>> = study.parts.values().cloned().map(Arc::new).collect();
        candidates::choose(&own, asked)?
    } else {
        candidates::choose(&candidates::gather(study, asked, shelf)?, asked)?
    };
    if !args.against.is_empty() {
        let all = candidates::gather(study, asked, shelf)?;
        for part in candidates::named(&all, &args.against)? {
            if !chosen.iter().any(|known| known.name == part.name) {
                chosen.push(part);
            }
        }
    }
    Ok(chosen)
}

fn comparison(args: &ReportArgs, study: &Study, shelf: &Shelf, form: &Form) -> Result<Made, Failure> {
    let named: Vec<String> = args.at.iter().cloned().collect();
    let stage = stages(study, &named)?.remove(0);
    let parts = candidates::named(
        &candidates::gather(study, &Sources::from(&args.candidates), shelf)?,
        &args.compare,
    )?;
    let phases = Phases::default();
    let comparison = compare(study, &stage, &parts, &Options::default(), &|done, all| {
        phases.show("parts", done, all);
    })
    .map_err(refused)?;
    phases.end();
    let best = comparison.parts.iter().map(|part| part.verdict).min();
    Ok(Made {
        note: content::compared(study, &comparison, form),
        verdict: best.unwrap_or(Verdict::Unknown),
        material: None,
    })
}

/// The command that makes the same note in the folder of the study. Folders are left out: they say something of a machine
/// and nothing of the note.
fn command(args: &ReportArgs) -> String {
    let name = |path: &Path| {
        let name = path.file_name().unwrap_or(path.as_os_str());
        quoted(&name.to_string_lossy())
    };
    let mut words = vec!["tidewall report".to_owned(), name(&args.study)];
    let mut option = |key: &str, value: String| words.push(format!("--{key} {value}"));
    if args.paper == PaperSize::Letter {
        option("paper", "letter".to_owned());
    }
    if let Some(date) = &args.date {
        option("date", quoted(date));
    }
    if let Some(folder) = &args.template {
        option("template", name(folder));
    }
    if !args.compare.is_empty() {
        let parts: Vec<String> = args.compare.iter().map(|part| quoted(part)).collect();
        option("compare", parts.join(" "));
    }
    if !args.against.is_empty() {
        option("against", quoted(&args.against.join(",")));
    }
    if let Some(stage) = &args.at {
        option("at", quoted(stage));
    }
    for source in &args.candidates.from {
        option("from", name(Path::new(source)));
    }
    for family in &args.candidates.families {
        option("family", quoted(family));
    }
    if !args.candidates.only.is_empty() {
        option("only", quoted(&args.candidates.only.join(",")));
    }
    if let Some(draws) = args.draws.draws {
        option("draws", draws.to_string());
        option("seed", args.draws.seed.to_string());
        if args.draws.distribution == crate::args::Spread::Normal {
            option("distribution", "normal".to_owned());
        }
    }
    if let Some(margin) = &args.margin {
        option("margin", quoted(margin));
    }
    words.join(" ")
}
