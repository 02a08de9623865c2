//! The forms a quantity is written in: value, signed level, range, tolerance, limit.

use std::fmt;

use crate::QuantityError;
use crate::quantity::{Celsius, Kelvins, Quantity, Ratio, Scale};
use crate::scan::{Found, Number, Scan, is_boundary, match_unit};

/// Which way a stress or level points.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Polarity {
    /// `+`
    Positive,
    /// `−`
    Negative,
    /// `±`: each of the two in turn.
    Both,
}

/// A level with the sign that is written before it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Signed<Q> {
    /// `None` if the text has no sign; it is for the caller to say what that means.
    pub polarity: Option<Polarity>,
    /// Never negative.
    pub magnitude: Q,
}

/// A closed interval with `low < high`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range<Q> {
    /// Lower end.
    pub low: Q,
    /// Upper end.
    pub high: Q,
}

/// A nominal value with the limits its tolerance gives, `low ≤ nominal ≤ high`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Toleranced<Q> {
    /// The value before the tolerance.
    pub nominal: Q,
    /// Smallest value.
    pub low: Q,
    /// Largest value.
    pub high: Q,
}

/// The sense of a [`Limit`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Relation {
    /// `<`
    Below,
    /// `≤` or `<=`
    AtMost,
    /// `>`
    Above,
    /// `≥` or `>=`
    AtLeast,
}

/// A limit on one side, such as `< 5 pF`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit<Q> {
    /// On which side of the value, and whether the value itself is allowed.
    pub relation: Relation,
    /// The limit.
    pub value: Q,
}

impl<Q: Quantity> Range<Q> {
    /// Whether `value` lies in the interval, ends included.
    pub fn contains(&self, value: Q) -> bool {
        self.low <= value && value <= self.high
    }
}

impl<Q: Quantity> Limit<Q> {
    /// Whether `value` keeps the limit.
    pub fn allows(&self, value: Q) -> bool {
        match self.relation {
            Relation::Below => value < self.value,
            Relation::AtMost => value <= self.value,
            Relation::Above => value > self.value,
            Relation::AtLeast => value >= self.value,
        }
    }
}

impl fmt::Display for Polarity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Positive => "+",
            Self::Negative => "−",
            Self::Both => "±",
        })
    }
}

impl<Q: Quantity> fmt::Display for Signed<Q> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.polarity {
            Some(polarity) => write!(f, "{polarity}{}", self.magnitude),
            None => write!(f, "{}", self.magnitude),
        }
    }
}

impl<Q: Quantity> fmt::Display for Range<Q> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} to {}", self.low, self.high)
    }
}

impl<Q: Quantity> fmt::Display for Toleranced<Q> {
    /// Writes the limits out, as in `24 V (19.2 V to 28.8 V)`: a deviation would not give them back
    /// exactly.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.low == self.nominal && self.high == self.nominal {
            write!(f, "{}", self.nominal)
        } else {
            write!(f, "{} ({} to {})", self.nominal, self.low, self.high)
        }
    }
}

impl fmt::Display for Relation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Below => "<",
            Self::AtMost => "≤",
            Self::Above => ">",
            Self::AtLeast => "≥",
        })
    }
}

impl<Q: Quantity> fmt::Display for Limit<Q> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.relation, self.value)
    }
}

/// A number with its sign and, so far as written, its unit.
struct Amount {
    negative: bool,
    number: Number,
    unit: Option<Found>,
}

impl Scan<'_> {
    /// An amount with at most one sign.
    fn amount(&mut self) -> Result<Amount, QuantityError> {
        let before = self.at;
        let sign = self.sign();
        if sign == Some(Polarity::Both) {
            let hint = Some("give one sign, or none".to_owned());
            return Err(self.error(before..self.at, "± cannot stand here".into(), hint));
        }
        let number = self.number()?;
        let unit = self.unit(&number)?;
        Ok(Amount {
            negative: sign == Some(Polarity::Negative),
            number,
            unit,
        })
    }

    /// The value of an amount; `neighbour` lends its unit if the amount has none.
    fn resolve(&self, amount: &Amount, neighbour: Option<Found>) -> Result<f64, QuantityError> {
        let bare = self.kind.bare.then_some(Scale {
            exponent: 0,
            factor: 1.0,
        });
        let lent = neighbour.filter(|unit| unit.shareable).map(|unit| unit.scale);
        let scale = amount.unit.map(|unit| unit.scale).or(lent).or(bare);
        let value = self.value(
            &amount.number,
            scale.ok_or_else(|| self.missing_unit(&amount.number))?,
        )?;
        Ok(if amount.negative { -value } else { value })
    }

    /// Two amounts with a range word between them.
    fn range<Q: Quantity>(&mut self) -> Result<Range<Q>, QuantityError> {
        self.skip_space();
        let start = self.at;
        let low = self.amount()?;
        self.skip_space();
        let word = self.at;
        let to = self.rest().strip_prefix("to").is_some_and(is_boundary) && self.eat("to");
        if !(to || self.eat_any(&["…", "...", ".."])) {
            let end = word + self.rest().chars().next().map_or(0, char::len_utf8);
            let hint = Some("write LOW to HIGH, each with its unit".to_owned());
            return Err(self.error(word..end, "the range has no `to`".into(), hint));
        }
        let high = self.amount()?;
        let end = self.at;
        // The upper end first: if both lack a unit, that is where it is missed.
        let (high, low) = (self.resolve(&high, None)?, self.resolve(&low, high.unit)?);
        if low < high {
            return Ok(Range {
                low: Q::from_si(low),
                high: Q::from_si(high),
            });
        }
        let message = if low == high {
            "the range is empty"
        } else {
            "the range is upside down"
        };
        Err(self.error(
            start..end,
            message.into(),
            Some("write the lower end first".into()),
        ))
    }

    /// A deviation without sign.
    fn deviation(&mut self) -> Result<(Number, Deviation), QuantityError> {
        let number = self.number()?;
        let after = self.at;
        self.skip_space();
        if let Some((scale, length)) = match_unit(Ratio::KIND, self.rest(), false) {
            let refused = if self.kind.name == Celsius::NAME {
                Some((
                    "a percentage of a temperature in °C means nothing",
                    "give the tolerance in K",
                ))
            } else if self.kind.name == Ratio::NAME {
                Some((
                    "a percentage of a ratio is ambiguous",
                    "write the limits: 50 % (45 % to 55 %)",
                ))
            } else {
                None
            };
            if let Some((message, hint)) = refused {
                return Err(self.error(
                    number.span.start..self.at + length,
                    message.into(),
                    Some(hint.into()),
                ));
            }
            self.at += length;
            return Ok((number, Deviation::Relative(scale)));
        }
        if self.kind.name == Celsius::NAME
            && let Some((scale, length)) = match_unit(Kelvins::KIND, self.rest(), false)
        {
            self.at += length;
            return Ok((number, Deviation::Absolute(scale)));
        }
        self.at = after;
        Ok(match self.unit(&number)? {
            Some(unit) => (number, Deviation::Absolute(unit.scale)),
            None if self.kind.bare => (
                number,
                Deviation::Absolute(Scale {
                    exponent: 0,
                    factor: 1.0,
                }),
            ),
            None => (number, Deviation::NoUnit),
        })
    }
}

#[derive(Clone, Copy)]
enum Deviation {
    Relative(Scale),
    Absolute(Scale),
    NoUnit,
}

/// Reads one value, such as `4.7 µF`.
///
/// # Errors
/// Anything that is not exactly one finite number with a unit of `Q`; see the crate's
/// [table of forms](crate).
pub fn parse<Q: Quantity>(text: &str) -> Result<Q, QuantityError> {
    let mut scan = Scan::new(text, Q::KIND)?;
    let amount = scan.amount()?;
    let value = scan.resolve(&amount, None)?;
    scan.finish()?;
    Ok(Q::from_si(value))
}

/// Reads a level whose sign is a polarity: `±8 kV`, `+/-8 kV`, `+8 kV`, `-8 kV`, `8 kV`.
///
/// # Errors
/// As [`parse`].
pub fn parse_signed<Q: Quantity>(text: &str) -> Result<Signed<Q>, QuantityError> {
    let mut scan = Scan::new(text, Q::KIND)?;
    let polarity = scan.sign();
    let number = scan.number()?;
    let unit = scan.unit(&number)?;
    let magnitude = scan.resolve(
        &Amount {
            negative: false,
            number,
            unit,
        },
        None,
    )?;
    scan.finish()?;
    Ok(Signed {
        polarity,
        magnitude: Q::from_si(magnitude),
    })
}

/// Reads a range, such as `-40 °C to 70 °C`. The first unit may be left out, and is then that of the
/// second (`10 to 20 %` too); `…` and `..` also serve for `to`.
///
/// # Errors
/// As [`parse`], and if the upper end is not above the lower one.
pub fn parse_range<Q: Quantity>(text: &str) -> Result<Range<Q>, QuantityError> {
    let mut scan = Scan::new(text, Q::KIND)?;
    let range = scan.range()?;
    scan.finish()?;
    Ok(range)
}

/// Reads a limit: `< 5 pF`, `<= 5 pF`, `≤ 5 pF`, `> 3 V`, `>= 3 V`, `≥ 3 V`.
///
/// # Errors
/// As [`parse`], and if the sign of comparison is missing.
pub fn parse_limit<Q: Quantity>(text: &str) -> Result<Limit<Q>, QuantityError> {
    let mut scan = Scan::new(text, Q::KIND)?;
    let relation = if scan.eat_any(&["<=", "≤"]) {
        Relation::AtMost
    } else if scan.eat_any(&[">=", "≥"]) {
        Relation::AtLeast
    } else if scan.eat("<") {
        Relation::Below
    } else if scan.eat(">") {
        Relation::Above
    } else {
        let end = scan.at + scan.rest().chars().next().map_or(0, char::len_utf8);
        let hint = Some("begin with <, ≤, > or ≥".to_owned());
        return Err(scan.error(scan.at..end, "the limit has no sign of comparison".into(), hint));
    };
    let amount = scan.amount()?;
    let value = scan.resolve(&amount, None)?;
    scan.finish()?;
    Ok(Limit {
        relation,
        value: Q::from_si(value),
    })
}

/// Reads a value with a tolerance: `24 V`, `24 V ±20 %`, `24 V ±1 V`, `24 V -15 %/+20 %`, or with its
/// limits: `24 V (19.2 V to 28.8 V)`.
///
/// A relative deviation counts by magnitude: `-48 V ±20 %` is −57.6 V to −38.4 V. An absolute one
/// counts by sign. The tolerance of a temperature is given in K or °C.
///
/// # Errors
/// As [`parse`]; a deviation on one side only; a relative deviation below −100 %, of a [`Ratio`]
/// (ambiguous) or of a [`Celsius`] temperature (meaningless); limits that leave out the nominal value.
pub fn parse_tolerance<Q: Quantity>(text: &str) -> Result<Toleranced<Q>, QuantityError> {
    let mut scan = Scan::new(text, Q::KIND)?;
    let amount = scan.amount()?;
    let nominal = scan.resolve(&amount, None)?;
    scan.skip_space();
    let start = scan.at;
    let (low, high) = if scan.at_end() {
        (nominal, nominal)
    } else if scan.eat("(") {
        let Range { low, high } = scan.range::<Q>()?;
        scan.skip_space();
        if !scan.eat(")") {
            let end = scan.text.len();
            return Err(scan.error(scan.at..end, "the limits have no closing bracket".into(), None));
        }
        if !(low.si() <= nominal && nominal <= high.si()) {
            return Err(scan.error(
                start..scan.at,
                "the nominal value is outside its limits".into(),
                None,
            ));
        }
        (low.si(), high.si())
    } else {
        tolerance(&mut scan, nominal)?
    };
    scan.finish()?;
    if !(low.is_finite() && high.is_finite()) {
        return Err(scan.error(
            start..scan.at,
            "the limits are too large to be represented".into(),
            None,
        ));
    }
    Ok(Toleranced {
        nominal: Q::from_si(nominal),
        low: Q::from_si(low),
        high: Q::from_si(high),
    })
}

/// `±d`, `-d/+d` or `+d/-d`: the limits around `nominal`.
fn tolerance(scan: &mut Scan<'_>, nominal: f64) -> Result<(f64, f64), QuantityError> {
    let start = scan.at;
    let Some(first_sign) = scan.sign() else {
        scan.finish()?;
        return Ok((nominal, nominal));
    };
    let first = scan.deviation()?;
    let (minus, plus) = if first_sign == Polarity::Both {
        let reach = |up| reach(scan, &first, first.1, nominal, up);
        (reach(false)?, reach(true)?)
    } else {
        scan.skip_space();
        scan.eat("/");
        let second_sign = scan.sign();
        let opposite = if first_sign == Polarity::Positive {
            Polarity::Negative
        } else {
            Polarity::Positive
        };
        if second_sign != Some(opposite) {
            let hint = Some("write both sides, such as -0 %/+20 %".to_owned());
            return Err(scan.error(
                start..scan.at,
                "the tolerance needs one - and one + side".into(),
                hint,
            ));
        }
        let second = scan.deviation()?;
        let shared = if matches!(first.1, Deviation::NoUnit) {
            second.1
        } else {
            first.1
        };
        let up = first_sign == Polarity::Positive;
        let one = reach(scan, &first, shared, nominal, up)?;
        let other = reach(scan, &second, second.1, nominal, !up)?;
        (one, other)
    };
    Ok((minus.min(plus), minus.max(plus)))
}

/// The limit that one deviation gives.
fn reach(
    scan: &Scan<'_>,
    (number, _): &(Number, Deviation),
    deviation: Deviation,
    nominal: f64,
    up: bool,
) -> Result<f64, QuantityError> {
    match deviation {
        Deviation::NoUnit => Err(scan.missing_unit(number)),
        Deviation::Absolute(scale) => {
            let size = scan.value(number, scale)?;
            Ok(if up { nominal + size } else { nominal - size })
        }
        Deviation::Relative(scale) => {
            // In percent, because 100 ± 20 is exact and 1 ± 0.2 is not: 24 V ±20 % ends at 28.8 V.
            let percent = scan.value(
                number,
                Scale {
                    exponent: scale.exponent + 2,
                    ..scale
                },
            )?;
            if !up && percent > 100.0 {
                let message = "a deviation below −100 % turns the sign".into();
                return Err(scan.error(number.span.clone(), message, None));
            }
            Ok(nominal * (if up { 100.0 + percent } else { 100.0 - percent }) / 100.0)
        }
    }
}
