//! The sections of Monte Carlo draws: how often it fails, the worst specimen, which tolerance decides.

use tidewall_assess::draws::{AxisSensitivity, DrawnCheck, DrawsResult, Sensitivity, WorstSpecimen};
use tidewall_report::words::draws::{
    any_failure, beyond_words, place, probability, rank_words, specimen_words, worth_showing,
};
use tidewall_report::words::number::percent;

use super::page::{Page, Style};
use super::table::{Align, Table, plain};
use super::{Detail, style};

/// Tolerances shown of each check unless everything is.
const AXES: usize = 8;

/// All that was drawn.
pub fn section(page: &mut Page, draws: &DrawsResult, detail: Detail) {
    let unfinished = if draws.complete {
        String::new()
    } else {
        format!(" of {} asked for, INCOMPLETE", draws.asked)
    };
    page.heading(&format!(
        "Draws: {}{unfinished}, seed {}, {}",
        draws.done,
        draws.seed,
        draws.distribution.words()
    ));
    if let Some(any) = &draws.any_failure {
        page.entry("", &any_failure(any, draws.undecided));
    }
    if draws.undecided > 0 {
        page.entry(
            "",
            &format!(
                "{} draws are undecided: no check fails, but some are unknown.",
                draws.undecided
            ),
        );
    }
    let shown = worth_showing(draws, detail == Detail::Everything);
    if !shown.is_empty() {
        table(&shown).write(page);
    }
    let others = draws.checks.len() - shown.len();
    if others > 0 {
        page.entry(
            "",
            &format!(
                "{others} more checks hold in every draw, the same in each or further from their limits."
            ),
        );
    }
    if let Some(worst) = &draws.worst {
        specimen(page, worst);
    }
    for beyond in &draws.beyond_corners {
        page.styled_entry(Style::Doubt, "beyond the corners: ", &beyond_words(beyond));
    }
    for note in &draws.notes {
        page.entry("– ", note);
    }
}

fn table(checks: &[&DrawnCheck]) -> Table {
    let mut table = Table::default()
        .column("check", Align::Left)
        .column("stress", Align::Left)
        .column("element", Align::Left)
        .column("fails", Align::Point)
        .column("probability (95 %)", Align::Left)
        .column("margin: worst", Align::Point)
        .column("5 %", Align::Point)
        .column("50 %", Align::Point)
        .column("95 %", Align::Point)
        .unit_column("");
    for check in checks {
        let style = match check {
            check if check.failures > 0 => Style::Fail,
            check if check.unknown > 0 => Style::Doubt,
            _ => Style::Plain,
        };
        let share = probability(check);
        let margin = |margin: Option<f64>| plain(margin.map(percent).unwrap_or_default());
        table.row(vec![
            plain(check.check),
            plain(check.stress.as_deref().unwrap_or("–")),
            plain(check.element.as_str()),
            (style, check.failures.to_string()),
            plain(share),
            margin(check.worst_margin),
            margin(check.margin_p05),
            margin(check.margin_p50),
            margin(check.margin_p95),
            plain(check.worst_margin.map_or("", |_| "%")),
        ]);
    }
    table
}

fn specimen(page: &mut Page, worst: &WorstSpecimen) {
    page.styled_entry(
        style(worst.verdict),
        &format!("worst specimen, draw {}: ", worst.draw),
        &specimen_words(worst),
    );
}

/// What each tolerance does to the checks that come closest to their limits.
pub fn sensitivities(page: &mut Page, list: &[Sensitivity], detail: Detail) {
    if list.is_empty() {
        return;
    }
    page.heading(
        "What decides: margin with one tolerance at its ends, the others where the worst draw has them",
    );
    for (number, of) in list.iter().enumerate() {
        if number > 0 {
            page.blank();
        }
        page.entry(
            "",
            &format!(
                "{}: {} % in draw {}",
                place(of.check, of.stress.as_deref(), &of.element),
                percent(of.margin),
                of.draw
            ),
        );
        let all = detail == Detail::Everything;
        let shown = if all {
            of.axes.len()
        } else {
            AXES.min(of.axes.len())
        };
        axes(&of.axes[..shown]).write(page);
        if shown < of.axes.len() {
            page.entry(
                "",
                &format!("{} more with smaller swings.", of.axes.len() - shown),
            );
        }
    }
}

fn axes(list: &[AxisSensitivity]) -> Table {
    let mut table = Table::default()
        .column("tolerance", Align::Left)
        .column("of", Align::Left)
        .column("low end", Align::Point)
        .unit_column("")
        .column("high end", Align::Point)
        .unit_column("")
        .column("swing", Align::Point)
        .unit_column("")
        .column("rank correlation", Align::Point);
    for axis in list {
        let share = |share: Option<f64>| match share {
            Some(share) => [plain(percent(share)), plain("%")],
            None => [plain("?"), plain("")],
        };
        let mut row = vec![plain(axis.axis.as_str()), plain(axis.what.as_str())];
        row.extend(share(axis.margin_low));
        row.extend(share(axis.margin_high));
        row.extend(share(axis.swing));
        row.push(plain(rank_words(axis.rank_correlation)));
        table.row(row);
    }
    table
}
