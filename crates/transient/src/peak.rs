//! Extremes of a quantity.

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
