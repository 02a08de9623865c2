//! Measured points to a model: points, fit with its band, values with their intervals, and into the library.

use std::sync::Arc;

use axum::extract::State;
use maud::{Markup, html};
use tidewall_desk::curves::words::{points, scatter, shown, standing};
use tidewall_desk::curves::{Curve, Field, lines};
use tidewall_extract::family::{Estimate, Fit, Standing, UsedPoint};
use tidewall_report::figures;
use tidewall_report::words::harmless;

use crate::figures::figure;
use crate::html::{Page, Place, page as frame};
use crate::state::App;

/// `GET /curves`
pub async fn page(State(app): State<App>) -> Page {
    let body = html! {
        h1 { "Curves" }
        p { "Measured points become the model of a part, with intervals that hold each value with 95 %. What the points do not \
             tell has no value." }
        form.asking.stacked.drop #fit-points data-drop {
            label for="curve" { "What was measured" }
            select #curve {
                @for curve in Curve::ALL { option value=(curve.word()) data-columns=(curve.columns()) { (curve.title()) } }
            }
            label for="points-file" { "Points: choose a CSV file, drop it here, or write below" }
            input #points-file type="file" accept=".csv,.tsv,.txt";
            label for="points" { "Points, with the columns " span.mono #columns { (Curve::Avalanche.columns()) } }
            textarea #points rows="10" spellcheck="false" aria-describedby="points-hint" {}
            p.hint #points-hint {
                "The first row names the columns, each with its unit in brackets. A column " span.mono { "deviation (V)" }
                " may be added: the standard deviation of the last column. A wave is 8/20, 10/1000, another front and tail in µs, \
                 or rectangle 100 ns."
            }
            div.known {
                @for field in &Field::ALL { (known(field)) }
            }
            p {
                span.tick { input #tlp type="checkbox"; label for="tlp" { "the table of a transmission-line-pulse test" } }
                span.tick { input #robust type="checkbox"; label for="robust" { "discount single bad points" } }
            }
            p { button.main type="submit" { "Fit" } }
        }
        section #fitted aria-live="polite" tabindex="-1" {}
    };
    frame(&app, Place::Curves, "Curves", &body)
}

/// How a field is called on the page.
pub fn called(field: &Field) -> String {
    field.key.replace('-', " ")
}

/// A field, shown for the curves that it belongs to.
fn known(field: &Field) -> Markup {
    let of: Vec<&str> = field.of.iter().map(|curve| curve.word()).collect();
    let id = format!("known-{}", field.key);
    html! {
        div.field data-of=(of.join(" ")) data-tlp[field.key == "width"] {
            label for=(id) { (called(field)) @if field.needed { " (needed)" } }
            @if field.choices.is_empty() {
                input id=(id) type="text" data-known=(field.key) autocomplete="off" spellcheck="false" aria-describedby=(format!("{id}-hint"));
            } @else {
                select id=(id) data-known=(field.key) aria-describedby=(format!("{id}-hint")) {
                    @for choice in field.choices { option value=(choice) { (choice) } }
                }
            }
            span.hint id=(format!("{id}-hint")) { (field.words) }
        }
    }
}

/// A fit to the points of a file.
pub fn fitted(app: &App, fit: &Fit, file: &str) -> Markup {
    html! {
        h2 { "Fit" }
        p { strong { (harmless(&fit.law)) } }
        p.hint { "Points: " (harmless(&points(fit, file))) ". Scatter: " (harmless(&scatter(fit))) "." }
        (figure(app, &Arc::new(figures::fit(fit))))
        h3 { "Values, with the interval that holds them with 95 %" }
        div.scroll tabindex="0" role="region" aria-label="Values" {
            table {
                thead { tr {
                    th scope="col" { "value of" }
                    th.n scope="col" { "value" }
                    th.n scope="col" { "from" }
                    th.n scope="col" { "to" }
                    th scope="col" { "standing" }
                } }
                tbody { @for estimate in &fit.estimates { (value(estimate)) } }
            }
        }
        (wanted(fit))
        @if !fit.warnings.is_empty() {
            h3 { "To mind" }
            ul { @for warning in &fit.warnings { li { (harmless(&warning.text)) } } }
        }
        (left_out(fit))
        h3 { "Made by" }
        p.mono { (harmless(&fit.recipe)) }
        (keeping(fit, file))
    }
}

fn value(estimate: &Estimate) -> Markup {
    let end = |k: usize| match estimate.interval {
        Some(ends) => ends[k].map_or("no end".to_owned(), |x| shown(x, &estimate.unit)),
        None => String::new(),
    };
    let untold = matches!(estimate.standing, Standing::NotTestable | Standing::NotIdentified);
    html! {
        tr {
            th scope="row" { (harmless(&estimate.meaning)) }
            td.n { (estimate.value.map_or("?".to_owned(), |x| shown(x, &estimate.unit))) }
            td.n { (end(0)) }
            td.n { (end(1)) }
            td { @if untold { em { (standing(estimate.standing)) } } @else { (standing(estimate.standing)) } }
        }
    }
}

/// What would tell or test what is not told.
fn wanted(fit: &Fit) -> Markup {
    let open = fit
        .estimates
        .iter()
        .filter_map(|estimate| Some((&estimate.meaning, estimate.needs.as_ref()?)));
    let open: Vec<_> = open.collect();
    html! {
        @if !open.is_empty() {
            h3 { "To be measured" }
            ul { @for (meaning, needs) in open { li { "For " (harmless(meaning)) ": " (harmless(needs)) } } }
        }
    }
}

fn left_out(fit: &Fit) -> Markup {
    let place = |point: &UsedPoint| {
        format!(
            "point {}, {} at {}",
            point.number,
            shown(point.y, &fit.y.unit),
            shown(point.x, &fit.x.unit)
        )
    };
    let rejected: Vec<_> = fit
        .points
        .iter()
        .filter_map(|point| Some((place(point), point.rejected.as_ref()?)))
        .collect();
    html! {
        @if !rejected.is_empty() {
            h3 { "Points left out" }
            ul { @for (place, why) in rejected { li { (place) ": " (harmless(why)) } } }
        }
    }
}

/// The way into the library, and the text for a parts file or a pin.
fn keeping(fit: &Fit, file: &str) -> Markup {
    let (target, text) = lines(fit, file, "NAME");
    let pin = fit.family == "pin";
    html! {
        @if !pin {
            h3 { "Into the parts library" }
            form.asking #keep-fit {
                label { "part " input #keep-part type="text" required autocomplete="off" spellcheck="false"; }
                label { "measured on (specimen, instrument, date) " input #keep-document type="text" size="44" required; }
                button.main type="submit" { "Save the model" }
            }
            p.hint { "A part that is there gets these data beside those that it has; another name becomes a new part." }
        }
        details.text {
            summary { "The data for " (target) }
            pre tabindex="0" { (harmless(&text.join("\n"))) }
        }
    }
}
