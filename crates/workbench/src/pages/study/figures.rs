//! The figures of a sheet, from the last result.

use maud::{Markup, html};
use tidewall_plot::Figure;
use tidewall_report::figures as draw;

use super::Sheet;
use crate::figures::figure;
use crate::judge::Judged;

/// A section of figures; nothing before the first result.
fn drawn(sheet: &Sheet, title: &'static str, figures: impl FnOnce(&Judged) -> Vec<Figure>) -> Markup {
    let Some(judged) = &sheet.judged else {
        return html! {};
    };
    let figures = judged.figures(title, figures);
    if figures.is_empty() {
        return html! {};
    }
    html! {
        h2 { (title) (stale(sheet)) }
        div class=(if sheet.is_stale() { "figures stale" } else { "figures" }) {
            @for each in figures.iter() { (figure(&sheet.app, each)) }
        }
    }
}

/// Says that what is shown belongs to an earlier text.
pub fn stale(sheet: &Sheet) -> Markup {
    html! { @if sheet.is_stale() { " " span.hint { "(of the text before this one)" } } }
}

/// Margins by check and corner.
pub fn margins(sheet: &Sheet) -> Markup {
    drawn(sheet, "Margins", |judged| {
        vec![draw::margins(&judged.study, &judged.assessment)]
    })
}

/// The design window.
pub fn window(sheet: &Sheet) -> Markup {
    drawn(sheet, "Design window", |judged| {
        let window = draw::design_window(&judged.study, &judged.assessment, Some(&judged.traces));
        window.into_iter().collect()
    })
}

/// Waveforms of the worst let-through of each stress.
pub fn waveforms(sheet: &Sheet) -> Markup {
    drawn(sheet, "Waveforms", |judged| {
        draw::waveforms(&judged.study, &judged.traces)
    })
}

/// Who absorbs the energy, and how hot the junctions get.
pub fn energy(sheet: &Sheet) -> Markup {
    drawn(sheet, "Energy and temperature", |judged| {
        let figures = [
            draw::energy(&judged.study, &judged.assessment),
            draw::junctions(&judged.assessment),
        ];
        figures.into_iter().flatten().collect()
    })
}
