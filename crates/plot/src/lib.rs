//! Figures as SVG: axes, curves, bands, bars and circuit symbols. Knows units and nothing else.
//!
//! One picture serves a web page, an HTML report and a PDF: presentation attributes only, no external reference, no script,
//! text as text. Everything that may be restyled has a class ([`Tone`]) and paints with `currentColor`, so that a page
//! turns a figure dark with rules such as `.tw-ink { color: #eee }`. `data-` attributes of panels and series tell a script
//! ranges, scales and values.
//!
//! The same input gives the same bytes. Every text is escaped. Values that are not finite make a gap, and the figure's
//! text alternative says so.

pub mod bars;
pub mod chart;
mod decimate;
pub mod figure;
pub mod font;
pub mod number;
mod place;
mod scale;
pub mod schematic;
mod style;
mod svg;
pub mod table;

pub use bars::{Bar, Bars, Fill};
pub use chart::{At, Band, Chart, Curve, Item, Mark, Naming, Panel, Points, WIDTH, Zone};
pub use figure::{Figure, Words};
pub use scale::{Axis, Scale, Tick, Ticks, ticks};
pub use style::{Dash, Marker, Style, Tone};
pub use table::{Cell, Column, Table};
