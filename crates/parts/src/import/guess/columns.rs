//! What each column by itself looks like.

use super::Confidence;
use crate::import::cell::{Cell, Row};
use crate::import::header::Header;
use crate::import::mapping::{BLANKS, Numbered, squeeze};
use crate::import::number::{Decimal, Measure, Side, Writing};
use crate::import::terms::{Custom, Meaning, TERMS, Term};
use crate::keys;

/// Tables of the library's own export: `clamp 2 current (A)`.
const LISTS: &[&str] = &["clamp", "rating", "leakage", "capacitance", "firing"];

/// A field of a numbered point.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Point {
    pub list: &'static str,
    pub number: u32,
    pub field: String,
}

/// A column and what is thought of it.
pub(super) struct Column {
    /// The header as it stands.
    pub text: String,
    pub header: Header,
    pub meaning: Option<Meaning>,
    pub point: Option<Point>,
    /// Unit by custom, where there is one.
    pub custom_unit: &'static str,
    /// Texts in the sampled cells that are not blank.
    pub samples: Vec<Cell>,
    pub decimal: Decimal,
    /// Another column has the same header.
    pub twin: bool,
    pub words: String,
    pub confidence: Confidence,
    pub reasons: Vec<String>,
}

impl Column {
    /// Whether a header is understood.
    pub fn knows(text: &str) -> bool {
        let header = Header::of(text);
        point(text).is_some() || term(&header).is_some()
    }

    /// Takes something from the column, and says what.
    pub fn understood(&mut self, words: String, confidence: Confidence, reason: impl Into<String>) {
        if self.words.is_empty() {
            self.words = words;
            self.confidence = confidence;
        } else {
            self.confidence = self.confidence.max(confidence);
        }
        let reason = reason.into();
        if !reason.is_empty() && !self.reasons.contains(&reason) {
            self.reasons.push(reason);
        }
    }

    /// Less sure, and why.
    pub fn doubt(&mut self, confidence: Confidence, reason: impl Into<String>) {
        self.confidence = self.confidence.max(confidence);
        self.reasons.push(reason.into());
    }

    /// How many sampled cells are numbers of a measure in a unit, and the first that is not.
    pub fn fits(&self, measure: Measure, unit: Option<&str>, side: Side) -> (usize, Option<String>) {
        let writing = Writing {
            measure,
            unit,
            decimal: self.decimal,
            side,
        };
        let mut good = 0;
        let mut bad = None;
        for cell in &self.samples {
            let read = match cell {
                Cell::Text(text) => writing.text(text).map_err(|error| error.message),
                Cell::Number(number) => writing.number(*number).map_err(|error| error.message),
                Cell::Bad(why) => Err(why.clone()),
                Cell::Empty => continue,
            };
            match read {
                Ok(_) => good += 1,
                Err(why) => bad = bad.or(Some(why)),
            }
        }
        (good, bad)
    }
}

/// The point a header of the library's own export is of.
fn point(text: &str) -> Option<Point> {
    let plain = text.split(['(', '[']).next()?;
    let mut tokens = plain.split_whitespace();
    let first = tokens.next()?;
    let list = LISTS.iter().find(|list| **list == first)?;
    let number = tokens.next()?.parse().ok()?;
    let field: Vec<&str> = tokens.collect();
    Some(Point {
        list,
        number,
        field: field.join(" "),
    })
}

/// The term of a header, and whether it is a sure one. A unit that is none of the datum rules it out.
fn term(header: &Header) -> Option<(&'static Term, bool)> {
    if header.term.is_empty() {
        return None;
    }
    let fits = |term: &&Term| {
        let measure = match term.meaning {
            Meaning::Datum(key, _) => keys::find(key).map(|info| Measure::Of(info.unit)),
            Meaning::TestCurrent => Some(Numbered::Current.measure()),
            _ => None,
        };
        match (&header.unit, measure) {
            (Some(unit), Some(measure)) => measure.takes(unit),
            _ => true,
        }
    };
    let has_slope = header.conditions.iter().any(|(kind, _)| *kind == Numbered::Slope);
    let order = |term: &&Term| term.meaning == Meaning::Datum("firing", Custom::Typ) && has_slope;
    let find = |words: fn(&Term) -> &'static [&'static str]| {
        let mut found: Vec<&Term> = TERMS
            .iter()
            .filter(|term| words(term).contains(&header.term.as_str()))
            .filter(fits)
            .collect();
        // A spark-over voltage at a slope is a firing point.
        found.sort_by_key(|term| !order(term));
        found.first().copied()
    };
    let sure = find(|term| term.sure);
    let likely = find(|term| term.likely);
    match (sure, likely) {
        (_, Some(term)) if has_slope && order(&term) => Some((term, true)),
        (Some(term), _) => Some((term, true)),
        (None, Some(term)) => Some((term, false)),
        (None, None) => None,
    }
}

/// Looks at every column.
pub(super) fn look(header: &Row, samples: &[&Row], decimal: Decimal) -> Vec<Column> {
    let texts: Vec<String> = header.cells.iter().map(|cell| squeeze(&cell.text())).collect();
    let of = |(place, text): (usize, &String)| {
        let parsed = Header::of(text);
        let found = term(&parsed);
        let point = point(text);
        let mut column = Column {
            text: text.clone(),
            meaning: found.map(|(term, _)| term.meaning).filter(|_| point.is_none()),
            custom_unit: found.map_or("", |(term, _)| term.unit),
            header: parsed,
            point,
            samples: samples
                .iter()
                .map(|row| row.cell(place).clone())
                .filter(|cell| {
                    let text = cell.text().to_lowercase();
                    *cell != Cell::Empty && !BLANKS.contains(&text.as_str())
                })
                .collect(),
            decimal,
            twin: texts.iter().filter(|other| *other == text).count() > 1,
            words: String::new(),
            confidence: Confidence::NotUnderstood,
            reasons: Vec::new(),
        };
        match found {
            Some((_, true)) => column
                .reasons
                .push("the header is a term of the trade".to_owned()),
            Some((_, false)) => column
                .reasons
                .push("the header is a usual term, though others use it otherwise".to_owned()),
            None if column.point.is_some() => column
                .reasons
                .push("the header is one of our own exports".to_owned()),
            None => column.reasons.push(match &column.header.strange_unit {
                Some(unit) => format!("neither the term nor the unit `{unit}` is known"),
                None => "the term is not known, or its unit is none of that term".to_owned(),
            }),
        }
        if let Some((_, sure)) = found {
            column.confidence = if sure {
                Confidence::Certain
            } else {
                Confidence::Likely
            };
        } else if column.point.is_some() {
            column.confidence = Confidence::Certain;
        }
        column
    };
    texts.iter().enumerate().map(of).collect()
}
