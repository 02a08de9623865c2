//! A quantity inside the step just taken, and its extremes.

use crate::peak::Extremes;

/// A quantity inside a step, in the form of the method's continuous extension.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Cubic {
    pub(crate) from: f64,
    pub(crate) to: f64,
    pub(crate) c3: f64,
    pub(crate) c4: f64,
}

/// An extreme inside a step.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Inner {
    pub(crate) at: f64,
    pub(crate) value: f64,
}

impl Cubic {
    /// The value at a fraction `s` (0 to 1) of the step.
    pub(crate) fn at(&self, s: f64) -> f64 {
        let r = 1.0 - s;
        self.from * r + s * (self.to + r * (self.c3 + s * self.c4))
    }

    /// The largest and smallest values that it may take within the step: its ends and what the bumps between them may add
    /// (`s (1 − s)` is a quarter at most).
    pub(crate) fn bounds(&self) -> (f64, f64) {
        let bump = 0.25 * (self.c3.abs() + self.c4.abs());
        (self.from.min(self.to) - bump, self.from.max(self.to) + bump)
    }

    /// Places where the slope is zero, strictly inside 0 to `done`.
    pub(crate) fn inner(&self, done: f64) -> [Option<Inner>; 2] {
        // p' = (to − from) + c3 + 2 s (c4 − c3) − 3 c4 s²
        let (a, half, c) = (-3.0 * self.c4, self.c4 - self.c3, self.to - self.from + self.c3);
        let square = half * half - a * c;
        if square < 0.0 {
            return [None; 2];
        }
        // The form that loses no digits whichever sign `half` has.
        let q = -(half + square.sqrt().copysign(half));
        [q / a, c / q].map(|s| {
            (s > 0.0 && s < done).then(|| Inner {
                at: s,
                value: self.at(s),
            })
        })
    }
}

/// Follows the extremes of one quantity.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tracker(pub(crate) Extremes);

impl Default for Tracker {
    fn default() -> Self {
        Tracker(Extremes {
            max: f64::NEG_INFINITY,
            max_s: 0.0,
            min: f64::INFINITY,
            min_s: 0.0,
        })
    }
}

impl Tracker {
    /// True when nothing within a step can be a new extreme.
    pub(crate) fn covers(&self, (low, high): (f64, f64)) -> bool {
        high <= self.0.max && low >= self.0.min
    }

    /// Notes a value.
    pub(crate) fn note(&mut self, t_s: f64, value: f64) {
        if value > self.0.max {
            self.0.max = value;
            self.0.max_s = t_s;
        }
        if value < self.0.min {
            self.0.min = value;
            self.0.min_s = t_s;
        }
    }

    /// By how much a value lies beyond everything noted so far; negative within.
    pub(crate) fn beyond(&self, value: f64) -> f64 {
        (value - self.0.max).max(self.0.min - value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn extremes_inside_a_step_are_those_of_the_cubic() {
        let cubics = [
            [1.0, 0.5, 3.0, -7.0],
            [0.0, 1.0, 2.0, 0.0],
            [-1.0, 1.0, 0.0, 8.0],
            [2.0, 2.0, -1.0, 1e-9],
        ];
        for [from, to, c3, c4] in cubics {
            let cubic = Cubic { from, to, c3, c4 };
            let samples = (0..=100_000).map(|k| cubic.at(f64::from(k) * 1e-5));
            let (least, most) = samples.fold((f64::MAX, f64::MIN), |(a, b), v| (a.min(v), b.max(v)));
            let mut tracker = Tracker::default();
            tracker.note(0.0, from);
            tracker.note(1.0, to);
            for inner in cubic.inner(1.0).into_iter().flatten() {
                tracker.note(inner.at, inner.value);
            }
            assert!((tracker.0.max - most).abs() < 1e-8 && (tracker.0.min - least).abs() < 1e-8);
            let (low, high) = cubic.bounds();
            assert!(low <= least && high >= most);
        }
    }
}
