//! Steering diodes to a rail with its own capacitance and clamp.

use super::{Assumption, KNEE_V, LEAST_OHM, MissingDatum, Notes};
use crate::datasheet::Datasheet;
use crate::law::{Avalanche, Diode};

/// Steering diodes of one line: line to rail, return to line, and what holds the rail.
#[derive(Clone, Debug, PartialEq)]
pub struct SteeringModel {
    /// Each of the two diodes: line to rail, and return to line.
    pub diode: Diode,
    /// Capacitance in farads of the rail to return.
    pub rail_f: f64,
    /// Voltage in volts at which the rail stands before the stress.
    pub rail_v: f64,
    /// Clamp from rail to return.
    pub rail_clamp: Avalanche,
    /// What no datum says.
    pub assumptions: Vec<Assumption>,
}

/// Breakdown in volts of a steering diode, far above any rail it works with (numerical choice).
const DIODE_BREAKDOWN_V: f64 = 100.0;

impl Datasheet {
    /// Steering diodes with their rail.
    ///
    /// # Errors
    /// Forward branch, rail capacitance, rail voltage or rail clamp not given.
    pub fn steering(&self) -> Result<SteeringModel, MissingDatum> {
        let mut notes = Notes::default();
        let (forward_v, forward_ohm) = self.forward(&mut notes)?;
        let rail_f = self.rail_f.filter(|c| *c > 0.0).ok_or_else(|| {
            self.missing(
                "capacitance of the rail",
                "the current steered into the rail lifts it at once when there is little of it",
                "rail_capacitance",
            )
        })?;
        let rail_v = self.rail_v.ok_or_else(|| {
            self.missing(
                "working voltage of the rail",
                "the line is held one diode above it",
                "rail_voltage",
            )
        })?;
        let (clamp_v, clamp_ohm) = self
            .rail_clamp
            .filter(|(v, r)| *v > 0.0 && *r >= 0.0)
            .ok_or_else(|| {
                self.missing(
                    "breakdown and dynamic resistance of the clamp on the rail",
                    "steering diodes only move the surge to the rail; something must hold it there",
                    "rail_clamp",
                )
            })?;
        // As for every other part, the model's capacitance is the type's, whatever the specimen.
        let c_f = 0.5 * self.of_type().constant_capacitance(&mut notes);
        notes.add(
            "breakdown of a steering diode in V",
            DIODE_BREAKDOWN_V,
            "far above the rail; numerical choice",
        );
        notes.add("rounding of the corners in V", KNEE_V, "numerical choice");
        Ok(SteeringModel {
            diode: Diode {
                forward_v,
                forward_ohm,
                breakdown_v: DIODE_BREAKDOWN_V,
                breakdown_ohm: 1.0,
                knee_v: 0.02, // numerical choice
                c_f,
            },
            rail_f,
            rail_v,
            rail_clamp: Avalanche {
                vbr25_v: clamp_v,
                alpha_per_k: 0.0,
                r_ohm: clamp_ohm.max(LEAST_OHM),
                knee_v: KNEE_V,
                bidirectional: false,
                forward_v,
                forward_ohm,
                c0_f: super::LEAST_F,
                built_in_v: super::BUILT_IN_V,
                grading: 0.5,
            },
            assumptions: notes.0,
        })
    }
}
