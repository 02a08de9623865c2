//! Lines of numbers, gathered into points.

use super::keywords::number;
use super::{Complex, Format, Point};
use crate::fault::{TextFault, Word, fault};

/// Gathers numbers until a point is whole.
pub(super) struct Gatherer {
    pub(super) ports: usize,
    pub(super) unit_hz: f64,
    pub(super) format: Format,
    /// Two-port data in the order 11 21 12 22.
    pub(super) swapped: bool,
    values: Vec<f64>,
    pub(super) points: Vec<Point>,
}

impl Gatherer {
    pub(super) fn new(ports: usize, unit_hz: f64, format: Format, swapped: bool) -> Gatherer {
        Gatherer {
            ports,
            unit_hz,
            format,
            swapped,
            values: Vec::new(),
            points: Vec::new(),
        }
    }

    /// Whether a point has begun and is not whole.
    pub(super) fn is_open(&self) -> bool {
        !self.values.is_empty()
    }

    /// Numbers that make one point.
    fn wanted(&self) -> usize {
        1 + 2 * self.ports * self.ports
    }

    /// Takes a line of numbers. A point ends with its line.
    pub(super) fn line(&mut self, text: &str, words: &[Word<'_>]) -> Result<(), TextFault> {
        for &word in words {
            if self.values.len() == self.wanted() {
                return Err(fault(
                    text,
                    word,
                    format!("the point has more than its {} numbers", self.wanted()),
                    format!("a frequency and {} pairs", self.ports * self.ports),
                    "does the number of ports fit the file?",
                ));
            }
            let value = number(text, word)?;
            if self.values.is_empty() {
                let frequency = value * self.unit_hz;
                let before = self.points.last().map_or(-1.0, |point| point.frequency_hz);
                if frequency <= before || frequency < 0.0 || !frequency.is_finite() {
                    return Err(fault(
                        text,
                        word,
                        "the frequency is not above the one before",
                        "frequencies of zero or above that rise from point to point",
                        "",
                    ));
                }
            }
            self.values.push(value);
        }
        if self.values.len() == self.wanted() {
            let point = self.point();
            if point.matrix.iter().any(|entry| !entry.size().is_finite()) {
                let word = words.first().copied().unwrap_or(Word { text: "", at: 0 });
                return Err(fault(
                    text,
                    word,
                    "a parameter of this point is beyond all numbers",
                    "finite numbers",
                    "",
                ));
            }
            self.points.push(point);
            self.values.clear();
        }
        Ok(())
    }

    fn point(&self) -> Point {
        let mut matrix: Vec<Complex> = self.values[1..]
            .chunks_exact(2)
            .map(|pair| complex(self.format, pair[0], pair[1]))
            .collect();
        if self.swapped && self.ports == 2 {
            matrix.swap(1, 2);
        }
        Point {
            frequency_hz: self.values[0] * self.unit_hz,
            matrix,
        }
    }
}

fn complex(format: Format, first: f64, second: f64) -> Complex {
    let size = match format {
        Format::RealImaginary => return Complex::new(first, second),
        Format::SizeAngle => first,
        Format::DecibelAngle => 10f64.powf(first / 20.0),
    };
    let (sine, cosine) = second.to_radians().sin_cos();
    Complex::new(size * cosine, size * sine)
}
