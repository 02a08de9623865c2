//! Places for labels: beside what they name, on nothing else, within the picture.

use crate::font::{ASCENT, DESCENT, LEADING};
use crate::style::{Dash, Tone};
use crate::svg::{Anchor, Svg, Type};

/// A rectangle in pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Rect {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

impl Rect {
    pub fn around((x, y): (f64, f64), half: f64) -> Rect {
        Rect {
            left: x - half,
            top: y - half,
            right: x + half,
            bottom: y + half,
        }
    }

    fn grown(self, by: f64) -> Rect {
        Rect {
            left: self.left - by,
            top: self.top - by,
            right: self.right + by,
            bottom: self.bottom + by,
        }
    }

    pub fn width(self) -> f64 {
        self.right - self.left
    }

    pub fn height(self) -> f64 {
        self.bottom - self.top
    }

    fn meets(self, other: Rect) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    fn holds(self, (x, y): (f64, f64)) -> bool {
        x > self.left && x < self.right && y > self.top && y < self.bottom
    }

    fn within(self, other: Rect) -> bool {
        self.left >= other.left
            && self.right <= other.right
            && self.top >= other.top
            && self.bottom <= other.bottom
    }

    /// The point of it that is nearest to another.
    fn nearest(self, (x, y): (f64, f64)) -> (f64, f64) {
        (x.clamp(self.left, self.right), y.clamp(self.top, self.bottom))
    }
}

/// A text of one or more lines that wants a place.
#[derive(Clone, Debug)]
pub(crate) struct Label {
    pub lines: Vec<String>,
    pub face: Type,
}

impl Label {
    pub fn line(text: &str, face: Type) -> Label {
        Label {
            lines: vec![text.to_owned()],
            face,
        }
    }

    /// Width and height.
    pub fn size(&self) -> (f64, f64) {
        let width = self.lines.iter().map(|line| self.face.width(line));
        let width = width.fold(0.0, f64::max);
        let steps = self.lines.len().saturating_sub(1) as f64;
        (width, self.face.size * (ASCENT + DESCENT + steps * LEADING))
    }

    /// Writes it into a rectangle of its size.
    pub fn draw(&self, svg: &mut Svg, rect: Rect) {
        for (k, line) in self.lines.iter().enumerate() {
            let y = rect.top + self.face.size * (ASCENT + k as f64 * LEADING);
            svg.text((rect.left, y), Anchor::Start, self.face, line);
        }
    }
}

/// Where a label stands with respect to the point it names.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Candidate {
    pub point: (f64, f64),
    /// Side of the point on which the label stands: −1 left or above, 0 centred, 1 right or below.
    pub side: (f64, f64),
    /// Distance from the point in pixels, along each direction.
    pub gap: f64,
}

impl Candidate {
    fn rect(self, (width, height): (f64, f64)) -> Rect {
        let along = |at: f64, side: f64, length: f64| at + side * self.gap + 0.5 * (side - 1.0) * length;
        let left = along(self.point.0, self.side.0, width);
        let top = along(self.point.1, self.side.1, height);
        Rect {
            left,
            top,
            right: left + width,
            bottom: top + height,
        }
    }
}

/// The eight places around a point, best first.
pub(crate) fn around(point: (f64, f64), gap: f64) -> Vec<Candidate> {
    [
        (1.0, 0.0),
        (1.0, -1.0),
        (0.0, -1.0),
        (-1.0, 0.0),
        (1.0, 1.0),
        (0.0, 1.0),
        (-1.0, -1.0),
        (-1.0, 1.0),
    ]
    .into_iter()
    .map(|side| Candidate { point, side, gap })
    .collect()
}

/// Finds places for one label after the other.
#[derive(Debug)]
pub(crate) struct Placer {
    frame: Rect,
    taken: Vec<Rect>,
    /// Points of curves, a few pixels apart.
    ink: Vec<(f64, f64)>,
}

/// How far a label may stand from what it names, in pixels.
const FAR: f64 = 190.0;
/// Room around a label in pixels.
const ROOM: f64 = 1.5;

impl Placer {
    pub fn new(frame: Rect) -> Placer {
        Placer {
            frame,
            taken: Vec::new(),
            ink: Vec::new(),
        }
    }

    /// Nothing may stand there.
    pub fn take(&mut self, rect: Rect) {
        self.taken.push(rect);
    }

    /// Labels avoid this polyline where they can.
    pub fn ink(&mut self, points: &[(f64, f64)]) {
        for pair in points.windows(2) {
            let ((x, y), (to_x, to_y)) = (pair[0], pair[1]);
            let length = (to_x - x).hypot(to_y - y);
            // A polyline within the frame has segments of less than its diagonal.
            let steps = (length / 4.0).ceil().clamp(1.0, 1000.0) as usize;
            for k in 0..=steps {
                let share = k as f64 / steps as f64;
                self.ink.push((x + share * (to_x - x), y + share * (to_y - y)));
            }
        }
    }

    fn is_free(&self, rect: Rect) -> bool {
        let grown = rect.grown(ROOM);
        rect.within(self.frame) && !self.taken.iter().any(|taken| taken.meets(grown))
    }

    fn inked(&self, rect: Rect) -> usize {
        let grown = rect.grown(1.0);
        self.ink.iter().filter(|point| grown.holds(**point)).count()
    }

    /// The first of the best candidates, taken for good; else the nearest free place, with a leader to the first
    /// candidate's point; else `None`.
    pub fn place(&mut self, svg: &mut Svg, label: &Label, candidates: &[Candidate]) -> Option<Rect> {
        let size = label.size();
        let best = candidates
            .iter()
            .map(|candidate| candidate.rect(size))
            .filter(|rect| self.is_free(*rect))
            .enumerate()
            .min_by_key(|(order, rect)| (4 * self.inked(*rect) + order, *order))
            .map(|(_, rect)| (rect, self.inked(rect)));
        let near = candidates.first().map(|candidate| candidate.point);
        let (rect, leader) = match (best, near) {
            (Some((rect, 0..=1)), _) => (rect, None),
            (beside, Some(point)) => match self.away(point, size) {
                // A little ink under the label is better than a leader across the picture.
                Some((rect, cost)) if beside.is_none_or(|(_, inked)| cost < 25.0 * inked as f64) => {
                    (rect, Some(point))
                }
                _ => (beside?.0, None),
            },
            (beside, None) => (beside?.0, None),
        };
        if let Some(point) = leader {
            let end = rect.grown(2.0).nearest(point);
            svg.line(end, point, Tone::Mute, 0.6, Dash::Solid);
            self.ink(&[end, point]);
        }
        label.draw(svg, rect);
        self.take(rect);
        Some(rect)
    }

    /// The best free place at a distance: near, without ink, and its cost in pixels.
    fn away(&self, point: (f64, f64), size: (f64, f64)) -> Option<(Rect, f64)> {
        let mut best: Option<(Rect, f64)> = None;
        let (across, down) = (
            ((self.frame.width() - size.0) / 8.0).floor(),
            ((self.frame.height() - size.1) / 6.0).floor(),
        );
        if across < 0.0 || down < 0.0 {
            return None;
        }
        for row in 0..=(down.min(400.0) as usize) {
            for column in 0..=(across.min(400.0) as usize) {
                let left = self.frame.left + 8.0 * column as f64;
                let top = self.frame.top + 6.0 * row as f64;
                let rect = Rect {
                    left,
                    top,
                    right: left + size.0,
                    bottom: top + size.1,
                };
                let end = rect.nearest(point);
                let distance = (end.0 - point.0).hypot(end.1 - point.1);
                if !(8.0..=FAR).contains(&distance) || best.is_some_and(|(_, cost)| cost <= distance) {
                    continue;
                }
                if !self.is_free(rect) {
                    continue;
                }
                let cost = distance + 40.0 * self.inked(rect) as f64;
                if best.is_none_or(|(_, least)| cost < least) {
                    best = Some((rect, cost));
                }
            }
        }
        best
    }
}
