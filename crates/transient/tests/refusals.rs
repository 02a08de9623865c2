//! A run that cannot be done says why, and which part is to blame.

mod support;

use support::{FIRST, Model, assemble, attempt, shunt, thyristor, varistor};
use tidewall_devices::Law;
use tidewall_ladder::{Pin, Port};
use tidewall_stress::generator::Drive;
use tidewall_stress::generator::surge::{SET_D3, SurgeCoupling, combination_wave};
use tidewall_transient::{Options, TransientError};

#[test]
fn a_part_that_changes_without_end_is_named() {
    // A trigger below zero is due in every state, which no reader lets through but a caller of the engine can ask for.
    let mut endless = thyristor();
    if let Law::Crowbar(law) = &mut endless.law {
        law.trigger_v = -1.0;
    }
    let port = Port {
        conductors: 1,
        // The sound parts before it are not the ones to be named.
        stages: vec![
            shunt("sound", FIRST, varistor(), 2e-9),
            shunt("sound too", FIRST, thyristor(), 2e-9),
            shunt("endless", FIRST, endless, 2e-9),
        ],
        pin: Pin::default(),
        supply: None,
        ambient_c: 25.0,
        track_ohm: 75.0,
        loss_tangent: 0.02,
    };
    let coupling = SurgeCoupling::Series { resistance_ohm: 0.0 };
    let model = Model {
        name: "endless",
        port,
        network: combination_wave(&SET_D3, 500.0, coupling, Drive::LineToEarth),
        end_s: 10e-6,
    };
    let (assembly, equations) = assemble(&model);
    let refused = attempt(&model, &assembly, &equations, &Options::default()).unwrap_err();
    assert!(
        matches!(&refused, TransientError::Chatter { at_s, device } if *at_s == 0.0 && device == "endless"),
        "{refused}"
    );
}
