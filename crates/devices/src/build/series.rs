//! Series elements.

use super::{BuiltSeries, LEAST_OHM, MissingDatum, Notes};
use crate::datasheet::Datasheet;
use crate::law::{CurrentLimiter, Law};

/// An inductor: `L(I) = L0 / (1 + (I / Isat)^2)` in series with its winding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InductorModel {
    /// Inductance at no current in henries.
    pub inductance_h: f64,
    /// Current in amperes at which half of it is left.
    pub saturation_a: f64,
    /// Winding resistance in ohms.
    pub winding_ohm: f64,
}

/// A ferrite bead: winding in series with an inductance that has a resistance in parallel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BeadModel {
    /// Winding resistance in ohms.
    pub winding_ohm: f64,
    /// Inductance in henries.
    pub inductance_h: f64,
    /// Resistance in parallel to the inductance in ohms.
    pub parallel_ohm: f64,
    /// Current in amperes at which half of the inductance is left.
    pub saturation_a: f64,
}

/// A fuse: cold resistance and the I²t that melts it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FuseModel {
    /// Cold resistance in ohms.
    pub resistance_ohm: f64,
    /// Melting I²t in A²s.
    pub melting_a2s: f64,
}

/// A PTC, which within a surge is its cold resistance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PtcModel {
    /// Cold resistance in ohms.
    pub resistance_ohm: f64,
    /// Hold current in amperes.
    pub hold_a: f64,
    /// Trip current in amperes.
    pub trip_a: f64,
}

impl Datasheet {
    fn series_ohm(&self, what: &'static str, why: &'static str) -> Result<f64, MissingDatum> {
        self.resistance_ohm
            .filter(|r| *r >= 0.0 && r.is_finite())
            .ok_or_else(|| self.missing(what, why, "resistance"))
    }

    fn positive(
        &self,
        datum: Option<f64>,
        what: &'static str,
        why: &'static str,
        key: &'static str,
    ) -> Result<f64, MissingDatum> {
        datum
            .filter(|x| *x > 0.0 && x.is_finite())
            .ok_or_else(|| self.missing(what, why, key))
    }

    /// Resistance in ohms of a series resistor.
    pub fn resistor_ohm(&self) -> Result<f64, MissingDatum> {
        self.series_ohm(
            "resistance",
            "it sets the current that is left for the next stage",
        )
    }

    /// Model of a series inductor. Without a saturation current there is none: an inductor that saturates in the
    /// surge is only its winding.
    pub fn inductor(&self) -> Result<InductorModel, MissingDatum> {
        Ok(InductorModel {
            inductance_h: self.positive(
                self.inductance_h,
                "inductance",
                "it is what slows the surge for the next stage",
                "inductance",
            )?,
            saturation_a: self.positive(
                self.inductor_saturation_a,
                "saturation current",
                "above it the inductor is only its winding",
                "inductor_saturation",
            )?,
            winding_ohm: self.series_ohm("winding resistance", "it is all that is left after saturation")?,
        })
    }

    /// Model of a ferrite bead.
    pub fn bead(&self) -> Result<BeadModel, MissingDatum> {
        Ok(BeadModel {
            winding_ohm: self.series_ohm("winding resistance", "it is all that is left after saturation")?,
            inductance_h: self.positive(
                self.inductance_h,
                "inductance at low frequency",
                "it decides how long the bead holds off a fast front",
                "inductance",
            )?,
            parallel_ohm: self.positive(
                self.bead_ohm,
                "resistance at high frequency",
                "a bead limits a fast front by it",
                "bead_resistance",
            )?,
            saturation_a: self.positive(
                self.inductor_saturation_a,
                "saturation current",
                "beads saturate at currents far below those of a surge",
                "inductor_saturation",
            )?,
        })
    }

    /// Model of a fuse.
    pub fn fuse(&self) -> Result<FuseModel, MissingDatum> {
        Ok(FuseModel {
            resistance_ohm: self.series_ohm("cold resistance", "it is in series with the surge")?,
            melting_a2s: self.positive(
                self.melting_a2s,
                "melting I²t",
                "the surge must not blow the fuse",
                "melting_i2t",
            )?,
        })
    }

    /// Model of a PTC.
    pub fn ptc(&self) -> Result<PtcModel, MissingDatum> {
        Ok(PtcModel {
            resistance_ohm: self.series_ohm(
                "lowest cold resistance",
                "within a surge a PTC is nothing but its cold resistance",
            )?,
            hold_a: self.positive(
                self.rated_a,
                "hold current",
                "the line current must not trip it",
                "rated_current",
            )?,
            trip_a: self.positive(
                self.trip_a,
                "trip current",
                "a lasting fault must trip it",
                "trip_current",
            )?,
        })
    }

    /// Law of a blocking current limiter (a series element).
    pub fn limiter(&self) -> Result<BuiltSeries<Law>, MissingDatum> {
        let mut notes = Notes::default();
        let on_ohm = self
            .series_ohm(
                "on resistance",
                "below the trip current it is in series with the surge",
            )?
            .max(LEAST_OHM);
        let trip_a = self.positive(
            self.trip_a,
            "trip current",
            "above it the limiter opens",
            "trip_current",
        )?;
        let withstand_v = self.positive(
            self.voltage_max_v,
            "highest blocking voltage",
            "above it the limiter breaks down and lets the surge pass",
            "voltage_max",
        )?;
        let reset_v = self.positive(
            self.reset_v,
            "reset voltage",
            "the line is cut off until it is reached",
            "reset_voltage",
        )?;
        let transition_s = self.turn_on_s.filter(|t| *t > 0.0).unwrap_or_else(|| {
            notes.add(
                "opening time in s",
                1e-6,
                "not given: slow end of the family's usual range, below 1 µs (from memory)",
            );
            1e-6
        });
        let blocked_ohm = self
            .leakage
            .iter()
            .filter(|p| p.current_a > 0.0 && p.voltage_v > 0.0)
            .map(|p| p.voltage_v / p.current_a)
            .reduce(f64::min)
            .unwrap_or_else(|| {
                notes.add(
                    "blocking resistance in Ω",
                    1e6,
                    "leakage not given; numerical choice",
                );
                1e6
            });
        notes.add(
            "slope of the breakdown in Ω",
            on_ohm,
            "outside the model; numerical choice",
        );
        let c_f = self.constant_capacitance(&mut notes);
        let law = CurrentLimiter {
            on_ohm,
            trip_a,
            transition_s,
            blocked_ohm,
            reset_v,
            withstand_v,
            breakdown_ohm: on_ohm,
            c_f,
        };
        Ok(BuiltSeries {
            model: Law::Limiter(law),
            assumptions: notes.0,
        })
    }
}
