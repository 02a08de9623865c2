//! Steering diodes to a rail with its own capacitance and clamp.

use super::{Assumption, KNEE_V, LEAST_OHM, MissingDatum, Notes};
use crate::datasheet::Datasheet;
use crate::law::{Avalanche, Diode, Law};

/// Steering diodes of one line: line to rail, return to line, and what holds the rail.
#[derive(Clone, Debug, PartialEq)]
pub struct SteeringModel {
    /// Diode from line to rail (conducts when the line is above the rail).
    pub to_rail: Law,
    /// Diode from return to line (conducts when the line is below the return), voltage counted from line to
    /// return.
    pub to_return: Law,
    /// Capacitance in farads of the rail to return.
    pub rail_f: f64,
    /// Voltage in volts at which the rail stands before the stress.
    pub rail_v: f64,
    /// Clamp from rail to return.
    pub rail_clamp: Law,
    /// What no datum says.
    pub assumptions: Vec<Assumption>,
}

/// Breakdown in volts of a steering diode, far above any rail it works with.
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
        let c_f = 0.5 * self.constant_capacitance(&mut notes);
        notes.add(
            "breakdown of a steering diode in V",
            DIODE_BREAKDOWN_V,
            "far above the rail; numerical choice",
        );
        notes.add("rounding of the corners in V", KNEE_V, "numerical choice");
        let diode = |up_v: f64, up_ohm: f64, down_v: f64, down_ohm: f64| {
            Law::Diode(Diode {
                forward_v: up_v,
                forward_ohm: up_ohm,
                breakdown_v: down_v,
                breakdown_ohm: down_ohm,
                knee_v: 0.02,
                c_f,
            })
        };
        Ok(SteeringModel {
            to_rail: diode(forward_v, forward_ohm, DIODE_BREAKDOWN_V, 1.0),
            to_return: diode(DIODE_BREAKDOWN_V, 1.0, forward_v, forward_ohm),
            rail_f,
            rail_v,
            rail_clamp: Law::Avalanche(Avalanche {
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
            }),
            assumptions: notes.0,
        })
    }
}
