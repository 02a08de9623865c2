//! A quantity inside the step just taken, and its extremes.

use tidewall_lanes::Lane;

use crate::method::Dense;
use crate::peak::Extremes;

/// A quantity inside a step, in the form of the method's continuous extension.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Cubic<T = f64> {
    pub(crate) from: T,
    pub(crate) to: T,
    pub(crate) c3: T,
    pub(crate) c4: T,
}

/// A place within a step where a quantity may have an extreme.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Inner<T = f64> {
    pub(crate) at: T,
    pub(crate) value: T,
    /// One where there is such a place, zero elsewhere.
    pub(crate) there: T,
}

/// In lanes whose `mask` is one the value `then`, where it is zero `otherwise`.
#[inline(always)]
pub(crate) fn pick<T: Lane>(mask: T, then: T, otherwise: T) -> T {
    T::default().below(mask, then, otherwise)
}

impl<T: Lane> Cubic<T> {
    /// Adds a multiple of one state.
    #[inline(always)]
    pub(crate) fn add(&mut self, dense: &Dense<T>, column: usize, factor: T) {
        self.from += factor * dense.from[column];
        self.to += factor * dense.to[column];
        self.c3 += factor * dense.c3[column];
        self.c4 += factor * dense.c4[column];
    }

    /// The value at a fraction `s` (0 to 1) of the step.
    #[inline(always)]
    pub(crate) fn at(&self, s: T) -> T {
        let r = T::splat(1.0) - s;
        self.from * r + s * (self.to + r * (self.c3 + s * self.c4))
    }

    /// The largest and smallest values that it may take within the step: its ends and what the bumps between them may add
    /// (`s (1 − s)` is a quarter at most).
    #[inline(always)]
    pub(crate) fn bounds(&self) -> (T, T) {
        let bump = T::splat(0.25) * (self.c3.abs() + self.c4.abs());
        (self.from.min(self.to) - bump, self.from.max(self.to) + bump)
    }

    /// Places where the slope is zero, strictly inside 0 to `done`.
    #[inline(always)]
    pub(crate) fn inner(&self, done: T) -> [Inner<T>; 2] {
        // p' = (to − from) + c3 + 2 s (c4 − c3) − 3 c4 s²
        let (a, half, c) = (
            T::splat(-3.0) * self.c4,
            self.c4 - self.c3,
            self.to - self.from + self.c3,
        );
        let square = half * half - a * c;
        // The form that loses no digits whichever sign `half` has. Where there is no root it gives no number.
        let q = -(half + square.sqrt().copysign(half));
        [self.inner_at(q / a, done), self.inner_at(c / q, done)]
    }

    #[inline(always)]
    fn inner_at(&self, s: T, done: T) -> Inner<T> {
        let (zero, one) = (T::default(), T::splat(1.0));
        Inner {
            at: s,
            value: self.at(s),
            there: zero.below(s, s.below(done, one, zero), zero),
        }
    }
}

/// Follows the extremes of one quantity.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tracker<T = f64> {
    pub(crate) max: T,
    pub(crate) max_s: T,
    pub(crate) min: T,
    pub(crate) min_s: T,
}

impl<T: Lane> Default for Tracker<T> {
    fn default() -> Self {
        Tracker {
            max: T::splat(f64::NEG_INFINITY),
            max_s: T::default(),
            min: T::splat(f64::INFINITY),
            min_s: T::default(),
        }
    }
}

impl<T: Lane> Tracker<T> {
    /// True when nothing within a step can be a new extreme in any lane.
    #[inline(always)]
    pub(crate) fn covers_all(&self, (low, high): (T, T)) -> bool {
        !(self.max.any_below(high) || low.any_below(self.min))
    }

    /// Zero in lanes where nothing within a step can be a new extreme, one elsewhere.
    #[inline(always)]
    pub(crate) fn uncovered(&self, (low, high): (T, T)) -> T {
        let one = T::splat(1.0);
        self.max.below(high, one, low.below(self.min, one, T::default()))
    }

    /// Notes a value in lanes whose `mask` is one.
    #[inline(always)]
    pub(crate) fn note(&mut self, mask: T, t_s: T, value: T) {
        let high = pick(mask, value, self.max);
        self.max_s = self.max.below(high, t_s, self.max_s);
        self.max = self.max.below(high, high, self.max);
        let low = pick(mask, value, self.min);
        self.min_s = low.below(self.min, t_s, self.min_s);
        self.min = low.below(self.min, low, self.min);
    }

    /// Notes what a quantity does in the part `0..done` of a step of length `h` from `t`, in lanes whose `mask` is one.
    #[inline(always)]
    pub(crate) fn follow(&mut self, mask: T, cubic: &Cubic<T>, (t, h, done): (T, T, T)) {
        let bounds = cubic.bounds();
        if self.covers_all(bounds) {
            return;
        }
        let mask = mask * self.uncovered(bounds);
        for inner in cubic.inner(done) {
            self.note(mask * inner.there, t + inner.at * h, inner.value);
        }
        self.note(mask, t + done * h, cubic.at(done));
    }

    /// By how much a value lies beyond everything noted so far; negative within.
    #[inline(always)]
    pub(crate) fn beyond(&self, value: T) -> T {
        (value - self.max).max(self.min - value)
    }

    /// Largest size in either direction.
    #[inline(always)]
    pub(crate) fn size(&self) -> T {
        self.max.max(-self.min)
    }

    /// The tracker of one lane.
    pub(crate) fn one(&self, lane: usize) -> Extremes {
        Extremes {
            max: self.max.lane(lane),
            max_s: self.max_s.lane(lane),
            min: self.min.lane(lane),
            min_s: self.min_s.lane(lane),
        }
    }

    /// Notes a value in one lane.
    pub(crate) fn note_one(&mut self, lane: usize, t_s: f64, value: f64) {
        let known = self.one(lane);
        if value > known.max {
            self.max.set(lane, value);
            self.max_s.set(lane, t_s);
        }
        if value < known.min {
            self.min.set(lane, value);
            self.min_s.set(lane, t_s);
        }
    }

    /// Forgets what was noted in one lane.
    pub(crate) fn clear(&mut self, lane: usize) {
        let none = Tracker::<f64>::default();
        self.max.set(lane, none.max);
        self.max_s.set(lane, none.max_s);
        self.min.set(lane, none.min);
        self.min_s.set(lane, none.min_s);
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
            tracker.note_one(0, 0.0, from);
            tracker.follow(1.0, &cubic, (0.0, 1.0, 1.0));
            assert!((tracker.max - most).abs() < 1e-8 && (tracker.min - least).abs() < 1e-8);
            let (low, high) = cubic.bounds();
            assert!(low <= least && high >= most);
        }
    }
}
