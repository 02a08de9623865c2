//! One source of several corners.

use tidewall_lanes::{Job, Lane};

use crate::waveform::{Shape, Waveform};

/// The waveform of one source with the amplitude and start of each of several corners, one per lane.
#[derive(Clone, Debug)]
pub struct Waves<T> {
    /// The shape that all have, or that of each.
    shapes: Vec<Shape>,
    amplitude: T,
    delay_s: T,
}

impl From<&Waveform> for Waves<f64> {
    fn from(wave: &Waveform) -> Waves<f64> {
        Waves {
            shapes: vec![wave.shape.clone()],
            amplitude: wave.amplitude,
            delay_s: wave.delay_s,
        }
    }
}

impl<T: Lane> Waves<T> {
    /// Puts single waveforms side by side, one per lane.
    pub fn pack(waves: &[&Waves<f64>]) -> Waves<T> {
        let first = &waves[0].shapes[0];
        let shapes = if waves.iter().all(|wave| wave.shapes[0] == *first) {
            vec![first.clone()]
        } else {
            waves.iter().map(|wave| wave.shapes[0].clone()).collect()
        };
        Waves {
            shapes,
            amplitude: T::of(|k| waves[k].amplitude),
            delay_s: T::of(|k| waves[k].delay_s),
        }
    }

    /// Value at each lane's time in seconds, in the unit of the amplitude.
    pub fn value(&self, t_s: T) -> T {
        let t_s = t_s - self.delay_s;
        self.amplitude
            * match self.shapes.as_slice() {
                [shape] => T::work(At::<T, false>(shape, t_s)),
                shapes => T::of(|k| shapes[k].value(t_s.lane(k))),
            }
    }

    /// Time derivative at each lane's time in seconds (from the right at a corner), per second.
    pub fn slope(&self, t_s: T) -> T {
        let t_s = t_s - self.delay_s;
        self.amplitude
            * match self.shapes.as_slice() {
                [shape] => T::work(At::<T, true>(shape, t_s)),
                shapes => T::of(|k| shapes[k].slope(t_s.lane(k))),
            }
    }
}

/// The value of a shape, or its slope, at each lane's time.
struct At<'a, T, const SLOPE: bool>(&'a Shape, T);

impl<T: Lane, const SLOPE: bool> Job for At<'_, T, SLOPE> {
    type Output = T;

    #[inline(always)]
    fn run(self) -> T {
        if SLOPE {
            self.0.slopes(self.1)
        } else {
            self.0.values(self.1)
        }
    }
}
