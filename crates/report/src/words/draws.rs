//! Monte Carlo draws in words.

use tidewall_assess::draws::{
    BeyondCorners, DrawnCheck, DrawnPosition, DrawsResult, Proportion, WorstSpecimen,
};

use super::number::{in_one_unit, percent, significant};

/// Width of the margins in the draws that can be seen in a table.
const SEEN: f64 = 1e-3;
/// Checks shown beside those that fail or are unknown, unless everything is.
const CLOSEST: usize = 12;

/// The checks worth a line: those that fail or are unknown, and the closest whose margin varies; or all of them.
pub fn worth_showing(draws: &DrawsResult, everything: bool) -> Vec<&DrawnCheck> {
    // They stand worst first.
    let mut close = 0;
    let mut worth = |check: &&DrawnCheck| {
        if everything || check.failures > 0 || check.unknown > 0 {
            return true;
        }
        let varies = match (check.margin_p05, check.margin_p95) {
            (Some(low), Some(high)) => high - low >= SEEN,
            _ => false,
        };
        let counts = check.check != "energy-audit" && varies;
        close += usize::from(counts);
        counts && close <= CLOSEST
    };
    draws.checks.iter().filter(|check| worth(check)).collect()
}

/// In how many draws some check fails.
pub fn any_failure(any: &Proportion, undecided: u64) -> String {
    let least = if undecided > 0 { "at least " } else { "" };
    format!(
        "Some check fails in {least}{} of {} draws: {}.",
        any.count,
        any.of,
        in_words(any)
    )
}

/// A share with its interval, in percent.
pub fn in_words(share: &Proportion) -> String {
    format!("{} % (95 %: {})", digits(share.share), interval(share))
}

fn interval(share: &Proportion) -> String {
    format!("{} % to {} %", digits(share.low), digits(share.high))
}

/// A share in percent with two digits: probabilities are small.
fn digits(share: f64) -> String {
    significant(100.0 * share, 2)
}

/// How likely a check fails, with its interval.
pub fn probability(check: &DrawnCheck) -> String {
    let mut share = check.probability.as_ref().map_or("unknown".to_owned(), |share| {
        if check.failures == 0 {
            format!("below {} %", digits(share.high))
        } else {
            format!("{} % ({})", digits(share.share), interval(share))
        }
    });
    if check.unknown > 0 && check.probability.is_some() {
        share.push_str(&format!(", {} unknown", check.unknown));
    }
    share
}

/// Check, stress and element.
pub fn place(check: &str, stress: Option<&str>, element: &str) -> String {
    match stress {
        Some(stress) => format!("{check}, {stress}, {element}"),
        None => format!("{check}, {element}"),
    }
}

/// A check whose worst case lies inside the tolerances.
pub fn beyond_words(beyond: &BeyondCorners) -> String {
    format!(
        "{} has a margin of {} % in draw {} and of {} % at its worst corner: its worst case lies inside the tolerances",
        place(beyond.check, beyond.stress.as_deref(), &beyond.element),
        percent(beyond.margin),
        beyond.draw,
        percent(beyond.corner_margin)
    )
}

/// Where the worst specimen stands.
pub fn specimen_words(worst: &WorstSpecimen) -> String {
    let places: Vec<String> = worst.positions.iter().map(position).collect();
    format!(
        "{} with a margin of {} %; {}",
        place(worst.check, worst.stress.as_deref(), &worst.element),
        percent(worst.margin),
        places.join(", ")
    )
}

/// "D1 breakdown 37.2 V", "ambient 61 °C"; a place in the tolerance where there is no value.
fn position(at: &DrawnPosition) -> String {
    match at.value {
        Some(share) if at.unit == "1" => format!("{} at {} %", at.axis, significant(100.0 * share, 4)),
        Some(celsius) if at.unit == "°C" => {
            let text = format!("{:.1}", (10.0 * celsius).round() / 10.0 + 0.0);
            format!("{} {} °C", at.axis, text.replace('-', "−"))
        }
        Some(_) => {
            let (texts, unit) = in_one_unit(&[at.value], at.unit);
            let what = if at.unit == "V" && at.what == "breakdown" {
                " breakdown"
            } else {
                ""
            };
            format!("{}{what} {} {unit}", at.axis, texts[0])
        }
        None => format!(
            "{} at {} % of its tolerance",
            at.axis,
            significant(100.0 * at.position, 3)
        ),
    }
}

/// A rank correlation with two decimals; "?" where it is not known.
pub fn rank_words(correlation: Option<f64>) -> String {
    correlation.map_or("?".to_owned(), |rank| {
        format!("{:.2}", (100.0 * rank).round() / 100.0 + 0.0).replace('-', "−")
    })
}
