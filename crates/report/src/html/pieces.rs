//! Pieces of a page.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{Markup, html};

use crate::document::{Align, Cell, Logo, Style, Table, Text, Tone};

/// Numbers of tables and pictures, as the typesetter counts them.
#[derive(Default)]
pub struct Numbers {
    tables: usize,
    pictures: usize,
}

impl Numbers {
    fn table(&mut self) -> usize {
        self.tables += 1;
        self.tables
    }

    /// The next picture's.
    pub fn picture(&mut self) -> usize {
        self.pictures += 1;
        self.pictures
    }
}

/// Running text.
pub fn rich(text: &Text) -> Markup {
    html! {
        @for span in &text.spans {
            @match span.style {
                Style::Plain => (span.text),
                Style::Strong => strong { (span.text) },
                Style::Code => code { (span.text) },
            }
        }
    }
}

/// Words with what is said of them.
pub fn terms(terms: &[(String, Text)]) -> Markup {
    let short = terms.iter().all(|(word, _)| word.len() < 4);
    html! {
        dl.short[short] {
            @for (word, text) in terms {
                div { dt { (word) } dd { (rich(text)) } }
            }
        }
    }
}

/// Class of a tone.
pub fn class(tone: Tone) -> &'static str {
    match tone {
        Tone::Plain => "plain",
        Tone::Pass => "pass",
        Tone::Marginal => "marginal",
        Tone::Unknown => "unknown",
        Tone::Fail => "fail",
    }
}

/// Widths of what stands behind the point in a column and of its units, in tenths of an em.
pub fn widths(table: &Table, k: usize) -> (u32, u32) {
    let widest = |part: fn(&Cell) -> &str| {
        let texts = table.rows.iter().filter_map(|row| row.get(k)).map(part);
        let ems = texts.map(|text| tidewall_plot::font::width(text, 10.0, false));
        ems.fold(0.0, f64::max).ceil() as u32
    };
    (widest(|cell| &cell.decimals), widest(|cell| &cell.unit))
}

/// A table with its caption; wide ones can be scrolled.
pub fn table(table: &Table, label: &str, numbers: &mut Numbers) -> Markup {
    let caption = format!("{label} {}. {}", numbers.table(), table.caption);
    let points: Vec<Option<(u32, u32)>> = table
        .columns
        .iter()
        .enumerate()
        .map(|(k, column)| (column.align == Align::Point).then(|| widths(table, k)))
        .collect();
    html! {
        div.wide tabindex="0" role="region" aria-label=(caption) {
            table {
                caption {
                    strong { (label) " " (numbers.tables) "." } " " (table.caption)
                }
                thead { tr { @for column in &table.columns {
                    th scope="col" class=[(column.align == Align::Point).then_some("n")] { (column.head) }
                } } }
                tbody { @for row in &table.rows { tr {
                    @for (k, cell) in row.iter().enumerate() {
                        @let point = points.get(k).copied().flatten();
                        @if k == 0 {
                            th scope="row" class=(classes(cell, point)) { (inner(cell, point)) }
                        } @else {
                            td class=(classes(cell, point)) { (inner(cell, point)) }
                        }
                    }
                } } }
            }
        }
        @for note in &table.notes { p.remark { (rich(note)) } }
    }
}

fn classes(cell: &Cell, point: Option<(u32, u32)>) -> String {
    let number = if point.is_some() { "n " } else { "" };
    format!("{number}{}", class(cell.tone))
}

fn inner(cell: &Cell, point: Option<(u32, u32)>) -> Markup {
    let Some((decimals, unit)) = point else {
        return html! { (cell.text) };
    };
    html! {
        (cell.text)
        @if decimals > 0 { span class=(format!("w{decimals}")) { (cell.decimals) } }
        @if unit > 0 {
            @if !cell.unit.is_empty() { "\u{a0}" } @else { span.gap {} }
            span class=(format!("w{unit}")) { (cell.unit) }
        }
    }
}

/// A logo within the page.
pub fn data_url(logo: &Logo) -> String {
    format!("data:{};base64,{}", logo.media, STANDARD.encode(&logo.bytes))
}
