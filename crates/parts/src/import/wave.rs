//! The standard impulses, as tables write them.

use tidewall_devices::datasheet::RatingWave;
use tidewall_study::parts::wave::{parse_impulse, parse_wave};

pub(super) use tidewall_study::parts::wave::EXPECTED;

/// Units that may stand behind a wave.
const UNITS: [&str; 3] = ["µs", "μs", "us"];

/// Reads a wave as parts files write it, and `8x20us`.
pub(super) fn parse(text: &str) -> Option<RatingWave> {
    let text = text.trim();
    if text.starts_with("rectangle") {
        return parse_wave(text).ok();
    }
    let text = UNITS
        .iter()
        .find_map(|unit| text.strip_suffix(unit))
        .unwrap_or(text);
    parse_impulse(&text.replace(['x', '×'], "/")).ok()
}

/// A wave that stands anywhere in a header, such as `Ipp 8/20 µs (A)`, and the bytes it takes.
pub(super) fn within(text: &str) -> Option<(RatingWave, std::ops::Range<usize>)> {
    let fits = |c: char| c.is_ascii_digit() || matches!(c, '.' | '/' | 'x' | '×');
    let mut start = 0;
    while start < text.len() {
        let rest = &text[start..];
        let first = rest.chars().next()?;
        if !first.is_ascii_digit() {
            start += first.len_utf8();
            continue;
        }
        let length = rest.find(|c| !fits(c)).unwrap_or(rest.len());
        if let Some(wave) = parse(&rest[..length]) {
            let behind = rest[length..].trim_start();
            let unit = UNITS.iter().find(|unit| behind.starts_with(**unit));
            let end = match unit {
                Some(unit) => text.len() - behind.len() + unit.len(),
                None => start + length,
            };
            return Some((wave, start..end));
        }
        start += length;
    }
    None
}
