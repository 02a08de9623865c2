//! The measurements of whole programs as text.

use std::fmt::Write;

use super::{OnThreads, Report, Timed};
use crate::table::{columns, digits, time};

/// The whole report.
pub fn text(report: &Report) -> String {
    let mut out = String::new();
    writeln!(out, "Whole programs. {}\n", report.machine.line()).ok();
    out += &columns(&timed_rows("command", &report.commands));
    writeln!(out, "\nEdit to result, all corners.\n").ok();
    out += &columns(&timed_rows("edit", &report.edits));
    writeln!(out, "\nRanking.\n").ok();
    out += &columns(&ranking_rows(&report.rankings));
    for screened in [false, true] {
        let on = |threads: usize| {
            let mut runs = report.rankings.iter();
            runs.find(|run| run.threads == threads && run.ranked.screened == screened)
        };
        if let (Some(one), Some(two)) = (on(1), on(2)) {
            writeln!(
                out,
                "Two threads, {}: parallel efficiency {} % by the clock, {} % of the processor time of one",
                screen(screened),
                digits(50.0 * one.ranked.seconds / two.ranked.seconds),
                digits(100.0 * two.ranked.processor_s / one.ranked.processor_s)
            )
            .ok();
        }
    }
    let unscreened = report.rankings.iter().filter(|run| !run.ranked.screened);
    if let Some(run) = unscreened.max_by_key(|run| run.threads) {
        let per = run.ranked.processor_s / run.ranked.transients.max(1) as f64;
        writeln!(
            out,
            "5,000 parts × 6 stresses × 32 corners at that processor time per transient: {} of one core",
            time(960_000.0 * per)
        )
        .ok();
    }
    writeln!(out, "\nCost by number of parts, one thread, unscreened.\n").ok();
    out += &columns(&ranking_rows(&report.by_parts));
    writeln!(out, "\nCost by number of corners, one thread, unscreened.\n").ok();
    out += &columns(&ranking_rows(&report.by_corners));
    writeln!(out, "\nCost by length of the ladder, one transient.\n").ok();
    let mut rows = vec![row(&[
        "elements",
        "states",
        "steps",
        "time",
        "per step",
        "per step and state",
    ])];
    for length in &report.by_length {
        let step = length.seconds / length.steps as f64;
        rows.push(vec![
            length.elements.to_string(),
            length.states.to_string(),
            length.steps.to_string(),
            time(length.seconds),
            time(step),
            format!("{} ns", digits(1e9 * step / length.states as f64)),
        ]);
    }
    out += &columns(&rows);
    out
}

fn row(cells: &[&str]) -> Vec<String> {
    cells.iter().map(|cell| (*cell).to_owned()).collect()
}

fn screen(screened: bool) -> &'static str {
    if screened { "screened" } else { "unscreened" }
}

fn mebibytes(bytes: Option<u64>) -> String {
    bytes.map_or_else(String::new, |bytes| {
        format!("{} MiB", digits(bytes as f64 / 1_048_576.0))
    })
}

fn timed_rows(what: &str, list: &[Timed]) -> Vec<Vec<String>> {
    let mut rows = vec![row(&[
        what,
        "transients",
        "median",
        "95 %",
        "processor",
        "peak memory",
    ])];
    for timed in list {
        rows.push(vec![
            timed.what.clone(),
            timed
                .transients
                .map_or_else(String::new, |count| count.to_string()),
            time(timed.seconds),
            time(timed.p95_seconds),
            timed.processor_s.map_or_else(String::new, time),
            mebibytes(timed.peak_bytes),
        ]);
    }
    rows
}

fn ranking_rows(list: &[OnThreads]) -> Vec<Vec<String>> {
    let mut rows = vec![row(&[
        "ranking",
        "threads",
        "parts",
        "stresses",
        "corners",
        "transients",
        "rejected",
        "time",
        "processor",
        "per transient",
        "peak memory",
    ])];
    for run in list {
        let ranked = &run.ranked;
        rows.push(vec![
            screen(ranked.screened).to_owned(),
            run.threads.to_string(),
            ranked.parts.to_string(),
            ranked.stresses.to_string(),
            ranked.corners.to_string(),
            ranked.transients.to_string(),
            ranked.rejected.to_string(),
            time(ranked.seconds),
            time(ranked.processor_s),
            time(ranked.processor_s / ranked.transients.max(1) as f64),
            mebibytes(ranked.peak_bytes),
        ]);
    }
    rows
}
