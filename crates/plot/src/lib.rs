//! Figures as SVG: axes, curves, bands, bars and circuit symbols. Knows units and nothing else.
//!
//! One picture serves a web page, an HTML report and a PDF: presentation attributes only, no external reference, no script,
//! text as text. Everything that may be restyled has a class ([`Tone`]) and paints with `currentColor`, so that a page
//! turns a figure dark with rules such as `.tw-ink { color: #eee }`. `data-` attributes of panels and series tell a script
//! ranges, scales and values.
//!
//! A chart is [`Panel`]s of [`Axis`] and [`Item`]s, or [`Bars`]; a ladder is a [`schematic::Ladder`]. Each becomes a
//! [`Figure`]: the SVG with its words and the [`Table`] behind it.
//!
//! ```
//! use tidewall_plot::{Axis, Chart, Panel, Style, Table, Words};
//!
//! let wave = [(0.0, 0.0), (8e-6, 48.2), (20e-6, 31.0)];
//! let mut panel = Panel::new(Axis::linear("Time", "s"), Axis::linear("Voltage", "V").from_zero());
//! panel.curve("pin", wave.to_vec(), Style::nth(0));
//! panel.limit("pin withstands 60 V", 60.0);
//! let mut data = Table::new(&[("time", "s"), ("pin", "V")]);
//! wave.iter().for_each(|(time, volts)| data.row([(*time).into(), (*volts).into()]));
//! let words = Words::new("let-through", "Let-through", "Voltage at the pin.", "The pin reaches 48.2 V of 60 V after 8 µs.");
//! let figure = Chart::of(vec![panel]).figure(words, data);
//! assert!(figure.svg.starts_with("<svg"));
//! assert!(figure.data.csv().starts_with("time (s),pin (V)\r\n0,0\r\n"));
//! ```
//!
//! The same input gives the same bytes. Every text is escaped. Values that are not finite make a gap, and the figure's
//! text alternative says so.

#[cfg(feature = "audit")]
pub mod audit;
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
pub use chart::{At, Band, Chart, Curve, Item, Mark, Naming, Panel, Points, View, WIDTH, Zone};
pub use figure::{Figure, Words};
pub use scale::{Axis, Scale, Tick, Ticks, ticks};
pub use style::{Dash, Marker, Style, Tone};
pub use table::{Cell, Column, Table};
