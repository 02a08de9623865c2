//! Points of the V-I characteristic at a fixed junction temperature.

mod common;

use common::parts::{flat_clamp, gas_tube, snapback, varistor};
use common::{FAMILY, datasheet, within_percent};
use tidewall_devices::datasheet::PartCorner;
use tidewall_devices::law::Law;

#[test]
fn an_avalanche_part_follows_its_isothermal_line() {
    let built = datasheet(&FAMILY[5]).protector(PartCorner::High, 25.0).unwrap();
    let Law::Avalanche(law) = built.protector.law else {
        panic!("an avalanche law")
    };
    for junction_c in [-40.0, 25.0, 125.0] {
        for amps in [1.0, 30.0, 150.0] {
            let line = law.vbr25_v * (1.0 + law.alpha_per_k * (junction_c - 25.0)) + law.r_ohm * amps;
            let volts = built.protector.steady_v(amps, junction_c).unwrap();
            // The corner is rounded over some hundredths of a volt.
            within_percent(volts, line, 0.3);
            // Symmetrical.
            assert_eq!(built.protector.steady_v(-amps, junction_c), Some(volts));
        }
    }
}

#[test]
fn a_flat_clamp_is_on_and_a_snapback_part_below_its_trigger() {
    let sheet = flat_clamp();
    let built = sheet.protector(PartCorner::High, 25.0).unwrap();
    let Law::FlatClamp(law) = built.protector.law else {
        panic!("a flat clamp")
    };
    let volts = built.protector.steady_v(10.0, 25.0).unwrap();
    assert!(volts >= law.on_at_v() && volts < law.on_at_v() + 2.0, "{volts}");

    let built = snapback().protector(PartCorner::High, 25.0).unwrap();
    let Law::Crowbar(law) = built.protector.law else {
        panic!("a crowbar")
    };
    let held = built.protector.steady_v(2.0 * law.hold_a, 25.0).unwrap();
    assert!(held < law.trigger_v, "{held} against {}", law.trigger_v);
    let off = built
        .protector
        .steady_v(0.5 * law.hold_a.min(law.trigger_a), 25.0)
        .unwrap();
    assert!(off > held, "{off} against {held}");
}

#[test]
fn a_gas_tube_burns_or_rests_nowhere() {
    let built = gas_tube().protector(PartCorner::High, 25.0).unwrap();
    let Law::GasTube(law) = built.protector.law else {
        panic!("a gas tube")
    };
    assert_eq!(built.protector.steady_v(0.5 * law.extinction_a, 25.0), None);
    let arc = built.protector.steady_v(10.0 * law.glow_to_arc_a, 25.0).unwrap();
    let glow = built.protector.steady_v(0.9 * law.glow_to_arc_a, 25.0).unwrap();
    assert!(arc < glow, "{arc} against {glow}");
    assert_eq!(built.protector.steady_v(0.0, 25.0), None);
}

#[test]
fn a_varistor_passes_its_one_milliampere_point() {
    let sheet = varistor();
    let built = sheet.protector(PartCorner::High, 25.0).unwrap();
    let volts = built.protector.steady_v(1e-3, 25.0).unwrap();
    within_percent(volts, sheet.breakdown_v.max.unwrap(), 0.5);
}
