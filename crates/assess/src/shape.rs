//! The shape of a simulated current, for ratings.

use tidewall_devices::rating::PulseShape;

/// Shape of a sampled current, thinned to at most `MOST` samples of equal charge content so that the quadratic
/// cost of the √t heating integral stays small. `None` when no current flows.
///
/// `one_sided` leaves out the negative lobes, for parts that are rated in their breakdown direction only. `peak_a` is the
/// largest current on the sides that count: the shape is per ampere of it, because the crest of a ringing stands between
/// two samples and would be lost in thinning.
pub fn shape_of(times_s: &[f64], amps: &[f64], one_sided: bool, peak_a: f64) -> Option<PulseShape> {
    let sampled = thinned(times_s, amps, one_sided)?;
    let share = sampled.peak_a / peak_a;
    (share.is_finite() && share > 0.0).then_some(PulseShape {
        theta_peak_sqrt_s: share * sampled.shape.theta_peak_sqrt_s,
        charge_s: share * sampled.shape.charge_s,
        square_s: share * share * sampled.shape.square_s,
    })
}

/// A shape per ampere of the largest of the samples it was made of.
struct Sampled {
    shape: PulseShape,
    peak_a: f64,
}

impl Sampled {
    fn of(times_s: &[f64], amps: &[f64]) -> Option<Sampled> {
        Some(Sampled {
            shape: PulseShape::of_samples(times_s, amps)?,
            peak_a: amps.iter().copied().fold(0.0, f64::max),
        })
    }
}

fn thinned(times_s: &[f64], amps: &[f64], one_sided: bool) -> Option<Sampled> {
    const MOST: usize = 400;
    let n = times_s.len();
    let amps: Vec<f64> = amps
        .iter()
        .map(|amps| if one_sided { amps.max(0.0) } else { amps.abs() })
        .collect();
    let amps = &amps[..];
    if n <= MOST {
        return Sampled::of(times_s, amps);
    }
    let total: f64 = (1..n).map(|k| slice_charge(times_s, amps, k)).sum();
    if total <= 0.0 {
        return None;
    }
    // A new sample wherever the charge since the last one reaches its share; the current there is the mean, so
    // that the charge is kept.
    let share = total / MOST as f64;
    let (mut t, mut i) = (vec![times_s[0]], vec![amps[0]]);
    let (mut charge, mut start) = (0.0, times_s[0]);
    for k in 1..n {
        charge += slice_charge(times_s, amps, k);
        let width = times_s[k] - start;
        if (charge >= share || k == n - 1) && width > 0.0 {
            t.push(start + 0.5 * width);
            i.push(charge / width);
            charge = 0.0;
            start = times_s[k];
        }
    }
    t.push(times_s[n - 1]);
    i.push(amps[n - 1]);
    Sampled::of(&t, &i)
}

fn slice_charge(times_s: &[f64], amps: &[f64], k: usize) -> f64 {
    0.5 * (times_s[k] - times_s[k - 1]) * (amps[k] + amps[k - 1])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thinning_keeps_the_heating_width() {
        // A pure exponential has θ_pk = 0.5410 √τ (maximum of the Dawson integral).
        let tau = 20e-6;
        let times: Vec<f64> = (0..4000).map(|k| f64::from(k) * 0.05e-6).collect();
        let amps: Vec<f64> = times.iter().map(|t| 100.0 * (-t / tau).exp()).collect();
        let shape = shape_of(&times, &amps, false, 100.0).unwrap();
        let wanted = 0.541_044 * f64::sqrt(tau);
        assert!(
            (shape.theta_peak_sqrt_s / wanted - 1.0).abs() < 0.01,
            "{shape:?} against {wanted}"
        );
        assert!(shape_of(&times, &vec![0.0; 4000], false, 0.0).is_none());
    }
}
