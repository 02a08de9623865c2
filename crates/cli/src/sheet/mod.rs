//! The engineer's sheet: a result as text.

pub mod capture;
pub mod compare;
pub mod correlation;
mod draws;
pub mod fit;
mod level;
mod number;
pub mod page;
pub mod plan;
pub mod rank;
pub mod requirement;
mod stress;
pub mod table;

use tidewall_assess::result::{Assessment, Bound, CheckResult, Corner, Verdict};
use tidewall_study::Study;
use tidewall_units::{Quantity, Ratio, Volts};

use number::{corner_words, in_one_unit, percent, significant};
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
    let mut port = Vec::new();
    if !study.port.title.is_empty() {
        port.push(study.port.title.clone());
    }
    if let Some(profile) = &study.port.profile {
        port.push(format!("profile {profile}"));
    }
    port.push(match study.port.lines {
        1 => "one line and return".to_owned(),
        lines => format!("{lines} lines and earth"),
    });
    page.entry("port     ", &port.join(", "));
    page.entry("window   ", &window(result));
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

fn window(result: &Assessment) -> String {
    let level = |volts: Option<f64>| volts.map_or("unknown".to_owned(), |volts| Volts(volts).rounded(4));
    format!(
        "must not conduct up to {}, withstand of the pin {}",
        level(result.window.must_not_conduct_v),
        level(result.window.withstand_v)
    )
}

/// Check, stress and element of a result.
fn place(check: &CheckResult) -> String {
    match &check.stress {
        Some(stress) => format!("{}, {stress}, {}", check.check, check.element),
        None => format!("{}, {}", check.check, check.element),
    }
}

/// The verdict's reason in one line: the worst check, or the tightest of those that hold.
fn reason(result: &Assessment) -> String {
    let Some(worst) = result.checks.first() else {
        return "there is nothing to check".to_owned();
    };
    match worst.verdict {
        Verdict::Pass => match worst.margin {
            Some(margin) => format!(
                "every check holds; the closest is {} with {} to spare",
                place(worst),
                percent_text(margin)
            ),
            None => "every check holds".to_owned(),
        },
        _ => format!("{}: {}", place(worst), worst.why),
    }
}

fn percent_text(share: f64) -> String {
    format!("{} %", percent(share))
}

fn checks(page: &mut Page, result: &Assessment) {
    let count = |verdict| {
        result
            .checks
            .iter()
            .filter(|check| check.verdict == verdict)
            .count()
    };
    page.heading(&format!(
        "Checks, worst first: {} fail, {} unknown, {} marginal, {} pass",
        count(Verdict::Fail),
        count(Verdict::Unknown),
        count(Verdict::Marginal),
        count(Verdict::Pass)
    ));
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

/// a, b, … z, aa, ab, …
fn letters(number: usize) -> String {
    let letter = char::from(b'a' + (number % 26) as u8);
    match number / 26 {
        0 => letter.to_string(),
        more => format!("{}{letter}", letters(more - 1)),
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
        let (texts, unit) = in_one_unit(&[check.value, check.limit], check.unit);
        let sign = match check.bound {
            Bound::AtMost => "≤",
            Bound::AtLeast => "≥",
        };
        let value = if texts[0].is_empty() { "?" } else { &texts[0] };
        let limit = match check.limit {
            Some(_) => format!("{sign} {}", texts[1]),
            None if check.verdict == Verdict::Unknown => "?".to_owned(),
            None => String::new(),
        };
        let margin = check.margin.map(percent);
        let margin_unit = margin.as_ref().map_or("", |_| "%");
        table.row(vec![
            plain(check.check),
            plain(check.stress.as_deref().unwrap_or("–")),
            plain(&check.element),
            plain(value),
            plain(&limit),
            plain(&unit),
            plain(margin.unwrap_or_default()),
            plain(margin_unit),
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
    let mut wanted: Vec<(&str, Vec<String>)> = Vec::new();
    for check in &result.checks {
        let Some(datum) = &check.missing else {
            continue;
        };
        match wanted.iter_mut().find(|(known, _)| *known == datum.as_str()) {
            Some((_, places)) => places.push(place(check)),
            None => wanted.push((datum, vec![place(check)])),
        }
    }
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
    let runs = &result.transients;
    let sum = |of: fn(&tidewall_assess::result::CounterResult) -> u64| -> u64 {
        runs.iter().map(|run| of(&run.counters)).sum()
    };
    let audit = runs.iter().map(|run| run.audit.residual).reduce(f64::max);
    let audit = audit.map_or(String::new(), |residual| {
        format!(
            "; worst energy audit {} of the energy (limit {})",
            Ratio(residual).rounded(2),
            Ratio(tidewall_transient::Audit::LIMIT).rounded(2)
        )
    });
    page.entry(
        "",
        &format!(
            "{} transients, {} steps ({} rejected), {} changes of state{audit}; Tidewall {}",
            runs.len(),
            significant(sum(|counters| counters.steps) as f64, 12),
            sum(|counters| counters.rejections),
            sum(|counters| counters.events),
            result.version
        ),
    );
}
