//! A symmetrical breakover device that is on in one polarity still breaks over in the other.

use tidewall_devices::Law;
use tidewall_devices::law::{Bias, Crowbar, Mode, State};

fn thyristor(bidirectional: bool) -> Law {
    Law::Crowbar(Crowbar {
        trigger_v: 25.0,
        trigger_a: 0.1,
        alpha_per_k: 1e-3,
        off_ohm: 5.0,
        on_v: 2.0,
        on_ohm: 0.05,
        hold_a: 0.05,
        hold_per_k: -5e-3,
        transition_s: 0.5e-6,
        bidirectional,
        forward_v: 0.8,
        forward_ohm: 0.05,
        knee_v: 0.05,
        c_f: 50e-12,
    })
}

#[test]
fn reverse_voltage_is_limited_while_the_part_is_on() {
    let law = thyristor(true);
    for sign in [1.0, -1.0] {
        let on = State { mode: Mode::On, sign };
        let bias = Bias {
            volts: -sign * 26.0,
            junction_c: 25.0,
            inner: [2.0, 0.9],
        };
        let amps = law.conduction(on, &bias).amps;
        // 0.1 A at 25 V and 5 Ω more: 0.3 A at 26 V, against the polarity in which it is on.
        assert!((amps + sign * 0.3).abs() < 0.02, "{amps}");
        let watches = law.watches(on, &bias, amps);
        assert!(
            watches[1].is_some_and(|watch| watch.value > 0.0 && watch.at_once),
            "{watches:?}"
        );
        let (after, inner) = law.after(on, &bias, amps, 1);
        assert_eq!(
            after,
            State {
                mode: Mode::On,
                sign: -sign
            }
        );
        assert!((inner[0] - (26.0 - 0.05 * 0.3)).abs() < 0.01, "{inner:?}");
    }
}

#[test]
fn a_unidirectional_part_conducts_forward_instead() {
    let on = State {
        mode: Mode::On,
        sign: 1.0,
    };
    let bias = Bias {
        volts: -1.8,
        junction_c: 25.0,
        inner: [2.0, 0.9],
    };
    let amps = thyristor(false).conduction(on, &bias).amps;
    assert!((amps + 20.0).abs() < 0.1, "{amps}");
    assert!(thyristor(false).watches(on, &bias, amps)[1].is_none());
}
