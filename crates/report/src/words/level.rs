//! Highest survived levels in words.

use tidewall_assess::level::{HighestLevel, LevelOutcome};

use super::finding::place;
use super::number::{corner_words, significant};

fn times(factor: f64) -> String {
    format!("{} ×", significant(factor, 3))
}

/// How far a stress can be raised, and what gives way then.
pub fn in_words(level: &HighestLevel) -> String {
    let mut text = match (level.outcome, &level.text) {
        (LevelOutcome::Cancelled, _) => return "not searched to the end".to_owned(),
        (LevelOutcome::Found, Some(words)) => format!(
            "{words} ({} the study's {})",
            times(level.factor.unwrap_or(f64::NAN)),
            level.what
        ),
        (LevelOutcome::SurvivesAll, Some(words)) => format!(
            "no limit found up to {} the study's {} ({words})",
            times(level.tried_to),
            level.what
        ),
        _ => format!(
            "none found: fails already at {} the study's {}, the lowest tried",
            times(level.tried_from),
            level.what
        ),
    };
    let listed = [
        level
            .listed_survived
            .as_ref()
            .map(|listed| format!("the standard's {listed} is survived")),
        level
            .listed_next
            .as_ref()
            .map(|listed| format!("its next is {listed}")),
    ];
    for part in listed.into_iter().flatten() {
        text.push_str(&format!("; {part}"));
    }
    if let Some(check) = &level.gives_way {
        let corner = check.corner.as_ref().map(corner_words);
        text.push_str(&format!("; then {} gives way: {}", place(check), check.why));
        if let Some(corner) = corner {
            text.push_str(&format!(" ({corner})"));
        }
    }
    if !level.survives_again_at.is_empty() {
        let again: Vec<String> = level
            .survives_again_at
            .iter()
            .map(|factor| times(*factor))
            .collect();
        text.push_str(&format!("; survives again at {}", again.join(", ")));
    }
    if !level.unknown.is_empty() {
        text.push_str(&format!("; unknown there: {}", level.unknown.join("; ")));
    }
    text
}
