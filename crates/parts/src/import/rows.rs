//! From a row to a part.

use tidewall_devices::datasheet::{Family, RatingWave, Spread};

use super::bind::{Binding, Bound, BoundRule};
use super::cell::{Cell, Places, Row, letters};
use super::mapping::{Fixed, Numbered, Role, Word, required};
use super::number::{Decimal, Measure, NoNumber, Side, Writing};
use super::report::CellFault;
use super::{validate, wave};
use crate::keys::{Form, Unit};
use crate::record::{Condition, Datum, Key, PartRecord, Provenance, Value};
use crate::wire;

/// Words for yes and no that need no translation.
const YES: &[&str] = &["yes", "true"];
const NO: &[&str] = &["no", "false"];

/// Longest name of a part in characters.
const LONGEST_NAME: usize = 200;

/// A datum while its row is read, with the columns it is from.
pub(super) struct Stated {
    pub datum: Datum,
    pub columns: Vec<usize>,
}

/// Reads rows by a binding.
pub(super) struct Reader<'b> {
    pub binding: &'b Binding<'b>,
    pub places: &'b Places,
    pub decimal: Decimal,
}

/// A cell that is bad; what is wrong with it is among the faults.
struct BadCell;

/// What went wrong in a row so far.
struct Faults<'r> {
    row: &'r Row,
    found: Vec<CellFault>,
}

impl Reader<'_> {
    /// The part of a row, or all that is wrong with it, and its name so far as it is known.
    pub fn read(&self, row: &Row) -> Result<PartRecord, (String, Vec<CellFault>)> {
        let mut faults = Faults {
            row,
            found: Vec::new(),
        };
        let name = self.name(&mut faults);
        let family = self.family(&mut faults);
        let mut stated: Vec<Stated> = Vec::new();
        for rule in &self.binding.rules {
            let fits =
                rule.rule.families.is_empty() || family.is_some_and(|own| rule.rule.families.contains(&own));
            if fits {
                self.state(rule, &mut faults, &mut stated);
            }
        }
        let label = name.clone().unwrap_or_default();
        if faults.found.is_empty() {
            if stated.is_empty() {
                self.fault(
                    &mut faults,
                    None,
                    "states nothing of the part",
                    "at least one value",
                );
            }
            if let Some(family) = family {
                validate::part(family, &stated, &mut |column, reason, expected| {
                    self.fault(&mut faults, column, reason, expected);
                });
            }
        }
        let (Some(name), Some(family), true) = (name, family, faults.found.is_empty()) else {
            return Err((label, faults.found));
        };
        let data = stated
            .into_iter()
            .map(|stated| self.placed(stated, row))
            .collect();
        Ok(PartRecord { name, family, data })
    }

    /// A bad row that is no fault of one cell.
    pub fn row_fault(&self, row: &Row, reason: &str, expected: &str) -> CellFault {
        CellFault {
            place: self.places.row(row.number),
            header: String::new(),
            value: String::new(),
            reason: reason.to_owned(),
            expected: expected.to_owned(),
            hint: String::new(),
        }
    }

    /// A fault of the cell with the name.
    pub fn name_fault(&self, row: &Row, reason: &str, expected: &str) -> CellFault {
        let mut faults = Faults {
            row,
            found: Vec::new(),
        };
        self.fault(&mut faults, Some(self.binding.name), reason, expected);
        faults.found.remove(0)
    }

    fn placed(&self, stated: Stated, row: &Row) -> Datum {
        let mut datum = stated.datum;
        let mut columns = stated.columns;
        columns.sort_unstable();
        datum.source.place = self.places.source(row.number, &columns);
        datum
    }

    fn fault(&self, faults: &mut Faults<'_>, column: Option<usize>, reason: &str, expected: &str) {
        let refused = NoNumber {
            message: reason.to_owned(),
            expected: expected.to_owned(),
            hint: String::new(),
        };
        self.refuse(faults, column, refused);
    }

    fn refuse(&self, faults: &mut Faults<'_>, column: Option<usize>, why: NoNumber) {
        let row = faults.row;
        let fault = match column {
            None => self.row_fault(row, &why.message, &why.expected),
            Some(column) => CellFault {
                place: self.places.cell(row.number, column),
                header: self.binding.header_of(column),
                value: row.cell(column).text(),
                reason: why.message,
                expected: why.expected,
                hint: why.hint,
            },
        };
        // Several columns may draw on the same bad cell.
        if !faults.found.contains(&fault) {
            faults.found.push(fault);
        }
    }

    fn name(&self, faults: &mut Faults<'_>) -> Option<String> {
        let column = self.binding.name;
        let name = match faults.row.cell(column) {
            Cell::Text(text) => text.clone(),
            Cell::Number(number) => number.to_string(),
            Cell::Empty => {
                self.fault(faults, Some(column), "the name is missing", "a name");
                return None;
            }
            Cell::Bad(why) => {
                self.fault(faults, Some(column), why, "a name");
                return None;
            }
        };
        if name.chars().any(char::is_control) || name.chars().count() > LONGEST_NAME {
            self.fault(
                faults,
                Some(column),
                "cannot be a name",
                "at most 200 characters without line ends or other control characters",
            );
            return None;
        }
        Some(name)
    }

    fn family(&self, faults: &mut Faults<'_>) -> Option<Family> {
        let column = match &self.binding.family {
            Bound::Constant(family) => return Some(*family),
            Bound::Column { column, .. } => *column,
        };
        let text = match faults.row.cell(column) {
            Cell::Text(text) => text.trim().to_owned(),
            Cell::Number(number) => number.to_string(),
            Cell::Empty => {
                self.fault(faults, Some(column), "the family is missing", "a family");
                return None;
            }
            Cell::Bad(why) => {
                self.fault(faults, Some(column), why, "a family");
                return None;
            }
        };
        let own = self.binding.mapping.words.get("family");
        let family = match own.and_then(|words| words.get(&text.to_lowercase())) {
            Some(Word::Text(word)) => wire::family(word),
            _ => wire::family(&text.to_lowercase()),
        };
        if family.is_none() {
            self.refuse(
                faults,
                Some(column),
                NoNumber {
                    message: format!("`{text}` is no family"),
                    expected: "a family word".to_owned(),
                    hint: "translate it in [words.family] of the mapping file".to_owned(),
                },
            );
        }
        family
    }

    fn is_blank(&self, cell: &Cell) -> bool {
        match cell {
            Cell::Empty => true,
            Cell::Text(text) => self.binding.mapping.blanks.contains(&text.to_lowercase()),
            Cell::Number(_) | Cell::Bad(_) => false,
        }
    }

    /// The number in a cell, `None` if it is blank; an error if it is bad, which is then among the faults.
    fn number(
        &self,
        faults: &mut Faults<'_>,
        column: usize,
        measure: Measure,
        unit: Option<&str>,
        side: Side,
    ) -> Result<Option<f64>, BadCell> {
        let cell = faults.row.cell(column);
        if self.is_blank(cell) {
            return Ok(None);
        }
        let writing = Writing {
            measure,
            unit,
            decimal: self.decimal,
            side,
        };
        let read = match cell {
            Cell::Text(text) => writing.text(text),
            Cell::Number(number) => writing.number(*number),
            Cell::Empty => return Ok(None),
            Cell::Bad(why) => Err(NoNumber {
                message: why.clone(),
                expected: "a value".to_owned(),
                hint: String::new(),
            }),
        };
        match read {
            Ok(number) => Ok(Some(number)),
            Err(why) => {
                self.refuse(faults, Some(column), why);
                Err(BadCell)
            }
        }
    }

    fn state(&self, bound: &BoundRule<'_>, faults: &mut Faults<'_>, out: &mut Vec<Stated>) {
        let info = bound.rule.info;
        let mut columns = Vec::new();
        let value = match &bound.given {
            Bound::Constant(Fixed::Flag(flag)) => Value::Flag(*flag),
            Bound::Constant(Fixed::Number(number)) => numeric(info.form, bound.rule.role, *number),
            Bound::Column { column, unit } => {
                columns.push(*column);
                let value = match (info.form, bound.rule.role) {
                    (Form::Flag, _) => self.flag(faults, *column, info.key),
                    (_, Some(Role::Range)) => self.range(faults, *column, info.unit, unit.as_deref()),
                    (form, role) => {
                        let side = match (form, role) {
                            (Form::Highest, _) | (_, Some(Role::Max)) => Side::Upper,
                            (_, Some(Role::Min)) => Side::Lower,
                            _ => Side::Neither,
                        };
                        self.number(faults, *column, Measure::Of(info.unit), unit.as_deref(), side)
                            .ok()
                            .flatten()
                            .map(|number| numeric(form, role, number))
                    }
                };
                let Some(value) = value else { return };
                value
            }
        };
        let Some(condition) = self.condition(bound, faults, &mut columns) else {
            return;
        };
        let mapping = self.binding.mapping;
        let firmness = bound.rule.firmness.unwrap_or(mapping.firmness);
        self.join(
            out,
            faults,
            Stated {
                datum: Datum {
                    key: info.key,
                    value,
                    condition,
                    firmness,
                    source: Provenance {
                        document: mapping.document.clone(),
                        revision: mapping.revision.clone(),
                        place: String::new(),
                    },
                },
                columns,
            },
        );
    }

    /// Minimum, typical value and maximum of one fact are one datum.
    fn join(&self, out: &mut Vec<Stated>, faults: &mut Faults<'_>, new: Stated) {
        let known = out.iter_mut().find(|stated| {
            stated.datum.key == new.datum.key
                && stated.datum.condition == new.datum.condition
                && stated.datum.firmness == new.datum.firmness
        });
        let Some(known) = known else {
            out.push(new);
            return;
        };
        if known.datum.value == new.datum.value {
            return;
        }
        if let (Value::Spread(held), Value::Spread(more)) = (&mut known.datum.value, &new.datum.value) {
            let slots = [
                (&mut held.min, more.min),
                (&mut held.typ, more.typ),
                (&mut held.max, more.max),
            ];
            let mut twice = false;
            for (slot, value) in slots {
                match (&slot, value) {
                    (_, None) => {}
                    (None, value) => *slot = value,
                    (Some(_), Some(_)) => twice = true,
                }
            }
            if !twice {
                for column in new.columns {
                    if !known.columns.contains(&column) {
                        known.columns.push(column);
                    }
                }
                return;
            }
        }
        let column = new.columns.first().copied();
        let other: Vec<String> = known.columns.iter().map(|column| letters(*column)).collect();
        let reason = format!(
            "`{}` is stated twice, also in column {}",
            new.datum.key,
            other.join(", ")
        );
        self.fault(faults, column, &reason, "each value once");
    }

    fn flag(&self, faults: &mut Faults<'_>, column: usize, key: Key) -> Option<Value> {
        let cell = faults.row.cell(column);
        if self.is_blank(cell) {
            return None;
        }
        let text = match cell {
            Cell::Bad(why) => {
                self.fault(faults, Some(column), why, "a word");
                return None;
            }
            cell => cell.text(),
        };
        let lower = text.to_lowercase();
        let own = self.binding.mapping.words.get(key);
        match own.and_then(|words| words.get(&lower)) {
            Some(Word::Flag(flag)) => return Some(Value::Flag(*flag)),
            _ if YES.contains(&lower.as_str()) => return Some(Value::Flag(true)),
            _ if NO.contains(&lower.as_str()) => return Some(Value::Flag(false)),
            _ => {}
        }
        self.refuse(
            faults,
            Some(column),
            NoNumber {
                message: format!("`{text}` is neither yes nor no"),
                expected: "yes, no, true or false".to_owned(),
                hint: format!("translate it in [words.{key}] of the mapping file"),
            },
        );
        None
    }

    /// Both ends in one cell: `36.7 V to 40.6 V`, `36.7…40.6`.
    fn range(
        &self,
        faults: &mut Faults<'_>,
        column: usize,
        measure: Unit,
        unit: Option<&str>,
    ) -> Option<Value> {
        let cell = faults.row.cell(column);
        if self.is_blank(cell) {
            return None;
        }
        let writing = Writing {
            measure: Measure::Of(measure),
            unit,
            decimal: self.decimal,
            side: Side::Neither,
        };
        let ends = match cell {
            Cell::Text(text) => ["…", "...", "..", " to ", "–", " / "]
                .iter()
                .find_map(|word| text.split_once(word))
                .map(|(low, high)| (low.trim().to_owned(), high.trim().to_owned())),
            _ => None,
        };
        let Some((low, high)) = ends else {
            self.fault(faults, Some(column), "is no range", "LOW to HIGH");
            return None;
        };
        // `36.7 to 40.6 V`: the first lends the unit of the second.
        let borrowed = high.find(|c: char| c.is_alphabetic() || c == '%' || c == 'µ');
        let lent = borrowed.map(|at| high[at..].trim().to_owned());
        let first = Writing {
            unit: lent.as_deref().or(unit),
            ..writing
        };
        match (first.text(&low), writing.text(&high)) {
            (Ok(min), Ok(max)) => Some(Value::Spread(Spread {
                min: Some(min),
                max: Some(max),
                typ: None,
            })),
            (Err(why), _) | (_, Err(why)) => {
                self.refuse(faults, Some(column), why);
                None
            }
        }
    }

    /// The conditions of a datum; `None` if one is bad, or blank and needed.
    fn condition(
        &self,
        bound: &BoundRule<'_>,
        faults: &mut Faults<'_>,
        columns: &mut Vec<usize>,
    ) -> Option<Condition> {
        let mut condition = Condition::default();
        let key = bound.rule.info.key;
        let missing = |faults: &mut Faults<'_>, column: usize, word: &str| {
            if !required(key).contains(&word) {
                return Some(());
            }
            let reason = format!("the {word} of `{key}` is missing");
            self.fault(faults, Some(column), &reason, "the condition the value holds for");
            None
        };
        match &bound.wave {
            None => {}
            Some(Bound::Constant(wave)) => condition.wave = Some(*wave),
            Some(Bound::Column { column, .. }) => {
                columns.push(*column);
                match self.wave(faults, *column)? {
                    Some(wave) => condition.wave = Some(wave),
                    None => missing(faults, *column, "wave")?,
                }
            }
        }
        for (numbered, given) in &bound.numbers {
            let value = match given {
                Bound::Constant(value) => Some(*value),
                Bound::Column { column, unit } => {
                    columns.push(*column);
                    let number = self.number(
                        faults,
                        *column,
                        numbered.measure(),
                        unit.as_deref(),
                        Side::Neither,
                    );
                    let value = number.ok()?;
                    if value.is_none() {
                        missing(faults, *column, numbered.word())?;
                    }
                    value
                }
            };
            let column = match given {
                Bound::Column { column, .. } => Some(*column),
                Bound::Constant(_) => None,
            };
            if let Some(value) = value
                && let Err(reason) = set(&mut condition, *numbered, value)
            {
                self.fault(faults, column, reason, "a possible condition");
                return None;
            }
        }
        Some(condition)
    }

    fn wave(&self, faults: &mut Faults<'_>, column: usize) -> Option<Option<RatingWave>> {
        let cell = faults.row.cell(column);
        if self.is_blank(cell) {
            return Some(None);
        }
        let found = match cell {
            Cell::Text(text) => wave::parse(text),
            _ => None,
        };
        if found.is_none() {
            self.fault(faults, Some(column), "is no wave", wave::EXPECTED);
            return None;
        }
        Some(found)
    }
}

fn numeric(form: Form, role: Option<Role>, number: f64) -> Value {
    let mut spread = Spread::default();
    match (form, role) {
        (Form::Spread, Some(Role::Min)) => spread.min = Some(number),
        (Form::Spread, Some(Role::Typ)) => spread.typ = Some(number),
        (Form::Spread, Some(Role::Max | Role::Range)) => spread.max = Some(number),
        _ => return Value::Number(number),
    }
    Value::Spread(spread)
}

/// Puts a condition in its place.
fn set(condition: &mut Condition, numbered: Numbered, value: f64) -> Result<(), &'static str> {
    let positive = value > 0.0;
    let slot = match numbered {
        Numbered::Current => &mut condition.current_a,
        Numbered::Voltage => &mut condition.voltage_v,
        Numbered::Temperature => &mut condition.temperature_c,
        Numbered::Slope => &mut condition.slope_v_per_s,
        Numbered::Width => &mut condition.width_s,
        Numbered::Frequency => &mut condition.frequency_hz,
        Numbered::Pulses => {
            if value.fract() != 0.0 || !(1.0..=1e6).contains(&value) {
                return Err("is no number of pulses");
            }
            // In range and whole, so nothing is lost.
            condition.pulses = Some(value as u32);
            return Ok(());
        }
    };
    let fits = match numbered {
        Numbered::Temperature => value > -273.15,
        // A capacitance is stated at 0 V too.
        Numbered::Voltage => value >= 0.0,
        _ => positive,
    };
    if !fits {
        return Err("is below what is possible");
    }
    *slot = Some(value);
    Ok(())
}
