//! What stands in a panel: bands, curves, reference lines and points.

use super::draw::BAND_OPACITY;
use super::measure::shown;
use super::panel::{Drawing, inside};
use super::{At, Band, Curve, Item, Mark, Panel, Points};
use crate::decimate::{clip, clip_polygon, columns, straighten};
use crate::place::Rect;
use crate::scale::Map;
use crate::style::{Dash, Style};
use crate::svg::{datum, path};

fn attribute(points: &[(f64, f64)]) -> String {
    let pairs: Vec<String> = points
        .iter()
        .map(|(x, y)| format!("{},{}", datum(*x), datum(*y)))
        .collect();
    pairs.join(" ")
}

impl Drawing<'_> {
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

    pub(super) fn content(&mut self, panel: &Panel) {
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
        for edge in [one, other] {
            self.stroke(&band.name, &edge, band.style);
        }
    }

    fn curve(&mut self, curve: &Curve) {
        for run in self.runs(&curve.name, shown(&curve.points, (self.x.from, self.x.to))) {
            self.stroke(&curve.name, &run, curve.style);
        }
        if curve.style.marker.is_some() {
            for (x, y) in curve.points.iter() {
                self.marker((*x, *y), curve.style);
            }
        }
    }

    fn stroke(&mut self, name: &str, run: &[(f64, f64)], style: Style) {
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
        self.svg
            .tag("path")
            .attr("class", &format!("{} tw-series", style.tone.class()))
            .attr("color", style.tone.colour())
            .attr("data-name", name)
            .attr("d", &text)
            .stroke(style.width, dash)
            .end();
    }

    fn marker(&mut self, value: (f64, f64), style: Style) -> Option<(f64, f64)> {
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
    pub(super) fn ends(&self, mark: &Mark) -> Option<((f64, f64), (f64, f64))> {
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
}
