//! A part's admittance from a measurement in a fixture.

use std::f64::consts::TAU;

use tidewall_units::{Henries, Hertz, Quantity};

use super::{Complex, Network, Parameter};

/// How the part sat between the ports.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Fixture {
    /// One port: the part from the port to ground.
    OnePort,
    /// Two ports: the part in the line between them.
    Series,
    /// Two ports: the line goes through, the part from it to ground.
    Shunt,
}

/// Uncertainty of a scattering parameter that the refusal reckons with: that of a calibrated analyser of good class
/// (from memory). It decides only whether a value is refused.
pub const S_UNCERTAINTY: f64 = 0.005;

/// Largest relative uncertainty of a capacitance that is given out (a choice).
pub const WORST_RELATIVE: f64 = 0.1;

/// A part at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartAt {
    /// Frequency in hertz.
    pub frequency_hz: f64,
    /// Admittance in siemens.
    pub admittance: Complex,
    /// Capacitance `Im(Y)/ω` in farads, above zero.
    pub capacitance_f: f64,
    /// Relative uncertainty of it under [`S_UNCERTAINTY`], at most [`WORST_RELATIVE`].
    pub relative: f64,
}

/// Why there is no capacitance.
#[derive(Clone, Debug, PartialEq)]
pub enum NoPart {
    /// The file holds other parameters than S.
    Parameter,
    /// The number of ports does not fit the fixture: ports of the file.
    Ports(usize),
    /// The two ports have different references.
    Reference,
    /// The frequency lies outside the file: its lowest and highest in hertz.
    Outside(f64, f64),
    /// Frequency zero, or not a number.
    Frequency,
    /// The part is inductive there: series inductance `Im(Z)/ω` in henries, and the series resonance below it in
    /// hertz if the file shows it.
    Inductive(f64, Option<f64>),
    /// The formula magnifies the uncertainty of the measurement too far: relative uncertainty of the capacitance.
    IllConditioned(f64),
}

impl std::fmt::Display for NoPart {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Parameter => f.write_str("the file holds other parameters than S"),
            Self::Ports(ports) => write!(f, "a file of {ports} ports does not fit this fixture"),
            Self::Reference => f.write_str("the two ports have different reference resistances"),
            Self::Outside(low, high) => write!(
                f,
                "the file reaches from {} to {} only",
                Hertz(*low).rounded(4),
                Hertz(*high).rounded(4)
            ),
            Self::Frequency => f.write_str("the frequency must be above zero"),
            Self::Inductive(henries, resonance) => {
                write!(f, "the part is inductive there, {}", Henries(*henries).rounded(3))?;
                match resonance {
                    Some(hertz) => write!(f, ", beyond its series resonance at {}", Hertz(*hertz).rounded(4)),
                    None => Ok(()),
                }
            }
            Self::IllConditioned(relative) => write!(
                f,
                "the fixture tells too little about the part there: an error of {S_UNCERTAINTY} in S is {:.0} % of \
                 the capacitance",
                100.0 * relative
            ),
        }
    }
}

impl std::error::Error for NoPart {}

/// Admittance in siemens of the part, and `|dY/dS|`.
///
/// With `Z0` the reference, from the chain matrices of a shunt and of a series element (textbook two-port theory,
/// Pozar, Microwave Engineering, chapter 4; from memory):
/// one-port `Y = (1 − S11)/(Z0 (1 + S11))`; series `S21 = 2 Z0/(2 Z0 + Z)`, so `Y = S21/(2 Z0 (1 − S21))`; shunt
/// `S21 = 2/(2 + Z0 Y)`, so `Y = 2 (1 − S21)/(Z0 S21)`.
fn admittance(fixture: Fixture, matrix: &[Complex], z0: f64) -> (Complex, f64) {
    let one = Complex::new(1.0, 0.0);
    match fixture {
        Fixture::OnePort => {
            let s = matrix[0];
            let below = one + s;
            (
                (s.from_one() / below).times(1.0 / z0),
                2.0 / (z0 * below.size().powi(2)),
            )
        }
        Fixture::Series => {
            let s = matrix[2];
            let below = s.from_one();
            ((s / below).times(0.5 / z0), 0.5 / (z0 * below.size().powi(2)))
        }
        Fixture::Shunt => {
            let s = matrix[2];
            ((s.from_one() / s).times(2.0 / z0), 2.0 / (z0 * s.size().powi(2)))
        }
    }
}

/// Reference in ohms, once the file fits the fixture.
fn fitting(network: &Network, fixture: Fixture) -> Result<f64, NoPart> {
    if network.parameter != Parameter::S {
        return Err(NoPart::Parameter);
    }
    let ports = if fixture == Fixture::OnePort { 1 } else { 2 };
    if network.ports != ports {
        return Err(NoPart::Ports(network.ports));
    }
    if network
        .reference_ohm
        .iter()
        .any(|ohm| *ohm != network.reference_ohm[0])
    {
        return Err(NoPart::Reference);
    }
    Ok(network.reference_ohm[0])
}

/// Capacitance of the part at a frequency in hertz; S is taken straight between neighbouring points.
///
/// # Errors
/// [`NoPart`]: the file does not fit or does not reach, the part is inductive there, or the formula is
/// ill-conditioned (`|dY/dS| ·` [`S_UNCERTAINTY`] above [`WORST_RELATIVE`] of `|Im Y|`).
pub fn part_at(network: &Network, fixture: Fixture, frequency_hz: f64) -> Result<PartAt, NoPart> {
    let z0 = fitting(network, fixture)?;
    if !(frequency_hz > 0.0 && frequency_hz.is_finite()) {
        return Err(NoPart::Frequency);
    }
    let Some(matrix) = network.at(frequency_hz) else {
        let (low, high) = network.range_hz();
        return Err(NoPart::Outside(low, high));
    };
    let (y, slope) = admittance(fixture, &matrix, z0);
    let relative = slope * S_UNCERTAINTY / y.im.abs();
    if !(relative <= WORST_RELATIVE && y.size().is_finite()) {
        return Err(NoPart::IllConditioned(relative));
    }
    if y.im < 0.0 {
        let z = Complex::new(1.0, 0.0) / y;
        let resonance = first_resonance_hz(network, fixture)?.filter(|hertz| *hertz <= frequency_hz);
        return Err(NoPart::Inductive(z.im / (TAU * frequency_hz), resonance));
    }
    Ok(PartAt {
        frequency_hz,
        admittance: y,
        capacitance_f: y.im / (TAU * frequency_hz),
        relative,
    })
}

/// First series resonance in hertz: where the reactance `Im(1/Y)` goes from below zero to above it, straight between
/// points. `None` if it does not within the file.
///
/// # Errors
/// The file does not fit the fixture.
pub fn first_resonance_hz(network: &Network, fixture: Fixture) -> Result<Option<f64>, NoPart> {
    let z0 = fitting(network, fixture)?;
    let reactance = |matrix: &[Complex]| (Complex::new(1.0, 0.0) / admittance(fixture, matrix, z0).0).im;
    Ok(network.points.windows(2).find_map(|pair| {
        let (a, b) = (reactance(&pair[0].matrix), reactance(&pair[1].matrix));
        (a < 0.0 && b >= 0.0)
            .then(|| pair[0].frequency_hz + (pair[1].frequency_hz - pair[0].frequency_hz) * a / (a - b))
    }))
}
