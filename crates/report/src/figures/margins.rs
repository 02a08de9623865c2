//! Margins of all checks, worst first.

use tidewall_assess::result::{Assessment, CheckResult, Verdict};
use tidewall_plot::{At, Axis, Bar, Bars, Cell, Dash, Figure, Fill, Mark, Style, Table, Tone, Words};
use tidewall_study::Study;

use super::text::{aligned, check_title, count, percent, restriction, short_corner};
use crate::words::number::corner_words;

/// Rows that a page holds.
const MOST: usize = 24;

/// Margin of each check at its worst corner as a bar, worst first, with the verdict in words.
pub fn margins(study: &Study, assessment: &Assessment) -> Figure {
    // The audit speaks of the calculation, not of the design, unless it fails.
    let of_design = |check: &&CheckResult| check.check != "energy-audit" || check.verdict != Verdict::Pass;
    let checks: Vec<&CheckResult> = assessment.checks.iter().filter(of_design).collect();
    let bare = |check: &CheckResult| check.margin.is_none() && check.verdict == Verdict::Pass;
    let without = checks.iter().filter(|check| bare(check)).count();
    let shown: Vec<&CheckResult> = checks
        .iter()
        .filter(|check| !bare(check))
        .take(MOST)
        .copied()
        .collect();
    let left_out = checks.len() - without - shown.len();
    let lowest = shown.iter().filter_map(|check| check.margin).fold(0.0, f64::min);
    // Beyond twice the limit a longer bar says nothing more; the number stands beside it.
    let from = if lowest < 0.0 {
        (110.0 * lowest).clamp(-100.0, -10.0)
    } else {
        0.0
    };
    let axis = Axis::linear("Margin: distance to the limit as a share of it", "%").range(from, 100.0);
    let mut bars = Bars::new(axis, shown.iter().map(|check| bar(check)).collect());
    if study.margin > 0.0 {
        bars.marks.push(Mark {
            label: format!("{} wanted", percent(study.margin)),
            at: At::X(100.0 * study.margin),
            span: None,
            style: Style::stroke(Tone::Ink, Dash::Short, 1.0),
        });
    }
    bars.notes.push(
        "Solid: fail. Hatched: marginal, inside the limit by less than wanted. Light: pass. No bar: unknown."
            .to_owned(),
    );
    if without > 0 {
        bars.notes.push(format!(
            "{} passed that {} no margin (yes or no).",
            count(without, "check", "checks"),
            if without == 1 { "has" } else { "have" }
        ));
    }
    bars.notes.extend(restriction(assessment));
    if left_out > 0 {
        bars.notes.push(format!(
            "{} with larger margins {} not shown.",
            count(left_out, "check", "checks"),
            if left_out == 1 { "is" } else { "are" }
        ));
    }
    let words = Words::new(
        "margins",
        "Margins of the checks",
        "Distance of each check to its limit at the worst corner, worst first; a bar to the left lies beyond the limit. The \
         wanted margin is asked of what a stress does to parts and pin; a limit that the data sheet guarantees at rest \
         needs none.",
        alt(&shown, &checks),
    );
    bars.figure(words, table(&checks))
}

fn bar(check: &CheckResult) -> Bar {
    let place = match &check.stress {
        Some(stress) => format!("{}, {stress}, {}", check_title(check.check), check.element),
        None => format!("{}, {}", check_title(check.check), check.element),
    };
    let verdict = check.verdict.word().to_uppercase();
    let text = match check.margin {
        Some(_) => verdict,
        None => match &check.missing {
            Some(missing) => format!("{verdict}: needs {missing}"),
            None => format!("{verdict}: {}", check.why),
        },
    };
    Bar {
        detail: check.corner.as_ref().map(short_corner).unwrap_or_default(),
        number: check.margin.map(aligned).unwrap_or_default(),
        fill: match check.verdict {
            Verdict::Fail => Fill::Solid,
            Verdict::Marginal | Verdict::Unknown => Fill::Hatched,
            Verdict::Pass => Fill::Light,
        },
        bold: check.verdict != Verdict::Pass,
        ..Bar::new(place, check.margin.map(|margin| 100.0 * margin), text)
    }
}

fn alt(shown: &[&CheckResult], all: &[&CheckResult]) -> String {
    let of = |verdict| all.iter().filter(|check| check.verdict == verdict).count();
    let mut text = format!(
        "Bars of {}: {} fail, {} unknown, {} marginal, {} pass.",
        count(shown.len(), "check", "checks"),
        of(Verdict::Fail),
        of(Verdict::Unknown),
        of(Verdict::Marginal),
        of(Verdict::Pass)
    );
    for check in shown.iter().take(5) {
        let bar = bar(check);
        text.push_str(&format!(" {}: {}", bar.label, bar.text));
        if !bar.number.is_empty() {
            text.push_str(&format!(" {}", bar.number));
        }
        if let Some(at) = &check.corner {
            text.push_str(&format!(" ({})", corner_words(at)));
        }
        text.push('.');
    }
    text
}

fn table(checks: &[&CheckResult]) -> Table {
    let mut table = Table::new(&[
        ("check", ""),
        ("stress", ""),
        ("element", ""),
        ("value", ""),
        ("limit", ""),
        ("unit of both", ""),
        ("margin", ""),
        ("verdict", ""),
        ("corner", ""),
        ("why", ""),
    ]);
    for check in checks {
        table.row([
            check.check.into(),
            check.stress.clone().map_or(Cell::Unknown, Cell::Text),
            check.element.clone().into(),
            check.value.into(),
            check.limit.into(),
            check.unit.into(),
            check.margin.into(),
            check.verdict.word().into(),
            check
                .corner
                .as_ref()
                .map_or(Cell::Unknown, |at| corner_words(at).into()),
            check.why.clone().into(),
        ]);
    }
    table
}
