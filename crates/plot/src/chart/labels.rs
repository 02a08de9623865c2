//! Labels within a panel. They come last, when all is known that they must not cover.

use super::panel::{Drawing, inside};
use super::{At, Item, Naming, Panel};
use crate::font;
use crate::place::{Candidate, Label, Rect, around};
use crate::style::Tone;
use crate::svg::Type;

impl Drawing<'_> {
    /// Labels come last, when all is known that they must not cover: limits, points, curves, regions.
    pub(super) fn labels(&mut self, panel: &Panel) {
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
        let longest = text.split(' ').map(|word| face.width(word));
        let narrow = longest.fold(0.0, f64::max) > most;
        let lines = font::wrap(text, face.size, false, if narrow { 112.0 } else { most });
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
