//! Random parts about a working voltage.

use tidewall_devices::law::{
    Avalanche, Crowbar, CurrentLimiter, Diode, FlatClamp, GasTube, Table, Trigger, Varistor,
};
use tidewall_devices::{Law, Protector, ThermalLadder};

use super::Dice;

/// A shunt protector of any family for a line that works at `volts`.
pub fn shunt(dice: &mut Dice, volts: f64, ambient_c: f64) -> Protector {
    match dice.below(9) {
        0 | 1 => avalanche(dice, volts, ambient_c),
        2 | 3 => flat_clamp(dice, volts, ambient_c),
        4 => snapback(dice, volts),
        5 => thyristor(dice, volts),
        6 => varistor(dice, volts),
        7 => gas_tube(dice),
        _ => match dice.below(2) {
            0 => part(Law::Diode(diode(dice)), 0.0, ThermalLadder::default()),
            _ => table(dice, volts),
        },
    }
}

fn part(law: Law, series_ohm: f64, thermal: ThermalLadder) -> Protector {
    Protector {
        law,
        series_ohm,
        package_h: 0.0,
        thermal,
    }
}

/// None, or one to four nodes that grow outwards.
fn thermal(dice: &mut Dice) -> ThermalLadder {
    let mut thermal = ThermalLadder::default();
    if dice.chance(0.3) {
        return thermal;
    }
    let (mut capacity, mut resistance) = (dice.log(1e-6, 3e-3), dice.log(0.005, 3.0));
    for _ in 0..1 + dice.below(4) {
        thermal.capacity_j_per_k.push(capacity);
        thermal.resistance_k_per_w.push(resistance);
        capacity *= dice.log(2.0, 20.0);
        resistance *= dice.log(2.0, 10.0);
    }
    thermal
}

pub fn avalanche(dice: &mut Dice, volts: f64, _ambient_c: f64) -> Protector {
    let vbr25_v = volts * dice.lin(1.1, 2.0);
    let law = Avalanche {
        vbr25_v,
        alpha_per_k: dice.lin(1e-4, 1.1e-3),
        r_ohm: dice.log(1e-3, 0.1) * vbr25_v.max(5.0) / 5.0,
        knee_v: dice.log(0.005, 0.1),
        bidirectional: dice.chance(0.5),
        forward_v: dice.lin(0.6, 1.0),
        forward_ohm: dice.log(2e-3, 0.5),
        c0_f: dice.log(0.3e-12, 10e-9),
        built_in_v: dice.lin(0.6, 0.8),
        grading: dice.lin(0.33, 0.5),
    };
    let series_ohm = if dice.chance(0.3) {
        dice.log(1e-3, 0.1)
    } else {
        0.0
    };
    part(Law::Avalanche(law), series_ohm, thermal(dice))
}

fn flat_clamp(dice: &mut Dice, volts: f64, ambient_c: f64) -> Protector {
    let trigger_v = volts * dice.lin(1.15, 1.6);
    let trigger = if dice.chance(0.6) {
        Trigger::Voltage
    } else {
        Trigger::Slope {
            rc_s: dice.log(50e-9, 5e-6),
            hold_s: dice.log(1e-6, 200e-6),
        }
    };
    let (on_v, off_v) = (trigger_v * dice.lin(0.93, 1.0), trigger_v * dice.lin(0.8, 0.92));
    let law = FlatClamp {
        trigger_v,
        on_v,
        alpha_per_k: dice.lin(0.0, 5e-4),
        reference_c: ambient_c,
        r_ohm: dice.log(0.01, 0.5),
        delay_s: dice.log(0.5e-9, 50e-9),
        settle_s: dice.log(0.3e-9, 20e-9),
        off_v,
        saturation_a: dice.log(5.0, 300.0),
        breakdown_v: trigger_v * dice.lin(1.2, 1.6),
        breakdown_ohm: dice.log(0.02, 1.0),
        trigger,
        bidirectional: dice.chance(0.4),
        forward_v: dice.lin(0.6, 1.0),
        forward_ohm: dice.log(5e-3, 0.5),
        // With a wider corner a small current would already pull the clamp below its turn-off level.
        knee_v: (on_v - off_v) * dice.log(0.005, 0.03),
        c0_f: dice.log(5e-12, 2e-9),
        built_in_v: dice.lin(0.6, 0.8),
        grading: dice.lin(0.33, 0.5),
    };
    part(Law::FlatClamp(law), 0.0, thermal(dice))
}

fn snapback(dice: &mut Dice, volts: f64) -> Protector {
    let trigger_v = volts * dice.lin(1.3, 3.0);
    // A device whose breakover current lay below its holding current would oscillate in between.
    let hold_a = dice.log(1e-3, 0.1);
    let law = Crowbar {
        trigger_v,
        trigger_a: hold_a * dice.lin(1.0, 4.0),
        alpha_per_k: dice.lin(0.0, 1e-3),
        off_ohm: dice.log(0.2, 10.0),
        on_v: trigger_v * dice.lin(0.2, 0.8),
        on_ohm: dice.log(0.15, 2.0),
        hold_a,
        hold_per_k: 0.0,
        transition_s: dice.log(0.2e-9, 2e-9),
        bidirectional: dice.chance(0.4),
        forward_v: dice.lin(0.6, 1.0),
        forward_ohm: dice.log(0.05, 1.0),
        knee_v: dice.log(0.005, 0.05),
        c_f: dice.log(0.1e-12, 10e-12),
    };
    part(Law::Crowbar(law), 0.0, thermal(dice))
}

fn thyristor(dice: &mut Dice, volts: f64) -> Protector {
    let hold_a = dice.log(0.03, 0.5);
    let law = Crowbar {
        trigger_v: volts * dice.lin(1.3, 3.0),
        trigger_a: hold_a * dice.lin(1.0, 3.0),
        alpha_per_k: dice.lin(0.0, 1e-3),
        off_ohm: dice.log(0.5, 20.0),
        on_v: dice.lin(1.0, 3.0).min(volts),
        on_ohm: dice.log(0.01, 0.2),
        hold_a,
        hold_per_k: dice.lin(-8e-3, -2e-3),
        transition_s: dice.log(30e-9, 2e-6),
        bidirectional: dice.chance(0.7),
        forward_v: dice.lin(0.6, 1.0),
        forward_ohm: dice.log(0.01, 0.2),
        knee_v: dice.log(0.01, 0.1),
        c_f: dice.log(10e-12, 300e-12),
    };
    part(Law::Crowbar(law), 0.0, thermal(dice))
}

fn varistor(dice: &mut Dice, volts: f64) -> Protector {
    let law = Varistor {
        v1ma_v: volts * dice.lin(1.2, 2.5),
        alpha: dice.lin(15.0, 50.0),
        v1ma_per_k: dice.lin(-5e-4, 0.0),
        linear_above_a: 1e5,
        c_f: dice.log(10e-12, 20e-9),
    };
    part(Law::Varistor(law), dice.log(5e-3, 0.5), ThermalLadder::default())
}

fn gas_tube(dice: &mut Dice) -> Protector {
    let law = GasTube {
        dc_v: dice.log(75.0, 600.0),
        slope_coefficient_v: dice.lin(30.0, 120.0),
        slope_exponent: dice.lin(0.18, 0.36),
        glow_v: dice.lin(60.0, 74.0),
        glow_to_arc_a: dice.lin(0.3, 1.0),
        arc_v: dice.lin(8.0, 25.0),
        arc_ohm: dice.log(5e-3, 0.1),
        arc_to_glow_a: dice.lin(0.05, 0.2),
        extinction_a: dice.lin(0.002, 0.04),
        drop_s: dice.log(3e-9, 30e-9),
        c_f: dice.log(0.3e-12, 3e-12),
        insulation_ohm: dice.log(1e8, 1e10),
    };
    part(Law::GasTube(law), 0.0, ThermalLadder::default())
}

/// A steering or bridge diode.
pub fn diode(dice: &mut Dice) -> Diode {
    Diode {
        forward_v: dice.lin(0.4, 1.0),
        forward_ohm: dice.log(0.02, 1.0),
        breakdown_v: dice.log(70.0, 800.0),
        breakdown_ohm: dice.log(0.1, 2.0),
        knee_v: dice.log(0.01, 0.05),
        c_f: dice.log(0.1e-12, 100e-12),
    }
}

/// A measured curve: nothing below the working voltage, then ever steeper, the same below zero or steep there.
fn table(dice: &mut Dice, volts: f64) -> Protector {
    let (mut v, mut i) = (volts * dice.lin(1.1, 1.8), 1e-3);
    let (mut volts_up, mut amps_up) = (vec![0.0, v * 0.9], vec![0.0, 1e-6]);
    for _ in 0..3 + dice.below(6) {
        volts_up.push(v);
        amps_up.push(i);
        let step = dice.log(2.0, 12.0);
        v += volts * dice.lin(0.01, 0.2) + dice.lin(0.001, 0.05) * i;
        i *= step;
    }
    let shrink = if dice.chance(0.5) { 1.0 } else { 0.8 / volts_up[1] };
    let mut points_v: Vec<f64> = volts_up[1..].iter().rev().map(|v| -v * shrink).collect();
    let mut points_a: Vec<f64> = amps_up[1..].iter().rev().map(|a| -a).collect();
    points_v.extend(volts_up);
    points_a.extend(amps_up);
    let law = Table::new(&points_v, &points_a, dice.log(0.3e-12, 1e-9)).expect("the points rise");
    part(Law::Table(law), 0.0, ThermalLadder::default())
}

/// A blocking current limiter, a series part.
pub fn limiter(dice: &mut Dice, volts: f64) -> Protector {
    let law = CurrentLimiter {
        on_ohm: dice.log(1.0, 50.0),
        trip_a: dice.log(0.05, 0.5),
        transition_s: dice.log(20e-9, 1e-6),
        blocked_ohm: dice.log(1e5, 1e7),
        // A limiter that resets above the overload it has to block would open and close for ever.
        reset_v: volts * dice.log(0.01, 0.1),
        withstand_v: dice.log(40.0, 850.0),
        breakdown_ohm: dice.log(0.5, 10.0),
        c_f: dice.log(5e-12, 100e-12),
    };
    part(Law::Limiter(law), 0.0, ThermalLadder::default())
}
