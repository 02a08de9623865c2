//! A table file: what kind it is, and its rows one after another.

use std::fs::File;
use std::io::{self, Cursor, Read, Seek, SeekFrom};
use std::path::Path;
use std::sync::Arc;

use encoding_rs::Encoding;

use super::cell::{Places, Row};
use super::decode::{self, Decoded, NoText, Survey};
use super::delimited::{self, Fault, RecordError, Records};
use super::error::ImportError;
use super::number::Decimal;
use super::workbook::Workbook;

/// What may be said of a file in place of what its bytes show.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FileOptions {
    /// Sheet of a workbook.
    pub sheet: Option<String>,
    /// Encoding of a text file, by its name: `utf-8`, `windows-1252`, `utf-16le` …
    pub encoding: Option<String>,
    /// Delimiter of a text file.
    pub delimiter: Option<char>,
    /// Decimal mark of the numbers in texts.
    pub decimal: Option<Decimal>,
}

/// How a file turned out to be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Form {
    /// Text.
    Text {
        /// Name of the encoding.
        encoding: &'static str,
        /// The delimiter.
        delimiter: char,
    },
    /// Workbook.
    Workbook {
        /// The sheet.
        sheet: String,
    },
}

impl Form {
    /// In words, for people.
    pub fn in_words(&self) -> String {
        match self {
            Form::Text { encoding, delimiter } => {
                let name = match delimiter {
                    '\t' => "tabs".to_owned(),
                    delimiter => format!("`{delimiter}`"),
                };
                format!("text in {encoding}, columns separated by {name}")
            }
            Form::Workbook { sheet } => format!("workbook, sheet \"{sheet}\""),
        }
    }
}

enum Source {
    File(std::path::PathBuf),
    Bytes(Arc<[u8]>),
}

trait ReadSeek: Read + Seek {}
impl<T: Read + Seek> ReadSeek for T {}

impl Source {
    fn open(&self) -> io::Result<Box<dyn ReadSeek>> {
        Ok(match self {
            Source::File(path) => Box::new(File::open(path)?),
            Source::Bytes(bytes) => Box::new(Cursor::new(Arc::clone(bytes))),
        })
    }
}

/// A table in a file. It is read from the start each time its rows are asked for.
pub struct Table {
    name: String,
    source: Source,
    form: Form,
    decimal: Decimal,
    notes: Vec<String>,
    text: Option<Text>,
}

struct Text {
    encoding: &'static Encoding,
    mark: u64,
    length: u64,
    delimiter: u8,
    ends_with_line: bool,
}

/// How far the reading is: of how many, in any unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reached {
    /// Done.
    pub done: u64,
    /// Of so many.
    pub all: u64,
}

impl Table {
    /// Looks at a file and finds out how it is written.
    ///
    /// # Errors
    /// A file that cannot be read, is no table, or whose decimal marks contradict each other.
    pub fn open(path: &Path, options: &FileOptions) -> Result<Table, ImportError> {
        Table::open_as(path, &path.display().to_string(), options)
    }

    /// The same, under another name than the file's: where it was before it came here.
    ///
    /// # Errors
    /// See [`Table::open`].
    pub fn open_as(path: &Path, name: &str, options: &FileOptions) -> Result<Table, ImportError> {
        let name = name.to_owned();
        match std::fs::metadata(path) {
            Ok(about) if about.is_file() => {}
            Ok(_) => return Err(ImportError::new(&name, "", "is not a file").hint("name a CSV or XLSX file")),
            Err(error) => return Err(unreadable(&name, &error)),
        }
        Table::look(name, Source::File(path.to_owned()), options)
    }

    /// The same of bytes in memory.
    ///
    /// # Errors
    /// See [`Table::open`].
    pub fn from_bytes(name: &str, bytes: Vec<u8>, options: &FileOptions) -> Result<Table, ImportError> {
        Table::look(name.to_owned(), Source::Bytes(bytes.into()), options)
    }

    fn look(name: String, source: Source, options: &FileOptions) -> Result<Table, ImportError> {
        let mut file = source.open().map_err(|error| unreadable(&name, &error))?;
        let mut magic = Vec::new();
        (&mut file)
            .take(8)
            .read_to_end(&mut magic)
            .and_then(|_| file.seek(SeekFrom::Start(0)))
            .map_err(|error| unreadable(&name, &error))?;
        if magic.starts_with(b"PK\x03\x04") {
            return Table::workbook(name, source, options);
        }
        if magic.starts_with(&[0xD0, 0xCF, 0x11, 0xE0]) {
            return Err(ImportError::new(
                &name,
                "",
                "is a workbook of the old binary form, or an encrypted one",
            )
            .expected("a CSV or XLSX file")
            .hint("save it as XLSX without a password, or as CSV"));
        }
        let wanted = options
            .encoding
            .as_deref()
            .map(|label| encoding(&name, label))
            .transpose()?;
        let survey = decode::survey(file, wanted).map_err(|error| no_text(&name, &error))?;
        Table::text(name, source, options, &survey)
    }

    fn workbook(name: String, source: Source, options: &FileOptions) -> Result<Table, ImportError> {
        let file = source.open().map_err(|error| unreadable(&name, &error))?;
        let book = Workbook::new(file).map_err(|why| damaged(&name, &why))?;
        let sheets = book.sheets();
        let quoted: Vec<String> = sheets.iter().map(|sheet| format!("\"{sheet}\"")).collect();
        let list = format!("the sheets are {}", quoted.join(", "));
        let sheet = match (&options.sheet, sheets.as_slice()) {
            (_, []) => return Err(ImportError::new(&name, "", "the workbook has no sheet")),
            (Some(wanted), sheets) if sheets.contains(wanted) => wanted.clone(),
            (Some(wanted), _) => {
                return Err(
                    ImportError::new(&name, "", format!("there is no sheet \"{wanted}\"")).hint(list),
                );
            }
            (None, [only]) => only.clone(),
            (None, _) => {
                return Err(ImportError::new(
                    &name,
                    "",
                    "the workbook has several sheets, and none is chosen",
                )
                .hint(format!(
                    "choose one with --sheet, or `sheet` in [file] of the mapping file; {list}"
                )));
            }
        };
        Ok(Table {
            name,
            source,
            form: Form::Workbook { sheet },
            decimal: options.decimal.unwrap_or_default(),
            notes: Vec::new(),
            text: None,
        })
    }

    fn text(
        name: String,
        source: Source,
        options: &FileOptions,
        survey: &Survey,
    ) -> Result<Table, ImportError> {
        let whole = survey.length <= survey.head.len() as u64;
        let found = || delimited::find_delimiter(&survey.head, whole);
        let delimiter = match options.delimiter {
            Some(c) => u8::try_from(c).ok().filter(u8::is_ascii).ok_or_else(|| {
                ImportError::new(&name, "", format!("`{c}` cannot be a delimiter"))
                    .expected("one ASCII character")
            })?,
            None => found().ok_or_else(|| {
                ImportError::new(&name, "", "no delimiter gives rows of equally many columns")
                    .expected("columns separated by `;`, tab, `|` or `,`")
                    .hint(
                        "if it is a table with another one, state `delimiter` in [file] of the mapping file",
                    )
            })?,
        };
        let mut notes = Vec::new();
        let decimal = match options.decimal {
            Some(decimal) => decimal,
            None => match delimited::find_decimal(&survey.head, whole, delimiter) {
                (_, Some((comma, point))) => {
                    return Err(ImportError::new(
                        &name,
                        "",
                        format!("some numbers have a decimal comma (`{comma}`), some a decimal point (`{point}`)"),
                    )
                    .expected("one decimal mark in the whole file")
                    .hint("state `decimal = \"comma\"` or \"point\" in [file] of the mapping file; cells of the other kind are then reported one by one"));
                }
                (decimal, None) => decimal,
            },
        };
        if !survey.ends_with_line {
            notes.push(
                "the last line has no line end: if the file was cut, its last value may be shorter than it was"
                    .to_owned(),
            );
        }
        Ok(Table {
            name,
            source,
            form: Form::Text {
                encoding: survey.encoding.name(),
                delimiter: char::from(delimiter),
            },
            decimal,
            notes,
            text: Some(Text {
                encoding: survey.encoding,
                mark: survey.mark as u64,
                length: survey.length,
                delimiter,
                ends_with_line: survey.ends_with_line,
            }),
        })
    }

    /// Name of the file.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// How the file is written.
    pub fn form(&self) -> &Form {
        &self.form
    }

    /// Decimal mark of numbers in texts.
    pub fn decimal(&self) -> Decimal {
        self.decimal
    }

    /// What people should know about the file.
    pub fn notes(&self) -> &[String] {
        &self.notes
    }

    /// How its places are named.
    pub fn places(&self) -> Places {
        match &self.form {
            Form::Text { .. } => Places::Lines,
            Form::Workbook { sheet } => Places::Cells { sheet: sheet.clone() },
        }
    }

    /// Its first rows that are not blank.
    ///
    /// # Errors
    /// See [`Table::rows`].
    pub fn head(&self, most: usize) -> Result<Vec<Row>, ImportError> {
        let mut rows = Vec::new();
        self.rows(|row, _| {
            rows.push(row);
            Ok(rows.len() < most)
        })?;
        Ok(rows)
    }

    /// Gives each row that is not blank to `each`, until that says `false`. Returns remarks about what was read.
    ///
    /// # Errors
    /// A file that cannot be read or is cut; then rows before the fault were given already.
    pub fn rows(
        &self,
        mut each: impl FnMut(Row, Reached) -> Result<bool, ImportError>,
    ) -> Result<Vec<String>, ImportError> {
        let file = self
            .source
            .open()
            .map_err(|error| unreadable(&self.name, &error))?;
        match (&self.form, &self.text) {
            (Form::Workbook { sheet }, _) => {
                let mut book = Workbook::new(file).map_err(|why| damaged(&self.name, &why))?;
                let refuse = |why: String| damaged(&self.name, &why);
                let spread = book.rows(sheet, refuse, |seen| {
                    let done = seen.row.number;
                    let all = seen.of_rows.max(done);
                    each(seen.row, Reached { done, all })
                })?;
                Ok(spread_in_words(&spread))
            }
            (Form::Text { .. }, Some(text)) => {
                self.records(file, text, &mut each)?;
                Ok(Vec::new())
            }
            (Form::Text { .. }, None) => Ok(Vec::new()),
        }
    }

    fn records(
        &self,
        mut file: Box<dyn ReadSeek>,
        text: &Text,
        each: &mut dyn FnMut(Row, Reached) -> Result<bool, ImportError>,
    ) -> Result<(), ImportError> {
        file.seek(SeekFrom::Start(text.mark))
            .map_err(|error| unreadable(&self.name, &error))?;
        let mut records = Records::new(Decoded::new(file, text.encoding), text.delimiter);
        let mut held: Option<Row> = None;
        let mut width = 0;
        loop {
            let next = records
                .next_row()
                .map_err(|error| self.unreadable_record(error))?;
            let Some(next) = next else { break };
            let reached = Reached {
                done: records.read_bytes(),
                all: text.length,
            };
            if let Some(row) = held.replace(next) {
                // The widest row so far tells whether the last one is complete.
                width = width.max(row.cells.len());
                if !row.is_empty() && !each(row, reached)? {
                    return Ok(());
                }
            }
        }
        let Some(last) = held else { return Ok(()) };
        let cut = |what: &str| {
            ImportError::new(
                &self.name,
                Places::Lines.row(last.number),
                format!("the file is cut: {what}"),
            )
            .expected("a complete file")
            .hint("fetch or save the file again; nothing has been imported")
        };
        if records.ended_in_quotes() {
            return Err(cut(
                "it ends within a quoted field that begins in the row of this line",
            ));
        }
        if !text.ends_with_line && last.cells.len() < width {
            return Err(cut(&format!(
                "its last row has {} of {width} columns and no line end",
                last.cells.len()
            )));
        }
        let reached = Reached {
            done: text.length,
            all: text.length,
        };
        if !last.is_empty() {
            each(last, reached)?;
        }
        Ok(())
    }

    fn unreadable_record(&self, error: RecordError) -> ImportError {
        match error {
            RecordError::Fault(Fault::TooLong(line)) => ImportError::new(
                &self.name,
                Places::Lines.row(line),
                "the row that begins here is longer than 1 MiB",
            )
            .expected("rows of text")
            .hint(
                "a quote that is never closed swallows all that follows: look for a single \" in this line",
            ),
            RecordError::Reading(why) => ImportError::new(&self.name, "", format!("cannot be read: {why}"))
                .hint("state `encoding` in [file] of the mapping file if it is not the one found"),
        }
    }
}

fn spread_in_words(spread: &[String]) -> Vec<String> {
    const SHOWN: usize = 8;
    if spread.is_empty() {
        return Vec::new();
    }
    let shown: Vec<&str> = spread.iter().take(SHOWN).map(String::as_str).collect();
    let more = match spread.len().saturating_sub(SHOWN) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    vec![format!(
        "the value of a merged range stands for all its cells: {}{more}",
        shown.join(", ")
    )]
}

/// The encoding of a name.
fn encoding(file: &str, label: &str) -> Result<&'static Encoding, ImportError> {
    Encoding::for_label(label.as_bytes()).ok_or_else(|| {
        ImportError::new(file, "", format!("there is no encoding `{label}`")).expected(
            "utf-8, windows-1252, utf-16le, utf-16be or another name of the WHATWG encoding standard",
        )
    })
}

fn unreadable(name: &str, error: &io::Error) -> ImportError {
    let message = match error.kind() {
        io::ErrorKind::NotFound => "there is no such file".to_owned(),
        kind => format!("cannot be read: {kind}"),
    };
    ImportError::new(name, "", message)
        .hint("check the path, and upper and lower case; it must be a file you may read")
}

fn damaged(name: &str, why: &str) -> ImportError {
    ImportError::new(name, "", format!("the workbook cannot be read: {why}"))
        .hint("if it opens elsewhere, save it again as XLSX; if it does not, it is damaged or cut")
}

fn no_text(name: &str, error: &NoText) -> ImportError {
    match error {
        NoText::Unreadable(error) => unreadable(name, error),
        NoText::Empty => ImportError::new(name, "", "the file is empty").expected("a table"),
        NoText::Binary(at) => ImportError::new(
            name,
            format!("byte {at}"),
            "a zero byte: this is no text file",
        )
        .expected("a CSV or XLSX file")
        .hint(
            "UTF-16 is read only with its byte-order mark, or with `encoding` in [file] of the mapping file",
        ),
        NoText::Cut => ImportError::new(name, "", "the file is cut: it ends in the middle of a character")
            .expected("a complete file")
            .hint("fetch or save the file again; nothing has been imported"),
    }
}
