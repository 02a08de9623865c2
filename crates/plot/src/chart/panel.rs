//! One panel: frame, grid and regions.

use super::measure::{Ends, axis_label, x_ticks, y_ticks};
use super::{Item, Panel, Zone};
use crate::font;
use crate::place::{Placer, Rect};
use crate::scale::{Axis, Map, Scale};
use crate::style::{Dash, Tone};
use crate::svg::{Anchor, Svg, Type, datum, path, px};

/// Where a panel stands.
pub(super) struct Frame {
    pub number: usize,
    pub left: f64,
    pub right: f64,
    pub top: f64,
    pub bottom: f64,
    /// Left and right end of the panel with its margins.
    pub outer: (f64, f64),
}

impl Frame {
    pub(super) fn sides(&self) -> (f64, f64, f64, f64) {
        (self.left, self.top, self.right, self.bottom)
    }
}

/// A panel that is being drawn.
pub(super) struct Drawing<'a> {
    pub svg: &'a mut Svg,
    pub frame: &'a Frame,
    pub x: Map,
    pub y: Map,
    pub placer: Placer,
    pub remarks: Vec<String>,
}

/// Draws a panel into its frame; returns what is to be said about it.
pub(super) fn draw_panel(svg: &mut Svg, panel: &Panel, ends: &Ends, frame: &Frame) -> Vec<String> {
    let map = |axis: &Axis, (from, to), px_from, px_to| Map {
        scale: axis.scale,
        from,
        to,
        px_from,
        px_to,
    };
    let x = map(&panel.x, ends.x, frame.left, frame.right);
    let y = map(&panel.y, ends.y, frame.bottom, frame.top);
    open_panel(svg, panel, frame, &x, &y);
    let mut drawing = Drawing {
        svg,
        frame,
        x,
        y,
        placer: Placer::new(Rect {
            left: frame.left + 2.0,
            top: frame.top + 2.0,
            right: frame.right - 2.0,
            bottom: frame.bottom - 2.0,
        }),
        remarks: Vec::new(),
    };
    drawing.zones(panel);
    drawing.axes(panel, ends);
    drawing.content(panel);
    drawing.labels(panel);
    let remarks = drawing.remarks;
    svg.close();
    remarks
}

/// The group of a panel, with what a script needs to read it.
fn open_panel(svg: &mut Svg, panel: &Panel, frame: &Frame, x: &Map, y: &Map) {
    let sides = [
        frame.left,
        frame.top,
        frame.right - frame.left,
        frame.bottom - frame.top,
    ];
    let mut tag = svg
        .tag("g")
        .attr("class", "tw-panel")
        .attr("data-panel", &frame.number.to_string())
        .attr("data-box", &sides.map(px).join(" "));
    for (name, axis, map) in [("x", &panel.x, x), ("y", &panel.y, y)] {
        tag = tag
            .attr(&format!("data-{name}-label"), &axis.label)
            .attr(&format!("data-{name}-unit"), &axis.unit)
            .attr(&format!("data-{name}-scale"), axis.scale.name())
            .attr(
                &format!("data-{name}-range"),
                &format!("{} {}", datum(map.from), datum(map.to)),
            );
        if let Scale::Symlog(within) = axis.scale {
            tag = tag.attr(&format!("data-{name}-within"), &datum(within));
        }
    }
    tag.open();
}

impl Drawing<'_> {
    /// Pixels of a rectangle of values; infinite ends reach the frame.
    pub(super) fn pixels(&self, zone: &Zone) -> Option<Rect> {
        let ends = |map: &Map, (from, to): (f64, f64)| {
            let at = |value: f64| {
                if value.is_finite() {
                    return map.at(value);
                }
                // Beyond that end of the axis which lies in its direction.
                let at_from = (value < 0.0) == (map.from < map.to);
                Some(if at_from { map.px_from } else { map.px_to })
            };
            let (least, most) = (map.px_from.min(map.px_to), map.px_from.max(map.px_to));
            let (one, other) = (at(from)?.clamp(least, most), at(to)?.clamp(least, most));
            Some((one.min(other), one.max(other)))
        };
        let (left, right) = ends(&self.x, zone.x)?;
        let (top, bottom) = ends(&self.y, zone.y)?;
        let rect = Rect {
            left,
            top,
            right,
            bottom,
        };
        (rect.width() > 0.2 && rect.height() > 0.2).then_some(rect)
    }

    fn zones(&mut self, panel: &Panel) {
        for item in &panel.items {
            let Item::Zone(zone) = item else { continue };
            let Some(rect) = self.pixels(zone) else { continue };
            self.svg
                .tag("rect")
                .tone(Tone::Zone)
                .num("x", rect.left)
                .num("y", rect.top)
                .num("width", rect.width())
                .num("height", rect.height())
                .attr("fill", "currentColor")
                .attr("fill-opacity", if zone.hatched { "0.10" } else { "0.08" })
                .end();
            if zone.hatched {
                hatch(self.svg, rect);
                self.walls(zone, rect);
            }
        }
    }

    /// The edges at which a forbidden region begins.
    fn walls(&mut self, zone: &Zone, rect: Rect) {
        let frame = self.frame;
        if zone.x.0.is_finite() || zone.x.1.is_finite() {
            for x in [rect.left, rect.right] {
                if x - frame.left > 0.5 && frame.right - x > 0.5 {
                    let ends = ((x, rect.top), (x, rect.bottom));
                    self.svg.line(ends.0, ends.1, Tone::Zone, 1.2, Dash::Solid);
                }
            }
        }
        if zone.y.0.is_finite() || zone.y.1.is_finite() {
            for y in [rect.top, rect.bottom] {
                if y - frame.top > 0.5 && frame.bottom - y > 0.5 {
                    let ends = ((rect.left, y), (rect.right, y));
                    self.svg.line(ends.0, ends.1, Tone::Zone, 1.2, Dash::Solid);
                }
            }
        }
    }

    fn axes(&mut self, panel: &Panel, ends: &Ends) {
        let frame = self.frame;
        let across = x_ticks(panel, ends, frame.right - frame.left);
        let up = y_ticks(panel, ends);
        let (mut major, mut minor) = (String::new(), String::new());
        let mut texts: Vec<((f64, f64), Anchor, String)> = Vec::new();
        for tick in &across.ticks {
            let Some(x) = self.x.at(tick.at).filter(|x| inside(*x, frame.left, frame.right)) else {
                continue;
            };
            let line = format!("M{} {}V{}", px(x), px(frame.top), px(frame.bottom));
            match &tick.label {
                Some(label) => {
                    major.push_str(&line);
                    texts.push(((x, frame.bottom + 14.0), Anchor::Middle, label.clone()));
                }
                None => minor.push_str(&format!("M{} {}v-3", px(x), px(frame.bottom))),
            }
        }
        for tick in &up.ticks {
            let Some(y) = self.y.at(tick.at).filter(|y| inside(*y, frame.top, frame.bottom)) else {
                continue;
            };
            let line = format!("M{} {}H{}", px(frame.left), px(y), px(frame.right));
            match &tick.label {
                Some(label) => {
                    major.push_str(&line);
                    texts.push(((frame.left - 5.0, y + 3.8), Anchor::End, label.clone()));
                }
                None => minor.push_str(&format!("M{} {}h3", px(frame.left), px(y))),
            }
        }
        if !major.is_empty() {
            self.svg
                .tag("path")
                .tone(Tone::Grid)
                .attr("d", &major)
                .stroke(0.7, Dash::Solid)
                .end();
        }
        let border = format!(
            "M{} {}H{}V{}H{}Z{minor}",
            px(frame.left),
            px(frame.top),
            px(frame.right),
            px(frame.bottom),
            px(frame.left)
        );
        self.svg
            .tag("path")
            .tone(Tone::Mute)
            .attr("d", &border)
            .stroke(0.8, Dash::Solid)
            .end();
        for (at, anchor, label) in texts {
            self.svg.text(at, anchor, Type::LABEL, &label);
        }
        let label = axis_label(&panel.x, &across);
        let label = font::fit(&label, Type::LABEL.size, false, frame.outer.1 - frame.outer.0);
        if !label.is_empty() && !panel.shares_x {
            // In the middle of the frame unless that is too near to an edge.
            let half = 0.5 * Type::LABEL.width(&label);
            let middle = 0.5 * (frame.left + frame.right);
            let x = middle.clamp(
                frame.outer.0 + half,
                (frame.outer.1 - half).max(frame.outer.0 + half),
            );
            let face = Type::LABEL.toned(Tone::Mute);
            self.svg
                .text((x, frame.bottom + 28.0), Anchor::Middle, face, &label);
        }
    }
}

pub(super) fn inside(value: f64, low: f64, high: f64) -> bool {
    value >= low - 0.01 && value <= high + 0.01
}

/// Lines at 45° across a rectangle.
pub(crate) fn hatch(svg: &mut Svg, rect: Rect) {
    const STEP: f64 = 7.0;
    let mut text = String::new();
    // Lines x + y = c, at multiples of the step, so that neighbours join.
    let mut c = ((rect.left + rect.top) / STEP).ceil() * STEP;
    while c < rect.right + rect.bottom {
        let start = if c - rect.bottom >= rect.left {
            (c - rect.bottom, rect.bottom)
        } else {
            (rect.left, c - rect.left)
        };
        let end = if c - rect.top <= rect.right {
            (c - rect.top, rect.top)
        } else {
            (rect.right, c - rect.right)
        };
        text.push_str(&path(&[start, end]));
        c += STEP;
    }
    if !text.is_empty() {
        svg.tag("path")
            .tone(Tone::Zone)
            .attr("d", &text)
            .attr("opacity", "0.45")
            .stroke(0.6, Dash::Solid)
            .end();
    }
}
