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
    /// Ends of its axes.
    pub ends: Ends,
}

pub(super) fn axis_label(axis: &Axis, ticks: &Ticks) -> String {
    match (axis.label.as_str(), ticks.unit.as_str()) {
        (label, "") => label.to_owned(),
        ("", unit) => unit.to_owned(),
        (label, unit) => format!("{label} ({unit})"),
    }
}

/// The points of a line within a range of x, and one more on either side; all of them where the line turns back.
pub(super) fn shown(points: &[(f64, f64)], (from, to): (f64, f64)) -> &[(f64, f64)] {
    let (low, high) = (from.min(to), from.max(to));
    if !points.is_sorted_by(|one, next| one.0 <= next.0) {
        return points;
    }
    let first = points.partition_point(|point| point.0 < low).saturating_sub(1);
    let end = (points.partition_point(|point| point.0 <= high) + 1).min(points.len());
    points.get(first..end).unwrap_or(points)
}

/// Tells `take` of every value that an axis must show. Upwards only what lies within a range of x that was asked for counts.
fn each_value(panel: &Panel, across: bool, take: &mut impl FnMut(f64)) {
    let sight = panel.x.range.filter(|_| !across);
    let mut line = |points: &[(f64, f64)]| {
        points
            .iter()
            .for_each(|(x, y)| take(if across { *x } else { *y }));
    };
    for item in &panel.items {
        match item {
            Item::Curve(curve) => line(sight.map_or(&curve.points, |sight| shown(&curve.points, sight))),
            Item::Band(band) => {
                line(&band.one);
                line(&band.other);
            }
            Item::Points(points) => {
                for (x, y, _) in &points.points {
                    line(&[(*x, *y)]);
                }
            }
            Item::Zone(zone) => {
                let (from, to) = if across { zone.x } else { zone.y };
                line(&[(from, from), (to, to)]);
            }
            Item::Mark(mark) => match (mark.at, across) {
                (At::X(value), true) | (At::Y(value), false) => line(&[(value, value)]),
                _ => {}
            },
        }
    }
}

/// Ends of both axes of a panel.
#[derive(Clone, Copy)]
pub(super) struct Ends {
    pub x: (f64, f64),
    pub y: (f64, f64),
}

/// Ends of the axes, from what was asked for or from all that they must show.
pub(super) fn ends(panel: &Panel) -> Ends {
    Ends {
        x: range(panel, true),
        y: range(panel, false),
    }
}

fn range(panel: &Panel, across: bool) -> (f64, f64) {
    let axis = if across { &panel.x } else { &panel.y };
    let mut found: Option<(f64, f64)> = None;
    if axis.range.is_none() {
        each_value(panel, across, &mut |value| {
            if value.is_finite() && (axis.scale != Scale::Log || value > 0.0) {
                found = Some(found.map_or((value, value), |(low, high)| (low.min(value), high.max(value))));
            }
        });
    }
    let (from, to) = range_of(axis, found.into_iter().flat_map(|(low, high)| [low, high]));
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

pub(super) fn y_ticks(panel: &Panel, ends: &Ends) -> Ticks {
    ticks(&panel.y, ends.y, (panel.height / 35.0).round() as usize)
}

/// Marks across: as many as have room for their text.
pub(super) fn x_ticks(panel: &Panel, ends: &Ends, width: f64) -> Ticks {
    let range = ends.x;
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
    let ends = ends(panel);
    let found = y_ticks(panel, &ends);
    let labels = found.ticks.iter().filter_map(|tick| tick.label.as_deref());
    let widest = labels.map(|label| Type::LABEL.width(label)).fold(0.0, f64::max);
    let across = x_ticks(panel, &ends, width - widest - 20.0);
    let last = across.ticks.iter().rev().find_map(|tick| tick.label.as_deref());
    Measure {
        margin: (widest + 8.0).max(24.0),
        right: (0.5 * last.map_or(0.0, |label| Type::LABEL.width(label)) + 2.0).max(10.0),
        label: axis_label(&panel.y, &found),
        ends,
    }
}
