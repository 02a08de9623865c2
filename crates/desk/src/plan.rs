//! A laboratory test plan as a table for other programs.

use std::io::{self, Write};

use tidewall_assess::plan::{Reading, ShotGroup, StressTest, TestPlan};
use tidewall_assess::result::Polarity;

/// Columns before those of the readings.
const COLUMNS: [&str; 13] = [
    "group",
    "stress",
    "standard",
    "edition",
    "level",
    "level_unit",
    "point",
    "polarity",
    "supply_v",
    "phase_deg",
    "shots",
    "interval_s",
    "missing",
];

/// Values of a reading in its own unit: name and value.
type InUnit = (&'static str, fn(&Reading) -> f64);
const IN_UNIT: [InUnit; 8] = [
    ("before", |reading| reading.before),
    ("peak", |reading| reading.peak.typical),
    ("peak_low", |reading| reading.peak.low),
    ("peak_high", |reading| reading.peak.high),
    ("back", |reading| reading.back.typical),
    ("back_low", |reading| reading.back.low),
    ("back_high", |reading| reading.back.high),
    ("per_division", |reading| reading.per_division),
];

/// The shots of a plan as a table in CSV, one row for each group. Every port of a study is the same, so all groups have the
/// same places.
///
/// # Errors
/// Those of writing.
pub fn csv(plan: &TestPlan, out: &mut dyn Write) -> io::Result<()> {
    let mut writer = csv::Writer::from_writer(out);
    let groups = || {
        plan.tests
            .iter()
            .flat_map(|test| test.groups.iter().map(move |group| (test, group)))
    };
    let places: Vec<&Reading> = groups()
        .find(|(_, group)| !group.readings.is_empty())
        .map_or(Vec::new(), |(_, group)| group.readings.iter().collect());
    let mut header: Vec<String> = COLUMNS.map(str::to_owned).into();
    for reading in &places {
        let unit = reading.unit.to_lowercase();
        let place = column(&reading.place);
        header.extend(IN_UNIT.map(|(what, _)| format!("{place}_{what}_{unit}")));
        header
            .extend(["rise_s", "time_per_division_s", "bandwidth_hz"].map(|what| format!("{place}_{what}")));
    }
    writer.write_record(&header)?;
    for (test, group) in groups() {
        writer.write_record(row(test, group, &places))?;
    }
    writer.flush()
}

fn row(test: &StressTest, group: &ShotGroup, places: &[&Reading]) -> Vec<String> {
    let or_empty = |value: Option<f64>| value.map_or(String::new(), number);
    let mut row = vec![
        group.number.to_string(),
        test.stress.clone(),
        test.standard.to_owned(),
        test.edition.text.clone(),
        number(group.level),
        test.unit.to_owned(),
        group.point.clone(),
        if group.polarity == Polarity::Positive {
            "+"
        } else {
            "-"
        }
        .to_owned(),
        group.supply_v.map_or("none".to_owned(), number),
        or_empty(group.phase_deg),
        group.shots.map_or(String::new(), |shots| shots.to_string()),
        or_empty(test.interval_s),
        group.missing.clone().unwrap_or_default(),
    ];
    for place in places {
        let found = group.readings.iter().find(|reading| reading.place == place.place);
        let of = |value: fn(&Reading) -> Option<f64>| or_empty(found.and_then(value));
        row.extend(IN_UNIT.map(|(_, value)| or_empty(found.map(value))));
        row.extend([
            of(|reading| reading.rise_s),
            of(|reading| Some(reading.time_per_division_s)),
            of(|reading| reading.bandwidth_hz),
        ]);
    }
    row
}

/// Shortest text that is the same number when read back.
fn number(value: f64) -> String {
    format!("{value:e}")
}

/// A place as a piece of a column's name.
fn column(place: &str) -> String {
    place
        .split(|c: char| c.is_whitespace() || c == ',')
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join("_")
}
