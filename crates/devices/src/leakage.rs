//! Leakage over temperature, and the runaway it can start.

use crate::build::MissingDatum;
use crate::datasheet::Datasheet;

/// Temperature rise in kelvins that doubles the leakage when nothing better is known (read in two articles on thermal
/// runaway, 2011; guaranteed limits rise slower).
pub const WORST_DOUBLING_K: f64 = 10.0;

/// Leakage in amperes at a temperature in °C, from its value at `known_c`, doubling every `doubling_k` kelvins.
pub fn leakage_a(known_a: f64, known_c: f64, doubling_k: f64, temperature_c: f64) -> f64 {
    known_a * ((temperature_c - known_c) / doubling_k).exp2()
}

/// Doubling temperature in kelvins from two points `(°C, A)`. Negative or infinite unless the leakage rises.
pub fn doubling_k(cold: (f64, f64), hot: (f64, f64)) -> f64 {
    (hot.0 - cold.0) / (hot.1 / cold.1).log2()
}

/// Leakage in amperes at ambient above which a part that doubles it every `doubling_k` kelvins runs away at a
/// standing voltage: `Rth V I = (doubling/ln 2)/e` (V, K/W).
pub fn runaway_leakage_a(voltage_v: f64, thermal_k_per_w: f64, doubling_k: f64) -> f64 {
    doubling_k / (std::f64::consts::LN_2 * std::f64::consts::E * thermal_k_per_w * voltage_v)
}

impl Datasheet {
    /// Highest leakage in amperes at a voltage in volts and a temperature in °C.
    ///
    /// From the points at the lowest stated voltage that is not below the one asked for. A point at or above the
    /// temperature with the same voltage bounds it; beyond the hottest point it goes on with the stated doubling, or
    /// with the one between two points, or with 10 K.
    ///
    /// # Errors
    /// No point at or above the voltage.
    pub fn leakage_at(&self, voltage_v: f64, temperature_c: f64) -> Result<f64, MissingDatum> {
        let level = self
            .leakage
            .iter()
            .map(|p| p.voltage_v)
            .filter(|v| *v >= 0.999 * voltage_v) // within rounding (numerical choice)
            .min_by(f64::total_cmp)
            .ok_or_else(|| {
                self.missing(
                    "leakage at the working voltage or above",
                    "it loads the line and adds to its error",
                    "leakage",
                )
            })?;
        let mut points: Vec<(f64, f64)> = self
            .leakage
            .iter()
            .filter(|p| p.voltage_v == level)
            .map(|p| (p.temperature_c, p.current_a))
            .collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        let after = points.partition_point(|p| p.0 < temperature_c);
        if after == 0 {
            return Ok(points[0].1);
        }
        if after < points.len() {
            let (a, b) = (points[after - 1], points[after]);
            let part = (temperature_c - a.0) / (b.0 - a.0);
            return Ok(a.1 * (b.1 / a.1).powf(part));
        }
        let hottest = points[points.len() - 1];
        let own = (points.len() > 1)
            .then(|| doubling_k(points[points.len() - 2], hottest))
            .filter(|k| *k > 0.0 && k.is_finite());
        let doubling = self
            .leakage_doubling_k
            .filter(|k| *k > 0.0)
            .or(own)
            .unwrap_or(WORST_DOUBLING_K);
        Ok(leakage_a(hottest.1, hottest.0, doubling, temperature_c))
    }
}
