//! Equations of random cases, and states far from any solution.

use tidewall_devices::Law;
use tidewall_devices::law::{Mode, State};
use tidewall_ladder::{Equations, StateKind};

use super::support::{Case, Dice};

pub fn equations(case: &Case) -> Equations {
    let assembly = case
        .port
        .assemble(&case.network)
        .unwrap_or_else(|error| panic!("case {}: {error}", case.number));
    Equations::new(assembly.circuit).unwrap_or_else(|error| panic!("case {}: {error}", case.number))
}

/// A state far from any solution, in a random discrete state of every device.
pub fn anywhere(equations: &Equations, dice: &mut Dice) -> (Vec<f64>, Vec<State>) {
    let mut y: Vec<f64> = equations
        .kinds()
        .iter()
        .map(|kind| match kind {
            StateKind::Voltage => dice.lin(-80.0, 80.0),
            StateKind::Current => dice.lin(-1.0, 1.0) * dice.log(1e-3, 100.0),
            StateKind::Temperature => dice.lin(-40.0, 250.0),
            StateKind::Inner => dice.lin(0.0, 1.2),
        })
        .collect();
    // An on-branch voltage is of the size of a voltage; it is the first inner state, right after the device's own.
    let mut last = None;
    for (kind, value) in equations.kinds().iter().zip(&mut y) {
        if *kind == StateKind::Inner && last == Some(StateKind::Voltage) && dice.chance(0.7) {
            *value = dice.lin(0.0, 60.0);
        }
        last = Some(*kind);
    }
    let states = equations
        .circuit()
        .devices
        .iter()
        .map(|device| {
            let modes: &[Mode] = match device.law {
                Law::FlatClamp(_) => &[Mode::Off, Mode::Delay, Mode::On, Mode::TimedOut],
                Law::Crowbar(_) => &[Mode::Off, Mode::On],
                Law::GasTube(_) => &[Mode::Off, Mode::Glow, Mode::Arc],
                Law::Limiter(_) => &[Mode::Off, Mode::Blocked],
                _ => &[Mode::Off],
            };
            State {
                mode: dice.pick(modes),
                sign: dice.pick(&[1.0, -1.0]),
            }
        })
        .collect();
    (y, states)
}
