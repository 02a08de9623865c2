//! Bars onto the sheet.

use super::{Bar, Bars, Fill};
use crate::chart::At;
use crate::font;
use crate::place::{Candidate, Label, Placer, Rect};
use crate::scale::{Map, range_of, ticks};
use crate::style::{Dash, Tone};
use crate::svg::{Anchor, Svg, Type, datum, px};

/// Room at the edges in pixels.
const EDGE: f64 = 6.0;
/// Height of a bar in pixels.
const BAR: f64 = 11.0;

struct Row<'a> {
    bar: &'a Bar,
    heading: bool,
    label: Vec<String>,
    detail: Vec<String>,
    top: f64,
    height: f64,
}

impl Bars {
    fn rows(&self, label_width: f64, top: f64) -> Vec<Row<'_>> {
        let mut rows: Vec<Row<'_>> = Vec::new();
        let mut y = top;
        for bar in &self.bars {
            let before = rows.last().map_or("", |row: &Row<'_>| row.bar.group.as_str());
            let heading = bar.group != before && !bar.group.is_empty();
            let label = font::wrap(&bar.label, Type::LABEL.size, false, label_width);
            let detail = font::wrap(&bar.detail, Type::SMALL.size, false, label_width);
            let text = 13.5 * label.len() as f64 + 12.0 * detail.len() as f64;
            let room = if heading { 20.0 } else { 0.0 };
            let height = room + text.max(BAR + 2.0) + 6.0;
            rows.push(Row {
                bar,
                heading,
                label,
                detail,
                top: y + room,
                height,
            });
            y += height;
        }
        rows
    }

    pub(super) fn draw(&self, svg: &mut Svg) -> (f64, Vec<String>) {
        let mut remarks = Vec::new();
        let widest = |texts: &mut dyn Iterator<Item = f64>| texts.fold(0.0, f64::max);
        let label_width = widest(
            &mut self
                .bars
                .iter()
                .map(|bar| Type::LABEL.width(&bar.label).max(Type::SMALL.width(&bar.detail))),
        )
        .clamp(60.0, 0.37 * self.width);
        let text_width = widest(
            &mut self
                .bars
                .iter()
                .filter(|bar| bar.value.is_some())
                .map(|bar| face(bar).width(&bar.text) + number_width(bar)),
        )
        .min(0.3 * self.width);
        let left = EDGE + label_width + 10.0;
        let right = self.width - EDGE - (text_width + 8.0).max(12.0);
        let strip = if self.marks.is_empty() { 4.0 } else { 18.0 };
        let top = EDGE + strip;
        let rows = self.rows(label_width, top + 3.0);
        let bottom = rows.last().map_or(top + 20.0, |row| {
            row.top + row.height - if row.heading { 20.0 } else { 0.0 }
        });
        let values = self.bars.iter().flat_map(|bar| {
            let whisker = bar.whisker.map(|(low, high)| [low, high]);
            bar.value
                .into_iter()
                .chain(bar.value.map(|_| bar.from))
                .chain(whisker.into_iter().flatten())
                .chain(bar.limit)
        });
        let marked = self.marks.iter().filter_map(|mark| match mark.at {
            At::X(value) => Some(value),
            At::Y(_) => None,
        });
        let (from, to) = range_of(&self.axis, values.chain(marked));
        let map = Map {
            scale: self.axis.scale,
            from,
            to,
            px_from: left,
            px_to: right,
        };
        self.open(svg, (left, top, right, bottom), &map);
        self.grid(svg, &map, top, bottom);
        for row in &rows {
            draw_row(svg, row, &map, self.width, &mut remarks);
        }
        self.draw_marks(svg, &map, top, bottom, &mut remarks);
        svg.close();
        let mut height = bottom + 34.0;
        for note in &self.notes {
            for line in font::wrap(note, Type::SMALL.size, false, self.width - 2.0 * EDGE) {
                svg.text((EDGE, height + 10.0), Anchor::Start, Type::SMALL, &line);
                height += 13.5;
            }
        }
        (height + EDGE, remarks)
    }

    fn open(&self, svg: &mut Svg, (left, top, right, bottom): (f64, f64, f64, f64), map: &Map) {
        svg.tag("g")
            .attr("class", "tw-bars")
            .attr(
                "data-box",
                &[left, top, right - left, bottom - top].map(px).join(" "),
            )
            .attr("data-x-label", &self.axis.label)
            .attr("data-x-unit", &self.axis.unit)
            .attr("data-x-scale", self.axis.scale.name())
            .attr("data-x-range", &format!("{} {}", datum(map.from), datum(map.to)))
            .open();
    }

    fn grid(&self, svg: &mut Svg, map: &Map, top: f64, bottom: f64) {
        let mut wanted = ((map.px_to - map.px_from) / 55.0).round() as usize;
        let found = loop {
            let found = ticks(&self.axis, (map.from, map.to), wanted);
            let labels = found.ticks.iter().filter_map(|tick| tick.label.as_deref());
            let needed: f64 = labels.map(|label| Type::LABEL.width(label) + 8.0).sum();
            if needed < map.px_to - map.px_from || wanted <= 2 {
                break found;
            }
            wanted -= 1;
        };
        let mut lines = String::new();
        for tick in &found.ticks {
            let (Some(x), Some(label)) = (map.at(tick.at), &tick.label) else {
                continue;
            };
            if x < map.px_from - 0.01 || x > map.px_to + 0.01 {
                continue;
            }
            lines.push_str(&format!("M{} {}V{}", px(x), px(top), px(bottom)));
            svg.text((x, bottom + 14.0), Anchor::Middle, Type::LABEL, label);
        }
        if !lines.is_empty() {
            svg.tag("path")
                .tone(Tone::Grid)
                .attr("d", &lines)
                .stroke(0.7, Dash::Solid)
                .end();
        }
        if let Some(zero) = map.at(0.0).filter(|x| *x >= map.px_from && *x <= map.px_to) {
            svg.line((zero, top), (zero, bottom), Tone::Ink, 0.9, Dash::Solid);
        }
        let label = match (self.axis.label.as_str(), found.unit.as_str()) {
            (label, "") => label.to_owned(),
            ("", unit) => unit.to_owned(),
            (label, unit) => format!("{label} ({unit})"),
        };
        let label = font::fit(&label, Type::LABEL.size, false, self.width - 2.0 * EDGE);
        let half = 0.5 * Type::LABEL.width(&label);
        let middle = (0.5 * (map.px_from + map.px_to)).clamp(EDGE + half, self.width - EDGE - half);
        let face = Type::LABEL.toned(Tone::Mute);
        svg.text((middle, bottom + 28.0), Anchor::Middle, face, &label);
    }

    fn draw_marks(&self, svg: &mut Svg, map: &Map, top: f64, bottom: f64, remarks: &mut Vec<String>) {
        let mut placer = Placer::new(Rect {
            left: EDGE,
            top: top - 17.0,
            right: self.width - EDGE,
            bottom: top,
        });
        for mark in &self.marks {
            let At::X(value) = mark.at else { continue };
            let Some(x) = map.at(value).filter(|x| *x >= map.px_from && *x <= map.px_to) else {
                remarks.push(format!(
                    "\u{201c}{}\u{201d} lies outside what is shown.",
                    mark.label
                ));
                continue;
            };
            let dash = mark.style.dash.unwrap_or(Dash::Solid);
            svg.line((x, top), (x, bottom), mark.style.tone, mark.style.width, dash);
            let label = Label::line(&mark.label, Type::SMALL);
            let candidates: Vec<Candidate> = [0.0, 1.0, -1.0]
                .into_iter()
                .map(|side| Candidate {
                    point: (x, top - 2.0),
                    side: (side, -1.0),
                    gap: 0.0,
                })
                .collect();
            if placer.place(svg, &label, &candidates).is_none() {
                remarks.push(format!(
                    "There was no room for the label \u{201c}{}\u{201d}.",
                    mark.label
                ));
            }
        }
    }
}

/// Width of the number with the room before it.
fn number_width(bar: &Bar) -> f64 {
    match face(bar).width(&bar.number) {
        0.0 => 0.0,
        width => width + 10.0,
    }
}

fn face(bar: &Bar) -> Type {
    Type {
        bold: bar.bold,
        ..Type::LABEL
    }
}

fn draw_row(svg: &mut Svg, row: &Row<'_>, map: &Map, width: f64, remarks: &mut Vec<String>) {
    let bar = row.bar;
    if row.heading {
        let heading = font::fit(&bar.group, Type::HEAD.size, true, width - 2.0 * EDGE);
        // It may reach over the grid.
        svg.tag("rect")
            .tone(Tone::Paper)
            .num("x", EDGE)
            .num("y", row.top - 16.0)
            .num("width", Type::HEAD.width(&heading) + 3.0)
            .num("height", 14.0)
            .attr("fill", "currentColor")
            .end();
        svg.text((EDGE, row.top - 5.0), Anchor::Start, Type::HEAD, &heading);
    }
    let mut base = row.top + 10.0;
    for line in &row.label {
        let line = font::fit(line, Type::LABEL.size, false, map.px_from - EDGE - 8.0);
        svg.text((EDGE, base), Anchor::Start, Type::LABEL, &line);
        base += 13.5;
    }
    for line in &row.detail {
        let line = font::fit(line, Type::SMALL.size, false, map.px_from - EDGE - 8.0);
        svg.text((EDGE, base - 1.0), Anchor::Start, Type::SMALL, &line);
        base += 12.0;
    }
    let middle = row.top + 6.5;
    let Some(value) = bar.value else {
        let text = font::fit(
            &bar.text,
            Type::LABEL.size,
            false,
            width - EDGE - map.px_from - 4.0,
        );
        svg.text(
            (map.px_from + 4.0, row.top + 10.0),
            Anchor::Start,
            Type::LABEL.toned(Tone::Mute),
            &text,
        );
        return;
    };
    let room = width - EDGE - map.px_to - 7.0 - number_width(bar);
    let text = font::fit(&bar.text, Type::LABEL.size, bar.bold, room);
    if !text.is_empty() {
        svg.text((map.px_to + 8.0, row.top + 10.0), Anchor::Start, face(bar), &text);
    }
    if !bar.number.is_empty() {
        svg.text(
            (width - EDGE, row.top + 10.0),
            Anchor::End,
            face(bar),
            &bar.number,
        );
    }
    let (Some(from), Some(to)) = (map.at(bar.from), map.at(value)) else {
        remarks.push(format!(
            "The value of {} is not finite; it has no bar.",
            bar.label
        ));
        return;
    };
    let within = |x: f64| x.clamp(map.px_from, map.px_to);
    let (start, end) = (within(from.min(to)), within(from.max(to)));
    svg.tag("g")
        .attr("class", "tw-bar")
        .attr("data-name", &bar.label)
        .attr("data-value", &datum(value))
        .open();
    let rect = Rect {
        left: start,
        top: middle - 0.5 * BAR,
        right: end.max(start + 0.8),
        bottom: middle + 0.5 * BAR,
    };
    fill(svg, rect, bar.fill);
    for (cut, edge, inwards) in [
        (from.min(to) < map.px_from - 0.5, map.px_from, 1.0),
        (from.max(to) > map.px_to + 0.5, map.px_to, -1.0),
    ] {
        if cut {
            let path = format!(
                "M{} {}L{} {}L{} {}Z",
                px(edge),
                px(middle),
                px(edge + 7.0 * inwards),
                px(middle - 4.0),
                px(edge + 7.0 * inwards),
                px(middle + 4.0)
            );
            svg.tag("path")
                .tone(Tone::Paper)
                .attr("d", &path)
                .attr("fill", "currentColor")
                .end();
        }
    }
    if let Some((Some(low), Some(high))) = bar.whisker.map(|(low, high)| (map.at(low), map.at(high))) {
        let (low, high) = (within(low), within(high));
        let path = format!(
            "M{} {}v6M{} {}H{}M{} {}v6",
            px(low),
            px(middle - 3.0),
            px(low),
            px(middle),
            px(high),
            px(high),
            px(middle - 3.0)
        );
        svg.tag("path")
            .tone(Tone::Ink)
            .attr("d", &path)
            .stroke(1.1, Dash::Solid)
            .end();
    }
    if let Some(x) = bar.limit.and_then(|limit| map.at(limit))
        && x >= map.px_from
        && x <= map.px_to
    {
        let (from, to) = ((x, middle - 0.5 * BAR - 3.0), (x, middle + 0.5 * BAR + 3.0));
        // The rim keeps it apart from a dark bar.
        svg.line(from, to, Tone::Paper, 5.0, Dash::Solid);
        svg.line(from, to, Tone::Ink, 2.0, Dash::Solid);
    }
    svg.close();
}

fn fill(svg: &mut Svg, rect: Rect, fill: Fill) {
    let tone = match fill {
        Fill::Solid => Tone::Ink,
        Fill::Accent | Fill::Light => Tone::Accent,
        Fill::Hatched => Tone::Ink,
    };
    let tag = svg
        .tag("rect")
        .tone(tone)
        .num("x", rect.left)
        .num("y", rect.top)
        .num("width", rect.width())
        .num("height", rect.height());
    match fill {
        Fill::Solid | Fill::Accent => tag.attr("fill", "currentColor").end(),
        Fill::Light => tag
            .attr("fill", "currentColor")
            .attr("fill-opacity", "0.22")
            .attr("stroke", "currentColor")
            .num("stroke-width", 0.8)
            .end(),
        Fill::Hatched => {
            tag.attr("fill", "none")
                .attr("stroke", "currentColor")
                .num("stroke-width", 0.9)
                .end();
            crate::chart::hatch(svg, rect);
        }
    }
}
