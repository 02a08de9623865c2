//! One panel: frame, grid and everything in it.

use super::{At, Band, Curve, Item, Mark, Naming, Panel, Points, Zone, draw::BAND_OPACITY};
use crate::decimate::{clip, clip_polygon, columns, straighten};
use crate::font;
use crate::place::{Candidate, Label, Placer, Rect, around};
use crate::scale::{Axis, Map, Ticks, range_of, ticks};
use crate::style::{Dash, Tone};
use crate::svg::{Anchor, Svg, Type, datum, px};

/// What a panel needs beside its frame.
pub(super) struct Measure {
    /// Width of the text left of the frame.
    pub margin: f64,
    /// Width right of the frame.
    pub right: f64,
    /// Label of the y-axis.
    pub label: String,
}

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
    fn sides(&self) -> (f64, f64, f64, f64) {
        (self.left, self.top, self.right, self.bottom)
    }
}

fn axis_label(axis: &Axis, ticks: &Ticks) -> String {
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

fn range(panel: &Panel, across: bool) -> (f64, f64) {
    let axis = if across { &panel.x } else { &panel.y };
    range_of(axis, values(panel, across).into_iter())
}

fn y_ticks(panel: &Panel) -> Ticks {
    ticks(
        &panel.y,
        range(panel, false),
        (panel.height / 38.0).round() as usize,
    )
}

/// Marks across: as many as have room for their text.
fn x_ticks(panel: &Panel, width: f64) -> Ticks {
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

/// A panel that is being drawn.
struct Drawing<'a> {
    svg: &'a mut Svg,
    frame: &'a Frame,
    x: Map,
    y: Map,
    placer: Placer,
    remarks: Vec<String>,
}

/// Draws a panel into its frame; returns what is to be said about it.
pub(super) fn draw_panel(svg: &mut Svg, panel: &Panel, frame: &Frame) -> Vec<String> {
    let map = |axis: &Axis, (from, to), px_from, px_to| Map {
        scale: axis.scale,
        from,
        to,
        px_from,
        px_to,
    };
    let x = map(&panel.x, range(panel, true), frame.left, frame.right);
    let y = map(&panel.y, range(panel, false), frame.bottom, frame.top);
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
    drawing.axes(panel);
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
        if let crate::scale::Scale::Symlog(within) = axis.scale {
            tag = tag.attr(&format!("data-{name}-within"), &datum(within));
        }
    }
    tag.open();
}

fn path(points: &[(f64, f64)]) -> String {
    let mut text = String::new();
    for (k, (x, y)) in points.iter().enumerate() {
        text.push(if k == 0 { 'M' } else { 'L' });
        text.push_str(&format!("{} {}", px(*x), px(*y)));
    }
    text
}

fn attribute(points: &[(f64, f64)]) -> String {
    let pairs: Vec<String> = points
        .iter()
        .map(|(x, y)| format!("{},{}", datum(*x), datum(*y)))
        .collect();
    pairs.join(" ")
}

impl Drawing<'_> {
    /// Pixels of a rectangle of values; infinite ends reach the frame.
    fn pixels(&self, zone: &Zone) -> Option<Rect> {
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

    fn axes(&mut self, panel: &Panel) {
        let frame = self.frame;
        let across = x_ticks(panel, frame.right - frame.left);
        let up = y_ticks(panel);
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
        if !label.is_empty() {
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

    /// Runs of points that have a place, in values and in pixels; what has none is counted and said.
    fn runs(&mut self, name: &str, points: &[(f64, f64)]) -> Vec<Vec<(f64, f64)>> {
        let mut runs: Vec<Vec<(f64, f64)>> = vec![Vec::new()];
        let mut lost = 0;
        for (x, y) in points {
            match (self.x.at(*x), self.y.at(*y)) {
                (Some(x), Some(y)) => {
                    if let Some(run) = runs.last_mut() {
                        run.push((x, y));
                    }
                }
                _ => {
                    lost += 1;
                    if runs.last().is_some_and(|run| !run.is_empty()) {
                        runs.push(Vec::new());
                    }
                }
            }
        }
        self.lost(name, lost, points.len());
        runs.retain(|run| !run.is_empty());
        runs
    }

    fn lost(&mut self, name: &str, lost: usize, of: usize) {
        if lost > 0 {
            let name = if name.is_empty() { "a series" } else { name };
            self.remarks.push(format!(
                "{lost} of the {of} points of {name} have no place on these axes and are left out."
            ));
        }
    }

    fn content(&mut self, panel: &Panel) {
        for item in &panel.items {
            match item {
                Item::Band(band) => self.band(band),
                Item::Curve(curve) => self.curve(curve),
                Item::Mark(mark) => self.mark(mark),
                Item::Points(points) => self.points(points),
                Item::Zone(_) => {}
            }
        }
    }

    fn band(&mut self, band: &Band) {
        let one = self.runs(&band.name, &band.one).concat();
        let other = self.runs(&band.name, &band.other).concat();
        let outline: Vec<(f64, f64)> = one.iter().chain(other.iter().rev()).copied().collect();
        let region = clip_polygon(&outline, self.frame.sides());
        if region.len() > 2 {
            self.svg
                .tag("path")
                .tone(band.style.tone)
                .attr("d", &format!("{}Z", path(&straighten(&region, 0.05))))
                .attr("fill", "currentColor")
                .attr("fill-opacity", BAND_OPACITY)
                .end();
        }
        for (edge, values) in [(one, &band.one), (other, &band.other)] {
            self.stroke(&band.name, &edge, values, band.style);
        }
    }

    fn curve(&mut self, curve: &Curve) {
        for run in self.runs(&curve.name, &curve.points) {
            self.stroke(&curve.name, &run, &curve.points, curve.style);
        }
        if curve.style.marker.is_some() {
            for (x, y) in &curve.points {
                self.marker((*x, *y), curve.style);
            }
        }
    }

    fn stroke(&mut self, name: &str, run: &[(f64, f64)], values: &[(f64, f64)], style: crate::style::Style) {
        let Some(dash) = style.dash else { return };
        let thin = straighten(&columns(run), 0.08);
        let parts = clip(&thin, self.frame.sides());
        let text: String = parts.iter().map(|part| path(part)).collect();
        if text.is_empty() {
            return;
        }
        for part in &parts {
            self.placer.ink(part);
        }
        // The same thinning in values: a script may draw them on other ranges.
        let kept = self.thinned(values);
        self.svg
            .tag("path")
            .attr("class", &format!("{} tw-series", style.tone.class()))
            .attr("color", style.tone.colour())
            .attr("data-name", name)
            .attr("data-points", &attribute(&kept))
            .attr("d", &text)
            .stroke(style.width, dash)
            .end();
    }

    /// Values of the points that survive thinning to twice the width of the frame.
    fn thinned(&self, values: &[(f64, f64)]) -> Vec<(f64, f64)> {
        let fine: Vec<(f64, f64)> = values
            .iter()
            .filter_map(|(x, y)| Some((2.0 * self.x.at(*x)?, 2.0 * self.y.at(*y)?)))
            .collect();
        let kept = straighten(&columns(&fine), 0.2);
        let mut next = kept.iter().peekable();
        values
            .iter()
            .filter(|(x, y)| {
                let place = self.x.at(*x).zip(self.y.at(*y));
                let wanted = place.map(|(x, y)| (2.0 * x, 2.0 * y));
                let is_next = wanted.is_some() && next.peek().copied() == wanted.as_ref();
                if is_next {
                    next.next();
                }
                is_next
            })
            .copied()
            .collect()
    }

    fn marker(&mut self, value: (f64, f64), style: crate::style::Style) -> Option<(f64, f64)> {
        let (x, y) = (self.x.at(value.0)?, self.y.at(value.1)?);
        let frame = self.frame;
        if !inside(x, frame.left, frame.right) || !inside(y, frame.top, frame.bottom) {
            return None;
        }
        self.svg.marker((x, y), style.marker?, style.tone);
        self.placer.take(Rect::around((x, y), 4.2));
        Some((x, y))
    }

    fn points(&mut self, points: &Points) {
        let values: Vec<(f64, f64)> = points.points.iter().map(|(x, y, _)| (*x, *y)).collect();
        self.svg
            .tag("g")
            .attr("class", "tw-series")
            .attr("data-name", &points.name)
            .attr("data-points", &attribute(&values))
            .open();
        let placed = |drawing: &Self, value: &(f64, f64)| {
            drawing.x.at(value.0).is_some() && drawing.y.at(value.1).is_some()
        };
        let lost = values.iter().filter(|value| !placed(self, value)).count();
        for value in &values {
            self.marker(*value, points.style);
        }
        self.svg.close();
        self.lost(&points.name, lost, values.len());
    }

    /// Ends of a reference line in pixels.
    fn ends(&self, mark: &Mark) -> Option<((f64, f64), (f64, f64))> {
        let frame = self.frame;
        let clamped = |map: &Map, value: f64, low: f64, high: f64| Some(map.at(value)?.clamp(low, high));
        match mark.at {
            At::X(value) => {
                let x = self.x.at(value).filter(|x| inside(*x, frame.left, frame.right))?;
                let (from, to) = match mark.span {
                    Some((from, to)) => (
                        clamped(&self.y, from, frame.top, frame.bottom)?,
                        clamped(&self.y, to, frame.top, frame.bottom)?,
                    ),
                    None => (frame.bottom, frame.top),
                };
                Some(((x, from.max(to)), (x, from.min(to))))
            }
            At::Y(value) => {
                let y = self.y.at(value).filter(|y| inside(*y, frame.top, frame.bottom))?;
                let (from, to) = match mark.span {
                    Some((from, to)) => (
                        clamped(&self.x, from, frame.left, frame.right)?,
                        clamped(&self.x, to, frame.left, frame.right)?,
                    ),
                    None => (frame.left, frame.right),
                };
                Some(((from.min(to), y), (from.max(to), y)))
            }
        }
    }

    fn mark(&mut self, mark: &Mark) {
        let Some((from, to)) = self.ends(mark) else {
            self.remarks.push(format!(
                "\u{201c}{}\u{201d} lies outside what is shown.",
                mark.label
            ));
            return;
        };
        let dash = mark.style.dash.unwrap_or(Dash::Solid);
        self.svg.line(from, to, mark.style.tone, mark.style.width, dash);
        self.placer.ink(&[from, to]);
    }

    /// Labels come last, when all is known that they must not cover: limits, points, curves, regions.
    fn labels(&mut self, panel: &Panel) {
        for item in &panel.items {
            if let Item::Mark(mark) = item
                && let Some((from, to)) = self.ends(mark)
            {
                let candidates = along_mark(from, to, matches!(mark.at, At::Y(_)));
                self.label(&mark.label, Type::LABEL, &candidates);
            }
        }
        for item in &panel.items {
            let Item::Points(points) = item else { continue };
            for (x, y, label) in &points.points {
                let place = self.x.at(*x).zip(self.y.at(*y));
                if let Some(point) = place.filter(|_| !label.is_empty()) {
                    self.label(label, Type::LABEL.toned(points.style.tone), &around(point, 6.0));
                }
            }
        }
        for item in &panel.items {
            match item {
                Item::Curve(curve) if curve.naming == Naming::Direct => {
                    self.beside(&curve.name, &curve.points, curve.style.tone);
                }
                Item::Band(band) if band.naming == Naming::Direct => {
                    let edges = [band.one.as_slice(), band.other.as_slice()].concat();
                    self.beside(&band.name, &edges, band.style.tone);
                }
                _ => {}
            }
        }
        for item in &panel.items {
            if let Item::Zone(zone) = item
                && let Some(rect) = self.pixels(zone)
            {
                self.within(&zone.label, rect);
            }
        }
    }

    fn label(&mut self, text: &str, face: Type, candidates: &[Candidate]) {
        if text.is_empty() {
            return;
        }
        let label = Label::line(text, face);
        if self.placer.place(self.svg, &label, candidates).is_none() {
            self.without_room(text);
        }
    }

    fn without_room(&mut self, text: &str) {
        self.remarks
            .push(format!("There was no room for the label \u{201c}{text}\u{201d}."));
    }

    /// A name beside a curve, at one of several places along it.
    fn beside(&mut self, name: &str, points: &[(f64, f64)], tone: Tone) {
        let frame = self.frame;
        let seen: Vec<(f64, f64)> = points
            .iter()
            .filter_map(|(x, y)| Some((self.x.at(*x)?, self.y.at(*y)?)))
            .filter(|(x, y)| inside(*x, frame.left, frame.right) && inside(*y, frame.top, frame.bottom))
            .collect();
        let mut candidates = Vec::new();
        for share in [0.75, 0.6, 0.9, 0.45, 0.3, 1.0, 0.15] {
            let place = (share * seen.len().saturating_sub(1) as f64).round() as usize;
            if let Some(point) = seen.get(place) {
                for side in [(1.0, 0.0), (-1.0, 0.0), (0.0, -1.0), (0.0, 1.0)] {
                    candidates.push(Candidate {
                        point: *point,
                        side,
                        gap: 6.0,
                    });
                }
            }
        }
        if !candidates.is_empty() {
            self.label(name, Type::LABEL.toned(tone), &candidates);
        }
    }

    /// A reason within its region, in as many lines as it takes.
    fn within(&mut self, text: &str, rect: Rect) {
        if text.is_empty() {
            return;
        }
        let face = Type::LABEL;
        let most = (rect.width() - 10.0).min(150.0);
        let longest = text.split_whitespace().map(|word| face.width(word));
        let narrow = longest.fold(0.0, f64::max) > most;
        let lines = font::wrap(text, face.size, false, if narrow { 130.0 } else { most });
        let label = Label { lines, face };
        let height = label.size().1;
        let mut candidates = Vec::new();
        let points = |share: f64| rect.top + 6.0 + share * (rect.height() - height - 12.0).max(0.0);
        if !narrow {
            for share in [0.06, 0.3, 0.5, 0.7, 0.9] {
                for x in [0.5, 0.25, 0.75] {
                    candidates.push(Candidate {
                        point: (rect.left + x * rect.width(), points(share)),
                        side: (0.0, 1.0),
                        gap: 0.0,
                    });
                }
            }
        }
        let middle = (0.5 * (rect.left + rect.right), 0.5 * (rect.top + rect.bottom));
        let found = if candidates.is_empty() {
            self.placer
                .place(self.svg, &label, &around(middle, 0.5 * rect.width() + 8.0))
        } else {
            self.placer.place(self.svg, &label, &candidates)
        };
        if found.is_none() {
            self.without_room(text);
        }
    }
}

fn inside(value: f64, low: f64, high: f64) -> bool {
    value >= low - 0.01 && value <= high + 0.01
}

/// Places of a reference line's label: above it at its end, below, at its start, in its middle; beside an upright one.
fn along_mark(from: (f64, f64), to: (f64, f64), level: bool) -> Vec<Candidate> {
    let mut candidates = Vec::new();
    if level {
        for (share, across) in [(1.0, -1.0), (0.0, 1.0), (0.5, 0.0), (0.75, 0.0), (0.25, 0.0)] {
            for up in [-1.0, 1.0] {
                let x = from.0 + share * (to.0 - from.0);
                candidates.push(Candidate {
                    point: (x + across * 4.0, from.1 + 2.5 * up),
                    side: (across, up),
                    gap: 0.0,
                });
            }
        }
    } else {
        for share in [0.97, 0.9, 0.83, 0.76, 0.6, 0.45, 0.3, 0.15, 0.05] {
            for right in [1.0, -1.0] {
                candidates.push(Candidate {
                    point: (from.0, from.1 + share * (to.1 - from.1)),
                    side: (right, 0.0),
                    gap: 4.0,
                });
            }
        }
    }
    candidates
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
