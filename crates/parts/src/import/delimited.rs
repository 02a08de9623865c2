//! Text tables: delimiter, decimal mark, records, and files that are cut.

use std::collections::VecDeque;
use std::io::{self, Read};

use super::cell::{Cell, Row};
use super::decode::Decoded;
use super::number::{Decimal, Evidence, evidence};

/// Longest record in bytes. A quote that is never closed would swallow the rest of the file.
const LONGEST: usize = 1 << 20;

/// Delimiters that are looked for; of two that fit equally well the first one counts.
pub(super) const DELIMITERS: [u8; 4] = *b";\t|,";

/// Watches the characters on their way to the reader: where records begin, and whether the last one is complete.
pub(super) struct Watched<R> {
    inner: Decoded<R>,
    delimiter: u8,
    state: State,
    line: u64,
    after_cr: bool,
    length: usize,
    starts: VecDeque<u64>,
    fault: Option<Fault>,
}

/// Why the records cannot be told apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fault {
    /// The record that begins at this line is longer than any can be.
    TooLong(u64),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    Between,
    FieldStart,
    Plain,
    Quoted,
    QuoteInQuoted,
}

impl<R: Read> Watched<R> {
    fn watch(&mut self, byte: u8) {
        use State::{Between, FieldStart, Plain, QuoteInQuoted, Quoted};
        let ends_line = matches!(byte, b'\n' | b'\r');
        if self.state == Between && !ends_line {
            self.starts.push_back(self.line);
            self.length = 0;
            self.state = FieldStart;
        }
        self.length += 1;
        self.state = match (self.state, byte) {
            (Quoted, b'"') => QuoteInQuoted,
            (QuoteInQuoted, b'"') | (Quoted, _) | (FieldStart, b'"') => Quoted,
            _ if ends_line => Between,
            (_, byte) if byte == self.delimiter => FieldStart,
            _ => Plain,
        };
        if byte == b'\r' || byte == b'\n' && !self.after_cr {
            self.line += 1;
        }
        self.after_cr = byte == b'\r';
    }
}

impl<R: Read> Read for Watched<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        let got = self.inner.read(out)?;
        for byte in &out[..got] {
            self.watch(*byte);
            if self.length > LONGEST {
                self.fault = Some(Fault::TooLong(self.starts.back().copied().unwrap_or(self.line)));
                return Err(io::Error::other("a record is too long"));
            }
        }
        Ok(got)
    }
}

/// The records of a text file.
pub(super) struct Records<R> {
    reader: csv::Reader<Watched<R>>,
    record: csv::StringRecord,
}

/// Why a record cannot be read.
pub(super) enum RecordError {
    Fault(Fault),
    Reading(String),
}

impl<R: Read> Records<R> {
    pub fn new(text: Decoded<R>, delimiter: u8) -> Records<R> {
        let watched = Watched {
            inner: text,
            delimiter,
            state: State::Between,
            line: 1,
            after_cr: false,
            length: 0,
            starts: VecDeque::new(),
            fault: None,
        };
        Records {
            reader: csv::ReaderBuilder::new()
                .delimiter(delimiter)
                .has_headers(false)
                .flexible(true)
                .from_reader(watched),
            record: csv::StringRecord::new(),
        }
    }

    /// The next record that is not blank; `None` at the end.
    pub fn next_row(&mut self) -> Result<Option<Row>, RecordError> {
        match self.reader.read_record(&mut self.record) {
            Ok(false) => Ok(None),
            Ok(true) => {
                let number = self.reader.get_mut().starts.pop_front().unwrap_or(0);
                let cells = self.record.iter().map(Cell::of_text).collect();
                Ok(Some(Row { number, cells }))
            }
            Err(error) => Err(match self.reader.get_ref().fault {
                Some(fault) => RecordError::Fault(fault),
                None => RecordError::Reading(error.to_string()),
            }),
        }
    }

    /// Whether the file ended within a quoted field.
    pub fn ended_in_quotes(&self) -> bool {
        self.reader.get_ref().state == State::Quoted
    }

    /// Bytes of the file that were read.
    pub fn read_bytes(&self) -> u64 {
        self.reader.get_ref().inner.read_bytes()
    }
}

/// Records of the beginning of a file, the last one left out if it may be incomplete.
fn head_records(head: &str, whole: bool, delimiter: u8) -> Vec<csv::StringRecord> {
    const MOST: usize = 400;
    let reader = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .has_headers(false)
        .flexible(true)
        .from_reader(head.as_bytes());
    let mut records: Vec<_> = reader.into_records().flatten().take(MOST).collect();
    if !whole && records.len() > 1 && records.len() < MOST {
        records.pop();
    }
    records
}

/// The delimiter that gives the same number of fields, at least two, in most records. `None` if none does so in half.
pub(super) fn find_delimiter(head: &str, whole: bool) -> Option<u8> {
    let mut best: Option<(f64, u8)> = None;
    for delimiter in DELIMITERS {
        let records = head_records(head, whole, delimiter);
        let widths: Vec<usize> = records.iter().map(csv::StringRecord::len).collect();
        let alike = |width: usize| widths.iter().filter(|other| **other == width).count();
        let most = widths
            .iter()
            .filter(|width| **width > 1)
            .map(|width| alike(*width))
            .max();
        let share = most.unwrap_or(0) as f64 / widths.len().max(1) as f64;
        if share >= 0.5 && best.is_none_or(|(held, _)| share > held + 0.05) {
            best = Some((share, delimiter));
        }
    }
    best.map(|(_, delimiter)| delimiter)
}

/// The decimal mark that the cells of the beginning show, with the first cell of each kind.
pub(super) fn find_decimal(head: &str, whole: bool, delimiter: u8) -> (Decimal, Option<(String, String)>) {
    let (mut comma, mut point) = (None, None);
    for record in head_records(head, whole, delimiter) {
        for field in &record {
            match evidence(field) {
                Evidence::Comma => comma = comma.or_else(|| Some(field.trim().to_owned())),
                Evidence::Point => point = point.or_else(|| Some(field.trim().to_owned())),
                Evidence::None => {}
            }
        }
    }
    match (comma, point) {
        (Some(comma), Some(point)) => (Decimal::Unknown, Some((comma, point))),
        (Some(_), None) => (Decimal::Comma, None),
        (None, Some(_)) => (Decimal::Point, None),
        (None, None) => (Decimal::Unknown, None),
    }
}
