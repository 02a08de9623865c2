//! A law of several corners says in each lane what the law of that corner says, to the last bit.

mod families;

use families::laws;
use tidewall_devices::Law;
use tidewall_devices::law::{Bank, Bias, Mode, Modes, Point, State};
use tidewall_lanes::{Lane, Pack};

const LANES: usize = 8;
type Lanes = Pack<LANES>;

/// Numbers between 0 and 1 without order (a linear congruential generator, Knuth's constants from memory).
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }
}

/// The law with some of its numbers changed.
fn varied(law: &Law, dice: &mut Dice) -> Law {
    let mut law = law.clone();
    let mut by = || dice.between(0.8, 1.25);
    match &mut law {
        Law::Avalanche(law) => {
            law.vbr25_v *= by();
            law.knee_v *= by();
            law.grading *= by();
        }
        Law::FlatClamp(law) => {
            law.on_v *= by();
            law.saturation_a *= by();
            law.off_v *= by();
        }
        Law::Crowbar(law) => {
            law.trigger_v *= by();
            law.hold_a *= by();
            law.forward_v *= by();
        }
        Law::Varistor(law) => {
            law.v1ma_v *= by();
            law.alpha *= by();
            law.linear_above_a *= by();
        }
        Law::GasTube(law) => {
            law.dc_v *= by();
            law.slope_exponent *= by();
            law.arc_v *= by();
        }
        Law::Diode(law) => law.breakdown_v *= by(),
        Law::Pin(law) => law.positive_v *= by(),
        Law::Limiter(law) => law.trip_a *= by(),
        Law::Table(_) => {}
    }
    law
}

/// One lane of a point as text with all digits; a single point has one lane.
fn lane<T: Lane>(point: &Point<T>, k: usize) -> String {
    let c = &point.conduction;
    let mut values = vec![
        c.amps,
        c.per_volt,
        c.per_kelvin,
        point.farads,
        point.farads_per_volt,
    ];
    values.extend(c.per_inner);
    for rate in &point.rates {
        values.extend([
            rate.per_s,
            rate.per_volt,
            rate.per_self,
            rate.per_other,
            rate.per_kelvin,
        ]);
    }
    let values: Vec<f64> = values.iter().map(|value| value.lane(k)).collect();
    format!("{values:?}")
}

#[test]
fn every_family_in_every_mixture_of_states() {
    let mut dice = Dice(7);
    for (name, law, modes) in laws() {
        for _ in 0..200 {
            let corners: Vec<Law> = (0..LANES).map(|_| varied(&law, &mut dice)).collect();
            // Now and then all lanes in one mode, which takes shorter ways.
            let one = (dice.next() < 0.3).then(|| modes[(dice.next() * modes.len() as f64) as usize]);
            let states: Vec<State> = (0..LANES)
                .map(|_| State {
                    mode: one.unwrap_or(modes[(dice.next() * modes.len() as f64) as usize]),
                    sign: if dice.next() < 0.5 { 1.0 } else { -1.0 },
                })
                .collect();
            let far = dice.next() < 0.3;
            let biases: Vec<Bias> = (0..LANES)
                .map(|_| Bias {
                    volts: if far {
                        dice.between(-400.0, 400.0)
                    } else {
                        dice.between(-45.0, 45.0)
                    },
                    junction_c: dice.between(-40.0, 300.0),
                    inner: [dice.between(0.0, 40.0), dice.between(-0.5, 1.5)],
                })
                .collect();
            let bank = Bank::<Lanes>::new(&corners.iter().collect::<Vec<_>>());
            let mut packed = Modes::default();
            for (k, &state) in states.iter().enumerate() {
                packed.set(k, state);
            }
            let bias = Bias {
                volts: Lanes::of(|k| biases[k].volts),
                junction_c: Lanes::of(|k| biases[k].junction_c),
                inner: [
                    Lanes::of(|k| biases[k].inner[0]),
                    Lanes::of(|k| biases[k].inner[1]),
                ],
            };
            let mut point = Point::default();
            bank.point(&packed, &bias, &mut point);
            let held = bank.stored_j(bias.volts);
            for k in 0..LANES {
                let alone = corners[k].point(states[k], &biases[k]);
                assert_eq!(
                    lane(&point, k),
                    lane(&alone, 0),
                    "{name}: {:?} {:?}",
                    states[k],
                    biases[k]
                );
                assert_eq!(
                    held.lane(k).to_bits(),
                    corners[k].stored_j(biases[k].volts).to_bits(),
                    "{name}"
                );
            }
        }
    }
}

#[test]
fn every_mode_keeps_its_number() {
    let modes = [
        Mode::Off,
        Mode::Delay,
        Mode::On,
        Mode::Glow,
        Mode::Arc,
        Mode::TimedOut,
        Mode::Blocked,
        Mode::Limiting,
    ];
    for mode in modes {
        let state = State { mode, sign: -1.0 };
        let mut packed = Modes::<Lanes>::default();
        packed.set(3, state);
        assert_eq!(packed.lane(3), state);
    }
}
