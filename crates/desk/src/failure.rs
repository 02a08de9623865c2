//! What went wrong, as text and as JSON.

use std::fmt;

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_extract::readers::ReadFault;
use tidewall_parts::LibraryError;
use tidewall_parts::import::ImportError;
use tidewall_study::StudyError;

/// Version of the errors' form.
const SCHEMA: &str = "tidewall/error/1";

/// What an error is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// The arguments.
    Usage,
    /// A study, or a file it refers to.
    Study,
    /// A file of measured points.
    Points,
    /// The parts library.
    Library,
    /// A file of measured waves.
    Capture,
    /// A table of parts, or its mapping file.
    Table,
    /// The template of a report.
    Template,
    /// Writing the output.
    Output,
}

/// An error that ends the work on a study or a command.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ErrorReport {
    /// Version of this form.
    pub schema: &'static str,
    /// What it is about.
    pub kind: Kind,
    /// The file, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// Line, counted from 1; absent if the file as a whole is meant.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// Column in characters, counted from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub column: Option<usize>,
    /// What is wrong.
    pub message: String,
    /// What would have been right.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub expected: Option<String>,
    /// What to do.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hint: Option<String>,
}

/// An error with its text for people.
#[derive(Clone, Debug, PartialEq)]
pub struct Failure {
    report: Box<ErrorReport>,
    text: String,
}

impl Failure {
    /// About the arguments.
    pub fn usage(message: impl Into<String>, hint: impl Into<String>) -> Failure {
        Failure::plain(Kind::Usage, None, message.into(), hint.into())
    }

    /// About the parts library.
    pub fn library(message: impl Into<String>, hint: impl Into<String>) -> Failure {
        Failure::plain(Kind::Library, None, message.into(), hint.into())
    }

    /// About writing a file.
    pub fn output(file: impl Into<String>, message: impl Into<String>, hint: impl Into<String>) -> Failure {
        Failure::plain(Kind::Output, Some(file.into()), message.into(), hint.into())
    }

    /// About a line of a report's template; zero for the file as a whole.
    pub fn in_template(file: &str, line: usize, message: &str, hint: &str) -> Failure {
        let place = if line > 0 {
            format!("{file}:{line}")
        } else {
            file.to_owned()
        };
        let mut failure = Failure::plain(Kind::Template, Some(place), message.to_owned(), hint.to_owned());
        failure.report.file = Some(file.to_owned());
        failure.report.line = Some(line).filter(|line| *line > 0);
        failure
    }

    /// About a file of measured waves as a whole.
    pub fn capture(file: &str, message: impl Into<String>, hint: impl Into<String>) -> Failure {
        Failure::plain(Kind::Capture, Some(file.to_owned()), message.into(), hint.into())
    }

    /// About a place in such a file.
    pub fn in_capture(file: &str, fault: &ReadFault) -> Failure {
        let mut failure = Failure::capture(file, fault.to_string(), "");
        let text = |text: &str| Some(text.to_owned()).filter(|text| !text.is_empty());
        failure.report.line = Some(fault.line).filter(|line| *line > 0);
        failure.report.message.clone_from(&fault.message);
        failure.report.expected = text(&fault.expected);
        failure.report.hint = text(&fault.hint);
        failure
    }

    /// About a file of measured points as a whole.
    pub fn file(file: &str, message: impl Into<String>, hint: impl Into<String>) -> Failure {
        Failure::plain(Kind::Points, Some(file.to_owned()), message.into(), hint.into())
    }

    /// About a row of such a file, or a column of it; zero for a line or column that is not known.
    pub fn cell(
        file: &str,
        line: usize,
        column: usize,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) -> Failure {
        let mut place = file.to_owned();
        if line > 0 {
            place.push_str(&format!(":{line}"));
        }
        let message = message.into();
        let shown = match column {
            0 => message.clone(),
            column => format!("column {column}: {message}"),
        };
        let mut failure = Failure::plain(Kind::Points, Some(place), shown, hint.into());
        failure.report.file = Some(file.to_owned());
        failure.report.line = Some(line).filter(|line| *line > 0);
        failure.report.message = message;
        failure
    }

    fn plain(kind: Kind, file: Option<String>, message: String, hint: String) -> Failure {
        let place = file.as_deref().map_or(String::new(), |file| format!("{file}: "));
        let mut text = format!("error: {place}{message}");
        if !hint.is_empty() {
            text.push_str(&format!("\n  hint: {hint}"));
        }
        Failure {
            report: Box::new(ErrorReport {
                schema: SCHEMA,
                kind,
                file,
                line: None,
                column: None,
                message,
                expected: None,
                hint: Some(hint).filter(|hint| !hint.is_empty()),
            }),
            text,
        }
    }

    /// The pieces of it, for programs.
    pub fn pieces(&self) -> &ErrorReport {
        &self.report
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl From<LibraryError> for Failure {
    fn from(error: LibraryError) -> Self {
        Failure::library(error.to_string(), error.hint())
    }
}

impl From<ImportError> for Failure {
    fn from(error: ImportError) -> Self {
        let text = |text: &str| Some(text.to_owned()).filter(|text| !text.is_empty());
        let place = match error.place.as_str() {
            "" => String::new(),
            place => format!("{place}: "),
        };
        Failure {
            report: Box::new(ErrorReport {
                schema: SCHEMA,
                kind: Kind::Table,
                file: Some(error.file.clone()),
                line: None,
                column: None,
                message: format!("{place}{}", error.message),
                expected: text(&error.expected),
                hint: text(&error.hint),
            }),
            text: format!("error: {error}"),
        }
    }
}

/// Where the reader of a study has nothing better to suggest.
const COMPARE: &str = "tidewall new PROFILE writes a study with examples to compare with";

impl From<StudyError> for Failure {
    fn from(mut error: StudyError) -> Self {
        if error.hint.is_empty() {
            COMPARE.clone_into(&mut error.hint);
        }
        let text = |text: &str| Some(text.to_owned()).filter(|text| !text.is_empty());
        Failure {
            report: Box::new(ErrorReport {
                schema: SCHEMA,
                kind: Kind::Study,
                file: Some(error.file.clone()),
                line: Some(error.line).filter(|line| *line > 0),
                column: Some(error.column).filter(|column| *column > 0),
                message: error.message.clone(),
                expected: text(&error.expected),
                hint: text(&error.hint),
            }),
            text: error.to_string(),
        }
    }
}

impl std::error::Error for Failure {}
