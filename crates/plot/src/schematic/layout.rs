//! Where everything of a ladder stands.

use super::symbols::HALF;
use super::{Ladder, Place, Stage, Symbol};
use crate::chart::WIDTH;
use crate::style::Tone;
use crate::svg::Type;

/// Room at the edges in pixels.
pub(super) const EDGE: f64 = 6.0;
/// Width of the terminals with their names.
pub(super) const TERMINALS: f64 = 52.0;
/// Width of the protected block.
pub(super) const BLOCK: f64 = 122.0;
/// Room for the names above the first line.
pub(super) const ABOVE: f64 = 34.0;
/// From one rail to the next.
pub(super) const STEP: f64 = 92.0;
/// Room below the last rail.
pub(super) const BELOW: f64 = 26.0;
/// Length of wire at both ends of a row that goes on.
pub(super) const OPEN: f64 = 16.0;

pub(super) const NAME: Type = Type {
    size: 11.0,
    bold: true,
    tone: Tone::Ink,
};
pub(super) const VALUE: Type = Type::SMALL;

/// Heights of the rails of one row.
#[derive(Clone, Copy)]
pub(super) struct Rails {
    pub top: f64,
    pub first: f64,
    /// Of a pair.
    pub second: Option<f64>,
    pub bottom: f64,
}

impl Rails {
    pub fn at(top: f64, lines: usize) -> Rails {
        let first = top + ABOVE;
        let second = (lines == 2).then_some(first + STEP);
        Rails {
            top,
            first,
            second,
            bottom: second.unwrap_or(first) + STEP,
        }
    }

    pub fn all(self) -> impl Iterator<Item = f64> {
        [Some(self.first), self.second, Some(self.bottom)]
            .into_iter()
            .flatten()
    }

    pub fn end(self) -> f64 {
        self.bottom + BELOW
    }
}

/// Columns of symbols that a stage has, as distances from its left edge.
pub(super) fn columns(stage: &Stage, lines: usize) -> Vec<f64> {
    match (stage.place, stage.symbol) {
        (Place::ShuntReturn, Symbol::Steering) if lines == 2 => vec![20.0, 74.0],
        (Place::ShuntReturn, Symbol::Varistor | Symbol::Ptc) if lines == 2 => vec![26.0, 70.0],
        (Place::ShuntReturn, _) if lines == 2 => vec![14.0, 46.0],
        (_, Symbol::Varistor | Symbol::Ptc) => vec![26.0],
        (_, Symbol::Steering) => vec![20.0],
        _ => vec![14.0],
    }
}

pub(super) fn is_series(stage: &Stage) -> bool {
    matches!(
        stage.place,
        Place::Series | Place::SeriesFirst | Place::SeriesSecond
    )
}

pub(super) fn label_width(stage: &Stage) -> f64 {
    let values = stage.values.iter().map(|value| VALUE.width(value));
    values.fold(NAME.width(&stage.name), f64::max)
}

/// Where the label of a shunt begins.
pub(super) fn label_from(stage: &Stage, lines: usize) -> f64 {
    let last = columns(stage, lines).last().copied().unwrap_or(0.0);
    last + if stage.symbol == Symbol::Steering {
        36.0
    } else {
        18.0
    }
}

pub(super) fn stage_width(stage: &Stage, lines: usize) -> f64 {
    if is_series(stage) {
        label_width(stage).max(2.0 * HALF) + 12.0
    } else {
        label_from(stage, lines) + label_width(stage) + 12.0
    }
}

/// How much wider than the page a ladder may be and still stand in one row, drawn smaller.
pub(super) const SHRUNK: f64 = 1.2;
/// Most room in pixels that a short ladder gets before each stage.
pub(super) const LOOSE: f64 = 26.0;

/// Width of the sheet, and the stages of each row: number and left edge. The last row has room for the protected block.
pub(super) fn rows(ladder: &Ladder) -> (f64, Vec<Vec<(usize, f64)>>) {
    let widths = ladder.stages.iter().map(|stage| stage_width(stage, ladder.lines));
    let needed = 2.0 * EDGE + TERMINALS + widths.sum::<f64>() + 8.0 + BLOCK;
    if needed > SHRUNK * WIDTH {
        return (WIDTH, wrapped(ladder));
    }
    let loose = ((WIDTH - needed) / (ladder.stages.len() + 1) as f64).clamp(0.0, LOOSE);
    let mut x = EDGE + TERMINALS;
    let row = ladder.stages.iter().enumerate().map(|(k, stage)| {
        x += loose;
        let left = x;
        x += stage_width(stage, ladder.lines);
        (k, left)
    });
    (needed.max(WIDTH), vec![row.collect()])
}

/// Stages in as many rows as they need.
pub(super) fn wrapped(ladder: &Ladder) -> Vec<Vec<(usize, f64)>> {
    let mut rows = vec![Vec::new()];
    let mut x = EDGE + TERMINALS;
    for (k, stage) in ladder.stages.iter().enumerate() {
        let width = stage_width(stage, ladder.lines);
        let is_empty = rows.last().is_none_or(Vec::is_empty);
        let last = k + 1 == ladder.stages.len();
        let end = if last {
            WIDTH - EDGE - BLOCK - 8.0
        } else {
            WIDTH - EDGE - OPEN
        };
        if x + width > end && !is_empty {
            rows.push(Vec::new());
            x = EDGE + OPEN;
        }
        if let Some(row) = rows.last_mut() {
            row.push((k, x));
        }
        x += width;
    }
    // A last stage wider than what the block leaves in a row of its own.
    if x > WIDTH - EDGE - BLOCK - 8.0 {
        rows.push(Vec::new());
    }
    rows
}
