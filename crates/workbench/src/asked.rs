//! What a form asks for: names with their values, from a query or from JSON.

use std::collections::BTreeMap;

use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use serde::Deserialize;
use tidewall_desk::failure::Failure;
use tidewall_units::{Quantity, parse};

use crate::error::Refusal;
use crate::html::escaped;

/// Most names with values that a form may send.
const MOST: usize = 400;

/// Names with their values, empty values left out.
#[derive(Clone, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(transparent)]
pub struct Asked(BTreeMap<String, Vec<String>>);

impl Asked {
    /// From pairs in their order.
    pub fn of(pairs: impl IntoIterator<Item = (String, String)>) -> Asked {
        let mut asked = Asked::default();
        for (name, value) in pairs {
            asked.0.entry(name).or_default().push(value);
        }
        asked.without_empty()
    }

    /// The same without values that are empty, which is what an empty field sends.
    #[must_use]
    pub fn without_empty(mut self) -> Asked {
        for values in self.0.values_mut() {
            for value in values.iter_mut() {
                *value = value.trim().to_owned();
            }
            values.retain(|value| !value.is_empty());
        }
        self.0.retain(|_, values| !values.is_empty());
        self
    }

    /// Only the names in the list.
    #[must_use]
    pub fn only(&self, names: &[&str]) -> Asked {
        let kept = self.0.iter().filter(|(name, _)| names.contains(&name.as_str()));
        Asked(
            kept.map(|(name, values)| (name.clone(), values.clone()))
                .collect(),
        )
    }

    /// Gives a name one value.
    pub fn set(&mut self, name: &str, value: &str) {
        self.0.insert(name.to_owned(), vec![value.to_owned()]);
    }

    /// All values of a name.
    pub fn all(&self, name: &str) -> Vec<String> {
        self.0.get(name).cloned().unwrap_or_default()
    }

    /// The last value of a name.
    pub fn one(&self, name: &str) -> Option<&str> {
        self.0.get(name)?.last().map(String::as_str)
    }

    /// The name has that value.
    pub fn has(&self, name: &str, value: &str) -> bool {
        self.0
            .get(name)
            .is_some_and(|values| values.iter().any(|own| own == value))
    }

    /// Nothing is asked.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Values whose names begin so: what follows in the name, and the last value.
    pub fn below(&self, start: &str) -> Vec<(&str, &str)> {
        let own = self
            .0
            .iter()
            .filter_map(|(name, values)| Some((name.strip_prefix(start)?, values.last()?.as_str())));
        own.collect()
    }

    /// A whole number within a range, or another where none is given.
    ///
    /// # Errors
    /// A text that is no number within the range.
    pub fn whole(
        &self,
        name: &str,
        usual: u64,
        range: std::ops::RangeInclusive<u64>,
    ) -> Result<u64, Failure> {
        let Some(text) = self.one(name) else {
            return Ok(usual);
        };
        let number = text.parse().ok().filter(|number| range.contains(number));
        number.ok_or_else(|| {
            Failure::usage(
                format!(
                    "{name}: `{text}` is not a whole number from {} to {}",
                    range.start(),
                    range.end()
                ),
                "",
            )
        })
    }

    /// A number from 0 up.
    ///
    /// # Errors
    /// A text that is none.
    pub fn number(&self, name: &str) -> Result<Option<f64>, Failure> {
        let Some(text) = self.one(name) else {
            return Ok(None);
        };
        let number = text.replace(',', ".").parse::<f64>().ok();
        let number = number.filter(|number| number.is_finite() && *number >= 0.0);
        match number {
            Some(number) => Ok(Some(number)),
            None => Err(Failure::usage(
                format!("{name}: `{text}` is not a number from 0 up"),
                "",
            )),
        }
    }

    /// A quantity with its unit, in SI units.
    ///
    /// # Errors
    /// A text that is none.
    pub fn quantity<Q: Quantity>(&self, name: &str) -> Result<Option<f64>, Failure> {
        let Some(text) = self.one(name) else {
            return Ok(None);
        };
        match parse::<Q>(text) {
            Ok(quantity) => Ok(Some(quantity.si())),
            Err(error) => Err(Failure::usage(format!("{name}: {error}"), "")),
        }
    }

    /// As the query of an address, with its question mark; empty if nothing is asked.
    pub fn query(&self) -> String {
        let pairs: Vec<String> = self
            .0
            .iter()
            .flat_map(|(name, values)| {
                values
                    .iter()
                    .map(move |value| format!("{}={}", escaped(name), escaped(value)))
            })
            .collect();
        if pairs.is_empty() {
            String::new()
        } else {
            format!("?{}", pairs.join("&"))
        }
    }
}

impl<S: Send + Sync> FromRequestParts<S> for Asked {
    type Rejection = Refusal;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Refusal> {
        let pairs = axum::extract::Query::<Vec<(String, String)>>::from_request_parts(parts, state).await;
        match pairs {
            Ok(axum::extract::Query(pairs)) if pairs.len() <= MOST => Ok(Asked::of(pairs)),
            _ => Err(Refusal::bad(
                "the address asks for something that cannot be read",
                "go back and use the form of the page",
            )),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(pairs: &[(&str, &str)]) -> Asked {
        Asked::of(
            pairs
                .iter()
                .map(|(name, value)| ((*name).to_owned(), (*value).to_owned())),
        )
    }

    #[test]
    fn what_is_asked_goes_through_a_query() {
        let own = asked(&[
            ("part", "alder 33&x"),
            ("part", "birch"),
            ("stage", " D1 "),
            ("empty", " "),
        ]);
        assert_eq!(own.query(), "?part=alder%2033%26x&part=birch&stage=D1");
        assert_eq!(own.all("part"), ["alder 33&x", "birch"]);
        assert_eq!(own.one("empty"), None);
        assert_eq!(asked(&[]).query(), "");
    }

    #[test]
    fn numbers_are_read_or_refused() {
        let own = asked(&[
            ("draws", "1000"),
            ("margin", "-1"),
            ("cap", "4.7 nF"),
            ("bad", "4.7 V"),
        ]);
        assert_eq!(own.whole("draws", 0, 1..=2000).unwrap(), 1000);
        assert_eq!(own.whole("best", 3, 1..=9).unwrap(), 3);
        assert!(own.whole("draws", 0, 1..=10).is_err());
        assert!(own.number("margin").is_err());
        assert_eq!(
            own.quantity::<tidewall_units::Farads>("cap").unwrap(),
            Some(4.7e-9)
        );
        assert!(own.quantity::<tidewall_units::Farads>("bad").is_err());
    }
}
