//! IBIS, the I/O Buffer Information Specification (ANSI/EIA-656, IEC 62014-1, IBIS Open Forum): what it says of
//! the conduction and the capacitance of a pin.
//!
//! [`read`] takes the text of an `.ibs` file. Read are `[IBIS Ver]`, `[Comment Char]`, `[File Name]`, `[Component]`,
//! `[Package]`, `[Pin]`, `[Model Selector]`, `[Model]` with `C_comp` and its split forms, `[Temperature Range]`,
//! `[Voltage Range]`, `[POWER Clamp Reference]`, `[GND Clamp Reference]`, `[GND Clamp]`, `[POWER Clamp]` and
//! `[End]`. Every other keyword is skipped with its data and listed in [`Ibis::skipped`].
//!
//! [`Model::clamp_curve`] joins the two clamp tables of a model into one curve over the pad voltage.
//!
//! Syntax as the specification has it (from memory, versions 1.1 to 7): keywords in brackets from the first column
//! on, blanks and underlines alike, upper and lower case alike; columns typ, min, max, of which typ must be there and
//! the others may be `NA`; scaling letters T G M k m u n p f directly behind a number, upper and lower case of
//! which are not alike, with any unit behind them; lines of at most 1024 characters (older versions: 80, later 120).

mod clamp;
mod number;
mod read;
mod sections;
mod whole;

pub use clamp::{ClampCurve, NoCurve};
pub use read::read;

/// Longest line in characters.
pub const LONGEST_LINE: usize = 1024;

/// Typical, minimum and maximum column. What is `NA` is `None`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TypMinMax {
    /// Typical; always given where the table itself is given.
    pub typ: f64,
    /// Minimum: the smallest value of a capacitance or package datum, the weak corner of a table.
    pub min: Option<f64>,
    /// Maximum: the largest value of a capacitance or package datum, the strong corner of a table.
    pub max: Option<f64>,
}

/// A column of the file: a corner of process, voltage and temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Corner {
    /// Typical.
    Typ,
    /// Weak buffer: lowest supply.
    Min,
    /// Strong buffer: highest supply.
    Max,
}

impl TypMinMax {
    /// The value of a corner, if it is given.
    pub fn at(&self, corner: Corner) -> Option<f64> {
        match corner {
            Corner::Typ => Some(self.typ),
            Corner::Min => self.min,
            Corner::Max => self.max,
        }
    }
}

/// A file.
#[derive(Clone, Debug, PartialEq)]
pub struct Ibis {
    /// Version of the specification it is written to.
    pub version: String,
    /// Its own name as it states it.
    pub file_name: String,
    /// Components, in the order of the text; at least one.
    pub components: Vec<Component>,
    /// Model selectors.
    pub selectors: Vec<Selector>,
    /// Models.
    pub models: Vec<Model>,
    /// What was passed over: keyword and line.
    pub skipped: Vec<Skipped>,
}

/// A keyword that was passed over with its data.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Skipped {
    /// The keyword without its brackets, or what else it was.
    pub keyword: String,
    /// Line, counted from 1.
    pub line: usize,
}

/// A component.
#[derive(Clone, Debug, PartialEq)]
pub struct Component {
    /// Name.
    pub name: String,
    /// Resistance, inductance and capacitance of a pin of the package, in ohms, henries and farads.
    pub package: Option<Package>,
    /// Pins.
    pub pins: Vec<Pin>,
    /// Line of its keyword, counted from 1.
    pub line: usize,
}

/// The `[Package]` of a component.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Package {
    /// Resistance in ohms.
    pub r_ohm: TypMinMax,
    /// Inductance in henries.
    pub l_h: TypMinMax,
    /// Capacitance in farads.
    pub c_f: TypMinMax,
}

/// A row of `[Pin]`.
#[derive(Clone, Debug, PartialEq)]
pub struct Pin {
    /// Name of the pin, such as `A3`.
    pub name: String,
    /// Signal on it.
    pub signal: String,
    /// Model or model selector; or one of the reserved words `POWER`, `GND`, `NC`, `CIRCUITCALL`.
    pub model: String,
    /// Resistance of this pin in ohms.
    pub r_ohm: Option<f64>,
    /// Inductance of this pin in henries.
    pub l_h: Option<f64>,
    /// Capacitance of this pin in farads.
    pub c_f: Option<f64>,
    /// Line, counted from 1.
    pub line: usize,
}

/// A `[Model Selector]`.
#[derive(Clone, Debug, PartialEq)]
pub struct Selector {
    /// Name.
    pub name: String,
    /// Models with their descriptions. The first is the default of the specification.
    pub models: Vec<(String, String)>,
}

/// Row of a clamp table: table voltage in volts and currents into the pin in amperes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Voltage as the table counts it.
    pub table_v: f64,
    /// Currents.
    pub current_a: [Option<f64>; 3],
}

/// A `[Model]`.
#[derive(Clone, Debug, PartialEq)]
pub struct Model {
    /// Name.
    pub name: String,
    /// Model_type, such as `Input` or `I/O`; empty where it is not given.
    pub model_type: String,
    /// Capacitance of the die in farads: C_comp, or the sum of its split forms, which replace it.
    pub c_comp_f: Option<TypMinMax>,
    /// `[Temperature Range]` in °C.
    pub temperature_c: Option<TypMinMax>,
    /// `[Voltage Range]` in volts.
    pub voltage_v: Option<TypMinMax>,
    /// `[POWER Clamp Reference]` in volts.
    pub power_reference_v: Option<TypMinMax>,
    /// `[GND Clamp Reference]` in volts.
    pub ground_reference_v: Option<TypMinMax>,
    /// `[GND Clamp]`, rising voltage.
    pub ground_clamp: Vec<Row>,
    /// `[POWER Clamp]`, rising table voltage, which counts `VCC − V`.
    pub power_clamp: Vec<Row>,
    /// Line of its keyword, counted from 1.
    pub line: usize,
}

/// What a name of the `[Pin]` table leads to.
#[derive(Clone, Debug, PartialEq)]
pub enum PinModel<'f> {
    /// A model.
    Model(&'f Model),
    /// The first model of a selector, which is the default of the specification.
    Default(&'f Model, &'f Selector),
    /// Supply, ground or not connected: the reserved word.
    Reserved(&'f str),
}

/// Reserved words of the model column.
pub const RESERVED: &[&str] = &["POWER", "GND", "NC", "CIRCUITCALL"];

impl Ibis {
    /// The component of a name.
    pub fn component(&self, name: &str) -> Option<&Component> {
        self.components.iter().find(|component| component.name == name)
    }

    /// The model of a name.
    pub fn model(&self, name: &str) -> Option<&Model> {
        self.models.iter().find(|model| model.name == name)
    }

    /// The selector of a name.
    pub fn selector(&self, name: &str) -> Option<&Selector> {
        self.selectors.iter().find(|selector| selector.name == name)
    }

    /// What a pin's model column leads to. `None` only where [`read`] was not the source of this file.
    pub fn pin_model<'f>(&'f self, pin: &'f Pin) -> Option<PinModel<'f>> {
        if RESERVED.iter().any(|word| word.eq_ignore_ascii_case(&pin.model)) {
            return Some(PinModel::Reserved(&pin.model));
        }
        if let Some(selector) = self.selector(&pin.model) {
            let first = &selector.models.first()?.0;
            return Some(PinModel::Default(self.model(first)?, selector));
        }
        self.model(&pin.model).map(PinModel::Model)
    }
}

impl Component {
    /// The pin of a name.
    pub fn pin(&self, name: &str) -> Option<&Pin> {
        self.pins.iter().find(|pin| pin.name == name)
    }

    /// Capacitance in farads that the package adds to a pin: the pin's own, else that of the package (typical).
    pub fn pin_capacitance_f(&self, pin: &Pin) -> Option<f64> {
        pin.c_f.or(self.package.map(|package| package.c_f.typ))
    }
}
