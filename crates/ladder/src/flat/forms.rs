//! What is read off a circuit: linear forms of the state vector.

use tidewall_stress::Waveform;

/// What drives the current of a branch.
#[derive(Clone, Debug)]
pub enum Emf {
    /// The state variable that carries it.
    State(usize),
    /// A function of time.
    Wave(Waveform),
}

/// A source: its voltage and the form of the current through it.
#[derive(Clone, Debug)]
pub struct Source {
    /// Its voltage.
    pub emf: Emf,
    /// Form of the current in the direction of the voltage.
    pub amps: usize,
}

/// A current that enters the port at one of its nodes.
#[derive(Clone, Copy, Debug)]
pub struct Flow {
    /// State variable of the node's voltage.
    pub node: usize,
    /// Form of the current.
    pub amps: usize,
    /// +1 where that current flows into the node, −1 where it leaves it.
    pub sign: f64,
}

/// Linear forms of the state vector, numbered; two per element, and what the book-keeping of energy needs besides.
#[derive(Clone, Debug, Default)]
pub struct Forms {
    start: Vec<usize>,
    columns: Vec<usize>,
    factors: Vec<f64>,
    /// Resistance in ohms and form of the current, for what heats as `R i²`; one list per element.
    pub(super) resistors: Vec<Vec<(f64, usize)>>,
    pub(super) junctions: Vec<Option<usize>>,
    pub(super) ambients: Vec<f64>,
    pub(super) in_port: Vec<bool>,
    pub(super) sources: Vec<Source>,
    pub(super) flows: Vec<Flow>,
}

impl Forms {
    /// Adds a form and returns its number.
    pub(super) fn push(&mut self, terms: &[(usize, f64)]) -> usize {
        if self.start.is_empty() {
            self.start.push(0);
        }
        for &(column, factor) in terms {
            self.columns.push(column);
            self.factors.push(factor);
        }
        self.start.push(self.columns.len());
        self.start.len() - 2
    }

    /// Number of forms.
    pub fn len(&self) -> usize {
        self.start.len().saturating_sub(1)
    }

    /// True when nothing is read.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Columns and factors of form `k`.
    pub fn terms(&self, k: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        let range = self.start[k]..self.start[k + 1];
        let columns = self.columns[range.clone()].iter().copied();
        columns.zip(self.factors[range].iter().copied())
    }

    /// Number of elements.
    pub fn elements(&self) -> usize {
        self.junctions.len()
    }

    /// Form of the voltage across element `k` without its lead inductance.
    pub fn volts(k: usize) -> usize {
        2 * k
    }

    /// Form of the current through element `k`.
    pub fn amps(k: usize) -> usize {
        2 * k + 1
    }

    /// Resistance in ohms and form of the current of what heats as `R i²` in element `k`.
    pub fn resistors(&self, k: usize) -> &[(f64, usize)] {
        &self.resistors[k]
    }

    /// State variable of the junction temperature of element `k`.
    pub fn junction(&self, k: usize) -> Option<usize> {
        self.junctions[k]
    }

    /// Junction temperature in °C of element `k` where no state variable holds it; not a number without a junction.
    pub fn ambient_c(&self, k: usize) -> f64 {
        self.ambients[k]
    }

    /// True for an element on the port's side of the connector.
    pub fn in_port(&self, k: usize) -> bool {
        self.in_port[k]
    }

    /// Every source.
    pub fn sources(&self) -> &[Source] {
        &self.sources
    }

    /// Every current that enters the port.
    pub fn flows(&self) -> &[Flow] {
        &self.flows
    }
}
