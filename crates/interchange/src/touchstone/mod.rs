//! Touchstone, version 1 and 2.0 (Touchstone File Format Specification, IBIS Open Forum): network parameters of one
//! to four ports over frequency.
//!
//! [`read`] takes the text; in version 1 the number of ports stands in the name of the file only
//! ([`ports_of_name`]). [`part_at`] gives admittance and capacitance of a part from a one-port, series-through or
//! shunt-through measurement.
//!
//! Read are: comments (`!`), the option line (`# Hz|kHz|MHz|GHz S|Y|Z|G|H RI|MA|DB R ohms`, in any order, GHz S MA R 50
//! where it is silent), the order S11 S21 S12 S22 of two-ports of version 1, noise data behind them (passed over,
//! counted), and of version 2.0 `[Version]`, `[Number of Ports]`, `[Two-Port Data Order]`,
//! `[Number of Frequencies]`, `[Number of Noise Frequencies]`, `[Reference]`, `[Matrix Format]` (Full),
//! `[Begin Information]` to `[End Information]` (passed over), `[Network Data]`, `[Noise Data]` and `[End]`. Mixed-mode
//! data and triangular matrices are refused with a reason.

mod data;
mod derive;
mod keywords;
mod read;

pub use derive::{Fixture, NoPart, PartAt, S_UNCERTAINTY, WORST_RELATIVE, first_resonance_hz, part_at};
pub use read::read;

/// Most ports that are read.
pub const MOST_PORTS: usize = 4;

/// A complex number.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Complex {
    /// Real part.
    pub re: f64,
    /// Imaginary part.
    pub im: f64,
}

impl Complex {
    /// From both parts.
    pub const fn new(re: f64, im: f64) -> Complex {
        Complex { re, im }
    }

    /// Size.
    pub fn size(self) -> f64 {
        self.re.hypot(self.im)
    }

    /// `factor` times this.
    pub fn times(self, factor: f64) -> Complex {
        Complex::new(self.re * factor, self.im * factor)
    }

    /// `1 −` this.
    pub fn from_one(self) -> Complex {
        Complex::new(1.0 - self.re, -self.im)
    }
}

impl std::ops::Add for Complex {
    type Output = Complex;

    fn add(self, other: Complex) -> Complex {
        Complex::new(self.re + other.re, self.im + other.im)
    }
}

impl std::ops::Mul for Complex {
    type Output = Complex;

    fn mul(self, other: Complex) -> Complex {
        Complex::new(
            self.re * other.re - self.im * other.im,
            self.re * other.im + self.im * other.re,
        )
    }
}

impl std::ops::Div for Complex {
    type Output = Complex;

    fn div(self, other: Complex) -> Complex {
        // Scaled, so that nothing overflows on the way.
        let scale = other.re.abs().max(other.im.abs());
        let (re, im) = (other.re / scale, other.im / scale);
        let below = (re * re + im * im) * scale;
        Complex::new(
            (self.re * re + self.im * im) / below,
            (self.im * re - self.re * im) / below,
        )
    }
}

/// Which network parameters a file holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Parameter {
    /// Scattering.
    S,
    /// Admittance; normalised to the reference in version 1.
    Y,
    /// Impedance; normalised to the reference in version 1.
    Z,
    /// Inverse hybrid.
    G,
    /// Hybrid.
    H,
}

/// How each pair of numbers is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Format {
    /// Real and imaginary part.
    RealImaginary,
    /// Size and angle in degrees.
    SizeAngle,
    /// `20 log10` of the size, and angle in degrees.
    DecibelAngle,
}

/// The parameters at one frequency.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// Frequency in hertz.
    pub frequency_hz: f64,
    /// Matrix row by row: entry `(row, column)` at `row × ports + column`, counted from 0.
    pub matrix: Vec<Complex>,
}

/// A file.
#[derive(Clone, Debug, PartialEq)]
pub struct Network {
    /// Version of the format: 1 or 2.
    pub version: u32,
    /// Number of ports.
    pub ports: usize,
    /// Which parameters.
    pub parameter: Parameter,
    /// Reference resistance of each port in ohms.
    pub reference_ohm: Vec<f64>,
    /// Points in order of rising frequency; at least one.
    pub points: Vec<Point>,
    /// Number of lines of noise data, which are passed over.
    pub noise_points: usize,
}

impl Network {
    /// The parameters at a frequency, straight between neighbours in real and imaginary part; `None` outside the
    /// frequencies of the file.
    pub fn at(&self, frequency_hz: f64) -> Option<Vec<Complex>> {
        let after = self
            .points
            .partition_point(|point| point.frequency_hz < frequency_hz);
        let next = self.points.get(after)?;
        if next.frequency_hz == frequency_hz {
            return Some(next.matrix.clone());
        }
        let before = &self.points[after.checked_sub(1)?];
        let part = (frequency_hz - before.frequency_hz) / (next.frequency_hz - before.frequency_hz);
        let mix = |a: &Complex, b: &Complex| a.times(1.0 - part) + b.times(part);
        Some(
            before
                .matrix
                .iter()
                .zip(&next.matrix)
                .map(|(a, b)| mix(a, b))
                .collect(),
        )
    }

    /// Lowest and highest frequency in hertz.
    pub fn range_hz(&self) -> (f64, f64) {
        let last = self.points.len() - 1;
        (self.points[0].frequency_hz, self.points[last].frequency_hz)
    }
}

/// Number of ports in the ending of a name, such as 2 for `x.s2p`; `None` where it has none (`.ts`) or more than
/// [`MOST_PORTS`].
pub fn ports_of_name(name: &str) -> Option<usize> {
    let ending = name.rsplit('.').next()?.to_ascii_lowercase();
    let ports: usize = ending.strip_prefix('s')?.strip_suffix('p')?.parse().ok()?;
    (1..=MOST_PORTS).contains(&ports).then_some(ports)
}
