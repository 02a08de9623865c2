//! Figures of the standard waves, worked out once.

use std::cell::RefCell;

use crate::datasheet::RatingWave;
use crate::pulse_power::UnitWave;

/// A standard wave with the figures that ratings are compared by. They take tens of microseconds to work out, which is as
/// long as a whole transient takes, and every rating of every corner asks for them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KnownWave {
    /// The wave.
    pub wave: UnitWave,
    /// √t heating `θ_pk` in √s.
    pub theta_peak_sqrt_s: f64,
    /// `∫|i|/Ip dt` in seconds.
    pub charge_s: f64,
}

/// Waves that are kept in mind; there are a handful in a library (numerical choice).
const KEPT: usize = 64;

impl KnownWave {
    /// The wave of a rating; `None` where no smooth wave has its front and tail.
    pub fn of(wave: RatingWave) -> Option<KnownWave> {
        thread_local! {
            static KNOWN: RefCell<Vec<(RatingWave, Option<KnownWave>)>> = const { RefCell::new(Vec::new()) };
        }
        KNOWN.with_borrow_mut(|known| {
            if let Some((_, found)) = known.iter().find(|(of, _)| *of == wave) {
                return *found;
            }
            let made = UnitWave::of(wave).map(|wave| KnownWave {
                wave,
                theta_peak_sqrt_s: wave.theta_peak(),
                charge_s: wave.charge_s(),
            });
            if known.len() == KEPT {
                known.clear();
            }
            known.push((wave, made));
            made
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_is_what_the_wave_says() {
        for round in 0..2 {
            for k in 1..100u32 {
                let front_s = 1e-6 * f64::from(k);
                let wave = RatingWave::FrontTail {
                    front_s,
                    tail_s: 30.0 * front_s,
                };
                let known = KnownWave::of(wave).expect("a wave");
                let plain = UnitWave::of(wave).expect("a wave");
                assert_eq!(known.wave, plain, "round {round}");
                assert_eq!(known.theta_peak_sqrt_s, plain.theta_peak());
                assert_eq!(known.charge_s, plain.charge_s());
            }
        }
        assert_eq!(KnownWave::of(RatingWave::Rectangle { width_s: -1.0 }), None);
    }
}
