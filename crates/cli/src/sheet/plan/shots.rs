//! Shot groups with the peaks to expect, and the settings of the oscilloscope.

use tidewall_assess::plan::StressTest;
use tidewall_report::words::shots::{self, SETTINGS_NOTES};

use crate::sheet::page::{Page, Style};
use crate::sheet::table::{Align, Table, plain};

pub fn groups(page: &mut Page, test: &StressTest) {
    page.blank();
    page.line(&[(Style::Strong, "  Shots in their order, and the peaks to expect")]);
    let shots = shots::shots(test);
    let mut table = Table::default()
        .column("group", Align::Point)
        .column("level", Align::Left)
        .column("point", Align::Left)
        .column("", Align::Left)
        .column("line at", Align::Left)
        .column("phase", Align::Point)
        .column("shots", Align::Point);
    for place in &shots.places {
        table = table.column(place, Align::Left);
    }
    for group in shots.groups {
        let mut row: Vec<_> = [
            group.number,
            group.level,
            group.point,
            group.polarity.to_owned(),
            group.line_at,
            group.phase,
            group.shots,
        ]
        .into_iter()
        .map(plain)
        .collect();
        row.extend(group.peaks.into_iter().map(|peak| match peak {
            Some(peak) => plain(peak),
            None => (Style::Doubt, "?".to_owned()),
        }));
        table.row(row);
        if let Some(back) = group.back {
            let mut row = vec![plain(""); 4];
            row.push(plain("then back to"));
            row.extend([plain(""), plain("")]);
            row.extend(back.into_iter().map(plain));
            table.row(row);
        }
    }
    table.without_empty().write(page);
    if shots.larger_of_pair {
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

/// Settings that hold every shot at the required level.
pub fn settings(page: &mut Page, test: &StressTest) {
    let Some((list, times)) = shots::settings(test) else {
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
    for of in list {
        let row = [
            of.place,
            of.from,
            of.to,
            of.unit,
            of.per_division,
            of.rise,
            of.bandwidth,
        ];
        table.row(row.into_iter().map(plain).collect());
    }
    table.write(page);
    page.entry("– ", &format!("time: {times}"));
    for note in SETTINGS_NOTES {
        page.entry("– ", note);
    }
}
