//! What a note says: one function for each section.

mod alternatives;
mod compared;
mod draws;
mod energy;
mod lab;
mod layout;
mod let_through;
mod margins;
mod protection;
mod provenance;
mod requirement;
mod summary;
mod unknowns;
mod window;

use tidewall_assess::result::Verdict;
use tidewall_study::Study;

use crate::document::{Block, Note, Paper, Section, Text, Tone, clean};
use crate::english as say;
use crate::gather::Material;
use crate::template::Template;
use crate::words::finding;

/// How a note is to be made, beside what it says.
#[derive(Clone, Debug, Default)]
pub struct Form {
    /// Paper.
    pub paper: Paper,
    /// Date to be printed; none otherwise.
    pub date: Option<String>,
    /// The command that makes the note again.
    pub command: String,
    /// The user's own.
    pub template: Template,
}

/// The recommendation note of a study.
pub fn note(study: &Study, material: &Material, form: &Form) -> Note {
    let result = &material.result;
    let mut sections = vec![
        summary::section(study, material, form),
        requirement::section(study, result),
        protection::section(study),
        window::section(study, material),
        let_through::section(study, material),
        margins::section(study, result),
        alternatives::section(study, material),
        energy::section(study, result),
    ];
    sections.extend(draws::section(result));
    sections.extend([
        layout::section(study, material),
        unknowns::section(material),
        lab::section(&material.plan),
        safety(material),
        provenance::section(study, material, form),
    ]);
    if let Some(closing) = form.template.closing() {
        sections.push(closing);
    }
    let facts = vec![
        (say::PORT.to_owned(), Text::from(finding::port(study))),
        (
            say::PROTECTED.to_owned(),
            Text::from(format!("{}; {}", study.pin.name, finding::window(result))),
        ),
        (say::STUDY.to_owned(), Text::from(file_name(&study.path))),
    ];
    apart(&mut sections);
    Note {
        lang: say::LANG,
        kind: form.template.kind().unwrap_or(say::KIND).to_owned(),
        title: clean(&study.title),
        date: form.date.as_deref().map(clean),
        sender: form.template.sender.clone(),
        paper: form.paper,
        facts,
        sections,
        labels: say::LABELS,
        digest: result.study.digest.clone(),
        program: program(),
    }
}

pub use compared::compared;

/// Program and version.
pub(crate) fn program() -> String {
    format!("Tidewall {}", env!("CARGO_PKG_VERSION"))
}

/// The name of a file without the folders before it, which say something of a machine and nothing of the study.
pub(crate) fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}

/// The tone of a verdict.
pub(crate) fn tone(verdict: Verdict) -> Tone {
    match verdict {
        Verdict::Pass => Tone::Pass,
        Verdict::Marginal => Tone::Marginal,
        Verdict::Unknown => Tone::Unknown,
        Verdict::Fail => Tone::Fail,
    }
}

fn safety(material: &Material) -> Section {
    let mut section = Section::new("safety", say::SAFETY);
    let mut lines: Vec<&String> = material.result.cautions.iter().collect();
    for line in &material.plan.cautions {
        if !lines.contains(&line) {
            lines.push(line);
        }
    }
    section.list(lines.into_iter().map(Text::from).collect());
    section
}

/// Gives pictures of one identifier identifiers of their own: two stages have the same figures.
fn apart(sections: &mut [Section]) {
    let mut used: Vec<String> = Vec::new();
    let blocks = sections.iter_mut().flat_map(|section| &mut section.blocks);
    for block in blocks {
        let Block::Picture(picture) = block else { continue };
        let mut count = 1;
        let mut id = picture.id.clone();
        while used.contains(&id) {
            count += 1;
            id = format!("{}-{count}", picture.id);
        }
        if count > 1 {
            // Identifiers within the picture begin with its own; in attributes they stand behind a quote, a blank or a #.
            for before in ["\"", " ", "#"] {
                let (old, new) = (format!("{before}{}", picture.id), format!("{before}{id}"));
                for behind in ["-", "\""] {
                    picture.svg = picture
                        .svg
                        .replace(&format!("{old}{behind}"), &format!("{new}{behind}"));
                }
            }
            picture.id.clone_from(&id);
        }
        used.push(id);
    }
}
