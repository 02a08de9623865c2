//! Draws of the kinds that ladders need, the same for the same number on every machine.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// A stream of random numbers.
#[derive(Clone, Debug)]
pub struct Dice(ChaCha8Rng);

impl Dice {
    /// The stream of a case.
    pub fn new(number: u64) -> Dice {
        Dice(ChaCha8Rng::seed_from_u64(number))
    }

    /// Even in the logarithm.
    pub fn log(&mut self, low: f64, high: f64) -> f64 {
        self.lin(low.ln(), high.ln()).exp()
    }

    /// Even.
    pub fn lin(&mut self, low: f64, high: f64) -> f64 {
        self.0.random_range(low..high)
    }

    /// True in this share of draws.
    pub fn chance(&mut self, share: f64) -> bool {
        self.0.random_bool(share)
    }

    /// A whole number below `count`, which is above zero.
    pub fn below(&mut self, count: usize) -> usize {
        self.0.random_range(0..count)
    }

    /// One of `from`, which is not empty.
    pub fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[self.below(from.len())]
    }

    /// Even in the logarithm, or now and then an end of the range itself: corners are where things break.
    pub fn wide(&mut self, low: f64, high: f64) -> f64 {
        match self.below(20) {
            0 => low,
            1 => high,
            _ => self.log(low, high),
        }
    }
}
