//! **The font of all figures and reports: Liberation Sans 2.1.5** (SIL Open Font Licence 1.1; Debian package
//! `fonts-liberation2`, files `LiberationSans-Regular.ttf` and `LiberationSans-Bold.ttf`).
//!
//! Chosen because its advance widths are those of the sans-serif faces found on nearly every desktop, which [`FAMILY`]
//! names after it: a figure keeps its layout where the font itself is not there. Its figures are all of one width, and
//! it has Ω, µ, the minus sign, ², ≤, ≥ and ∞. This crate holds the widths only, not the font.

mod metrics;

use metrics::{BOLD, REGULAR};

/// Value of `font-family` of every figure.
pub const FAMILY: &str = "'Liberation Sans', Arimo, Arial, Helvetica, sans-serif";

/// Units per em of the width tables.
const PER_EM: f64 = 2048.0;

/// Height above the base line that a line of text needs, as a share of the size (accented capitals included).
pub const ASCENT: f64 = 0.80;
/// Depth below the base line, as a share of the size.
pub const DESCENT: f64 = 0.22;
/// Distance of base lines, as a share of the size.
pub const LEADING: f64 = 1.25;

/// Width of a text in pixels at a size in pixels.
///
/// Kerning is left out, which the narrow pairs of this font make a little narrower in reality; a character outside the
/// table counts as one em, the widest that a fall-back font is likely to have.
pub fn width(text: &str, size: f64, bold: bool) -> f64 {
    let table = if bold { BOLD } else { REGULAR };
    text.chars().map(|char| advance(table, char)).sum::<f64>() * size / PER_EM
}

fn advance(table: &[(u32, &[u16])], char: char) -> f64 {
    let code = u32::from(char);
    let units = table.iter().find_map(|(first, widths)| {
        let place = usize::try_from(code.checked_sub(*first)?).ok()?;
        widths.get(place).copied()
    });
    match units {
        Some(units) if units > 0 => f64::from(units),
        _ => PER_EM,
    }
}

/// Breaks a text at its spaces into lines of at most a width; a longer word stands alone. No-break spaces hold.
pub fn wrap(text: &str, size: f64, bold: bool, most: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text
        .split([' ', '\t', '\n', '\r'])
        .filter(|word| !word.is_empty())
    {
        match lines.last_mut() {
            Some(line) if width(&format!("{line} {word}"), size, bold) <= most => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// A text cut with an ellipsis to a width.
pub fn fit(text: &str, size: f64, bold: bool, most: f64) -> String {
    if width(text, size, bold) <= most {
        return text.to_owned();
    }
    let mut cut = String::new();
    for char in text.chars() {
        if width(&format!("{cut}{char}…"), size, bold) > most {
            break;
        }
        cut.push(char);
    }
    format!("{}…", cut.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_are_those_of_the_font() {
        // Digits are 1139, the space 569 and the minus sign 1196 units of 2048.
        assert_eq!(width("0123456789", 2048.0, false), 11390.0);
        assert_eq!(width("1 2", 2048.0, false), 2847.0);
        assert_eq!(width("−", 2048.0, false), 1196.0);
        assert!(width("Breakdown", 10.0, true) > width("Breakdown", 10.0, false));
        assert_eq!(width("漢", 10.0, false), 10.0);
    }

    #[test]
    fn wrapping_and_cutting_stay_within_the_width() {
        let text = "the pin withstands this for a microsecond";
        let lines = wrap(text, 11.0, false, 90.0);
        assert!(lines.len() > 2);
        assert!(lines.iter().all(|line| width(line, 11.0, false) <= 90.0));
        assert_eq!(lines.join(" "), text);
        let cut = fit(text, 11.0, false, 90.0);
        assert!(cut.ends_with('…') && width(&cut, 11.0, false) <= 90.0);
        assert_eq!(fit("pin", 11.0, false, 90.0), "pin");
        assert_eq!(wrap("", 11.0, false, 90.0), Vec::<String>::new());
    }
}
