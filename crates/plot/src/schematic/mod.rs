//! Drawings of ladders, from a neutral description: symbols after IEC 60617, drawn here.

use crate::figure::{Figure, Words};
use crate::svg::{Svg, document};
use crate::table::Table;

/// A component's symbol.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Symbol {
    /// Resistor.
    Resistor,
    /// Inductor, choke.
    Inductor,
    /// Piece of track or wire with its own resistance and inductance.
    Track,
    /// Ferrite bead.
    Bead,
    /// Capacitor.
    Capacitor,
    /// Fuse.
    Fuse,
    /// Resistor of positive temperature coefficient.
    Ptc,
    /// Blocking current limiter.
    Limiter,
    /// Voltage-dependent resistor.
    Varistor,
    /// Avalanche diode; conducts in both directions alike or in one.
    Avalanche {
        /// Symmetrical.
        bidirectional: bool,
    },
    /// Triggered clamp that stays on a flat branch.
    FlatClamp {
        /// Symmetrical.
        bidirectional: bool,
    },
    /// Gas discharge tube.
    GasTube,
    /// Thyristor-type breakover device.
    Breakover {
        /// Symmetrical.
        bidirectional: bool,
    },
    /// Two steering diodes to a clamped rail.
    Steering,
    /// Anything known by a measured curve only.
    Box,
}

/// Where a stage sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// In the line, or an equal one in each line of a pair.
    Series,
    /// In the first line of a pair only.
    SeriesFirst,
    /// In the second line of a pair only.
    SeriesSecond,
    /// From the line to its return; from each line of a pair to earth.
    ShuntReturn,
    /// From the first line of a pair to earth.
    ShuntFirst,
    /// From the second line of a pair to earth.
    ShuntSecond,
    /// Between the two lines of a pair.
    ShuntBetween,
}

/// One stage of a ladder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stage {
    /// Its name in the ladder, such as "D1".
    pub name: String,
    /// Part and values, one line each, such as "maple-33" or "10 nH".
    pub values: Vec<String>,
    /// Symbol.
    pub symbol: Symbol,
    /// Where it sits.
    pub place: Place,
    /// Turned round: a one-sided part with its cathode to the return.
    pub reversed: bool,
    /// What it is, in words, for the text alternative.
    pub words: String,
}

/// A ladder from the connector to the protected circuit.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Ladder {
    /// Words at the connector.
    pub connector: String,
    /// Lines beside the return: 1, or 2 for a pair.
    pub lines: usize,
    /// Stages, from the connector inwards.
    pub stages: Vec<Stage>,
    /// Name of the protected circuit.
    pub pin: String,
    /// What is known of it, one line each.
    pub pin_values: Vec<String>,
}

impl Ladder {
    /// Draws it. Each stage is a group with `data-stage` (counted from 0), each gap between stages one with `data-insert`
    /// (the number that a stage put there would get).
    pub fn figure(&self, id: &str, title: &str) -> Figure {
        let words = Words::new(id, title, "", "");
        let svg = document(
            &words.id,
            &words.title,
            &words.alt,
            (640.0, 100.0),
            Svg::default(),
        );
        words.figure(svg, Table::default())
    }
}
