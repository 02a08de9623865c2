//! One part at one corner, ready to be put into a ladder.

use crate::law::Law;
use crate::thermal::ThermalLadder;

/// A part's electrical and thermal model at one corner.
#[derive(Clone, Debug, PartialEq)]
pub struct Protector {
    /// Conduction, capacitance and switching.
    pub law: Law,
    /// Linear resistance in series with the law, in ohms (bulk of a varistor, leads); dissipates but is not
    /// part of the junction.
    pub series_ohm: f64,
    /// Inductance of package and leads in henries; zero when the study's own `lead` holds all of it.
    pub package_h: f64,
    /// Heating of the junction; empty when the data do not allow a thermal model.
    pub thermal: ThermalLadder,
}
