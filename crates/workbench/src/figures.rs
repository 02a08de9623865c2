//! Figures on pages: each with what a reader can do with it, and kept so that it can be looked at closer and saved.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use maud::{Markup, PreEscaped, html};
use serde::Deserialize;
use sha2::{Digest, Sha256};
use tidewall_plot::{Figure, View};
use tidewall_report::words::harmless;

use crate::download;
use crate::error::Refusal;
use crate::state::App;

/// Bytes that the kept figures may take, roughly.
const ROOM: usize = 96 << 20;
/// Panels of which another view may be asked for at once.
const VIEWS: usize = 24;

/// Figures that pages have shown, those looked at last at the end.
#[derive(Debug, Default)]
pub struct Figures {
    kept: Mutex<VecDeque<(String, Arc<Figure>)>>,
}

impl Figures {
    /// Keeps a figure; returns the key by which it is found, which the same picture always gets.
    fn keep(&self, figure: &Arc<Figure>) -> String {
        let digest = Sha256::digest(figure.svg.as_bytes());
        let key: String = digest[..12].iter().map(|byte| format!("{byte:02x}")).collect();
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        kept.retain(|(known, _)| *known != key);
        kept.push_back((key.clone(), Arc::clone(figure)));
        let mut room = ROOM;
        // From the newest on, for as long as there is room; one is always kept.
        let fits = kept.iter().rev().take_while(|(_, figure)| {
            let fits = room > 0;
            room = room.saturating_sub(weight(figure));
            fits
        });
        let first = kept.len() - fits.count();
        kept.drain(..first);
        key
    }

    fn find(&self, key: &str) -> Result<Arc<Figure>, Refusal> {
        let kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let found = kept.iter().find(|(known, _)| known == key);
        found.map(|(_, figure)| Arc::clone(figure)).ok_or_else(|| {
            Refusal::missing(
                "this figure is no longer kept".to_owned(),
                "reload the page and ask again",
            )
        })
    }
}

/// Bytes of a figure, roughly: its picture, its data, and the points that it was drawn from.
fn weight(figure: &Figure) -> usize {
    figure.svg.len() + figure.data.len() * figure.data.columns.len() * 24
}

/// A figure with its words, and with what can be done with it.
pub fn figure(app: &App, figure: &Arc<Figure>) -> Markup {
    let key = app.figures().keep(figure);
    let title = harmless(&figure.title);
    let label = if figure.chart.is_some() {
        format!(
            "{title}. Arrow keys read values, + and − zoom, 0 shows all, L turns the upright axis logarithmic"
        )
    } else {
        title.to_string()
    };
    html! {
        figure.figure data-figure=(key) {
            div.picture tabindex="0" role="group" aria-label=(label) { (PreEscaped(&figure.svg)) }
            p.readout aria-live="polite" {}
            figcaption { strong { (title) "." } " " (harmless(&figure.caption)) }
            div.tools {
                @if figure.chart.is_some() {
                    span.views hidden {
                        button type="button" data-view="closer" { "Closer" }
                        button type="button" data-view="wider" { "Wider" }
                        button type="button" data-view="all" { "All" }
                        button type="button" data-view="y-log" aria-pressed="false" { "Log ↕" }
                        button type="button" data-view="x-log" aria-pressed="false" { "Log ↔" }
                    }
                }
                span.saves {
                    a href=(format!("/figure/{key}/picture.svg")) data-save="svg" download { "SVG" }
                    button type="button" data-save="png" hidden { "PNG" }
                    @if !figure.data.is_empty() { a href=(format!("/figure/{key}/data.csv")) download { "CSV" } }
                }
            }
        }
    }
}

/// Which view is asked for: a list of panels with their ranges as JSON, or nothing.
#[derive(Clone, Debug, Deserialize)]
pub struct Views {
    #[serde(default)]
    views: Option<String>,
}

/// What is asked of one panel.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    panel: usize,
    #[serde(default)]
    x: Option<(f64, f64)>,
    #[serde(default)]
    y: Option<(f64, f64)>,
    #[serde(default)]
    x_log: Option<bool>,
    #[serde(default)]
    y_log: Option<bool>,
}

impl Views {
    fn read(&self) -> Result<Vec<View>, Refusal> {
        let Some(text) = &self.views else {
            return Ok(Vec::new());
        };
        let wrong = |what: String| {
            Refusal::bad(
                what,
                "a list such as [{\"panel\": 0, \"x\": [0, 1e-6]}] of at most 24 panels",
            )
        };
        let asked: Vec<Asked> =
            serde_json::from_str(text).map_err(|error| wrong(format!("`views` cannot be read: {error}")))?;
        if asked.len() > VIEWS {
            return Err(wrong(format!("`views` asks for {} panels", asked.len())));
        }
        let view = |one: Asked| View {
            panel: one.panel,
            x: one.x,
            y: one.y,
            x_log: one.x_log,
            y_log: one.y_log,
        };
        Ok(asked.into_iter().map(view).collect())
    }
}

fn drawn(figure: &Figure, views: &[View]) -> String {
    let closer = (!views.is_empty()).then(|| figure.viewed(views)).flatten();
    closer.unwrap_or_else(|| figure.svg.clone())
}

/// `GET /figure/{key}/view`: the picture on other ranges and scales, for the page.
pub async fn view(
    State(app): State<App>,
    Path(key): Path<String>,
    Query(asked): Query<Views>,
) -> Result<Response, Refusal> {
    let views = asked.read()?;
    let figure = app.figures().find(&key)?;
    let svg = app.blocking(move |_| Ok(drawn(&figure, &views))).await?;
    Ok(([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response())
}

/// `GET /figure/{key}/{file}`: the picture, in the view that is asked for, or its data, to be saved.
pub async fn file(
    State(app): State<App>,
    Path((key, file)): Path<(String, String)>,
    Query(asked): Query<Views>,
) -> Result<Response, Refusal> {
    let views = asked.read()?;
    let figure = app.figures().find(&key)?;
    let id = figure.id.clone();
    let work: fn(&Figure, &[View]) -> (&'static str, &'static str, String) = match file.as_str() {
        "picture.svg" => |figure, views| {
            let picture = drawn(figure, views);
            let whole = format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{picture}");
            (".svg", "image/svg+xml", whole)
        },
        "data.csv" => |figure, _| (".csv", "text/csv; charset=utf-8", figure.data.csv()),
        _ => {
            return Err(Refusal::missing(
                format!("a figure has no `{file}`"),
                "`picture.svg` and `data.csv` there are",
            ));
        }
    };
    let (end, media, text) = app.blocking(move |_| Ok(work(&figure, &views))).await?;
    Ok(download::file(&id, end, media, text.into_bytes()))
}

#[cfg(test)]
mod tests {
    use tidewall_plot::{Axis, Chart, Panel, Style, Table, Words};

    use super::*;

    fn made(volts: f64) -> Arc<Figure> {
        let mut panel = Panel::new(Axis::linear("Time", "s"), Axis::linear("Voltage", "V"));
        panel.curve("pin", vec![(0.0, 0.0), (1.0, volts)], Style::nth(0));
        let mut data = Table::default();
        data.numbers("time", "s", vec![0.0; 400_000]);
        Arc::new(Chart::of(vec![panel]).figure(Words::new("wave", "A wave", "It rises.", "To 2 V."), data))
    }

    #[test]
    fn the_same_picture_is_kept_once_and_old_ones_make_room() {
        let figures = Figures::default();
        let first = figures.keep(&made(1.0));
        assert_eq!(figures.keep(&made(1.0)), first);
        assert_eq!(figures.kept.lock().unwrap().len(), 1);
        let keys: Vec<String> = (2..40).map(|k| figures.keep(&made(f64::from(k)))).collect();
        assert!(figures.find(&first).is_err(), "there was no room for it");
        assert!(figures.find(keys.last().unwrap()).is_ok());
        assert!(figures.kept.lock().unwrap().len() < 20);
    }

    #[test]
    fn views_that_cannot_be_read_are_refused() {
        let read = |text: &str| {
            let views = Views {
                views: Some(text.to_owned()),
            };
            views.read()
        };
        assert_eq!(
            read("[{\"panel\":1,\"x\":[0,1e-6],\"y_log\":true}]")
                .unwrap()
                .len(),
            1
        );
        for wrong in [
            "",
            "{}",
            "[{\"x\":[0,1]}]",
            "[{\"panel\":0,\"x\":[0]}]",
            "[{\"panel\":-1}]",
            "[{\"panel\":0,\"z\":1}]",
        ] {
            assert!(read(wrong).is_err(), "{wrong}");
        }
        let many = vec!["{\"panel\":0}"; 30].join(",");
        assert!(read(&format!("[{many}]")).is_err());
    }
}
