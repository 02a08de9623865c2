//! What a panel needs around its frame: ranges, marks and the room for their texts.

use super::{At, Item, Panel};
use crate::scale::{Axis, Map, Scale, Ticks, range_of, ticks};
use crate::svg::Type;

/// Height that a label above a level line needs, in pixels.
const LABEL: f64 = 19.0;

/// What a panel needs beside its frame.
pub(super) struct Measure {
    /// Width of the text left of the frame.
    pub margin: f64,
    /// Width right of the frame.
    pub right: f64,
    /// Label of the y-axis.
    pub label: String,
}

pub(super) fn axis_label(axis: &Axis, ticks: &Ticks) -> String {
    match (axis.label.as_str(), ticks.unit.as_str()) {
        (label, "") => label.to_owned(),
        ("", unit) => unit.to_owned(),
        (label, unit) => format!("{label} ({unit})"),
    }
}

/// Values that an axis must show.
fn values(panel: &Panel, across: bool) -> Vec<f64> {
    let of = |points: &[(f64, f64)]| -> Vec<f64> {
        points.iter().map(|(x, y)| if across { *x } else { *y }).collect()
    };
    panel
        .items
        .iter()
        .flat_map(|item| match item {
            Item::Curve(curve) => of(&curve.points),
            Item::Band(band) => [of(&band.one), of(&band.other)].concat(),
            Item::Points(points) => points
                .points
                .iter()
                .map(|(x, y, _)| if across { *x } else { *y })
                .collect(),
            Item::Zone(zone) => {
                let (from, to) = if across { zone.x } else { zone.y };
                vec![from, to]
            }
            Item::Mark(mark) => match (mark.at, across) {
                (At::X(value), true) | (At::Y(value), false) => vec![value],
                _ => Vec::new(),
            },
        })
        .collect()
}

pub(super) fn range(panel: &Panel, across: bool) -> (f64, f64) {
    let axis = if across { &panel.x } else { &panel.y };
    let (from, to) = range_of(axis, values(panel, across).into_iter());
    if across || axis.range.is_some() || axis.scale != Scale::Linear {
        return (from, to);
    }
    // Room for the label of the uppermost level line above it.
    let room = LABEL * (to - from) / panel.height.max(LABEL);
    let levels = panel.items.iter().filter_map(|item| match item {
        Item::Mark(mark) => match mark.at {
            At::Y(value) if value.is_finite() => Some(value + room),
            _ => None,
        },
        _ => None,
    });
    (from, levels.fold(to, f64::max))
}

pub(super) fn y_ticks(panel: &Panel) -> Ticks {
    ticks(
        &panel.y,
        range(panel, false),
        (panel.height / 35.0).round() as usize,
    )
}

/// Marks across: as many as have room for their text.
pub(super) fn x_ticks(panel: &Panel, width: f64) -> Ticks {
    let range = range(panel, true);
    let mut wanted = (width / 62.0).round() as usize;
    loop {
        let found = ticks(&panel.x, range, wanted);
        let map = Map {
            scale: panel.x.scale,
            from: range.0,
            to: range.1,
            px_from: 0.0,
            px_to: width,
        };
        let mut labels: Vec<(f64, f64)> = found
            .ticks
            .iter()
            .filter_map(|tick| Some((map.at(tick.at)?, Type::LABEL.width(tick.label.as_deref()?))))
            .collect();
        labels.sort_by(|a, b| a.0.total_cmp(&b.0));
        let crowded = labels
            .windows(2)
            .any(|pair| pair[1].0 - pair[0].0 < 0.5 * (pair[0].1 + pair[1].1) + 6.0);
        if !crowded || wanted <= 2 {
            return found;
        }
        wanted -= 1;
    }
}

pub(super) fn measure(panel: &Panel, width: f64) -> Measure {
    let found = y_ticks(panel);
    let labels = found.ticks.iter().filter_map(|tick| tick.label.as_deref());
    let widest = labels.map(|label| Type::LABEL.width(label)).fold(0.0, f64::max);
    let across = x_ticks(panel, width - widest - 20.0);
    let last = across.ticks.iter().rev().find_map(|tick| tick.label.as_deref());
    Measure {
        margin: (widest + 8.0).max(24.0),
        right: (0.5 * last.map_or(0.0, |label| Type::LABEL.width(label)) + 2.0).max(10.0),
        label: axis_label(&panel.y, &found),
    }
}
