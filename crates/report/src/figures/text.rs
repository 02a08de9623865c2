//! Words that several figures share.

use tidewall_assess::explain::ALL;
use tidewall_assess::result::{Corner, PartSet, Polarity, StressSet};
use tidewall_plot::number::quantity;

/// A corner in few words.
pub(super) fn corner(corner: &Corner) -> String {
    let mut words = vec![quantity(corner.ambient_c, "°C", 3)];
    if let Some(part) = corner.part {
        let word = match part {
            PartSet::UnlikeLines => "unlike lines",
            PartSet::UnlikeLinesMirrored => "unlike lines, mirrored",
            part => part.word(),
        };
        words.push(format!("parts {word}"));
    }
    match (corner.stress_tolerance, corner.stress_factor) {
        (Some(StressSet::BlindSpot), Some(factor)) => {
            words.push(format!("just below firing at {} of its level", percent(factor)));
        }
        (Some(StressSet::Drawn), Some(factor)) => {
            words.push(format!("generator at {} of its level", percent(factor)));
        }
        (Some(stress), _) => words.push(format!("generator {}", stress.word())),
        (None, _) => {}
    }
    if let Some(sign) = corner.polarity {
        let word = match sign {
            Polarity::Positive => "positive",
            Polarity::Negative => "negative",
        };
        words.push(word.to_owned());
        words.push(match corner.supply_v {
            Some(volts) => format!("{} on the line", quantity(volts, "V", 3)),
            None => "unpowered".to_owned(),
        });
    }
    words.join(", ")
}

/// The same in fewer words yet, for small print in one line.
pub(super) fn short_corner(corner: &Corner) -> String {
    let mut words = vec![quantity(corner.ambient_c, "°C", 3)];
    if let Some(part) = corner.part {
        let word = match part {
            PartSet::UnlikeLines => "unlike lines",
            PartSet::UnlikeLinesMirrored => "unlike lines mirrored",
            part => part.word(),
        };
        words.push(format!("parts {word}"));
    }
    match (corner.stress_tolerance, corner.stress_factor) {
        (Some(StressSet::BlindSpot), Some(factor)) => words.push(format!("blind spot {}", percent(factor))),
        (Some(StressSet::Drawn), Some(factor)) => words.push(format!("generator {}", percent(factor))),
        (Some(stress), _) => words.push(format!("generator {}", stress.word())),
        (None, _) => {}
    }
    if let Some(sign) = corner.polarity {
        let sign = match sign {
            Polarity::Positive => "+",
            Polarity::Negative => "−",
        };
        let supply = corner
            .supply_v
            .map(|volts| format!(", line {}", quantity(volts, "V", 3)));
        words.push(format!("{sign}{}", supply.unwrap_or_default()));
    }
    words.join(", ")
}

/// A share in percent with three digits at most.
pub(super) fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    if percent.abs() > 999.0 {
        let sign = if percent < 0.0 { "below −" } else { "above " };
        return format!("{sign}999 %");
    }
    let rounded = (percent * 10.0).round() / 10.0;
    quantity(rounded, "%", if rounded.abs() < 10.0 { 2 } else { 3 })
}

/// Title of a check, as `explain` has it.
pub(super) fn check_title(check: &str) -> &str {
    let known = ALL.iter().find(|explanation| explanation.check == check);
    known.map_or(check, |explanation| explanation.title.trim_end_matches('?'))
}

/// A list in words: "a, b and c".
pub(super) fn list(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// "1 check", "3 checks".
pub(super) fn count(number: usize, one: &str, many: &str) -> String {
    if number == 1 {
        format!("1 {one}")
    } else {
        format!("{number} {many}")
    }
}
