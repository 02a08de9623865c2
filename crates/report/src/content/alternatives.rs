//! What else was considered, and why it lost.

use tidewall_assess::compare::Compared;
use tidewall_assess::rank::{Candidate, CheckLine, Standing};
use tidewall_assess::result::Verdict;
use tidewall_study::Study;

use super::tone;
use crate::document::{Cell, Section, Table, Text, Tone};
use crate::english as say;
use crate::english::head;
use crate::figures;
use crate::gather::{Alternatives, Material};
use crate::words::compare;
use crate::words::number::percent;
use crate::words::sentence;

/// Alternatives listed of each stage.
const LISTED: usize = 12;
/// Rejected ones that are listed even behind many that hold.
const REJECTED: usize = 6;

pub fn section(_study: &Study, material: &Material) -> Section {
    let mut section = Section::new("alternatives", say::ALTERNATIVES);
    if material.alternatives.is_empty() {
        section.paragraph(say::NO_ALTERNATIVES);
    }
    for tried in &material.alternatives {
        stage(&mut section, tried);
    }
    section
}

fn stage(section: &mut Section, tried: &Alternatives) {
    section.heading(say::in_stage(&tried.stage, &tried.chosen));
    let counts = &tried.ranking.counts;
    section.paragraph(say::tried(
        counts.judged,
        counts.pass + counts.marginal,
        counts.unknown,
        counts.rejected_without_transient + counts.rejected_in_transient,
    ));
    section.table(others(tried));
    let Some(comparison) = &tried.beside else { return };
    section.table(side_by_side(&tried.stage, &comparison.parts));
    section.figure(&figures::clamp_over_temperature(comparison));
    section.figure(&figures::v_i_bands(comparison));
}

/// The others with their verdicts and reasons.
fn others(tried: &Alternatives) -> Table {
    let mut table = Table::new(say::others_table(&tried.stage))
        .text(head::PART, 0)
        .text(head::FAMILY, 0)
        .text(head::VERDICT, 0)
        .numbers(head::MARGIN)
        .text(head::REASON, 3);
    let ranking = &tried.ranking;
    let held = ranking.ranked.len().min(LISTED - REJECTED);
    let lost = ranking.rejected.len().min(LISTED - held);
    for candidate in ranking.ranked[..held].iter().chain(&ranking.rejected[..lost]) {
        table.row(other(candidate));
    }
    let left = ranking.rejected.len() - lost;
    if left > 0 {
        table.note(say::not_listed(left));
    }
    table
}

fn other(candidate: &Candidate) -> Vec<Cell> {
    let placed = candidate.placed.first();
    let part = placed
        .and_then(|placed| placed.part.as_deref())
        .unwrap_or_default();
    let family = placed
        .and_then(|placed| placed.family.as_deref())
        .unwrap_or_default();
    let (verdict, margin, why) = match &candidate.standing {
        Standing::Ranked {
            verdict,
            worst_margin,
            checks,
            ..
        } => (*verdict, *worst_margin, checks.first().map(reason)),
        Standing::Rejected { reason: check, .. } => (Verdict::Fail, check.margin, Some(reason(check))),
    };
    vec![
        Cell::words(part),
        Cell::words(family),
        Cell::toned(verdict.word(), tone(verdict)),
        Cell::number(
            margin.map(percent).unwrap_or_default(),
            margin.map_or("", |_| "%"),
        ),
        Cell::words(why.unwrap_or_default()),
    ]
}

fn reason(check: &CheckLine) -> String {
    let place = match &check.stress {
        Some(stress) => format!("{}, {stress}", check.check),
        None => check.check.clone(),
    };
    format!("{place}: {}", check.why)
}

/// Parts side by side, with what decides each below.
pub fn side_by_side(stage: &str, parts: &[Compared]) -> Table {
    let mut table = Table::new(say::beside_table(stage)).text(head::WHAT, 0);
    for part in parts {
        table = table.text(&part.part, 1);
    }
    // The band has a figure of its own.
    let rows = compare::rows(parts).into_iter();
    for (label, cells) in rows.filter(|(label, _)| !label.starts_with(compare::BAND_ROWS)) {
        // What stands below a stress is set in by more than a blank, which a table would drop.
        let inner = label.starts_with(' ');
        let set_in = if inner { "\u{2003}" } else { "" };
        let mut row = vec![Cell::words(format!("{set_in}{}", label.trim_start()))];
        for (cell, part) in cells.into_iter().zip(parts) {
            let says = if label == compare::VERDICT_ROW {
                tone(part.verdict)
            } else {
                Tone::Plain
            };
            row.push(Cell::toned(cell, says));
        }
        table.row(row);
    }
    for part in parts {
        if let Some(worst) = part.checks.first() {
            let text = Text::default().strong(format!("{}: ", part.part));
            table.note(text.plain(sentence(&reason(worst))));
        }
    }
    table
}
