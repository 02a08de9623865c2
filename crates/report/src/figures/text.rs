//! Words that several figures share.

use tidewall_assess::explain::ALL;
use tidewall_assess::result::{Assessment, Corner, PartSet, Polarity, StressSet};
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
    if share != 0.0 && percent.abs() < 0.05 {
        return "< 0.1 %".to_owned();
    }
    let rounded = (percent * 10.0).round() / 10.0;
    quantity(rounded, "%", 4)
}

/// A share in percent with one decimal, so that a column of them lines up.
pub(super) fn aligned(share: f64) -> String {
    let percent = 100.0 * share;
    let rounded = (percent * 10.0).round() / 10.0;
    if percent.abs() > 999.0 || (share != 0.0 && rounded == 0.0) || rounded.fract() != 0.0 {
        return self::percent(share);
    }
    quantity(rounded, "", 4) + ".0 %"
}

/// Title of a check, as `explain` has it.
pub(super) fn check_title(check: &str) -> &str {
    let known = ALL.iter().find(|explanation| explanation.check == check);
    known.map_or(check, |explanation| explanation.title.trim_end_matches('?'))
}

/// Said where only some corners were run.
pub(super) fn restriction(assessment: &Assessment) -> Option<String> {
    let restriction = assessment.restriction.as_ref()?;
    (restriction.left_out > 0).then(|| {
        format!(
            "Only the corners {} were run, {} of {}.",
            list(&restriction.corners),
            restriction.run,
            restriction.run + restriction.left_out
        )
    })
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
