//! The sections of Monte Carlo draws: how often it fails, the worst specimen, which tolerance decides.

use tidewall_assess::draws::{
    AxisSensitivity, DrawnCheck, DrawnPosition, DrawsResult, Proportion, Sensitivity, WorstSpecimen,
};

use super::number::{in_one_unit, percent, significant};
use super::page::{Page, Style};
use super::table::{Align, Table, plain};
use super::{Detail, style};

/// Tolerances shown of each check unless everything is.
const AXES: usize = 8;
/// Width of the margins in the draws that can be seen in the table.
const SEEN: f64 = 1e-3;
/// Checks shown beside those that fail or are unknown, unless everything is.
const CLOSEST: usize = 12;

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
        let least = if draws.undecided > 0 { "at least " } else { "" };
        page.entry(
            "",
            &format!(
                "Some check fails in {least}{} of {} draws: {}.",
                any.count,
                any.of,
                in_words(any)
            ),
        );
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
    // They stand worst first.
    let mut close = 0;
    let mut worth = |check: &&DrawnCheck| {
        if detail == Detail::Everything || check.failures > 0 || check.unknown > 0 {
            return true;
        }
        let varies = match (check.margin_p05, check.margin_p95) {
            (Some(low), Some(high)) => high - low >= SEEN,
            _ => false,
        };
        let counts = check.check != "energy-audit" && varies;
        close += usize::from(counts);
        counts && close <= CLOSEST
    };
    let shown: Vec<&DrawnCheck> = draws.checks.iter().filter(|check| worth(check)).collect();
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
        page.styled_entry(
            Style::Doubt,
            "beyond the corners: ",
            &format!(
                "{} has a margin of {} % in draw {} and of {} % at its worst corner: its worst case lies inside the tolerances",
                place(beyond.check, beyond.stress.as_deref(), &beyond.element),
                percent(beyond.margin),
                beyond.draw,
                percent(beyond.corner_margin)
            ),
        );
    }
    for note in &draws.notes {
        page.entry("– ", note);
    }
}

/// A share with its interval, in percent.
pub fn in_words(share: &Proportion) -> String {
    format!("{} % (95 %: {})", digits(share.share), interval(share))
}

fn interval(share: &Proportion) -> String {
    format!("{} % to {} %", digits(share.low), digits(share.high))
}

/// A share in percent with two digits: probabilities are small.
fn digits(share: f64) -> String {
    significant(100.0 * share, 2)
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
        let mut share = check.probability.as_ref().map_or("unknown".to_owned(), |share| {
            if check.failures == 0 {
                format!("below {} %", digits(share.high))
            } else {
                format!("{} % ({})", digits(share.share), interval(share))
            }
        });
        if check.unknown > 0 && check.probability.is_some() {
            share.push_str(&format!(", {} unknown", check.unknown));
        }
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

/// Check, stress and element.
fn place(check: &str, stress: Option<&str>, element: &str) -> String {
    match stress {
        Some(stress) => format!("{check}, {stress}, {element}"),
        None => format!("{check}, {element}"),
    }
}

fn specimen(page: &mut Page, worst: &WorstSpecimen) {
    let places: Vec<String> = worst.positions.iter().map(position).collect();
    page.styled_entry(
        style(worst.verdict),
        &format!("worst specimen, draw {}: ", worst.draw),
        &format!(
            "{} with a margin of {} %; {}",
            place(worst.check, worst.stress.as_deref(), &worst.element),
            percent(worst.margin),
            places.join(", ")
        ),
    );
}

/// "D1 breakdown 37.2 V", "ambient 61 °C"; a place in the tolerance where there is no value.
fn position(at: &DrawnPosition) -> String {
    match at.value {
        Some(share) if at.unit == "1" => format!("{} at {} %", at.axis, significant(100.0 * share, 4)),
        Some(celsius) if at.unit == "°C" => {
            let text = format!("{:.1}", (10.0 * celsius).round() / 10.0 + 0.0);
            format!("{} {} °C", at.axis, text.replace('-', "−"))
        }
        Some(_) => {
            let (texts, unit) = in_one_unit(&[at.value], at.unit);
            let what = if at.unit == "V" && at.what == "breakdown" {
                " breakdown"
            } else {
                ""
            };
            format!("{}{what} {} {unit}", at.axis, texts[0])
        }
        None => format!(
            "{} at {} % of its tolerance",
            at.axis,
            significant(100.0 * at.position, 3)
        ),
    }
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
        row.push(plain(axis.rank_correlation.map_or("?".to_owned(), |rank| {
            format!("{:.2}", (100.0 * rank).round() / 100.0 + 0.0).replace('-', "−")
        })));
        table.row(row);
    }
    table
}
