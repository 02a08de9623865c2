//! A test plan as text.

use tidewall_assess::plan::setting;
use tidewall_assess::plan::{
    HealthCheck, Noted, Peak, PlaceKind, Reading, ShotGroup, StressTest, TestPlan, Verification,
};
use tidewall_assess::result::Polarity;
use tidewall_study::Study;
use tidewall_units::{Amps, Celsius, Hertz, Quantity, Seconds, Volts};

use super::number::in_one_unit;
use super::page::{Page, Style};
use super::table::{Align, Table};

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
    page.entry("shots      ", &shots(test));
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
    groups(page, test);
    settings(page, test);
}

fn shots(test: &StressTest) -> String {
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

fn plain(text: impl Into<String>) -> (Style, String) {
    (Style::Plain, text.into())
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

/// A reading of the sheet's table: the largest of the lines of a pair.
fn largest<'a>(group: &'a ShotGroup, head: &Head) -> Option<&'a Reading> {
    // Of equals the first: the voltage of a line rather than that between them.
    let wanted = group.readings.iter().rev().filter(|reading| head.takes(reading));
    wanted.max_by(|a, b| a.peak.typical.abs().total_cmp(&b.peak.typical.abs()))
}

/// A column of readings: connector or pin, or one stage of shunts.
struct Head {
    kind: PlaceKind,
    /// Name of the stage, for shunts.
    stage: String,
    unit: &'static str,
}

impl Head {
    fn takes(&self, reading: &Reading) -> bool {
        reading.kind == self.kind
            && reading.unit == self.unit
            && (self.kind != PlaceKind::Shunt || stage(reading) == self.stage)
    }

    fn title(&self) -> String {
        match self.kind {
            PlaceKind::Connector => format!("connector {}", self.unit),
            PlaceKind::Pin => format!("pin {}", self.unit),
            PlaceKind::Shunt => format!("{} {}", self.stage, self.unit),
        }
    }
}

/// Name of the stage a shunt's reading belongs to: without line and quantity.
fn stage(reading: &Reading) -> &str {
    let place = reading.place.as_str();
    let place = place
        .strip_suffix(" voltage")
        .or(place.strip_suffix(" current"))
        .unwrap_or(place);
    place
        .strip_suffix(" (line 1)")
        .or(place.strip_suffix(" (line 2)"))
        .unwrap_or(place)
}

fn heads(test: &StressTest) -> Vec<Head> {
    let mut heads: Vec<Head> = Vec::new();
    for reading in test.groups.iter().flat_map(|group| &group.readings) {
        if !heads.iter().any(|head| head.takes(reading)) {
            heads.push(Head {
                kind: reading.kind,
                stage: if reading.kind == PlaceKind::Shunt {
                    stage(reading).to_owned()
                } else {
                    String::new()
                },
                unit: reading.unit,
            });
        }
    }
    heads
}

fn groups(page: &mut Page, test: &StressTest) {
    page.blank();
    page.line(&[(Style::Strong, "  Shots in their order, and the peaks to expect")]);
    let heads: Vec<(Head, f64)> = heads(test)
        .into_iter()
        .map(|head| {
            let size = size(test, &head);
            (head, size)
        })
        .collect();
    let mut table = Table::default()
        .column("group", Align::Point)
        .column("level", Align::Left)
        .column("point", Align::Left)
        .column("", Align::Left)
        .column("line at", Align::Left)
        .column("phase", Align::Point)
        .column("shots", Align::Point);
    for (head, _) in &heads {
        table = table.column(&head.title(), Align::Left);
    }
    let several = test.points.len() > 1;
    for group in &test.groups {
        let mut row = vec![
            plain(group.number.to_string()),
            plain(level(group.level, test.unit)),
            plain(if several { group.point.as_str() } else { "" }),
            plain(if group.polarity == Polarity::Positive {
                "+"
            } else {
                "−"
            }),
            plain(
                group
                    .supply_v
                    .map_or("unpowered".to_owned(), |volts| Volts(volts).rounded(3)),
            ),
            plain(
                group
                    .phase_deg
                    .map_or(String::new(), |degrees| format!("{degrees}°")),
            ),
            plain(group.shots.map_or("?".to_owned(), |shots| shots.to_string())),
        ];
        row.extend(heads.iter().map(|(head, size)| match largest(group, head) {
            Some(reading) => plain(span(&reading.peak, decimals(*size))),
            None => (Style::Doubt, "?".to_owned()),
        }));
        table.row(row);
        let back: Vec<(Style, String)> = heads
            .iter()
            .map(|(head, size)| match largest(group, head) {
                Some(reading) if swings_back(reading, *size) => plain(span(&reading.back, decimals(*size))),
                _ => plain(""),
            })
            .collect();
        if back.iter().any(|cell| !cell.1.is_empty()) {
            let mut row = vec![plain(""); 4];
            row.push(plain("then back to"));
            row.extend([plain(""), plain("")]);
            row.extend(back);
            table.row(row);
        }
    }
    table.without_empty().write(page);
    if heads.iter().any(|(head, _)| largest_of_several(test, head)) {
        page.entry(
            "  ",
            "of a pair the larger of the lines stands here; the JSON and the CSV have each",
        );
    }
    for group in test.groups.iter().filter(|group| !group.differs.is_empty()) {
        page.entry(
            "! ",
            &format!("group {}: {}", group.number, group.differs.join("; ")),
        );
    }
}

fn largest_of_several(test: &StressTest, head: &Head) -> bool {
    let of = |group: &ShotGroup| {
        group
            .readings
            .iter()
            .filter(|reading| head.takes(reading))
            .count()
    };
    test.groups.iter().any(|group| of(group) > 1)
}

/// Typical value with its span, with so many decimals.
fn span(peak: &Peak, decimals: usize) -> String {
    let text = |value: f64| {
        let text = format!("{value:.decimals$}");
        // What rounds to zero has no sign.
        let nothing = text.chars().all(|c| matches!(c, '-' | '0' | '.'));
        if nothing {
            text.replace('-', "")
        } else {
            text.replace('-', "−")
        }
    };
    let (typical, low, high) = (text(peak.typical), text(peak.low), text(peak.high));
    if low == typical && high == typical {
        typical
    } else {
        format!("{typical} ({low}…{high})")
    }
}

/// Size of the largest value of a column.
fn size(test: &StressTest, head: &Head) -> f64 {
    let readings = test.groups.iter().flat_map(|group| &group.readings);
    readings
        .filter(|reading| head.takes(reading))
        .flat_map(|reading| {
            [
                reading.peak.low,
                reading.peak.high,
                reading.back.low,
                reading.back.high,
            ]
        })
        .map(f64::abs)
        .fold(0.0, f64::max)
}

/// Decimals with which a number of this size has three digits.
fn decimals(size: f64) -> usize {
    if size > 0.0 {
        usize::try_from(2 - size.log10().floor() as i32).unwrap_or(0)
    } else {
        0
    }
}

/// Share of the first peak from which a swing to the other side has a line of its own.
const SWING: f64 = 0.2;

/// Share of the largest value of a column below which a swing is not told.
const SLIGHT: f64 = 0.01;

/// Whether a place swings back noticeably, where the largest value of its column has this size.
fn swings_back(reading: &Reading, size: f64) -> bool {
    let from = |peak: &Peak| (peak.typical - reading.before).abs();
    from(&reading.back) > (SWING * from(&reading.peak)).max(SLIGHT * size)
}

/// Settings that hold every shot at the required level.
fn settings(page: &mut Page, test: &StressTest) {
    let at_level: Vec<&ShotGroup> = test
        .groups
        .iter()
        .filter(|group| group.level == test.level)
        .collect();
    let Some(first) = at_level.iter().find(|group| !group.readings.is_empty()) else {
        return;
    };
    page.blank();
    page.line(&[(
        Style::Strong,
        "  Oscilloscope at the required level: eight divisions, zero in the middle; ten along",
    )]);
    let mut table = Table::default()
        .column("place", Align::Left)
        .column("from", Align::Point)
        .column("to", Align::Point)
        .unit_column("")
        .column("per division", Align::Left)
        .column("rise 10–90 %", Align::Left)
        .column("bandwidth at least", Align::Left);
    for (k, place) in first.readings.iter().enumerate() {
        let same: Vec<&Reading> = at_level
            .iter()
            .filter_map(|group| group.readings.get(k))
            .collect();
        let most = |of: fn(&Reading) -> f64| {
            same.iter()
                .map(|reading| of(reading))
                .fold(f64::NEG_INFINITY, f64::max)
        };
        let lowest = -most(|reading| -reading.peak.low.min(reading.back.low));
        let highest = most(|reading| reading.peak.high.max(reading.back.high));
        let (texts, unit) = in_one_unit(&[Some(lowest), Some(highest)], place.unit);
        let fastest = same.iter().filter_map(|reading| reading.rise_s).reduce(f64::min);
        let bandwidth = same
            .iter()
            .filter_map(|reading| reading.bandwidth_hz)
            .reduce(f64::max);
        let per_division = most(|reading| reading.per_division);
        let nothing = lowest == 0.0 && highest == 0.0;
        table.row(vec![
            plain(place.place.clone()),
            plain(texts[0].clone()),
            plain(texts[1].clone()),
            plain(unit),
            plain(if nothing {
                "finest".to_owned()
            } else {
                level(per_division, place.unit)
            }),
            plain(fastest.map_or("–".to_owned(), |rise_s| Seconds(rise_s).rounded(2))),
            plain(bandwidth.map_or("–".to_owned(), |hertz| Hertz(hertz).rounded(2))),
        ]);
    }
    table.write(page);
    let readings = || at_level.iter().flat_map(|group| &group.readings);
    let slowest = |unit: &str| {
        let of_unit = readings().filter(|reading| reading.unit == unit);
        of_unit
            .map(|reading| reading.time_per_division_s)
            .filter(|time_s| *time_s > 0.0)
            .reduce(f64::max)
    };
    let front = readings()
        .filter(|reading| reading.kind == PlaceKind::Connector && reading.unit == "A")
        .filter_map(|reading| reading.rise_s)
        .reduce(f64::min)
        .map(|rise_s| setting(0.5 * rise_s));
    let times = [
        (front, "for the front"),
        (slowest("A"), "for the currents"),
        (slowest("V"), "until the voltages are quiet"),
    ];
    let times: Vec<String> = times
        .iter()
        .filter_map(|(time_s, what)| Some(format!("{} per division {what}", Seconds((*time_s)?).rounded(2))))
        .collect();
    page.entry("– ", &format!("time: {}", times.join(", ")));
    page.entry(
        "– ",
        "from and to hold all parts, polarities and states; values at the tip of the probe, a quarter of room added; \
         bandwidth three times 0.35 / rise, 2 GHz at most, at the connector no more than its current asks for [common \
         practice, no source]",
    );
    page.entry(
        "– ",
        "voltages of protectors are across the part itself: a probe at its pads also sees the inductance of the lead",
    );
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
