//! Draws: how likely a failure is, and which tolerance decides.

use tidewall_assess::draws::{DrawnCheck, DrawsResult, Sensitivity};
use tidewall_plot::number::{quantity, significant};
use tidewall_plot::{At, Axis, Bar, Bars, Cell, Dash, Figure, Fill, Mark, Style, Table, Tone, Words};

use super::text::{check_title, count, percent};

/// Rows that a page holds.
const MOST: usize = 22;

fn place(check: &str, stress: Option<&str>, element: &str) -> String {
    match stress {
        Some(stress) => format!("{}, {stress}, {element}", check_title(check)),
        None => format!("{}, {element}", check_title(check)),
    }
}

/// How often a check fails, with its interval.
fn failures(check: &DrawnCheck) -> String {
    match &check.probability {
        Some(share) if share.count == 0 => format!("0 of {}, below {}", share.of, percent(share.high)),
        Some(share) => format!(
            "{} of {}, {} to {}",
            share.count,
            share.of,
            percent(share.low),
            percent(share.high)
        ),
        None => "unknown in every draw".to_owned(),
    }
}

/// Margin of each check over the draws: median, 5 % to 95 %, and how often it fails with the 95 % interval of that.
pub fn draws(result: &DrawsResult) -> Figure {
    let of_design = |check: &&DrawnCheck| check.check != "energy-audit" || check.failures > 0;
    let checks: Vec<&DrawnCheck> = result.checks.iter().filter(of_design).collect();
    let (told, untold): (Vec<&DrawnCheck>, Vec<&DrawnCheck>) = checks
        .iter()
        .partition(|check| check.margin_p50.is_some() || check.failures > 0 || check.unknown > 0);
    let shown: Vec<&DrawnCheck> = told.iter().take(MOST).copied().collect();
    let lowest = shown
        .iter()
        .filter_map(|check| check.margin_p05)
        .fold(0.0, f64::min);
    let from = if lowest < 0.0 {
        (110.0 * lowest).clamp(-100.0, -10.0)
    } else {
        0.0
    };
    let bars = shown.iter().map(|check| {
        let whisker = check.margin_p05.zip(check.margin_p95);
        Bar {
            detail: match check.worst_margin {
                Some(worst) => format!("lowest margin {}", percent(worst)),
                None => String::new(),
            },
            whisker: whisker.map(|(low, high)| (100.0 * low, 100.0 * high)),
            fill: if check.failures > 0 {
                Fill::Solid
            } else {
                Fill::Light
            },
            bold: check.failures > 0,
            ..Bar::new(
                place(check.check, check.stress.as_deref(), &check.element),
                check.margin_p50.map(|margin| 100.0 * margin),
                failures(check),
            )
        }
    });
    let axis =
        Axis::linear("Margin over the draws: median, and from 5 % to 95 % of them", "%").range(from, 100.0);
    let mut chart = Bars::new(axis, bars.collect());
    chart.notes.push(
        "Right: draws in which the check fails, and the 95 % interval of that share. Solid: fails in some draw.".to_owned(),
    );
    let left_out = told.len() - shown.len() + untold.len();
    if left_out > 0 {
        chart.notes.push(format!(
            "{} in the data.",
            count(left_out, "more check is", "more checks are")
        ));
    }
    if !result.complete {
        chart.notes.push(format!(
            "Stopped after {} of {} draws.",
            result.done, result.asked
        ));
    }
    let words = Words::new(
        "draws",
        "Margins over the draws",
        format!(
            "{} specimens drawn ({}, seed {}): each check over all of them, worst first.",
            result.done,
            result.distribution.words(),
            result.seed
        ),
        draws_alt(result, &shown),
    );
    chart.figure(words, draws_table(result))
}

fn draws_alt(result: &DrawsResult, shown: &[&DrawnCheck]) -> String {
    let mut text = match &result.any_failure {
        Some(any) => format!(
            "{} of {} draws fail some check (95 % interval {} to {}).",
            any.count,
            any.of,
            percent(any.low),
            percent(any.high)
        ),
        None => "No draw was judged.".to_owned(),
    };
    for check in shown.iter().take(5) {
        text.push_str(&format!(
            " {}: fails in {}",
            place(check.check, check.stress.as_deref(), &check.element),
            failures(check)
        ));
        if let Some(median) = check.margin_p50 {
            text.push_str(&format!(", median margin {}", percent(median)));
        }
        text.push('.');
    }
    text
}

fn draws_table(result: &DrawsResult) -> Table {
    let mut table = Table::new(&[
        ("check", ""),
        ("stress", ""),
        ("element", ""),
        ("failures", ""),
        ("judged", ""),
        ("unknown", ""),
        ("share of failures", ""),
        ("lower end", ""),
        ("upper end", ""),
        ("lowest margin", ""),
        ("margin 5 %", ""),
        ("margin 50 %", ""),
        ("margin 95 %", ""),
    ]);
    for check in &result.checks {
        let share = check.probability.as_ref();
        table.row([
            check.check.into(),
            check.stress.clone().map_or(Cell::Unknown, Cell::Text),
            check.element.clone().into(),
            (check.failures as f64).into(),
            (check.judged as f64).into(),
            (check.unknown as f64).into(),
            share.map(|share| share.share).into(),
            share.map(|share| share.low).into(),
            share.map(|share| share.high).into(),
            check.worst_margin.into(),
            check.margin_p05.into(),
            check.margin_p50.into(),
            check.margin_p95.into(),
        ]);
    }
    table
}

/// What each tolerance does to the margin of a check, moved alone from the worst specimen; largest swing first.
pub fn sensitivity(result: &Sensitivity) -> Figure {
    let of = place(result.check, result.stress.as_deref(), &result.element);
    let mut table = Table::new(&[
        ("tolerance", ""),
        ("what it moves", ""),
        ("margin at its low limit", ""),
        ("margin at its high limit", ""),
        ("swing", ""),
        ("rank correlation", ""),
    ]);
    let mut bars = Vec::new();
    let mut alt = format!(
        "From the worst specimen of {of} (draw {}, margin {}), one tolerance at a time.",
        result.draw,
        percent(result.margin)
    );
    for axis in &result.axes {
        table.row([
            axis.axis.clone().into(),
            axis.what.clone().into(),
            axis.margin_low.into(),
            axis.margin_high.into(),
            axis.swing.into(),
            axis.rank_correlation.into(),
        ]);
        let correlation = match axis.rank_correlation {
            Some(rank) => format!(
                "rank correlation {}",
                significant((100.0 * rank).round() / 100.0, 2)
            ),
            None => "no rank correlation".to_owned(),
        };
        let ends = axis.margin_low.zip(axis.margin_high);
        let text = match ends {
            Some((low, high)) => format!("{} → {}", percent(low), percent(high)),
            None => "unknown at one of its limits".to_owned(),
        };
        if bars.len() < 3 {
            alt.push_str(&format!(" {}, {}: {text}.", axis.axis, axis.what));
        }
        bars.push(Bar {
            detail: format!("{}; {correlation}", axis.what),
            from: 100.0 * ends.map_or(0.0, |(low, _)| low),
            fill: if bars.is_empty() {
                Fill::Accent
            } else {
                Fill::Light
            },
            ..Bar::new(axis.axis.clone(), ends.map(|(_, high)| 100.0 * high), text)
        });
    }
    let mut chart = Bars::new(Axis::linear("Margin", "%"), bars);
    chart.marks.push(Mark {
        label: format!("worst specimen {}", percent(result.margin)),
        at: At::X(100.0 * result.margin),
        span: None,
        style: Style::stroke(Tone::Ink, Dash::Short, 1.0),
    });
    chart
        .notes
        .push("Left to right in words: margin at the tolerance's low limit → at its high limit.".to_owned());
    let words = Words::new(
        format!(
            "sensitivity-{}-{}-{}",
            result.check,
            result.stress.as_deref().unwrap_or("port"),
            result.element
        ),
        format!("What decides: {of}"),
        format!(
            "Each tolerance moved alone from its low to its high limit, all others where the worst specimen (draw {}) has them.",
            quantity(result.draw as f64, "", 9)
        ),
        alt,
    );
    chart.figure(words, table)
}
