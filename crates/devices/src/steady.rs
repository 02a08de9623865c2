//! Voltage of a protector at a steady current: points of its V-I characteristic at a fixed junction temperature.

use crate::law::{Bias, Law, MAX_INNER, Mode, State};
use crate::protector::Protector;
use crate::pulse_power::bisect;

/// Highest voltage in volts that is searched (numerical choice).
const TOP_V: f64 = 1e6;

impl Protector {
    /// Voltage in volts, as a size, across the protector at a steady current in amperes (either sign, not zero) and a
    /// junction temperature in °C, its series resistance included.
    ///
    /// A part with discrete states is taken in the state it would rest in at that current: a triggered flat clamp on its
    /// on-branch, a crowbar on its on-branch from the holding current up and on its avalanche branch below, a gas tube in
    /// arc or glow. `None` where it rests in no state (a gas tube below its extinction current), or for a current that
    /// no voltage drives.
    pub fn steady_v(&self, amps: f64, junction_c: f64) -> Option<f64> {
        let sign = amps.signum();
        let size = amps.abs();
        if size == 0.0 || !size.is_finite() {
            return None;
        }
        let (state, inner) = self.resting(size, sign, junction_c)?;
        let at = |volts: f64| {
            let bias = Bias {
                volts: sign * volts,
                junction_c,
                inner,
            };
            sign * self.law.conduction(state, &bias).amps
        };
        let (mut low, mut high) = (0.0, 1.0);
        while at(high) < size {
            (low, high) = (high, 2.0 * high);
            if high > TOP_V {
                return None;
            }
        }
        // Conduction rises with voltage in every state.
        let volts = bisect(low, high, |volts| at(volts) - size);
        Some(volts + size * self.series_ohm)
    }

    /// The state of rest at a current, with its inner states.
    fn resting(&self, amps: f64, sign: f64, junction_c: f64) -> Option<(State, [f64; MAX_INNER])> {
        let on = |mode: Mode, volts: f64| Some((State { mode, sign }, [volts, 1.0]));
        match &self.law {
            Law::FlatClamp(clamp) if sign > 0.0 || clamp.bidirectional => on(Mode::On, clamp.on_at_v()),
            Law::Crowbar(crowbar)
                if (sign > 0.0 || crowbar.bidirectional) && amps >= crowbar.hold_at_a(junction_c) =>
            {
                on(Mode::On, crowbar.on_v)
            }
            Law::GasTube(tube) if amps < tube.extinction_a => None,
            Law::GasTube(tube) if amps < tube.glow_to_arc_a => on(Mode::Glow, tube.glow_v),
            Law::GasTube(tube) => on(Mode::Arc, tube.arc_v),
            law => Some((State::INITIAL, law.inner_initial(0.0))),
        }
    }
}
