//! A finished figure.

use std::sync::Arc;

use crate::chart::{Chart, View};
use crate::svg::identifier;
use crate::table::Table;

/// A figure with its words and its data.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Identifier, unique on a page: letters, digits, `-` and `_`, a letter first. Ids within the SVG start with it.
    pub id: String,
    /// What it is, in a few words.
    pub title: String,
    /// What it shows and how to read it, in a sentence or two.
    pub caption: String,
    /// What it shows, in numbers, for those who do not see it.
    pub alt: String,
    /// The picture: one `<svg>` element without XML declaration.
    pub svg: String,
    /// The data behind it.
    pub data: Table,
    /// What it was drawn from, so that it can be drawn on other ranges; none for pictures without axes.
    pub chart: Option<Arc<Chart>>,
}

impl Figure {
    /// The picture with other ranges and scales; `None` for a picture without axes. Its text alternative stays that of the
    /// figure, with what this drawing has to say in place of what the first one had.
    pub fn viewed(&self, views: &[View]) -> Option<String> {
        let chart = self.chart.as_deref()?;
        let mut words = Words {
            id: self.id.clone(),
            title: self.title.clone(),
            caption: self.caption.clone(),
            alt: self.alt.clone(),
        };
        Some(chart.viewed(views).draw(&mut words))
    }
}

/// The words of a figure, before it is drawn.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Words {
    /// See [`Figure::id`]; made into one where it is none.
    pub id: String,
    /// See [`Figure::title`].
    pub title: String,
    /// See [`Figure::caption`].
    pub caption: String,
    /// See [`Figure::alt`].
    pub alt: String,
}

impl Words {
    /// The words of a figure.
    pub fn new(
        id: impl AsRef<str>,
        title: impl Into<String>,
        caption: impl Into<String>,
        alt: impl Into<String>,
    ) -> Words {
        Words {
            id: identifier(id.as_ref()),
            title: title.into(),
            caption: caption.into(),
            alt: alt.into(),
        }
    }

    /// Joins words, picture and data. `draw` gets the words with all remarks that drawing added.
    pub(crate) fn figure(self, svg: String, data: Table) -> Figure {
        Figure {
            id: self.id,
            title: self.title,
            caption: self.caption,
            alt: self.alt,
            svg,
            data,
            chart: None,
        }
    }

    /// Adds a sentence to the text alternative.
    pub(crate) fn remark(&mut self, sentence: &str) {
        if !self.alt.is_empty() {
            self.alt.push(' ');
        }
        self.alt.push_str(sentence);
    }
}
