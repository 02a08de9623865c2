//! Positions of the draws.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use schemars::JsonSchema;
use serde::Serialize;

/// How positions lie between the limits of a tolerance. Neither says more than the limits do: no data sheet states how
/// its specimens are distributed (common practice, no source).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Distribution {
    /// Every position between the limits equally likely.
    Uniform,
    /// Normal about the middle with the limits at three standard deviations, cut off there.
    Normal,
}

impl Distribution {
    /// The distribution in words.
    pub fn words(self) -> &'static str {
        match self {
            Distribution::Uniform => "uniform between the limits",
            Distribution::Normal => {
                "normal about the middle, cut off at the limits, which lie at three standard deviations"
            }
        }
    }
}

/// Standard deviations from the middle to a limit.
const LIMIT_SIGMA: f64 = 3.0;

/// Positions of a draw on so many axes, each from 0 to 1: from the stream of that number of ChaCha with 8 rounds.
pub fn positions(seed: u64, draw: u64, axes: usize, distribution: Distribution) -> Vec<f64> {
    let mut generator = ChaCha8Rng::seed_from_u64(seed);
    generator.set_stream(draw);
    (0..axes)
        .map(|_| match distribution {
            Distribution::Uniform => uniform(&mut generator),
            Distribution::Normal => truncated_normal(&mut generator),
        })
        .collect()
}

/// From 0 up to but not including 1, in steps of 2⁻⁵³.
fn uniform(generator: &mut ChaCha8Rng) -> f64 {
    (generator.next_u64() >> 11) as f64 * (-53f64).exp2()
}

/// Box and Muller (1958); what lies beyond the limits is drawn again.
fn truncated_normal(generator: &mut ChaCha8Rng) -> f64 {
    loop {
        let radius = (-2.0 * (1.0 - uniform(generator)).ln()).sqrt();
        let deviations = radius * (std::f64::consts::TAU * uniform(generator)).cos();
        if deviations.abs() <= LIMIT_SIGMA {
            return 0.5 * (1.0 + deviations / LIMIT_SIGMA);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_draw_depends_on_seed_and_number_alone() {
        for distribution in [Distribution::Uniform, Distribution::Normal] {
            let five = positions(7, 3, 5, distribution);
            assert_eq!(five, positions(7, 3, 5, distribution));
            assert_eq!(five[..2], positions(7, 3, 2, distribution));
            assert_ne!(five, positions(7, 4, 5, distribution));
            assert_ne!(five, positions(8, 3, 5, distribution));
        }
    }

    #[test]
    fn the_distributions_have_their_mean_and_deviation() {
        let n = 20_000;
        for (distribution, deviation) in [
            (Distribution::Uniform, (1.0f64 / 12.0).sqrt()),
            // A normal one cut off at three deviations keeps 0.98658 of its deviation: √(1 − 6 φ(3) / (2 Φ(3) − 1)).
            (Distribution::Normal, 0.986_58 / 6.0),
        ] {
            let all: Vec<f64> = (0..n)
                .map(|draw| positions(1, draw, 1, distribution)[0])
                .collect();
            assert!(all.iter().all(|x| (0.0..=1.0).contains(x)));
            let mean = all.iter().sum::<f64>() / n as f64;
            let square = all.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / n as f64;
            // Four standard errors.
            assert!((mean - 0.5).abs() < 4.0 * deviation / (n as f64).sqrt(), "{mean}");
            assert!(
                (square.sqrt() / deviation - 1.0).abs() < 4.0 / (2.0 * n as f64).sqrt(),
                "{square}"
            );
        }
    }
}
