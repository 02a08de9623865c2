//! Waves as parts files write them.

use tidewall_devices::datasheet::RatingWave;
use tidewall_units::Seconds;

/// What a wave is written as.
pub const EXPECTED: &str = "\"8/20\", \"10/1000\", another FRONT/TAIL in µs, or \"rectangle 100 ns\"";

/// Why a text is no wave.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WaveFault {
    /// Neither front and tail nor a rectangle.
    Form,
    /// A rectangle without a width above zero.
    Width,
    /// Front and tail are no plain numbers above zero.
    Numbers,
    /// The front is not shorter than the tail.
    Order,
}

impl WaveFault {
    /// What to do about it; empty where [`EXPECTED`] says it all.
    pub fn hint(self) -> &'static str {
        match self {
            WaveFault::Form => "",
            WaveFault::Width => "give the width of the rectangle with its unit",
            WaveFault::Numbers => "front and tail are plain numbers of microseconds",
            WaveFault::Order => "the front must be shorter than the tail",
        }
    }
}

/// Reads `8/20`, `10/1000`, another front and tail in microseconds (`µs` may follow), or `rectangle WIDTH`.
///
/// # Errors
/// See [`WaveFault`].
pub fn parse_wave(text: &str) -> Result<RatingWave, WaveFault> {
    let text = text.trim();
    if let Some(width) = text.strip_prefix("rectangle") {
        return match width.trim().parse::<Seconds>() {
            Ok(width) if width.0 > 0.0 => Ok(RatingWave::Rectangle { width_s: width.0 }),
            _ => Err(WaveFault::Width),
        };
    }
    parse_impulse(text.trim_end_matches("µs"))
}

/// Reads the front and tail of an impulse, `8/20`, in microseconds.
///
/// # Errors
/// See [`WaveFault`].
pub fn parse_impulse(text: &str) -> Result<RatingWave, WaveFault> {
    let micros = |text: &str| {
        let text = text.trim();
        let plain = text.chars().all(|c| c.is_ascii_digit() || c == '.');
        text.parse::<f64>()
            .ok()
            .filter(|us| plain && us.is_finite() && *us > 0.0)
    };
    let (front, tail) = text.split_once('/').ok_or(WaveFault::Form)?;
    match (micros(front), micros(tail)) {
        (Some(8.0), Some(20.0)) => Ok(RatingWave::Surge8x20),
        (Some(10.0), Some(1000.0)) => Ok(RatingWave::Long10x1000),
        (Some(front), Some(tail)) if front < tail => Ok(RatingWave::FrontTail {
            front_s: front / 1e6,
            tail_s: tail / 1e6,
        }),
        (Some(_), Some(_)) => Err(WaveFault::Order),
        _ => Err(WaveFault::Numbers),
    }
}
