//! Drawings of ladders, from a neutral description: symbols after IEC 60617, drawn here.

mod draw;
mod layout;
mod symbols;

use crate::chart::WIDTH;
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
    /// Draws it. Each stage is a group with `data-stage` (counted from 0) that a page may mark or make reachable by keyboard;
    /// each gap between stages is one with `data-insert`: the number that a stage put there would get.
    pub fn figure(&self, id: &str, title: &str) -> Figure {
        let words = Words::new(
            id,
            title,
            "From the connector on the left to the protected circuit on the right. Symbols after IEC 60617; a flat clamp is a \
             breakdown diode within a frame.",
            self.words(),
        );
        let mut table = Table::new(&[
            ("stage", ""),
            ("name", ""),
            ("what it is", ""),
            ("where", ""),
            ("values", ""),
        ]);
        for (k, stage) in self.stages.iter().enumerate() {
            table.row([
                ((k + 1) as f64).into(),
                stage.name.clone().into(),
                stage.words.clone().into(),
                stage.place.words(self.lines).into(),
                stage.values.join(", ").into(),
            ]);
        }
        let mut body = Svg::default();
        let sheet = draw::draw(&mut body, self);
        let svg = document(&words.id, &words.title, &words.alt, WIDTH, sheet, body);
        words.figure(svg, table)
    }

    /// The ladder in words.
    fn words(&self) -> String {
        let count = match self.stages.len() {
            1 => "1 stage".to_owned(),
            count => format!("{count} stages"),
        };
        let mut text = format!("Ladder of {count} from the connector to {}.", self.pin);
        for (k, stage) in self.stages.iter().enumerate() {
            text.push_str(&format!(
                " {}: {}, {}, {}",
                k + 1,
                stage.name,
                stage.words,
                stage.place.words(self.lines)
            ));
            if !stage.values.is_empty() {
                text.push_str(&format!(" ({})", stage.values.join(", ")));
            }
            text.push('.');
        }
        text
    }
}

impl Place {
    /// Where it is, in words.
    fn words(self, lines: usize) -> &'static str {
        match (self, lines) {
            (Place::Series, 2) => "in each line",
            (Place::Series, _) => "in the line",
            (Place::SeriesFirst, _) => "in the first line",
            (Place::SeriesSecond, _) => "in the second line",
            (Place::ShuntReturn, 2) => "from each line to earth",
            (Place::ShuntReturn, _) => "from the line to its return",
            (Place::ShuntFirst, _) => "from the first line to earth",
            (Place::ShuntSecond, _) => "from the second line to earth",
            (Place::ShuntBetween, _) => "between the lines",
        }
    }
}
