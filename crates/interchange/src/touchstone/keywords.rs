//! The option line, and the keywords of version 2.

use super::{Format, Parameter};
use tidewall_units::clip;

use crate::fault::{Line, TextFault, Word, fault};

/// What the option line says.
#[derive(Clone, Copy, Debug)]
pub(super) struct Options {
    pub(super) unit_hz: f64,
    pub(super) parameter: Parameter,
    pub(super) format: Format,
    pub(super) reference_ohm: f64,
}

/// Reads a line that begins with `#`.
pub(super) fn options(text: &str, line: Line<'_>) -> Result<Options, TextFault> {
    let mut options = Options {
        unit_hz: 1e9,
        parameter: Parameter::S,
        format: Format::SizeAngle,
        reference_ohm: 50.0,
    };
    let whole = line.whole();
    let rest = Line {
        text: &whole.text[1..],
        at: whole.at + 1,
        number: line.number,
    };
    let words = rest.words();
    let mut seen = [false; 4];
    let mut index = 0;
    while let Some(&word) = words.get(index) {
        index += 1;
        let which = match word.text.to_ascii_lowercase().as_str() {
            "hz" | "khz" | "mhz" | "ghz" => {
                options.unit_hz = match word.text.to_ascii_lowercase().as_str() {
                    "hz" => 1.0,
                    "khz" => 1e3,
                    "mhz" => 1e6,
                    _ => 1e9,
                };
                0
            }
            kind @ ("s" | "y" | "z" | "g" | "h") => {
                options.parameter = match kind {
                    "s" => Parameter::S,
                    "y" => Parameter::Y,
                    "z" => Parameter::Z,
                    "g" => Parameter::G,
                    _ => Parameter::H,
                };
                1
            }
            format @ ("ri" | "ma" | "db") => {
                options.format = match format {
                    "ri" => Format::RealImaginary,
                    "ma" => Format::SizeAngle,
                    _ => Format::DecibelAngle,
                };
                2
            }
            "r" => {
                let value = words.get(index).copied();
                index += 1;
                options.reference_ohm =
                    positive(text, value.unwrap_or(word), "a resistance above zero, as in R 50")?;
                3
            }
            _ => {
                return Err(fault(
                    text,
                    word,
                    format!("`{}` has no place on the option line", clip(word.text)),
                    "# with a unit (Hz, kHz, MHz, GHz), a parameter (S, Y, Z, G, H), a format (RI, MA, DB) and R with ohms",
                    "",
                ));
            }
        };
        if seen[which] {
            return Err(fault(
                text,
                word,
                format!("the option line says this twice: `{}`", clip(word.text)),
                "one unit, one parameter, one format, one R",
                "",
            ));
        }
        seen[which] = true;
    }
    Ok(options)
}

/// A finite number.
pub(super) fn number(text: &str, word: Word<'_>) -> Result<f64, TextFault> {
    let plain = word
        .text
        .chars()
        .all(|c| c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | 'e' | 'E'));
    word.text
        .parse::<f64>()
        .ok()
        .filter(|value| plain && value.is_finite())
        .ok_or_else(|| {
            fault(
                text,
                word,
                format!("`{}` is not a number", clip(word.text)),
                "a number such as 1.5, -0.02 or 3e-4, with a point",
                "comments begin with !",
            )
        })
}

pub(super) fn positive(text: &str, word: Word<'_>, expected: &str) -> Result<f64, TextFault> {
    number(text, word)
        .ok()
        .filter(|value| *value > 0.0)
        .ok_or_else(|| {
            fault(
                text,
                word,
                format!("`{}` cannot stand here", clip(word.text)),
                expected,
                "",
            )
        })
}

/// A whole number within a range, as the only argument of a keyword.
pub(super) fn count(
    text: &str,
    keyword: Word<'_>,
    words: &[Word<'_>],
    range: std::ops::RangeInclusive<usize>,
) -> Result<usize, TextFault> {
    let value = match words {
        [word] => word.text.parse().ok(),
        _ => None,
    };
    value.filter(|value| range.contains(value)).ok_or_else(|| {
        fault(
            text,
            words.first().copied().unwrap_or(keyword),
            format!("{} needs one whole number", keyword.text),
            format!("a number from {} to {}", range.start(), range.end()),
            "",
        )
    })
}

/// Name, place and arguments of a keyword line; `None` for any other. The name is folded to small letters.
pub(super) fn keyword<'t>(
    text: &str,
    line: Line<'t>,
) -> Result<Option<(String, Word<'t>, Vec<Word<'t>>)>, TextFault> {
    let Some((word, rest)) = line.bracketed(text)? else {
        return Ok(None);
    };
    let pieces: Vec<String> = word.text[1..word.text.len() - 1]
        .split_whitespace()
        .map(str::to_ascii_lowercase)
        .collect();
    Ok(Some((pieces.join(" "), word, rest.words())))
}
