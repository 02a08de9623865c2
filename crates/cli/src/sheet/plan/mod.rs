//! A test plan as text.

mod shots;

use tidewall_assess::plan::{HealthCheck, Noted, StressTest, TestPlan, Verification};
use tidewall_report::words::number::in_one_unit;
use tidewall_report::words::plan::{PRACTICE, count, duration, joined, levels, marked};
use tidewall_study::Study;
use tidewall_units::{Celsius, Quantity, Volts};

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

fn test(page: &mut Page, number: usize, test: &StressTest) {
    page.heading(&format!("Test {number}, {}: {}", test.stress, test.title));
    page.entry(
        "standard   ",
        &format!("{}, {}", test.standard, marked(&test.edition)),
    );
    page.entry("levels     ", &levels(test));
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
