//! A correlation as text.

use tidewall_assess::correlate::result::{Correlation, Outcome};
use tidewall_report::words::correlation::{deviation, parameter};
use tidewall_report::words::number::corner_words;
use tidewall_study::Study;
use tidewall_units::{Quantity, Seconds, Volts};

use super::page::{Page, Style};
use super::table::{Align, Table};

/// The sheet of a correlation.
pub fn sheet(study: &Study, result: &Correlation) -> String {
    let mut page = Page::for_terminal();
    page.line(&[(Style::Strong, &result.study.title)]);
    page.entry("study    ", &study.path);
    let capture = &result.capture;
    let current = capture
        .current
        .as_deref()
        .map_or(String::new(), |name| format!(" and `{name}`"));
    page.entry(
        "capture  ",
        &format!(
            "{}: {} samples, `{}`{current}",
            capture.file, capture.samples, capture.voltage
        ),
    );
    for (label, text) in [
        ("specimen ", &capture.specimen),
        ("with     ", &capture.instrument),
        ("date     ", &capture.date),
    ] {
        if let Some(text) = text {
            page.entry(label, text);
        }
    }
    let of = result
        .current_of
        .as_deref()
        .map_or(String::new(), |name| format!(", current of {name}"));
    page.entry("places   ", &format!("voltage at {}{of}", result.voltage_at));
    page.entry(
        "stress   ",
        &format!("{}; {}", result.stress, corner_words(&result.corner)),
    );
    page.entry("chosen   ", &result.chosen);
    let turned = if result.alignment.turned { ", turned" } else { "" };
    page.entry(
        "aligned  ",
        &format!(
            "prediction moved by {}{turned}; {} (correlation {:.3})",
            Seconds(result.alignment.shift_s).rounded(4),
            result.alignment.method,
            result.alignment.correlation
        ),
    );
    page.blank();
    let style = match result.finding.outcome {
        Outcome::Agreement => Style::Pass,
        Outcome::One => Style::Strong,
        Outcome::Tie | Outcome::None => Style::Doubt,
    };
    page.styled_entry(style, "finding  ", &result.finding.text);
    page.heading("Measured against predicted");
    let mut table = Table::default()
        .column("", Align::Left)
        .column("measured", Align::Left)
        .column("predicted", Align::Left)
        .column("deviation", Align::Left);
    for row in &result.deviations {
        table.row(deviation(row).map(|cell| (Style::Plain, cell)).to_vec());
    }
    table.write(&mut page);
    let noise = result
        .noise_v
        .map_or("unknown".to_owned(), |noise| Volts(noise).rounded(3));
    page.entry(
        "",
        &format!(
            "difference of the voltages {} (root mean square), noise {noise}",
            Volts(result.residual_v).rounded(3)
        ),
    );
    page.heading("Each parameter alone, the one that explains most first");
    let mut table = Table::default()
        .column("parameter", Align::Left)
        .column("stated", Align::Left)
        .column("fitted", Align::Left)
        .column("95 % interval", Align::Left)
        .column("plausible", Align::Left)
        .column("explains", Align::Left);
    for candidate in &result.candidates {
        table.row(parameter(candidate).map(|cell| (Style::Plain, cell)).to_vec());
    }
    table.write(&mut page);
    page.heading("Assumed and done");
    for note in &result.notes {
        page.entry("– ", note);
    }
    let mut reasons: Vec<&str> = result
        .candidates
        .iter()
        .map(|one| one.plausible_because)
        .collect();
    reasons.sort_unstable();
    reasons.dedup();
    for reason in reasons {
        page.entry("– plausible: ", reason);
    }
    page.finish()
}
