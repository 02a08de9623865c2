//! The legend of a panel: samples with names, flowing into rows.

use super::{Item, Naming, Panel};
use crate::style::{Style, Tone};
use crate::svg::{Anchor, Svg, Type};

/// Half of the length of a sample in pixels.
const HALF: f64 = 13.0;
/// Height of a row in pixels.
pub(super) const ROW: f64 = 16.0;

struct Entry<'a> {
    name: &'a str,
    style: Style,
    is_band: bool,
}

impl Entry<'_> {
    /// Half of the length of its sample.
    fn half(&self) -> f64 {
        if self.is_band || self.style.dash.is_some() {
            HALF
        } else {
            5.0
        }
    }

    fn width(&self) -> f64 {
        2.0 * self.half() + 5.0 + Type::LABEL.width(self.name) + 14.0
    }
}

fn entries(panel: &Panel) -> Vec<Entry<'_>> {
    let mut entries: Vec<Entry<'_>> = Vec::new();
    for item in &panel.items {
        let entry = match item {
            Item::Curve(curve) if curve.naming == Naming::Legend => Entry {
                name: &curve.name,
                style: curve.style,
                is_band: false,
            },
            Item::Band(band) if band.naming == Naming::Legend => Entry {
                name: &band.name,
                style: band.style,
                is_band: true,
            },
            Item::Points(points) if points.naming == Naming::Legend => Entry {
                name: &points.name,
                style: Style {
                    dash: None,
                    ..points.style
                },
                is_band: false,
            },
            _ => continue,
        };
        let known = |other: &Entry<'_>| other.name == entry.name && other.style == entry.style;
        if !entry.name.is_empty() && !entries.iter().any(known) {
            entries.push(entry);
        }
    }
    entries
}

/// Rows of entries within a width, the first of which starts after what stands there already.
fn rows<'a, 'p>(entries: &'a [Entry<'p>], first_from: f64, width: f64) -> Vec<Vec<(f64, &'a Entry<'p>)>> {
    let mut rows: Vec<Vec<(f64, &Entry<'_>)>> = vec![Vec::new()];
    let mut x = first_from;
    for entry in entries {
        let starts = rows.len() > 1 && rows.last().is_some_and(Vec::is_empty);
        if x + entry.width() > width + 14.0 && !starts {
            rows.push(Vec::new());
            x = 0.0;
        }
        if let Some(row) = rows.last_mut() {
            row.push((x, entry));
        }
        x += entry.width();
    }
    rows
}

/// Height in pixels of the legend together with the label of the y-axis, which starts its first row.
pub(super) fn height(panel: &Panel, label: &str, width: f64) -> f64 {
    ROW * rows(&entries(panel), start(label), width).len() as f64
}

/// Where the first row of entries begins.
fn start(label: &str) -> f64 {
    if label.is_empty() {
        0.0
    } else {
        Type::LABEL.width(label) + 18.0
    }
}

/// Draws label and legend from a corner downwards.
pub(super) fn draw(svg: &mut Svg, panel: &Panel, label: &str, (left, top): (f64, f64), width: f64) {
    if !label.is_empty() {
        svg.text(
            (left, top + 11.0),
            Anchor::Start,
            Type::LABEL.toned(Tone::Mute),
            label,
        );
    }
    let entries = entries(panel);
    for (k, row) in rows(&entries, start(label), width).into_iter().enumerate() {
        let y = top + 11.0 + ROW * k as f64;
        for (x, entry) in row {
            let half = entry.half();
            let middle = (left + x + half, y - 4.0);
            if entry.is_band {
                svg.tag("rect")
                    .tone(entry.style.tone)
                    .num("x", middle.0 - HALF)
                    .num("y", middle.1 - 5.0)
                    .num("width", 2.0 * HALF)
                    .num("height", 10.0)
                    .attr("fill", "currentColor")
                    .attr("fill-opacity", super::draw::BAND_OPACITY)
                    .end();
                for edge in [-5.0, 5.0] {
                    svg.sample((middle.0, middle.1 + edge), HALF, entry.style);
                }
            } else {
                svg.sample(middle, half, entry.style);
            }
            svg.text(
                (left + x + 2.0 * half + 5.0, y),
                Anchor::Start,
                Type::LABEL,
                entry.name,
            );
        }
    }
}
