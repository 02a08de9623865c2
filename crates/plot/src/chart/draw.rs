//! Panels onto the sheet.

use super::measure::{Measure, measure};
use super::panel::{Frame, draw_panel};
use super::{Chart, Panel, legend};
use crate::font;
use crate::svg::{Anchor, Svg, Type};

/// Opacity of the region of a band.
pub(super) const BAND_OPACITY: &str = "0.16";

/// Room between panels side by side, in pixels.
const GUTTER: f64 = 22.0;
/// Room at the edges of the picture, in pixels.
const EDGE: f64 = 6.0;
/// Height of marks' text and label below a frame, in pixels.
const BELOW: f64 = 34.0;
/// Height of the label alone.
const LABEL: f64 = 14.0;
/// Height of a line of a note, in pixels.
const NOTE: f64 = 13.5;

struct Laid<'a> {
    panel: &'a Panel,
    measured: &'a Measure,
    left: f64,
    width: f64,
    head: f64,
    legend: f64,
    notes: Vec<String>,
}

impl Laid<'_> {
    fn top(&self) -> f64 {
        self.head + self.legend + 5.0
    }

    /// Height of the marks' text and the label.
    fn below(&self) -> f64 {
        if self.panel.shares_x { BELOW - LABEL } else { BELOW }
    }

    fn bottom(&self) -> f64 {
        self.below() + NOTE * self.notes.len() as f64
    }
}

/// Draws all panels; returns the height of the picture and what is to be said about it.
pub(super) fn panels(chart: &Chart, svg: &mut Svg) -> (f64, Vec<String>) {
    let columns = chart.columns.max(1);
    let gutters = GUTTER * (columns - 1) as f64;
    let width = (chart.width - 2.0 * EDGE - gutters) / columns as f64;
    // Frames below each other begin at the same place.
    let measured: Vec<Measure> = chart.panels.iter().map(|panel| measure(panel, width)).collect();
    let margin = measured.iter().map(|one| one.margin).fold(0.0, f64::max);
    let mut remarks = Vec::new();
    let mut y = EDGE;
    let mut number = 0;
    for (row, measured) in chart.panels.chunks(columns).zip(measured.chunks(columns)) {
        let laid: Vec<Laid<'_>> = row
            .iter()
            .zip(measured)
            .enumerate()
            .map(|(k, (panel, measured))| {
                let notes = panel.notes.iter();
                Laid {
                    panel,
                    measured,
                    left: EDGE + k as f64 * (width + GUTTER),
                    width,
                    head: if panel.head.is_empty() { 0.0 } else { 17.0 },
                    legend: legend::height(panel, &measured.label, width),
                    notes: notes
                        .flat_map(|note| font::wrap(note, Type::SMALL.size, false, width))
                        .collect(),
                }
            })
            .collect();
        let top = laid.iter().map(Laid::top).fold(0.0, f64::max);
        let tall = row.iter().map(|panel| panel.height).fold(0.0, f64::max);
        let below = laid.iter().map(Laid::bottom).fold(0.0, f64::max);
        for one in &laid {
            let start = y + top - one.top();
            if !one.panel.head.is_empty() {
                let head = font::fit(&one.panel.head, Type::HEAD.size, true, one.width);
                svg.text((one.left, start + 11.0), Anchor::Start, Type::HEAD, &head);
            }
            legend::draw(
                svg,
                one.panel,
                &one.measured.label,
                (one.left, start + one.head),
                one.width,
            );
            let frame = Frame {
                number,
                left: one.left + margin,
                right: one.left + one.width - one.measured.right,
                top: y + top,
                bottom: y + top + one.panel.height,
                outer: (one.left, one.left + one.width),
            };
            remarks.extend(draw_panel(svg, one.panel, &one.measured.ends, &frame));
            for (k, line) in one.notes.iter().enumerate() {
                let at = (one.left, frame.bottom + one.below() + 8.0 + NOTE * k as f64);
                svg.text(at, Anchor::Start, Type::SMALL, line);
            }
            number += 1;
        }
        y += top + tall + below + 12.0;
    }
    (y - 12.0 + EDGE, remarks)
}
