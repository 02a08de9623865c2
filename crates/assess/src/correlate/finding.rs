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
    // More is left than noise: the cause is not the whole of it, and the interval may miss what a second one hides.
    let beyond = if floor > 0.0 && best.1.squares > AGREES * floor {
        format!(
            "; what is left is {:.1} times the noise, so that something else differs too",
            (best.1.squares / floor).sqrt()
        )
    } else {
        String::new()
    };
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
                "the likeliest cause is the {}: it explains {} of the difference{better}{beyond}",
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
            "a tie: the voltage alone cannot tell between {}{better}{beyond}",
            list.join(", ")
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A parameter that leaves so many squares; the difference has 100, the noise 10, two explanations differ by 1.
    fn fitted(name: &str, squares: f64, is_plausible: bool) -> (Candidate, Fitted) {
        let candidate = Candidate {
            parameter: name.to_owned(),
            unit: "H",
            stated: 1e-9,
            fitted: 4e-9,
            interval: [3.9e-9, 4.1e-9],
            interval_open: false,
            plausible: [0.2e-9, 5e-9],
            plausible_because: "",
            is_plausible,
            explains: (100.0 - squares) / 90.0,
            left_v: 0.0,
            explains_current: None,
        };
        let fit = Fitted {
            value: 4e-9,
            interval: (3.9e-9, 4.1e-9),
            open: false,
            squares,
            shift_s: 0.0,
            rise: 1.0,
        };
        (candidate, fit)
    }

    fn judged(all: &[(Candidate, Fitted)]) -> Finding {
        let ranked: Vec<(&Candidate, &Fitted)> = all.iter().map(|(c, f)| (c, f)).collect();
        finding(&ranked, 100.0, 10.0, 100.0)
    }

    #[test]
    fn one_tie_and_none_are_told_apart() {
        let one = judged(&[fitted("a", 10.5, true), fitted("b", 12.0, true)]);
        assert_eq!(
            (one.outcome, one.parameters),
            (Outcome::One, vec!["a".to_owned()])
        );
        assert!(!one.text.contains("something else"), "{}", one.text);
        let tie = judged(&[
            fitted("a", 10.5, true),
            fitted("b", 11.4, true),
            fitted("c", 60.0, true),
        ]);
        assert_eq!((tie.outcome, tie.parameters.len()), (Outcome::Tie, 2));
        let none = judged(&[fitted("a", 60.0, true)]);
        assert_eq!(none.outcome, Outcome::None);
        assert!(none.text.contains("explains 44 %"), "{}", none.text);
        assert_eq!(judged(&[]).outcome, Outcome::None);
    }

    #[test]
    fn what_is_left_and_what_is_not_plausible_are_said() {
        let left = judged(&[fitted("a", 40.0, true)]);
        assert_eq!(left.outcome, Outcome::One);
        assert!(left.text.contains("2.0 times the noise"), "{}", left.text);
        let better = judged(&[fitted("a", 10.0, false), fitted("b", 30.0, true)]);
        assert_eq!(better.parameters, ["b"]);
        assert!(
            better.text.contains("a at 4 nH") && better.text.contains("not plausible"),
            "{}",
            better.text
        );
        let only = judged(&[fitted("a", 10.0, false)]);
        assert_eq!(only.outcome, Outcome::None);
        assert!(only.text.contains("but is not plausible"), "{}", only.text);
        let small = finding(&[], 12.0, 10.0, 100.0);
        assert_eq!(small.outcome, Outcome::Agreement);
    }
}
