//! The standard impulses, as tables write them.

use tidewall_devices::datasheet::RatingWave;
use tidewall_units::Seconds;

/// What a wave is written as.
pub(super) const EXPECTED: &str = "\"8/20\", \"10/1000\", another FRONT/TAIL in µs, or \"rectangle 100 ns\"";

/// Reads `8/20`, `8/20 µs`, `8x20us`, `10/1000`, `rectangle 100 ns`.
pub(super) fn parse(text: &str) -> Option<RatingWave> {
    let text = text.trim();
    if let Some(width) = text.strip_prefix("rectangle") {
        let width = width.trim().parse::<Seconds>().ok()?.0;
        return (width > 0.0).then_some(RatingWave::Rectangle { width_s: width });
    }
    let text = ["µs", "μs", "us"]
        .iter()
        .find_map(|unit| text.strip_suffix(unit))
        .unwrap_or(text)
        .trim();
    let (front, tail) = text.split_once(['/', 'x', '×'])?;
    let micros = |text: &str| {
        let text = text.trim();
        let plain = !text.is_empty() && text.chars().all(|c| c.is_ascii_digit() || c == '.');
        text.parse::<f64>()
            .ok()
            .filter(|time| plain && time.is_finite() && *time > 0.0)
    };
    let (front, tail) = (micros(front)?, micros(tail)?);
    if front >= tail {
        return None;
    }
    Some(match (front, tail) {
        (8.0, 20.0) => RatingWave::Surge8x20,
        (10.0, 1000.0) => RatingWave::Long10x1000,
        (front, tail) => RatingWave::FrontTail {
            front_s: front / 1e6,
            tail_s: tail / 1e6,
        },
    })
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
            let unit = ["µs", "μs", "us"].iter().find(|unit| behind.starts_with(**unit));
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
