//! Parts side by side as text.

use tidewall_assess::compare::{Compared, Comparison, Equivalents};
use tidewall_report::words::compare::rows as side_by_side_rows;
use tidewall_report::words::number::percent;
use tidewall_study::Study;

use super::page::{Page, Style};
use super::style;
use super::table::{Align, Table};

/// Most parts that stand side by side in one table.
const ABREAST: usize = 4;

/// The sheet of a comparison.
pub fn comparison(study: &Study, comparison: &Comparison) -> String {
    let mut page = Page::for_terminal();
    page.line(&[(Style::Strong, &comparison.study.title)]);
    page.entry("study    ", &study.path);
    page.entry("place    ", &comparison.stage);
    side_by_side(&mut page, &comparison.parts);
    decided(&mut page, &comparison.parts);
    page.finish()
}

/// The sheet of the parts that can stand for another.
pub fn equivalents(study: &Study, found: &Equivalents) -> String {
    let mut page = Page::for_terminal();
    page.line(&[(Style::Strong, &found.study.title)]);
    page.entry("study    ", &study.path);
    page.entry("place    ", &found.stage);
    let reference = &found.reference;
    page.entry(
        "in place ",
        &format!(
            "of {} ({}), whose verdict here is {}",
            reference.part,
            reference.family,
            reference.verdict.word()
        ),
    );
    page.entry(
        "tried    ",
        &format!(
            "{} candidates{}, of which {} fail here",
            found.candidates,
            if found.complete { "" } else { " (stopped)" },
            found.rejected
        ),
    );
    if found.equivalents.is_empty() {
        page.heading("No part can stand for it here");
        return page.finish();
    }
    page.heading("Nearest first: distance in the margins of this port, 0 % is alike");
    for equivalent in &found.equivalents {
        page.styled_entry(
            style(equivalent.part.verdict),
            &format!("{}  ", equivalent.part.part),
            &format!(
                "{} % away, {}",
                percent(equivalent.distance),
                equivalent.part.verdict.word()
            ),
        );
        for difference in &equivalent.differences {
            page.entry("    – ", difference);
        }
    }
    let mut all = vec![found.reference.clone()];
    all.extend(found.equivalents.iter().map(|equivalent| equivalent.part.clone()));
    side_by_side(&mut page, &all);
    page.finish()
}

fn side_by_side(page: &mut Page, parts: &[Compared]) {
    for abreast in parts.chunks(ABREAST) {
        page.blank();
        let mut table = Table::default().column("", Align::Left);
        for part in abreast {
            table = table.column(&part.part, Align::Left);
        }
        rows(&mut table, abreast);
        table.write(page);
    }
}

fn rows(table: &mut Table, parts: &[Compared]) {
    for (label, cells) in side_by_side_rows(parts) {
        let mut line = vec![(Style::Plain, label)];
        line.extend(cells.into_iter().map(|cell| (Style::Plain, cell)));
        table.row(line);
    }
}

fn decided(page: &mut Page, parts: &[Compared]) {
    page.heading("What decides");
    for part in parts {
        let Some(worst) = part.checks.first() else {
            continue;
        };
        let place = match &worst.stress {
            Some(stress) => format!("{}, {stress}", worst.check),
            None => worst.check.clone(),
        };
        page.styled_entry(
            style(part.verdict),
            &format!("{}: {}  ", part.part, part.verdict.word()),
            &format!("{place}: {}", worst.why),
        );
        if let Some(missing) = &part.missing {
            page.entry("    no V-I band: ", missing);
        }
    }
}
