//! Fits of measured points.

use std::collections::BTreeMap;
use std::io::Cursor;

use axum::extract::State;
use axum::response::Response;
use maud::html;
use serde::Deserialize;
use tidewall_desk::curves::{Asked, Curve, Field, Given, Points, fitted, keep as keep_fit};
use tidewall_desk::library::Place;
use tidewall_extract::family::Fit;
use tidewall_report::words::harmless;

use super::library::Outcome;
use crate::body::Json;
use crate::error::Refusal;
use crate::events::Event;
use crate::pages;
use crate::state::App;

/// Points and what is known beside them.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measured {
    /// Name of the file; points that were written in the page have none.
    #[serde(default)]
    file: String,
    /// The table.
    text: String,
    /// What was measured.
    curve: Curve,
    /// What is known, by the key of its field; an empty text is not known.
    #[serde(default)]
    known: BTreeMap<String, String>,
    /// Discount single bad points.
    #[serde(default)]
    robust: bool,
    /// The table is that of a transmission-line-pulse test.
    #[serde(default)]
    tlp: bool,
}

/// A fit that is to be kept.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Kept {
    /// The fit, made anew.
    measured: Measured,
    /// Name of the part.
    part: String,
    /// Specimen, instrument, date.
    document: String,
}

impl Measured {
    fn file(&self) -> &str {
        if self.file.is_empty() {
            "the points"
        } else {
            &self.file
        }
    }

    fn fit(&self) -> Result<Fit, Refusal> {
        let mut asked = Asked {
            robust: self.robust,
            tlp: self.tlp,
            ..Asked::default()
        };
        for (key, text) in &self.known {
            let field = Field::ALL
                .iter()
                .find(|field| field.key == key)
                .ok_or_else(|| Refusal::bad(format!("nothing is known as `{key}`"), "reload the page"))?;
            if !text.trim().is_empty() {
                asked.fields.insert(field.key, text.trim().to_owned());
            }
        }
        let given = Given::of(self.curve, &asked, pages::curves::called)?;
        let points = if self.tlp {
            Points::of_tlp(self.file(), Cursor::new(&self.text), given.width_s())?
        } else {
            Points::parse(self.file(), &self.text)?
        };
        Ok(fitted(self.curve, &points, &given)?)
    }
}

/// `POST /api/curves/fit`
pub async fn fit(State(app): State<App>, Json(measured): Json<Measured>) -> Result<Response, Refusal> {
    app.blocking(move |app| {
        let fit = measured.fit()?;
        Ok(Outcome::of(pages::curves::fitted(app, &fit, measured.file())))
    })
    .await
}

/// `POST /api/curves/keep`: fits again, and puts the data into the library.
pub async fn keep(State(app): State<App>, Json(kept): Json<Kept>) -> Result<Response, Refusal> {
    let named = |text: &str, what: &str, hint: &str| {
        if text.trim().is_empty() {
            Err(Refusal::bad(format!("{what} is missing"), hint))
        } else {
            Ok(text.trim().to_owned())
        }
    };
    let part = named(&kept.part, "the name of the part", "a new name makes a new part")?;
    let document = named(
        &kept.document,
        "the source",
        "say specimen, instrument and date, so that the values can be traced",
    )?;
    let name = part.clone();
    let done = app
        .blocking(move |app| {
            let fit = kept.measured.fit()?;
            let place = Place::new(app.library())?;
            Ok(keep_fit(&fit, kept.measured.file(), &name, &document, &place)?)
        })
        .await?;
    app.events().send(Event::Files);
    Ok(Outcome::of(html! {
        p role="status" {
            (harmless(&done.words)) ". "
            a href=(pages::parts::address(&part)) { "Look at " (harmless(&part)) }
        }
    }))
}
