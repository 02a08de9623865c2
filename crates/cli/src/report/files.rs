//! The files of a report: looked at before any work, rendered before any is written.

use std::path::{Path, PathBuf};

use tidewall_report::document::Note;
use tidewall_report::gather::Material;
use tidewall_report::outputs::{ReportOutput, Written};
use tidewall_report::sheet::workbook;
use tidewall_report::template::{self, Template};
use tidewall_report::words::harmless;
use tidewall_study::Study;

use super::args::{Form, ReportArgs};
use crate::failure::Failure;
use crate::output::{Existing, Target};

/// Where the forms go.
pub struct Files {
    forms: Vec<(Form, String, Target)>,
    sheet: Option<(String, Target)>,
}

impl Files {
    /// The files that are asked for.
    pub fn of(args: &ReportArgs) -> Result<Files, Failure> {
        let existing = if args.force {
            Existing::Replace
        } else {
            Existing::Keep
        };
        let base = match &args.output {
            Some(path) => path.clone(),
            None => {
                let stem = args.study.file_stem().unwrap_or_default();
                let kind = if args.compare.is_empty() {
                    "report"
                } else {
                    "comparison"
                };
                PathBuf::from(format!("{}-{kind}", stem.to_string_lossy()))
            }
        };
        let mut forms = Vec::new();
        for form in wanted(&args.forms)? {
            let ending = match form {
                Form::Pdf => "pdf",
                Form::Html => "html",
            };
            let path = with_ending(&base, ending);
            forms.push((form, path.display().to_string(), Target::new(&path, existing)?));
        }
        let sheet = match &args.sheet {
            Some(path) => Some((path.display().to_string(), Target::new(path, existing)?)),
            None => None,
        };
        Ok(Files { forms, sheet })
    }

    /// Renders all of them, then writes them.
    pub fn write(&self, note: &Note, data: Option<(&Study, &Material)>) -> Result<Vec<Written>, Failure> {
        let mut rendered: Vec<(&Target, Vec<u8>, Written)> = Vec::new();
        for (form, path, target) in &self.forms {
            let (content, written) = match form {
                Form::Html => {
                    let content = tidewall_report::html::html(note).into_bytes();
                    let written = Written::new(path, "html", &content);
                    (content, written)
                }
                Form::Pdf => pdf(note, path)?,
            };
            rendered.push((target, content, written));
        }
        if let (Some((path, target)), Some((study, material))) = (&self.sheet, data) {
            let content = workbook(study, material)
                .map_err(|fault| Failure::output(path, format!("cannot be made: {fault}"), ""))?;
            let written = Written::new(path, "xlsx", &content);
            rendered.push((target, content, written));
        }
        let mut done = Vec::new();
        for (target, content, written) in rendered {
            target.write(|out| out.write_all(&content))?;
            done.push(written);
        }
        Ok(done)
    }
}

/// The forms asked for; all that this build can make unless any is.
fn wanted(asked: &[Form]) -> Result<Vec<Form>, Failure> {
    let can = cfg!(feature = "pdf");
    if asked.contains(&Form::Pdf) && !can {
        return Err(Failure::usage(
            "this build has no PDF",
            "build with the feature `pdf`, or write --as html and print that",
        ));
    }
    let mut forms: Vec<Form> = Vec::new();
    let all = if can {
        &[Form::Pdf, Form::Html][..]
    } else {
        &[Form::Html]
    };
    for form in if asked.is_empty() { all } else { asked } {
        if !forms.contains(form) {
            forms.push(*form);
        }
    }
    Ok(forms)
}

/// A name with an ending behind it, whatever points it has itself.
fn with_ending(base: &Path, ending: &str) -> PathBuf {
    let mut name = base.as_os_str().to_owned();
    name.push(".");
    name.push(ending);
    PathBuf::from(name)
}

#[cfg(feature = "pdf")]
fn pdf(note: &Note, path: &str) -> Result<(Vec<u8>, Written), Failure> {
    let hint = if note.sender.logo.is_some() {
        "the logo of the template may be the reason: try without --template"
    } else {
        ""
    };
    let typeset = tidewall_report::pdf::pdf(note)
        .map_err(|fault| Failure::output(path, format!("cannot be typeset: {fault}"), hint))?;
    let written = Written {
        pages: Some(typeset.pages),
        ..Written::new(path, "pdf", &typeset.bytes)
    };
    Ok((typeset.bytes, written))
}

#[cfg(not(feature = "pdf"))]
fn pdf(_note: &Note, path: &str) -> Result<(Vec<u8>, Written), Failure> {
    Err(Failure::output(
        path,
        "this build has no PDF",
        "build with the feature `pdf`",
    ))
}

/// Reads the user's own out of a folder.
pub fn template(folder: &Path) -> Result<Template, Failure> {
    let read = |name: &str| {
        let path = folder.join(name);
        // A template is small; anything else is a mistake that should not fill the memory.
        let largest = template::LARGEST_LOGO as u64;
        match std::fs::metadata(&path) {
            Ok(about) if !about.is_file() => return Err("is not a file".to_owned()),
            Ok(about) if about.len() > largest => return Err("is larger than 1 MiB".to_owned()),
            _ => {}
        }
        std::fs::read(&path).map_err(|error| format!("cannot be read: {}", error.kind()))
    };
    Template::read(&read).map_err(|fault| {
        let file = folder.join(&fault.file).display().to_string();
        Failure::in_template(&file, fault.line, &fault.message, &fault.hint)
    })
}

/// What was written, for people.
pub fn words(report: &ReportOutput) -> String {
    let mut text = format!(
        "{}: {}\n",
        report.verdict.word().to_uppercase(),
        harmless(&report.study.title)
    );
    for file in &report.files {
        let pages = match file.pages {
            Some(1) => ", 1 page".to_owned(),
            Some(pages) => format!(", {pages} pages"),
            None => String::new(),
        };
        let size = file.bytes.div_ceil(1024);
        text.push_str(&format!("  {}: {size} KiB{pages}\n", harmless(&file.path)));
    }
    text
}
