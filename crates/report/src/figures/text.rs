//! Words that several figures share.

use tidewall_assess::explain::ALL;
use tidewall_assess::result::{Assessment, Corner, Polarity, StressSet};
use tidewall_plot::number::quantity;

use crate::words::number::{self, parts_in_words};

/// A corner in fewer words than [`corner_words`](crate::words::number::corner_words), for small print in one line.
pub(super) fn short_corner(corner: &Corner) -> String {
    let mut words = vec![quantity(corner.ambient_c, "°C", 3)];
    if let Some(part) = corner.part {
        words.push(parts_in_words(part));
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

/// A share in percent with one decimal, which is left off where it is none.
pub(super) fn percent(share: f64) -> String {
    let text = aligned(share);
    text.replace(".0 %", " %")
}

/// A share in percent with one decimal, so that a column of them lines up.
pub(super) fn aligned(share: f64) -> String {
    match number::percent(share).as_str() {
        "0.0" if share != 0.0 => "< 0.1 %".to_owned(),
        text => format!("{text} %"),
    }
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
