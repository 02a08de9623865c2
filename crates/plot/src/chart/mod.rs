//! Charts: panels of axes with curves, bands, forbidden regions, limits and points.

mod content;
mod draw;
mod labels;
mod legend;
mod measure;
mod panel;
mod view;

use std::sync::Arc;

pub(crate) use panel::hatch;
pub use view::View;

use crate::figure::{Figure, Words};
use crate::scale::Axis;
use crate::style::{Dash, Style, Tone};
use crate::svg::{Svg, document};
use crate::table::Table;

/// Width of a figure in pixels unless another is given: 170 mm at 96 pixels to the inch, the text width of a page.
pub const WIDTH: f64 = 640.0;

/// Where the name of something stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Naming {
    /// In the legend above the panel; one entry for all items of one name and style.
    Legend,
    /// Beside it.
    Direct,
    /// Nowhere.
    None,
}

/// A line through points, in their order; x may turn back.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// Name.
    pub name: String,
    /// Points in the units of the axes; one that is not finite makes a gap. Panels that show the same line share them.
    pub points: Arc<[(f64, f64)]>,
    /// Style.
    pub style: Style,
    /// Where its name stands.
    pub naming: Naming,
}

/// The region between two lines.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// Name.
    pub name: String,
    /// One edge.
    pub one: Vec<(f64, f64)>,
    /// The other edge, in the same direction.
    pub other: Vec<(f64, f64)>,
    /// Style of the edges; the region has its tone.
    pub style: Style,
    /// Where its name stands.
    pub naming: Naming,
}

/// A rectangle where nothing may be: hatched, with its reason in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Zone {
    /// What it is.
    pub label: String,
    /// From and to along x; infinite up to the edge of the panel.
    pub x: (f64, f64),
    /// From and to along y; infinite up to the edge of the panel.
    pub y: (f64, f64),
    /// Hatched like a forbidden region, or only shaded.
    pub hatched: bool,
}

/// Where a reference line stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum At {
    /// Upright, at a value of x.
    X(f64),
    /// Level, at a value of y.
    Y(f64),
}

/// A line at one value of an axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// What it is, and its value.
    pub label: String,
    /// Where.
    pub at: At,
    /// Part of the other axis over which it is drawn; `None` is all of it.
    pub span: Option<(f64, f64)>,
    /// Style.
    pub style: Style,
}

/// Single points.
#[derive(Clone, Debug, PartialEq)]
pub struct Points {
    /// Name.
    pub name: String,
    /// Points in the units of the axes, with a label for each; an empty one is none.
    pub points: Vec<(f64, f64, String)>,
    /// Style; its marker is drawn at each point, a stroke is not.
    pub style: Style,
    /// Where the name stands: in the legend, or nowhere. Points have labels of their own.
    pub naming: Naming,
}

/// What a panel shows.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// A line.
    Curve(Curve),
    /// A region between two lines.
    Band(Band),
    /// A forbidden region.
    Zone(Zone),
    /// A reference line.
    Mark(Mark),
    /// Single points.
    Points(Points),
}

/// A pair of axes and what stands in them.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// Heading; may be empty.
    pub head: String,
    /// Height of the axes' frame in pixels.
    pub height: f64,
    /// Axis across.
    pub x: Axis,
    /// Axis upwards.
    pub y: Axis,
    /// What is shown, from the back to the front.
    pub items: Vec<Item>,
    /// Sentences below: what is not known, above all.
    pub notes: Vec<String>,
    /// Leaves the label of the axis across to the panel below, which has the same one.
    pub shares_x: bool,
}

impl Panel {
    /// An empty panel of 230 pixels.
    pub fn new(x: Axis, y: Axis) -> Panel {
        Panel {
            head: String::new(),
            height: 230.0,
            x,
            y,
            items: Vec::new(),
            notes: Vec::new(),
            shares_x: false,
        }
    }

    /// The same with a heading.
    pub fn head(self, head: impl Into<String>) -> Panel {
        Panel {
            head: head.into(),
            ..self
        }
    }

    /// The same with another height in pixels.
    pub fn height(self, height: f64) -> Panel {
        Panel { height, ..self }
    }

    /// Adds a line that is named in the legend.
    pub fn curve(&mut self, name: impl Into<String>, points: impl Into<Arc<[(f64, f64)]>>, style: Style) {
        self.items.push(Item::Curve(Curve {
            name: name.into(),
            points: points.into(),
            style,
            naming: Naming::Legend,
        }));
    }

    /// Adds a limit at a value of y.
    pub fn limit(&mut self, label: impl Into<String>, y: f64) {
        self.items.push(Item::Mark(Mark {
            label: label.into(),
            at: At::Y(y),
            span: None,
            style: Style::stroke(Tone::Ink, Dash::Short, 1.0),
        }));
    }

    /// Adds a sentence below.
    pub fn note(&mut self, note: impl Into<String>) {
        self.notes.push(note.into());
    }
}

/// Panels that make one picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Chart {
    /// Width in pixels.
    pub width: f64,
    /// Panels side by side in a row.
    pub columns: usize,
    /// Panels, row by row.
    pub panels: Vec<Panel>,
}

impl Chart {
    /// One panel below the other.
    pub fn of(panels: Vec<Panel>) -> Chart {
        Chart {
            width: WIDTH,
            columns: 1,
            panels,
        }
    }

    /// Draws it. What could not be drawn (values that are not finite or have no place on an axis, labels without room) is
    /// said at the end of the text alternative.
    pub fn figure(self, words: Words, data: Table) -> Figure {
        let mut words = words;
        let svg = self.draw(&mut words);
        Figure {
            chart: Some(Arc::new(self)),
            ..words.figure(svg, data)
        }
    }

    pub(crate) fn draw(&self, words: &mut Words) -> String {
        let mut body = Svg::default();
        let (height, remarks) = draw::panels(self, &mut body);
        for remark in remarks {
            words.remark(&remark);
        }
        let sheet = (self.width, height);
        document(&words.id, &words.title, &words.alt, self.width, sheet, body)
    }
}
