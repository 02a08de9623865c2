//! Noise.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// Normal noise from a stream of its own for every trial.
pub struct Noise(ChaCha8Rng);

impl Noise {
    pub fn of(trial: u64) -> Noise {
        let mut generator = ChaCha8Rng::seed_from_u64(20_261_125);
        generator.set_stream(trial);
        Noise(generator)
    }

    fn uniform(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 * (-53f64).exp2()
    }

    /// Box and Muller.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.uniform()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.uniform()).cos()
    }
}
