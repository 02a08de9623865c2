//! Which of the ranked are shown, and in which order.

use tidewall_assess::rank::{Candidate, CheckLine, Standing};
use tidewall_assess::result::Verdict;
use tidewall_desk::failure::Failure;
use tidewall_units::Farads;

use crate::asked::Asked;

/// Rows shown at first, and more at a time.
pub const STEP: u64 = 50;

/// A column that rows can be sorted by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Key {
    /// The order of the ranking.
    Place,
    /// What is placed.
    Part,
    /// The verdict.
    Verdict,
    /// The worst margin.
    Margin,
    /// The margin of let-through.
    LetThrough,
    /// The capacitance.
    Capacitance,
    /// The board area.
    Area,
    /// The cost.
    Cost,
}

impl Key {
    /// All of them.
    pub const ALL: [Key; 8] = [
        Key::Place,
        Key::Part,
        Key::Verdict,
        Key::Margin,
        Key::LetThrough,
        Key::Capacitance,
        Key::Area,
        Key::Cost,
    ];

    /// Its word in an address.
    pub fn word(self) -> &'static str {
        match self {
            Key::Place => "place",
            Key::Part => "part",
            Key::Verdict => "verdict",
            Key::Margin => "margin",
            Key::LetThrough => "let-through",
            Key::Capacitance => "capacitance",
            Key::Area => "area",
            Key::Cost => "cost",
        }
    }

    /// What is large first at the first press: margins.
    fn large_first(self) -> bool {
        matches!(self, Key::Margin | Key::LetThrough)
    }
}

/// What the address asks to be shown.
#[derive(Clone, Debug)]
pub struct View {
    /// Sorted by this.
    pub key: Key,
    /// Largest first.
    pub down: bool,
    family: Option<String>,
    verdict: Option<String>,
    text: Option<String>,
    margin: Option<f64>,
    capacitance_f: Option<f64>,
    area_mm2: Option<f64>,
    cost: Option<f64>,
    /// Rows of the ranked.
    pub top: u64,
    /// Rows of the rejected.
    pub rejected: u64,
}

impl View {
    /// What an address asks.
    ///
    /// # Errors
    /// A limit that cannot be read.
    pub fn of(asked: &Asked) -> Result<View, Failure> {
        let sort = asked.one("sort").unwrap_or("place");
        let (word, down) = match sort.strip_suffix("-down") {
            Some(word) => (word, true),
            None => (sort, false),
        };
        let word_of = |name: &str| asked.one(name).map(str::to_lowercase);
        Ok(View {
            key: Key::ALL
                .into_iter()
                .find(|key| key.word() == word)
                .unwrap_or(Key::Place),
            down,
            family: word_of("family"),
            verdict: word_of("verdict"),
            text: word_of("text"),
            margin: asked.number("margin")?.map(|percent| percent / 100.0),
            capacitance_f: asked.quantity::<Farads>("capacitance")?,
            area_mm2: asked.number("area")?,
            cost: asked.number("cost")?,
            top: asked.whole("top", STEP, 1..=1_000_000)?,
            rejected: asked.whole("rejected", 20, 0..=1_000_000)?,
        })
    }

    /// The word of an address that sorts by a column, the other way round if it does already.
    pub fn press(&self, key: Key) -> String {
        let down = if self.key == key {
            !self.down
        } else {
            key.large_first()
        };
        format!("{}{}", key.word(), if down { "-down" } else { "" })
    }

    /// What a column says of its order.
    pub fn aria(&self, key: Key) -> &'static str {
        match (self.key == key, self.down) {
            (true, true) => "descending",
            (true, false) => "ascending",
            (false, _) => "none",
        }
    }

    /// Names and families let the candidate through; the rejected have no more.
    fn named(&self, candidate: &Candidate) -> bool {
        let family = |wanted: &String| {
            let mut own = candidate
                .placed
                .iter()
                .filter_map(|placed| placed.family.as_ref());
            own.any(|family| family.to_lowercase() == *wanted)
        };
        let text = |wanted: &String| {
            let mut parts = candidate.placed.iter().filter_map(|placed| placed.part.as_ref());
            parts.any(|part| part.to_lowercase().contains(wanted))
        };
        self.family.as_ref().is_none_or(family) && self.text.as_ref().is_none_or(text)
    }

    fn lets(&self, candidate: &Candidate) -> bool {
        let Standing::Ranked {
            verdict,
            worst_margin,
            ..
        } = &candidate.standing
        else {
            return self.named(candidate);
        };
        // What is not known is not within a limit.
        let within = |value: Option<f64>, most: Option<f64>| {
            most.is_none_or(|most| value.is_some_and(|value| value <= most * (1.0 + 1e-9)))
        };
        self.named(candidate)
            && self.verdict.as_ref().is_none_or(|word| verdict.word() == word)
            && self
                .margin
                .is_none_or(|least| worst_margin.is_some_and(|margin| margin >= least - 1e-9))
            && within(candidate.capacitance_f, self.capacitance_f)
            && within(candidate.area_m2.map(|area| area * 1e6), self.area_mm2)
            && within(candidate.cost, self.cost)
    }

    /// Numbers of the ranked that are shown, in order.
    pub fn ranked(&self, ranked: &[Candidate]) -> Vec<usize> {
        let mut rows: Vec<usize> = (0..ranked.len()).filter(|&row| self.lets(&ranked[row])).collect();
        let number = |row: usize| -> Option<f64> {
            let candidate = &ranked[row];
            match (self.key, &candidate.standing) {
                (Key::Margin, Standing::Ranked { worst_margin, .. }) => *worst_margin,
                (
                    Key::LetThrough,
                    Standing::Ranked {
                        let_through_margin, ..
                    },
                ) => *let_through_margin,
                (Key::Verdict, Standing::Ranked { verdict, .. }) => Some(f64::from(severity(*verdict))),
                (Key::Capacitance, _) => candidate.capacitance_f,
                (Key::Area, _) => candidate.area_m2,
                (Key::Cost, _) => candidate.cost,
                _ => None,
            }
        };
        match self.key {
            Key::Place if self.down => rows.reverse(),
            Key::Place => {}
            Key::Part => {
                let name = |row: usize| {
                    let parts = ranked[row].placed.iter();
                    parts
                        .map(|placed| (placed.part.clone(), placed.resistance_ohm.map_or(0, f64::to_bits)))
                        .collect::<Vec<_>>()
                };
                rows.sort_by_key(|&row| name(row));
                if self.down {
                    rows.reverse();
                }
            }
            // What is not known comes last in either direction; equals stay in the order of the ranking.
            _ => rows.sort_by(|&a, &b| match (number(a), number(b)) {
                (Some(a), Some(b)) if self.down => b.total_cmp(&a),
                (Some(a), Some(b)) => a.total_cmp(&b),
                (a, b) => b.is_some().cmp(&a.is_some()),
            }),
        }
        rows
    }

    /// Those of the rejected that are shown, nearest miss first.
    pub fn rejected<'c>(&self, rejected: &'c [Candidate]) -> Vec<&'c Candidate> {
        rejected
            .iter()
            .filter(|candidate| self.named(candidate))
            .collect()
    }
}

fn severity(verdict: Verdict) -> u8 {
    match verdict {
        Verdict::Pass => 0,
        Verdict::Marginal => 1,
        Verdict::Unknown => 2,
        Verdict::Fail => 3,
    }
}

/// The let-through voltage that comes closest to what the pin withstands.
pub fn let_through(checks: &[CheckLine]) -> Option<&CheckLine> {
    checks
        .iter()
        .filter(|check| check.check.starts_with("let-through") && check.unit == "V" && check.value.is_some())
        .min_by(|a, b| {
            let margin = |check: &CheckLine| check.margin.unwrap_or(f64::INFINITY);
            margin(a).total_cmp(&margin(b))
        })
}
