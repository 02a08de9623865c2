//! A lab test plan in words.

use tidewall_assess::plan::{Noted, StressTest};
use tidewall_assess::result::Polarity;
use tidewall_units::{Amps, Quantity, Seconds, Volts};

/// Mark of what needs no proof line by line.
pub const PRACTICE: &str = "common practice, no source";

/// A statement with how well it is known, unless it says so itself.
pub fn marked(note: &Noted) -> String {
    if note.text.contains(note.mark) || note.mark == "derived" {
        note.text.clone()
    } else {
        format!("{} [{}]", note.text, note.mark)
    }
}

/// Statements joined, with the mark once where they share it.
pub fn joined(notes: &[Noted]) -> String {
    let common = notes
        .first()
        .filter(|first| notes.iter().all(|note| note.mark == first.mark));
    let texts: Vec<String> = match common {
        Some(_) => notes.iter().map(|note| note.text.clone()).collect(),
        None => notes.iter().map(marked).collect(),
    };
    let mark = common.map_or(String::new(), |first| format!(" [{}]", first.mark));
    format!("{}{mark}", texts.join("; "))
}

/// A time in hours, minutes and seconds.
pub fn duration(lasts_s: f64) -> String {
    if lasts_s < 1.0 {
        return Seconds(lasts_s).rounded(3);
    }
    let all = lasts_s.round();
    let (hours, minutes, rest) = ((all / 3600.0).floor(), (all % 3600.0 / 60.0).floor(), all % 60.0);
    let parts = [(hours, "h"), (minutes, "min"), (rest, "s")];
    let shown: Vec<String> = parts
        .iter()
        .filter(|part| part.0 > 0.0)
        .map(|part| format!("{:.0} {}", part.0, part.1))
        .collect();
    shown.join(" ")
}

/// A level in the unit of its test.
pub fn level(value: f64, unit: &str) -> String {
    if unit == "A" {
        Amps(value).rounded(3)
    } else {
        Volts(value).rounded(3)
    }
}

fn signs(polarities: &[Polarity]) -> &'static str {
    match polarities {
        [Polarity::Positive] => "positive",
        [Polarity::Negative] => "negative",
        _ => "positive and negative",
    }
}

/// The levels to be shot, lowest first, and why these.
pub fn levels(test: &StressTest) -> String {
    let steps = test.steps.iter().map(|step| {
        let name = step.name.as_ref();
        let name = name.map_or(String::new(), |name| format!(" (level {name})"));
        format!("{}{name}", level(step.level, test.unit))
    });
    let what = if test.what == "level" {
        String::new()
    } else {
        format!("{}: ", test.what)
    };
    format!(
        "{what}{}; {}",
        steps.collect::<Vec<_>>().join(", "),
        marked(&test.steps_note)
    )
}

/// How many shots in which time.
pub fn count(test: &StressTest) -> String {
    let signs = signs(&test.polarities);
    let each = match (test.impulses_each, test.shots_each, test.interval_s) {
        (Some(impulses), _, Some(lasts_s)) => {
            format!("bursts for {} ({impulses} pulses), {signs}", duration(lasts_s))
        }
        (_, Some(shots), Some(interval_s)) => {
            format!(
                "{shots} of each polarity, {signs}, one every {}",
                duration(interval_s)
            )
        }
        (_, Some(shots), None) => format!("{shots} of each polarity, {signs}; interval not known"),
        _ => format!("number not known, {signs}"),
    };
    let angles = if test.phases_deg.is_empty() {
        ""
    } else {
        ", at each phase angle"
    };
    let all = match (test.shots, test.lasts_s) {
        (Some(shots), Some(lasts_s)) => format!("; {shots} in all, {}", duration(lasts_s)),
        (Some(shots), None) => format!("; {shots} in all"),
        _ => String::new(),
    };
    format!("{each}{angles}, at each level and point{all}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_is_told_in_hours_minutes_and_seconds() {
        for (lasts_s, text) in [
            (0.2, "200 ms"),
            (1.0, "1 s"),
            (60.0, "1 min"),
            (3725.0, "1 h 2 min 5 s"),
            (7200.0, "2 h"),
        ] {
            assert_eq!(duration(lasts_s), text);
        }
    }
}
