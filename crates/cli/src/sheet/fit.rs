//! A fit as text.

use tidewall_desk::curves::lines;
use tidewall_desk::curves::words::{points, scatter, shown, standing};
use tidewall_extract::family::{Estimate, Fit, Standing};

use super::page::{Page, Style};
use super::table::{Align, Table};

/// The sheet of a fit to the points of a file; with `part`, also the data as a part of that name.
pub fn sheet(fit: &Fit, source: &str, part: Option<&str>) -> String {
    let mut page = Page::for_terminal();
    page.line(&[(Style::Strong, &format!("{}: {}", fit.family, fit.law))]);
    page.entry("points   ", &points(fit, source));
    page.entry("scatter  ", &scatter(fit));
    page.heading("Values, with the interval that holds them with 95 %");
    let mut table = Table::default()
        .column("value of", Align::Left)
        .column("value", Align::Left)
        .column("from", Align::Left)
        .column("to", Align::Left)
        .column("standing", Align::Left);
    for estimate in &fit.estimates {
        let end = |k: usize| match estimate.interval {
            Some(ends) => ends[k].map_or("no end".to_owned(), |x| shown(x, &estimate.unit)),
            None => String::new(),
        };
        let value = estimate
            .value
            .map_or("?".to_owned(), |x| shown(x, &estimate.unit));
        table.row(vec![
            (Style::Plain, estimate.meaning.clone()),
            (Style::Plain, value),
            (Style::Plain, end(0)),
            (Style::Plain, end(1)),
            (style(estimate.standing), standing(estimate.standing).to_owned()),
        ]);
    }
    table.without_empty().write(&mut page);
    wanted(&mut page, fit);
    if !fit.warnings.is_empty() {
        page.heading("To mind");
        for warning in &fit.warnings {
            page.entry("– ", &warning.text);
        }
    }
    let rejected: Vec<_> = fit.points.iter().filter(|p| p.rejected.is_some()).collect();
    if !rejected.is_empty() {
        page.heading("Points left out");
        for point in rejected {
            let place = format!(
                "{} at {}: ",
                shown(point.y, &fit.y.unit),
                shown(point.x, &fit.x.unit)
            );
            page.entry(
                &format!("{}  ", point.number),
                &format!("{place}{}", point.rejected.as_deref().unwrap_or_default()),
            );
        }
    }
    page.heading("Made by");
    page.entry("", &fit.recipe);
    if let Some(name) = part {
        entries(&mut page, fit, source, name);
    }
    page.finish()
}

fn style(standing: Standing) -> Style {
    match standing {
        Standing::NotTestable | Standing::NotIdentified => Style::Doubt,
        Standing::Estimated | Standing::Given | Standing::Observed => Style::Plain,
    }
}

/// What would tell or test what is not told.
fn wanted(page: &mut Page, fit: &Fit) {
    let open: Vec<&Estimate> = fit.estimates.iter().filter(|e| e.needs.is_some()).collect();
    if open.is_empty() {
        return;
    }
    page.heading("To be measured");
    for estimate in open {
        let needs = estimate.needs.as_deref().unwrap_or_default();
        page.entry("– ", &format!("for {}: {needs}", estimate.meaning));
    }
}

fn entries(page: &mut Page, fit: &Fit, source: &str, name: &str) {
    let (target, lines) = lines(fit, source, name);
    page.heading(&format!("For {target}"));
    for line in lines {
        page.line(&[(Style::Plain, &line)]);
    }
}
