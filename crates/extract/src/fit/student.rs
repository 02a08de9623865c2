//! Student's distribution.

/// Two-sided quantile: the `t` that a variable of `freedom` degrees of freedom exceeds in size with the probability
/// `1 − confidence`. An infinite `freedom` gives the normal distribution. NaN unless `freedom` is positive and the
/// confidence lies between 0 and 1.
pub fn student_t(confidence: f64, freedom: f64) -> f64 {
    if !(freedom > 0.0 && confidence > 0.0 && confidence < 1.0) {
        return f64::NAN;
    }
    let outside = 1.0 - confidence;
    let tail = |t: f64| {
        if freedom.is_finite() && freedom < 1e7 {
            // P(|T| > t) = I(ν/(ν + t²); ν/2, 1/2).
            regularised_beta(freedom / (freedom + t * t), 0.5 * freedom, 0.5)
        } else {
            upper_normal_both(t)
        }
    };
    let (mut low, mut high) = (0.0, 1.0);
    while tail(high) > outside {
        low = high;
        high *= 2.0;
        if high > 1e12 {
            return f64::INFINITY;
        }
    }
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if tail(middle) > outside {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Regularised incomplete beta function `I(x; a, b)` by its continued fraction (Abramowitz and Stegun 26.5.8, evaluated
/// after Lentz; from memory).
pub(super) fn regularised_beta(x: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    // The fraction converges quickly below the mean.
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - regularised_beta(1.0 - x, b, a);
    }
    let front = (a * x.ln() + b * (-x).ln_1p() + ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b)).exp() / a;
    let guard = |y: f64| if y.abs() < 1e-300 { 1e-300 } else { y };
    let mut c = 1.0;
    let mut d = 1.0 / guard(1.0 - (a + b) * x / (a + 1.0));
    let mut fraction = d;
    for m in 1..2000 {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let mut change = 1.0;
        for term in [even, odd] {
            d = 1.0 / guard(1.0 + term * d);
            c = guard(1.0 + term / c);
            change = c * d;
            fraction *= change;
        }
        if (change - 1.0).abs() < 1e-16 {
            break;
        }
    }
    front * fraction
}

/// Logarithm of the gamma function for positive arguments: Stirling's series after shifting the argument above 10.
fn ln_gamma(x: f64) -> f64 {
    let (mut z, mut shift) = (x, 0.0);
    while z < 10.0 {
        shift += z.ln();
        z += 1.0;
    }
    let s = 1.0 / (z * z);
    let series = (1.0 / 12.0 - s * (1.0 / 360.0 - s * (1.0 / 1260.0 - s * (1.0 / 1680.0 - s / 1188.0)))) / z;
    (z - 0.5) * z.ln() - z + 0.5 * std::f64::consts::TAU.ln() + series - shift
}

/// Probability that a standard normal variable exceeds `t ≥ 0` in size, by series below 3 and continued fraction above.
fn upper_normal_both(t: f64) -> f64 {
    let density = (-0.5 * t * t).exp() / std::f64::consts::TAU.sqrt();
    if t < 3.0 {
        let (mut term, mut sum, mut n) = (t, t, 1.0);
        while term > 1e-17 * sum {
            n += 2.0;
            term *= t * t / n;
            sum += term;
        }
        1.0 - 2.0 * density * sum
    } else {
        let fraction = (1..=200).rev().fold(0.0, |below, k| f64::from(k) / (t + below));
        2.0 * density / (t + fraction)
    }
}

#[cfg(test)]
mod tests {
    use super::student_t;

    #[test]
    fn quantiles_of_the_published_tables() {
        // Percentage points of the t distribution as printed in any table of statistics, four or more digits.
        for (confidence, freedom, t) in [
            (0.95, 1.0, 12.706_205),
            (0.95, 2.0, 4.302_653),
            (0.95, 5.0, 2.570_582),
            (0.95, 10.0, 2.228_139),
            (0.95, 30.0, 2.042_272),
            (0.99, 10.0, 3.169_273),
            (0.95, 1000.0, 1.962_339),
            (0.95, f64::INFINITY, 1.959_964),
            (0.999, f64::INFINITY, 3.290_527),
        ] {
            let found = student_t(confidence, freedom);
            assert!(
                (found / t - 1.0).abs() < 3e-7,
                "{confidence} {freedom}: {found} for {t}"
            );
        }
        assert!(student_t(0.95, 0.0).is_nan() && student_t(1.5, 3.0).is_nan());
    }
}
