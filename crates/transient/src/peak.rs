//! Extremes of a quantity; of a sampled one, refined between samples (for what other integrators give).

/// Largest and smallest value with their times.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Extremes {
    /// Largest value.
    pub max: f64,
    /// When it was reached, in seconds.
    pub max_s: f64,
    /// Smallest value.
    pub min: f64,
    /// When it was reached, in seconds.
    pub min_s: f64,
}

impl Extremes {
    /// Largest size in either direction.
    pub fn size(&self) -> f64 {
        self.max.max(-self.min)
    }
}

/// Follows one quantity; a parabola through three samples finds an extreme that lies between them.
#[derive(Clone, Copy, Debug)]
pub struct PeakTracker {
    extremes: Extremes,
    last: [(f64, f64); 2],
    count: u8,
}

impl Default for PeakTracker {
    fn default() -> Self {
        PeakTracker {
            extremes: Extremes {
                max: f64::NEG_INFINITY,
                max_s: 0.0,
                min: f64::INFINITY,
                min_s: 0.0,
            },
            last: [(0.0, 0.0); 2],
            count: 0,
        }
    }
}

impl PeakTracker {
    /// Takes a sample; times must not fall.
    pub fn take(&mut self, t_s: f64, value: f64) {
        self.note(t_s, value);
        if self.count == 2 {
            let [(t0, y0), (t1, y1)] = self.last;
            let (left, right) = (t1 - t0, t_s - t1);
            let peak = (y1 > y0 && y1 >= value) || (y1 < y0 && y1 <= value);
            if peak && left > 0.0 && right > 0.0 {
                let (a, b) = ((y1 - y0) / left, (value - y1) / right);
                let curvature = (b - a) / (left + right);
                let slope = (a * right + b * left) / (left + right);
                let shift = -slope / (2.0 * curvature);
                let excess = 0.5 * slope * shift;
                // Beside a corner, or with very unequal steps, the parabola shoots far beyond what the samples show.
                let room = 1.5 * (y1 - y0).abs().max((y1 - value).abs());
                if curvature != 0.0 && shift > -left && shift < right && excess.abs() <= room {
                    self.note(t1 + shift, y1 + excess);
                }
            }
        }
        self.last = [self.last[1], (t_s, value)];
        self.count = (self.count + 1).min(2);
    }

    /// Forgets the last samples (a jump or corner follows) but not the extremes.
    pub fn break_here(&mut self) {
        self.count = 0;
    }

    /// The extremes so far.
    pub fn extremes(&self) -> Extremes {
        self.extremes
    }

    fn note(&mut self, t_s: f64, value: f64) {
        if value > self.extremes.max {
            self.extremes.max = value;
            self.extremes.max_s = t_s;
        }
        if value < self.extremes.min {
            self.extremes.min = value;
            self.extremes.min_s = t_s;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_parabola_between_samples_is_found_exactly() {
        let mut tracker = PeakTracker::default();
        let curve = |t: f64| 5.0 - 2.0 * (t - 0.37f64).powi(2);
        for t in [0.0, 0.2, 0.5, 0.6, 1.0] {
            tracker.take(t, curve(t));
        }
        let extremes = tracker.extremes();
        assert!((extremes.max - 5.0).abs() < 1e-12 && (extremes.max_s - 0.37).abs() < 1e-12);
        assert_eq!(extremes.min, curve(1.0));
    }

    #[test]
    fn a_corner_between_unequal_steps_is_not_overshot() {
        let mut tracker = PeakTracker::default();
        for (t, y) in [(0.0, 0.0), (4.0, -1.0), (4.0 + 1e-6, -0.99), (5.0, 0.0)] {
            tracker.take(t, y);
        }
        assert_eq!(tracker.extremes().min, -1.0);
    }

    #[test]
    fn a_jump_is_not_refined() {
        let mut tracker = PeakTracker::default();
        tracker.take(0.0, 1.0);
        tracker.take(1.0, 2.0);
        tracker.break_here();
        tracker.take(1.0, -3.0);
        tracker.take(2.0, -2.0);
        assert_eq!(tracker.extremes().max, 2.0);
        assert_eq!(tracker.extremes().min, -3.0);
    }
}
