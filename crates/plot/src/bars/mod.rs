//! Horizontal bars: one thing a row, with words on both sides of them.

mod draw;

use crate::chart::{Mark, WIDTH};
use crate::figure::{Figure, Words};
use crate::scale::Axis;
use crate::svg::{Svg, document};
use crate::table::Table;

/// How a bar is filled: four that a grey print tells apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fill {
    /// Full tone of ink.
    Solid,
    /// Full tone of the accent.
    Accent,
    /// Light, with an outline.
    Light,
    /// Hatched, with an outline.
    Hatched,
}

/// One row.
#[derive(Clone, Debug, PartialEq)]
pub struct Bar {
    /// Heading above the first of several rows that share it; may be empty.
    pub group: String,
    /// What it is, left of the bar.
    pub label: String,
    /// More about it in small print below the label; may be empty.
    pub detail: String,
    /// Where the bar begins.
    pub from: f64,
    /// Where it ends; `None` draws no bar, and `text` tells why.
    pub value: Option<f64>,
    /// Ends of a range about it, drawn as a whisker.
    pub whisker: Option<(f64, f64)>,
    /// Its own limit, drawn as a stroke across the row.
    pub limit: Option<f64>,
    /// Fill.
    pub fill: Fill,
    /// The value in words, right of the bars; where there is no bar, in its place.
    pub text: String,
    /// A number beside the text, set flush right so that a column of them lines up; may be empty.
    pub number: String,
    /// Whether both are loud.
    pub bold: bool,
}

impl Bar {
    /// A light bar from zero.
    pub fn new(label: impl Into<String>, value: Option<f64>, text: impl Into<String>) -> Bar {
        Bar {
            group: String::new(),
            label: label.into(),
            detail: String::new(),
            from: 0.0,
            value,
            whisker: None,
            limit: None,
            fill: Fill::Light,
            text: text.into(),
            number: String::new(),
            bold: false,
        }
    }
}

/// A chart of horizontal bars.
#[derive(Clone, Debug, PartialEq)]
pub struct Bars {
    /// Width in pixels.
    pub width: f64,
    /// The axis across; a bar that leaves its range is cut and shows an arrow there.
    pub axis: Axis,
    /// Rows, from above.
    pub bars: Vec<Bar>,
    /// Upright reference lines; those along y are not drawn.
    pub marks: Vec<Mark>,
    /// Sentences below.
    pub notes: Vec<String>,
}

impl Bars {
    /// Bars on an axis.
    pub fn new(axis: Axis, bars: Vec<Bar>) -> Bars {
        Bars {
            width: WIDTH,
            axis,
            bars,
            marks: Vec::new(),
            notes: Vec::new(),
        }
    }

    /// Draws it.
    pub fn figure(self, words: Words, data: Table) -> Figure {
        let mut words = words;
        let mut body = Svg::default();
        let (height, remarks) = self.draw(&mut body);
        for remark in remarks {
            words.remark(&remark);
        }
        let sheet = (self.width, height);
        let svg = document(&words.id, &words.title, &words.alt, self.width, sheet, body);
        words.figure(svg, data)
    }
}
