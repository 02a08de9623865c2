//! A test plan as text.

mod shots;

use tidewall_assess::plan::{HealthCheck, Noted, StressTest, TestPlan, Verification};
use tidewall_assess::result::Polarity;
use tidewall_study::Study;
use tidewall_units::{Amps, Celsius, Quantity, Seconds, Volts};

use super::number::in_one_unit;
use super::page::{Page, Style};
use super::table::{Align, Table, plain};

/// The sheet of a plan.
pub fn sheet(study: &Study, plan: &TestPlan) -> String {
    let mut page = Page::for_terminal();
    page.line(&[(Style::Strong, &format!("Test plan: {}", plan.study.title))]);
    page.entry("study     ", &study.path);
    page.entry("digest    ", &plan.study.digest);
    let shots = plan
        .shots
        .map_or("not known".to_owned(), |shots| shots.to_string());
    let lasts = plan.lasts_s.map_or("time not known".to_owned(), duration);
    page.entry(
        "shots     ",
        &format!("{shots}; {lasts} at the stated intervals, without setting up and measuring (a minute of bursts is a shot)"),
    );
    page.entry(
        "predicted ",
        &format!(
            "with typical parts at {} and the generator's nominal level; in brackets the span of parts low to high",
            Celsius(plan.ambient_c).rounded(3)
        ),
    );
    list(&mut page, "Caution", plan.cautions.iter().map(String::as_str));
    if !plan.missing.is_empty() {
        page.heading("To be provided or agreed");
        for missing in &plan.missing {
            page.styled_entry(Style::Doubt, "? ", missing);
        }
    }
    noted(&mut page, "Before the first shot", &plan.before);
    health(&mut page, &plan.health);
    noted(&mut page, "Record at each shot", &plan.record);
    noted(&mut page, "Stop when", &plan.stop);
    for (k, test) in plan.tests.iter().enumerate() {
        self::test(&mut page, k + 1, test);
    }
    list(
        &mut page,
        "Assumptions",
        plan.assumptions.iter().map(String::as_str),
    );
    page.finish()
}

fn list<'a>(page: &mut Page, heading: &str, lines: impl Iterator<Item = &'a str>) {
    page.heading(heading);
    for line in lines {
        page.entry("– ", line);
    }
}

/// Mark of what needs no proof line by line.
const PRACTICE: &str = "common practice, no source";

fn noted(page: &mut Page, heading: &str, notes: &[Noted]) {
    page.heading(heading);
    for note in notes {
        if note.mark == PRACTICE {
            page.entry("– ", &note.text);
        } else {
            page.entry("– ", &marked(note));
        }
    }
    if notes.iter().any(|note| note.mark == PRACTICE) {
        page.entry("", &format!("[without another mark: {PRACTICE}]"));
    }
}

/// A statement with how well it is known, unless it says so itself.
fn marked(note: &Noted) -> String {
    if note.text.contains(note.mark) || note.mark == "derived" {
        note.text.clone()
    } else {
        format!("{} [{}]", note.text, note.mark)
    }
}

/// Statements joined, with the mark once where they share it.
fn joined(notes: &[Noted]) -> String {
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

fn level(value: f64, unit: &str) -> String {
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

fn test(page: &mut Page, number: usize, test: &StressTest) {
    page.heading(&format!("Test {number}, {}: {}", test.stress, test.title));
    page.entry(
        "standard   ",
        &format!("{}, {}", test.standard, marked(&test.edition)),
    );
    let steps: Vec<String> = test
        .steps
        .iter()
        .map(|step| {
            let name = step
                .name
                .as_ref()
                .map_or(String::new(), |name| format!(" (level {name})"));
            format!("{}{name}", level(step.level, test.unit))
        })
        .collect();
    let what = if test.what == "level" {
        String::new()
    } else {
        format!("{}: ", test.what)
    };
    page.entry(
        "levels     ",
        &format!("{what}{}; {}", steps.join(", "), marked(&test.steps_note)),
    );
    page.entry("coupling   ", &test.coupling);
    let points: Vec<&str> = test.points.iter().map(|point| point.name.as_str()).collect();
    page.entry("points     ", &points.join(", "));
    page.entry("state      ", &test.states.join("; "));
    page.entry("shots      ", &count(test));
    page.entry("phase      ", &marked(&test.phase_note));
    page.entry("climate    ", &joined(&test.environment));
    page.entry("accepted   ", &test.criterion);
    page.entry("generator  ", &test.network.join("; "));
    page.entry(
        "probe      ",
        &test.connector_probe_v.map_or_else(
            || {
                "rating at the connector not known: the generator's open-circuit voltage is missing"
                    .to_owned()
            },
            |rating_v| {
                let rating = Volts(rating_v).rounded(3);
                format!("at the connector for at least {rating}: a protector may fail open")
            },
        ),
    );
    for note in &test.notes {
        page.entry("note       ", &marked(note));
    }
    for source in &test.sources {
        page.entry(
            "source     ",
            &format!("{}: {}", source.what, marked(&source.source)),
        );
    }
    verification(page, test);
    shots::groups(page, test);
    shots::settings(page, test);
}

fn count(test: &StressTest) -> String {
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

fn verification(page: &mut Page, test: &StressTest) {
    page.blank();
    page.line(&[(Style::Strong, "  Equipment, verified without the specimen")]);
    let mut table = Table::default()
        .column("where", Align::Left)
        .column("quantity", Align::Left)
        .column("model", Align::Point)
        .column("at least", Align::Point)
        .column("at most", Align::Point)
        .unit_column("")
        .column("model inside", Align::Left)
        .column("limits", Align::Left);
    let mut last = "";
    for row in &test.verification {
        let (texts, unit) = in_one_unit(&[row.computed, row.lowest, row.highest], row.unit);
        let text = |k: usize| {
            if texts[k].is_empty() {
                "?".to_owned()
            } else {
                texts[k].clone()
            }
        };
        let inside = match row.inside {
            Some(true) => (Style::Pass, "yes".to_owned()),
            Some(false) => (Style::Doubt, "no".to_owned()),
            None => plain("–"),
        };
        let place = if row.load == last { "" } else { row.load.as_str() };
        last = &row.load;
        table.row(vec![
            plain(place),
            plain(row.quantity),
            plain(text(0)),
            plain(text(1)),
            plain(text(2)),
            plain(unit),
            inside,
            plain(row.mark),
        ]);
    }
    table.write(page);
    if test
        .verification
        .iter()
        .any(|row: &Verification| row.inside == Some(false))
    {
        page.entry(
            "! ",
            "a modelled quantity lies outside the standard's limits: the prediction stands for that wave",
        );
    }
    for note in &test.verification_notes {
        page.entry("– ", &marked(note));
    }
}

fn health(page: &mut Page, checks: &[HealthCheck]) {
    if checks.is_empty() {
        return;
    }
    page.heading("Protectors: measure before the first shot, after each group and at the end");
    let mut table = Table::default()
        .column("element", Align::Left)
        .column("part", Align::Left)
        .column("quantity", Align::Left)
        .column("at least", Align::Point)
        .column("at most", Align::Point)
        .unit_column("")
        .column("limits from", Align::Left);
    for check in checks {
        let (texts, unit) = in_one_unit(&[check.lowest, check.highest], check.unit);
        let text = |k: usize, value: Option<f64>| value.map_or(String::new(), |_| texts[k].clone());
        let known = check.lowest.is_some() || check.highest.is_some();
        table.row(vec![
            plain(check.element.clone()),
            plain(check.part.clone()),
            plain(check.quantity.clone()),
            plain(text(0, check.lowest)),
            if known {
                plain(text(1, check.highest))
            } else {
                (Style::Doubt, "?".to_owned())
            },
            plain(unit),
            plain(check.note.clone()),
        ]);
    }
    table.without_empty().write(page);
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
