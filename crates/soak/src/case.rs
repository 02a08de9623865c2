//! One case: a port under a stress, the same for the same number.

use tidewall_devices::MissingDatum;
use tidewall_devices::law::PinClamp;
use tidewall_ladder::{Across, Capacitor, Conductor, Pin, Port, Series, SeriesKind, Shunt, Stage, Supply};
use tidewall_stress::Network;
use tidewall_stress::catalogue::RequestError;

use crate::dice::Dice;
use crate::{parts, stresses};

/// A port under a stress.
#[derive(Clone, Debug)]
pub struct Case {
    /// Its number, from which everything else follows.
    pub number: u64,
    /// What the stress is, for messages.
    pub stress: String,
    /// The port.
    pub port: Port,
    /// The generator.
    pub network: Network,
}

/// A draw that the builders refuse: a defect of the draws.
#[derive(Clone, Debug, PartialEq)]
pub enum Refused {
    /// A part lacks a datum or contradicts itself.
    Part(MissingDatum),
    /// The catalogue knows no such disturbance.
    Stress(RequestError),
}

impl std::fmt::Display for Refused {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Refused::Part(missing) => missing.fmt(f),
            Refused::Stress(error) => error.fmt(f),
        }
    }
}

impl From<MissingDatum> for Refused {
    fn from(missing: MissingDatum) -> Refused {
        Refused::Part(missing)
    }
}

impl From<RequestError> for Refused {
    fn from(error: RequestError) -> Refused {
        Refused::Stress(error)
    }
}

/// The most elements of a ladder, those of both lines counted.
pub const MOST_ELEMENTS: usize = 12;

impl Case {
    /// Case number `number`.
    ///
    /// # Errors
    /// [`Refused`], which would be a defect of the draws.
    pub fn new(number: u64) -> Result<Case, Refused> {
        let mut dice = Dice::new(number);
        let conductors = 1 + usize::from(dice.chance(0.35));
        let (stress, network) = stresses::stress(&mut dice, conductors)?;
        let port = port(&mut dice, conductors)?;
        Ok(Case {
            number,
            stress,
            port,
            network,
        })
    }
}

fn port(dice: &mut Dice, conductors: usize) -> Result<Port, MissingDatum> {
    let ambient_c = dice.pick(&[-55.0, -40.0, 25.0, 70.0, 85.0, 125.0]);
    // From a core supply to rectified mains.
    let volts = dice.wide(1.2, 400.0);
    let mut rungs = Rungs {
        conductors,
        volts,
        ambient_c,
        stages: Vec::new(),
        elements: 0,
    };
    let wanted = 1 + dice.below(MOST_ELEMENTS);
    while rungs.elements < wanted {
        let room = wanted - rungs.elements;
        rungs.add(dice, room)?;
    }
    let supply = dice.chance(0.6).then(|| Supply {
        volts: match dice.below(10) {
            0 => -volts,
            1 | 2 => 0.8 * volts,
            _ => volts,
        },
        source_ohm: dice.wide(1e-3, 10e3),
        cable_h: dice.pick(&[0.0, 1e-6, 1e-6, 10e-6]),
        on_both: dice.chance(0.5),
    });
    Ok(Port {
        conductors,
        stages: rungs.stages,
        pin: pin(dice, volts),
        supply,
        ambient_c,
        track_ohm: dice.wide(30.0, 150.0),
        // Glass epoxy, or a laminate for fast lines.
        loss_tangent: dice.pick(&[0.02, 0.02, 0.02, 0.008]),
    })
}

fn pin(dice: &mut Dice, volts: f64) -> Pin {
    let conduction = dice.chance(0.4).then(|| PinClamp {
        positive_v: volts * dice.lin(1.05, 4.0),
        positive_ohm: dice.wide(0.05, 300.0),
        negative_v: if dice.chance(0.2) { 1e6 } else { dice.lin(0.3, 1.2) },
        negative_ohm: dice.wide(0.05, 300.0),
        knee_v: 0.02,
        c_f: 0.5e-12,
    });
    Pin {
        capacitance_f: if dice.chance(0.1) {
            0.0
        } else {
            dice.wide(0.1e-12, 2e-3)
        },
        esr_ohm: if dice.chance(0.5) {
            dice.wide(1e-3, 10.0)
        } else {
            0.0
        },
        conduction,
    }
}

/// A ladder in the making.
struct Rungs {
    conductors: usize,
    volts: f64,
    ambient_c: f64,
    stages: Vec<Stage>,
    elements: usize,
}

impl Rungs {
    fn one(&self, dice: &mut Dice) -> Conductor {
        if self.conductors == 2 && dice.chance(0.5) {
            Conductor::Second
        } else {
            Conductor::First
        }
    }

    fn push(&mut self, stage: Stage) {
        self.stages.push(stage);
        self.elements += 1;
    }

    /// One rung, in both lines of a pair as a rule, if there is `room` for two elements.
    fn add(&mut self, dice: &mut Dice, room: usize) -> Result<(), MissingDatum> {
        let twice = self.conductors == 2 && room >= 2;
        match dice.below(12) {
            0..=4 => self.shunt(dice, twice),
            5 => {
                let conductor = self.one(dice);
                let name = format!("B{}", self.elements + 1);
                let steering = parts::steering(dice, name, conductor, self.volts)?;
                self.push(Stage::Steering(Box::new(steering)));
                Ok(())
            }
            6 | 7 => {
                self.capacitor(dice);
                Ok(())
            }
            _ => self.series(dice, twice),
        }
    }

    fn shunt(&mut self, dice: &mut Dice, twice: bool) -> Result<(), MissingDatum> {
        let across = self.across(dice);
        let (lead_h, reversed) = (parts::lead(dice), dice.chance(0.1));
        let protector = parts::shunt(dice, self.volts, self.ambient_c)?;
        let places = if twice && across != Across::LineToLine && dice.chance(0.7) {
            vec![
                Across::ToReturn(Conductor::First),
                Across::ToReturn(Conductor::Second),
            ]
        } else {
            vec![across]
        };
        for across in places {
            let name = format!("D{}", self.elements + 1);
            self.push(Stage::Shunt(Box::new(Shunt {
                name,
                across,
                protector: protector.clone(),
                lead_h,
                reversed,
            })));
        }
        Ok(())
    }

    fn across(&self, dice: &mut Dice) -> Across {
        if self.conductors == 2 && dice.chance(0.35) {
            Across::LineToLine
        } else {
            Across::ToReturn(self.one(dice))
        }
    }

    fn capacitor(&mut self, dice: &mut Dice) {
        let across = self.across(dice);
        self.push(Stage::Capacitor(Capacitor {
            name: format!("C{}", self.elements + 1),
            across,
            capacitance_f: dice.wide(0.5e-12, 2e-3),
            esr_ohm: dice.wide(1e-3, 5.0),
            lead_h: if dice.chance(0.2) {
                0.0
            } else {
                dice.wide(0.1e-9, 30e-9)
            },
        }));
    }

    fn series(&mut self, dice: &mut Dice, twice: bool) -> Result<(), MissingDatum> {
        let kind: SeriesKind = parts::in_line(dice, self.volts)?;
        let places = if twice && dice.chance(0.8) {
            vec![Conductor::First, Conductor::Second]
        } else {
            vec![self.one(dice)]
        };
        for conductor in places {
            let name = format!("S{}", self.elements + 1);
            self.push(Stage::Series(Box::new(Series {
                name,
                conductor,
                kind: kind.clone(),
            })));
        }
        Ok(())
    }
}
