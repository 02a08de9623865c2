//! Random ports under random stresses, the same for the same number.
//!
//! Values are drawn over the decades that real boards and generators span; parts are drawn about the port's working
//! voltage, so that most ports could exist, but nothing keeps a small part away from a large stress.

#![allow(dead_code)]

mod parts;
mod stresses;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use tidewall_devices::law::PinClamp;
use tidewall_ladder::{
    Across, Conductor, Inductance, Pin, Port, Series, SeriesKind, Shunt, Stage, Steering, Supply,
};
use tidewall_stress::Network;

/// A port under a stress.
pub struct Case {
    pub number: u64,
    /// What the stress is, for messages.
    pub stress: String,
    pub port: Port,
    pub network: Network,
}

/// Draws of the kinds needed here.
pub struct Dice(ChaCha8Rng);

impl Dice {
    pub fn new(number: u64) -> Dice {
        Dice(ChaCha8Rng::seed_from_u64(number))
    }

    /// Even in the logarithm.
    pub fn log(&mut self, low: f64, high: f64) -> f64 {
        self.lin(low.ln(), high.ln()).exp()
    }

    pub fn lin(&mut self, low: f64, high: f64) -> f64 {
        self.0.random_range(low..high)
    }

    pub fn chance(&mut self, share: f64) -> bool {
        self.0.random_bool(share)
    }

    pub fn below(&mut self, count: usize) -> usize {
        self.0.random_range(0..count)
    }

    pub fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[self.below(from.len())]
    }
}

/// Case number `number`.
pub fn case(number: u64) -> Case {
    let mut dice = Dice::new(number);
    let conductors = 1 + usize::from(dice.chance(0.35));
    let (stress, network) = stresses::stress(&mut dice, conductors);
    let port = port(&mut dice, conductors);
    Case {
        number,
        stress,
        port,
        network,
    }
}

fn port(dice: &mut Dice, conductors: usize) -> Port {
    let ambient_c = dice.lin(-40.0, 85.0);
    let powered = dice.chance(0.5);
    let volts = dice.log(1.5, 60.0);
    let mut stages = Vec::new();
    for number in 1..=1 + dice.below(6) {
        stage(dice, conductors, number, volts, ambient_c, &mut stages);
    }
    let conduction = dice.chance(0.4).then(|| PinClamp {
        positive_v: volts * dice.lin(1.1, 3.0),
        positive_ohm: dice.log(0.2, 50.0),
        negative_v: dice.lin(0.5, 1.0),
        negative_ohm: dice.log(0.2, 50.0),
        knee_v: dice.lin(0.01, 0.05),
        c_f: dice.log(0.5e-12, 20e-12),
    });
    let pin = Pin {
        capacitance_f: dice.log(1e-12, 100e-6),
        esr_ohm: if dice.chance(0.5) {
            dice.log(1e-3, 3.0)
        } else {
            0.0
        },
        conduction,
    };
    let supply = powered.then(|| Supply {
        volts: if dice.chance(0.1) { -volts } else { volts },
        source_ohm: dice.log(0.01, 1e3),
        cable_h: if dice.chance(0.5) {
            0.0
        } else {
            dice.log(1e-8, 1e-5)
        },
        on_both: dice.chance(0.5),
    });
    Port {
        conductors,
        stages,
        pin,
        supply,
        ambient_c,
        track_ohm: dice.lin(40.0, 120.0),
        loss_tangent: dice.lin(0.01, 0.03),
    }
}

/// One rung: a shunt or steering, or something in series (in both conductors of a pair, as a rule).
fn stage(
    dice: &mut Dice,
    conductors: usize,
    number: usize,
    volts: f64,
    ambient_c: f64,
    stages: &mut Vec<Stage>,
) {
    let one = if conductors == 2 && dice.chance(0.5) {
        Conductor::Second
    } else {
        Conductor::First
    };
    match dice.below(10) {
        0..=4 => {
            let name = format!("D{number}");
            let across = if conductors == 2 && dice.chance(0.4) {
                Across::LineToLine
            } else {
                Across::ToReturn(one)
            };
            let (lead_h, reversed) = (dice.log(0.2e-9, 50e-9), dice.chance(0.1));
            let protector = parts::shunt(dice, volts, ambient_c);
            // Pairs are mostly protected alike, or nearly so.
            if conductors == 2 && across != Across::LineToLine && dice.chance(0.7) {
                for conductor in [Conductor::First, Conductor::Second] {
                    stages.push(Stage::Shunt(Box::new(Shunt {
                        name: format!("{name} {conductor:?}"),
                        across: Across::ToReturn(conductor),
                        protector: protector.clone(),
                        lead_h: lead_h * dice.lin(0.9, 1.1),
                        reversed,
                    })));
                }
            } else {
                stages.push(Stage::Shunt(Box::new(Shunt {
                    name,
                    across,
                    protector,
                    lead_h,
                    reversed,
                })));
            }
        }
        5 => stages.push(Stage::Steering(Box::new(steering(
            dice, one, number, volts, ambient_c,
        )))),
        _ => {
            let kind = series(dice, volts);
            let both = conductors == 2 && dice.chance(0.8);
            let places: &[Conductor] = if both {
                &[Conductor::First, Conductor::Second]
            } else {
                &[one]
            };
            for &conductor in places {
                stages.push(Stage::Series(Box::new(Series {
                    name: format!("S{number} {conductor:?}"),
                    conductor,
                    kind: kind.clone(),
                })));
            }
        }
    }
}

fn steering(dice: &mut Dice, conductor: Conductor, number: usize, volts: f64, ambient_c: f64) -> Steering {
    let rail_v = volts * dice.lin(1.0, 1.1);
    Steering {
        name: format!("B{number}"),
        conductor,
        to_rail: parts::diode(dice),
        from_return: parts::diode(dice),
        lead_h: dice.log(0.2e-9, 10e-9),
        rail_f: dice.log(100e-12, 10e-6),
        rail_v,
        rail_clamp: dice
            .chance(0.6)
            .then(|| (parts::avalanche(dice, rail_v, ambient_c), dice.log(0.2e-9, 20e-9))),
    }
}

fn series(dice: &mut Dice, volts: f64) -> SeriesKind {
    let inductance = |dice: &mut Dice, henries: f64| Inductance {
        henries,
        saturation_a: dice.chance(0.5).then(|| dice.log(0.05, 30.0)),
    };
    match dice.below(6) {
        // Track.
        0 | 1 => SeriesKind::Plain {
            resistance_ohm: dice.log(1e-3, 0.1),
            inductance: Inductance::linear(dice.log(1e-9, 100e-9)),
        },
        // Resistor, PTC, fuse.
        2 => SeriesKind::Plain {
            resistance_ohm: dice.log(1e-3, 1e3),
            inductance: Inductance::linear(if dice.chance(0.5) {
                0.0
            } else {
                dice.log(0.5e-9, 50e-9)
            }),
        },
        // Choke.
        3 => {
            let henries = dice.log(0.1e-6, 100e-6);
            SeriesKind::Plain {
                resistance_ohm: dice.log(1e-3, 3.0),
                inductance: inductance(dice, henries),
            }
        }
        4 => {
            let henries = dice.log(50e-9, 5e-6);
            SeriesKind::Bead {
                winding_ohm: dice.log(5e-3, 1.0),
                inductance: inductance(dice, henries),
                loss_ohm: dice.log(20.0, 2e3),
            }
        }
        _ => SeriesKind::Device {
            protector: parts::limiter(dice, volts),
            lead_h: dice.log(1e-9, 20e-9),
        },
    }
}
