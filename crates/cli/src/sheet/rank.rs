//! A ranking as text.

use tidewall_assess::rank::{Candidate, Ranking, ShortListed, Standing};
use tidewall_assess::result::Verdict;
use tidewall_report::words::draws::in_words;
use tidewall_report::words::number::{corner_words, in_one_unit, percent};
use tidewall_report::words::rank::{closest, placed, short};
use tidewall_study::Study;

use super::page::{Page, Style};
use super::style;
use super::table::{Align, Table, plain};

/// The sheet of a ranking with its best `top` and the `rejected` nearest misses.
pub fn sheet(study: &Study, ranking: &Ranking, top: usize, rejected: usize) -> String {
    let mut page = Page::for_terminal();
    page.line(&[(Style::Strong, &ranking.study.title)]);
    page.entry("study    ", &study.path);
    page.entry("place    ", &ranking.positions.join(", "));
    page.entry("order    ", &ranking.order);
    let counts = &ranking.counts;
    let tried = if ranking.complete {
        format!("{} candidates", counts.candidates)
    } else {
        format!("{} of {} candidates (stopped)", counts.judged, counts.candidates)
    };
    page.entry(
        "tried    ",
        &format!(
            "{tried}: {} pass, {} marginal, {} unknown; {} fail without a transient, {} in one; {} transients",
            counts.pass,
            counts.marginal,
            counts.unknown,
            counts.rejected_without_transient,
            counts.rejected_in_transient,
            counts.transients
        ),
    );
    best(&mut page, ranking, top);
    if let Some(list) = &ranking.short_list {
        drawn(&mut page, list);
    }
    reasons(&mut page, ranking, rejected);
    page.heading("Caution");
    page.entry(
        "– ",
        "A calculated pass is not a certified pass: the laboratory test decides.",
    );
    page.finish()
}

fn best(page: &mut Page, ranking: &Ranking, top: usize) {
    if ranking.ranked.is_empty() {
        if !ranking.complete {
            page.heading("No candidate holds so far");
            page.entry(
                "",
                "Every one judged before the stop fails a check; the others are not known.",
            );
            return;
        }
        page.heading("No candidate holds");
        page.entry("", "Every one fails a check; the nearest misses are below. `--explain` says what a part must be, and what opens the window.");
        return;
    }
    if top == 0 {
        return;
    }
    let shown = &ranking.ranked[..ranking.ranked.len().min(top)];
    page.heading(&match ranking.ranked.len() {
        more if more > shown.len() => format!("The best {} of {more}", shown.len()),
        _ => "Ranked, best first".to_owned(),
    });
    let column = |of: fn(&Candidate) -> Option<f64>, unit: &str| {
        in_one_unit(&shown.iter().map(of).collect::<Vec<_>>(), unit)
    };
    let (areas, _) = column(|c| c.area_m2.map(|area| area * 1e6), "mm²");
    let (capacitances, farads) = column(|c| c.capacitance_f, "F");
    let (costs, _) = column(|c| c.cost, "cost");
    let mut table = Table::default()
        .column("", Align::Point)
        .column("part", Align::Left)
        .column("verdict", Align::Left)
        .column("margin %", Align::Point)
        .column("closest check", Align::Left)
        .column("capacitance", Align::Point)
        .unit_column("")
        .column("mm²", Align::Point)
        .column("cost", Align::Point);
    for (k, candidate) in shown.iter().enumerate() {
        let Standing::Ranked {
            verdict,
            worst_margin,
            checks,
            ..
        } = &candidate.standing
        else {
            continue;
        };
        let closest = closest(*verdict, checks, *worst_margin);
        table.row(vec![
            plain(format!("{}", k + 1)),
            plain(placed(&candidate.placed)),
            (style(*verdict), verdict.word().to_owned()),
            plain(worst_margin.map_or(String::new(), percent)),
            plain(closest.map_or(String::new(), short)),
            plain(capacitances[k].as_str()),
            plain(if capacitances[k].is_empty() { "" } else { &farads }),
            plain(areas[k].as_str()),
            plain(costs[k].as_str()),
        ]);
    }
    table.without_empty().write(page);
    let unknown = shown.iter().filter_map(|candidate| match &candidate.standing {
        Standing::Ranked {
            verdict: Verdict::Unknown,
            checks,
            ..
        } => Some((candidate, checks.first()?)),
        _ => None,
    });
    for (candidate, check) in unknown {
        let missing = check.missing.as_deref().unwrap_or(&check.why);
        page.entry(
            &format!("{}  ", placed(&candidate.placed)),
            &format!("lacks {missing}"),
        );
    }
}

/// How often the specimens of the best fail.
fn drawn(page: &mut Page, list: &[ShortListed]) {
    let Some(first) = list.first() else { return };
    page.heading(&format!(
        "Draws of the best: {} each, seed {}, {}",
        first.draws.asked,
        first.draws.seed,
        first.draws.distribution.words()
    ));
    for entry in list {
        let draws = &entry.draws;
        let mut text = match &draws.any_failure {
            Some(any) => format!(
                "some check fails in {} of {}: {}",
                any.count,
                any.of,
                in_words(any)
            ),
            None => "not drawn".to_owned(),
        };
        if draws.undecided > 0 {
            text.push_str(&format!("; {} undecided", draws.undecided));
        }
        if !draws.complete {
            text.push_str(" (stopped)");
        }
        if let Some(sensitivity) = entry.sensitivity.first() {
            let place = match &sensitivity.stress {
                Some(stress) => format!("{}, {stress}", sensitivity.check),
                None => sensitivity.check.to_owned(),
            };
            text.push_str(&format!(
                "; closest {place} with {} %",
                percent(sensitivity.margin)
            ));
            let swing = sensitivity.axes.iter().find_map(|axis| Some((axis, axis.swing?)));
            if let Some((axis, swing)) = swing {
                text.push_str(&format!(
                    ", moved most by {} ({}): {} points of margin from low to high",
                    axis.axis,
                    axis.what,
                    percent(swing)
                ));
            }
        }
        page.entry(&format!("{}  ", placed(&entry.placed)), &text);
    }
}

fn reasons(page: &mut Page, ranking: &Ranking, most: usize) {
    if ranking.rejected.is_empty() || most == 0 {
        return;
    }
    let shown = &ranking.rejected[..ranking.rejected.len().min(most)];
    page.heading(&format!(
        "Rejected: {} of {}, nearest miss first, each with its first reason",
        shown.len(),
        ranking.rejected.len()
    ));
    for candidate in shown {
        let Standing::Rejected { reason, .. } = &candidate.standing else {
            continue;
        };
        let corner = reason
            .corner
            .as_ref()
            .map_or(String::new(), |corner| format!(" ({})", corner_words(corner)));
        page.entry(
            &format!("{}  ", placed(&candidate.placed)),
            &format!("{}: {}{corner}", short(reason), reason.why),
        );
    }
}

#[cfg(test)]
mod tests {
    use tidewall_assess::rank::{Counts, RANKING_SCHEMA};
    use tidewall_assess::result::StudyRef;

    use super::*;

    #[test]
    fn stopped_work_does_not_speak_of_the_rest() {
        let mut ranking = Ranking {
            schema: RANKING_SCHEMA,
            version: "0",
            study: StudyRef {
                title: String::new(),
                digest: String::new(),
            },
            positions: Vec::new(),
            complete: false,
            counts: Counts::default(),
            order: String::new(),
            ranked: Vec::new(),
            rejected: Vec::new(),
            short_list: None,
        };
        let words = |ranking: &Ranking| {
            let mut page = Page::for_terminal();
            best(&mut page, ranking, 1);
            page.finish()
        };
        assert!(words(&ranking).contains("judged before the stop"));
        ranking.complete = true;
        assert!(words(&ranking).contains("Every one fails a check"));
    }
}
