//! What the fits come to, in words.

use super::result::{Candidate, Finding, Outcome};
use super::search::Fitted;
use crate::text;

/// Sum of squares over that of the noise up to which nothing is left to explain (the spread of an estimated variance
/// and of an alignment; numerical choice).
const AGREES: f64 = 1.25;
/// Share of the difference that a cause must explain.
const MOST: f64 = 0.5;

/// A value in its unit.
pub(super) fn value(value: f64, unit: &str) -> String {
    match unit {
        "H" => text::henries(value),
        "Ω" => text::ohms(value),
        "F" => text::farads(value),
        "°C" => text::celsius(value),
        _ => format!("{value:.3}"),
    }
}

fn described(candidate: &Candidate) -> String {
    let [low, high] = candidate.interval;
    let unit = candidate.unit;
    format!(
        "{} at {} ({} to {}; stated {})",
        candidate.parameter,
        value(candidate.fitted, unit),
        value(low, unit),
        value(high, unit),
        value(candidate.stated, unit)
    )
}

/// Judges the fits, which stand in the order of what they leave.
pub(super) fn finding(ranked: &[(&Candidate, &Fitted)], squares: f64, floor: f64, count: f64) -> Finding {
    if floor > 0.0 && squares <= AGREES * floor {
        let text = format!(
            "prediction and measurement agree: the difference of {} is that of the noise",
            text::volts((squares / count).sqrt())
        );
        return Finding {
            outcome: Outcome::Agreement,
            parameters: Vec::new(),
            text,
        };
    }
    let plausible: Vec<&(&Candidate, &Fitted)> = ranked.iter().filter(|one| one.0.is_plausible).collect();
    let explains = |one: &&&(&Candidate, &Fitted)| one.0.explains >= MOST;
    let Some(best) = plausible.first().filter(explains) else {
        let most = ranked.first().map_or_else(String::new, |(first, _)| {
            format!(
                "; the most would come from {}, which explains {}{}",
                described(first),
                text::percent(first.explains),
                if first.is_plausible {
                    ""
                } else {
                    " but is not plausible"
                }
            )
        });
        return Finding {
            outcome: Outcome::None,
            parameters: Vec::new(),
            text: format!("no single parameter explains the difference within its plausible range{most}"),
        };
    };
    let as_good: Vec<&Candidate> = plausible
        .iter()
        .filter(|one| one.1.squares <= best.1.squares + best.1.rise)
        .map(|one| one.0)
        .collect();
    let better = ranked
        .first()
        .filter(|first| !first.0.is_plausible && first.1.squares + first.1.rise < best.1.squares)
        .map_or_else(String::new, |first| {
            format!(
                "; {} would explain more, but is not plausible",
                described(first.0)
            )
        });
    let parameters = as_good.iter().map(|one| one.parameter.clone()).collect();
    if let [one] = as_good[..] {
        return Finding {
            outcome: Outcome::One,
            parameters,
            text: format!(
                "the likeliest cause is the {}: it explains {} of the difference{better}",
                described(one),
                text::percent(one.explains)
            ),
        };
    }
    let list: Vec<String> = as_good.iter().map(|one| described(one)).collect();
    Finding {
        outcome: Outcome::Tie,
        parameters,
        text: format!(
            "a tie: the voltage alone cannot tell between {}{better}",
            list.join(", ")
        ),
    }
}
