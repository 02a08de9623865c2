//! The engineer's sheet: a result as text.

pub mod capture;
pub mod compare;
pub mod correlation;
mod draws;
pub mod fit;
mod level;
pub mod page;
pub mod plan;
pub mod rank;
pub mod requirement;
mod stress;
pub mod table;

use tidewall_assess::result::{Assessment, CheckResult, Corner, Verdict};
use tidewall_report::words::finding::{self, counts, letters, line, place, reason};
use tidewall_report::words::number::corner_words;
use tidewall_study::Study;

use page::{Page, Style};
use table::{Align, Table, plain};

/// How much the sheet shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Detail {
    /// The verdict with its reason.
    Verdict,
    /// What an engineer reads.
    Usual,
    /// Also every reason and the origin of every value.
    Everything,
}

fn style(verdict: Verdict) -> Style {
    match verdict {
        Verdict::Pass => Style::Pass,
        Verdict::Marginal | Verdict::Unknown => Style::Doubt,
        Verdict::Fail => Style::Fail,
    }
}

/// The sheet of one study. `traced` are the corners whose waveforms were written.
pub fn sheet(study: &Study, result: &Assessment, traced: &[String], detail: Detail) -> String {
    let mut page = Page::for_terminal();
    if detail == Detail::Verdict {
        let verdict = result.verdict.word().to_uppercase();
        page.line(&[
            (style(result.verdict), verdict.as_str()),
            (Style::Plain, &format!("  {}: {}", study.path, reason(result))),
        ]);
        return page.finish();
    }
    top(&mut page, study, result);
    checks(&mut page, result);
    reasons(&mut page, result, detail);
    missing(&mut page, result);
    stress::sections(&mut page, study, result);
    if let Some(drawn) = &result.draws {
        draws::section(&mut page, drawn, detail);
    }
    if let Some(list) = &result.sensitivity {
        draws::sensitivities(&mut page, list, detail);
    }
    if let Some(levels) = &result.highest_levels {
        level::section(&mut page, levels);
    }
    list(&mut page, "Assumed", &result.assumptions);
    if detail == Detail::Everything {
        origins(&mut page, result);
    }
    computed(&mut page, result);
    list(&mut page, "Waveforms written", traced);
    list(&mut page, "Caution", &result.cautions);
    page.finish()
}

/// The verdicts of several studies; `None` for one that could not be read.
pub fn verdicts(studies: &[(String, Option<Verdict>, String)]) -> String {
    let mut page = Page::for_terminal();
    page.heading("Verdicts");
    let mut table = Table::default()
        .column("verdict", Align::Left)
        .column("study", Align::Left)
        .column("title", Align::Left);
    for (name, verdict, title) in studies {
        let (style, word) = match verdict {
            Some(verdict) => (style(*verdict), verdict.word()),
            None => (Style::Fail, "not judged"),
        };
        table.row(vec![
            (style, word.to_owned()),
            (Style::Plain, name.clone()),
            (Style::Plain, title.clone()),
        ]);
    }
    table.write(&mut page);
    page.finish()
}

fn top(page: &mut Page, study: &Study, result: &Assessment) {
    page.line(&[(Style::Strong, &result.study.title)]);
    page.entry("port     ", &finding::port(study));
    page.entry("window   ", &finding::window(result));
    page.entry("study    ", &study.path);
    page.blank();
    let word = result.verdict.word().to_uppercase();
    page.styled_entry(
        style(result.verdict),
        &format!("Verdict: {word} – "),
        &reason(result),
    );
    if let Some(only) = &result.restriction {
        page.entry(
            "",
            &format!(
                "Only the corners that fit {} were run: {}, with {} left out. Checks that need a transient speak of \
                 those alone.",
                only.corners.iter().map(|text| format!("`{text}`")).collect::<Vec<_>>().join(" or "),
                only.run,
                only.left_out
            ),
        );
    }
}

fn checks(page: &mut Page, result: &Assessment) {
    page.heading(&format!("Checks, worst first: {}", counts(result)));
    // A letter in the table, and the corner in words below it.
    let mut corners: Vec<String> = Vec::new();
    let table = check_table(result, &mut |corner| {
        let words = corner_words(corner);
        let number = corners
            .iter()
            .position(|known| *known == words)
            .unwrap_or_else(|| {
                corners.push(words);
                corners.len() - 1
            });
        letters(number)
    });
    table.write(page);
    for (number, words) in corners.iter().enumerate() {
        page.entry(&format!("{:<3}", letters(number)), words);
    }
}

fn check_table(result: &Assessment, letter: &mut dyn FnMut(&Corner) -> String) -> Table {
    let mut table = Table::default()
        .column("check", Align::Left)
        .column("stress", Align::Left)
        .column("element", Align::Left)
        .column("value", Align::Point)
        .column("limit", Align::Point)
        .unit_column("")
        .column("margin", Align::Point)
        .unit_column("")
        .column("verdict", Align::Left)
        .column("corner", Align::Left);
    for check in &result.checks {
        let line = line(check);
        table.row(vec![
            plain(check.check),
            plain(check.stress.as_deref().unwrap_or("–")),
            plain(&check.element),
            plain(line.value),
            plain(line.limit),
            plain(line.unit),
            plain(line.margin),
            plain(line.margin_unit),
            (style(check.verdict), check.verdict.word().to_owned()),
            plain(check.corner.as_ref().map_or(String::new(), &mut *letter)),
        ]);
    }
    table
}

/// Why each check that does not simply pass stands as it does; with everything shown, every check.
fn reasons(page: &mut Page, result: &Assessment, detail: Detail) {
    let told: Vec<&CheckResult> = result
        .checks
        .iter()
        .filter(|check| detail == Detail::Everything || check.verdict != Verdict::Pass)
        .collect();
    if told.is_empty() {
        return;
    }
    page.heading("Reasons");
    for check in told {
        let label = format!("{:<10}", check.verdict.word());
        let mut text = format!("{}: {}", place(check), check.why);
        if detail == Detail::Everything
            && let Some(origin) = &check.limit_origin
        {
            text.push_str(&format!(" [limit: {origin}]"));
        }
        page.styled_entry(style(check.verdict), &label, &text);
    }
    page.entry(
        "",
        "tidewall explain CHECK gives the formula, its source, and what to change.",
    );
}

/// What to provide so that nothing is unknown.
fn missing(page: &mut Page, result: &Assessment) {
    let wanted = finding::missing(result);
    if wanted.is_empty() {
        return;
    }
    page.heading("To be provided");
    for (datum, places) in wanted {
        page.entry("– ", &format!("{datum} (for {})", places.join("; ")));
    }
}

fn list(page: &mut Page, heading: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    page.heading(heading);
    for line in lines {
        page.entry("– ", line);
    }
}

fn origins(page: &mut Page, result: &Assessment) {
    page.heading("Origins");
    for origin in &result.origins {
        page.entry(
            "– ",
            &format!("{}: {} – {}", origin.what, origin.value, origin.origin),
        );
    }
    page.entry(
        "– ",
        &format!(
            "digest of the study and its files (SHA-256): {}",
            result.study.digest
        ),
    );
}

/// What the integrator did, in sum.
fn computed(page: &mut Page, result: &Assessment) {
    page.heading("Computed");
    page.entry("", &finding::computed(result));
}
