//! The scanner: signs, numbers and units, each with its place in the text.

use std::ops::Range;

use crate::error::clip;
use crate::quantity::{ALL, Kind, LetterCode, Scale};
use crate::{Polarity, QuantityError};

/// Longest text that is looked at; the longest exact decimal of an `f64` is well below.
const LONGEST_TEXT: usize = 2048;

/// SI prefixes; the first spelling of each power is the one the printer uses.
const PREFIXES: &[(&str, i32)] = &[
    ("f", -15),
    ("p", -12),
    ("n", -9),
    ("µ", -6),
    ("u", -6),
    ("m", -3),
    ("", 0),
    ("k", 3),
    ("M", 6),
    ("meg", 6),
    ("Meg", 6),
    ("G", 9),
    ("T", 12),
];

pub(crate) fn prefix_symbol(exponent: i32) -> Option<&'static str> {
    PREFIXES
        .iter()
        .find(|(_, power)| *power == exponent)
        .map(|(text, _)| *text)
}

/// An unsigned number as written, kept as decimal text so that prefixes cost no rounding.
pub(crate) struct Number {
    pub(crate) span: Range<usize>,
    /// `digits.digits`
    decimal: String,
    exponent: i64,
    letter: Option<Letter>,
}

/// The letter that stood for the decimal mark.
#[derive(Clone, Copy)]
struct Letter {
    exponent: i32,
    is_unit: bool,
}

/// A unit found behind a number.
#[derive(Clone, Copy)]
pub(crate) struct Found {
    pub(crate) scale: Scale,
    /// Whether it can also serve a neighbouring number without one, as in `-40 to 70 °C`.
    pub(crate) shareable: bool,
}

pub(crate) struct Scan<'a> {
    pub(crate) text: &'a str,
    pub(crate) at: usize,
    pub(crate) kind: &'static Kind,
}

impl<'a> Scan<'a> {
    pub(crate) fn new(text: &'a str, kind: &'static Kind) -> Result<Self, QuantityError> {
        let mut scan = Self { text, at: 0, kind };
        if text.len() > LONGEST_TEXT {
            return Err(scan.error(0..text.len(), "the text is too long for a quantity".into(), None));
        }
        scan.skip_space();
        if scan.at_end() {
            return Err(scan.error(0..text.len(), "the text is empty".into(), None));
        }
        Ok(scan)
    }

    pub(crate) fn error(&self, span: Range<usize>, message: String, hint: Option<String>) -> QuantityError {
        let expected = format!("{}, for example {}", self.kind.name, self.kind.example);
        QuantityError {
            span,
            message,
            expected,
            hint,
        }
    }

    pub(crate) fn rest(&self) -> &'a str {
        &self.text[self.at..]
    }

    pub(crate) fn at_end(&self) -> bool {
        self.at == self.text.len()
    }

    /// Skips any Unicode white space, the no-break and thin spaces of typeset text among it.
    pub(crate) fn skip_space(&mut self) {
        self.at = self.text.len() - self.rest().trim_start().len();
    }

    pub(crate) fn eat(&mut self, word: &str) -> bool {
        let found = self.rest().starts_with(word);
        if found {
            self.at += word.len();
        }
        found
    }

    pub(crate) fn eat_any(&mut self, words: &[&str]) -> bool {
        words.iter().any(|word| self.eat(word))
    }

    /// A word to show in a message: up to white space or a character that starts something else.
    fn word(&self) -> Range<usize> {
        let rest = self.rest();
        let ends = |c: char| c.is_whitespace() || matches!(c, '±' | '+' | '(' | ')' | ',' | ';' | '…');
        let length = rest.find(ends).filter(|length| *length > 0);
        let length = length.or_else(|| {
            rest.chars()
                .next()
                .map(char::len_utf8)
                .filter(|_| rest.starts_with(ends))
        });
        self.at..self.at + length.unwrap_or(rest.len())
    }

    /// Fails unless only white space is left.
    pub(crate) fn finish(&mut self) -> Result<(), QuantityError> {
        self.skip_space();
        if self.at_end() {
            return Ok(());
        }
        let message = format!("`{}` is left over", clip(self.rest().trim_end()));
        let end = self.at + self.rest().trim_end().len();
        Err(self.error(self.at..end, message, None))
    }

    /// A sign, if one is written, with the white space behind it.
    pub(crate) fn sign(&mut self) -> Option<Polarity> {
        self.skip_space();
        let sign = if self.eat_any(&["±", "+/-", "+/−", "+-", "+−"]) {
            Polarity::Both
        } else if self.eat("+") {
            Polarity::Positive
        } else if self.eat_any(&["-", "−"]) {
            Polarity::Negative
        } else {
            return None;
        };
        self.skip_space();
        Some(sign)
    }

    fn digits(&mut self) -> &'a str {
        let rest = self.rest();
        let digits = &rest[..rest.len() - rest.trim_start_matches(|c: char| c.is_ascii_digit()).len()];
        self.at += digits.len();
        digits
    }

    /// One of `marks` with a digit behind it. Only then is it part of the number.
    fn mark_and_digit(&mut self, marks: &[char]) -> Option<char> {
        let mut ahead = self.rest().chars();
        let mark = ahead.next().filter(|c| marks.contains(c))?;
        ahead.next().filter(char::is_ascii_digit)?;
        self.at += mark.len_utf8();
        Some(mark)
    }

    /// A letter for the decimal mark with a digit behind it, as in `4k7`, `3V3`, `R47`.
    fn letter(&mut self) -> Option<Letter> {
        if self.kind.letter_code == LetterCode::No {
            return None;
        }
        let capital_kilo = [("K", 3)];
        let kilo: &[(&str, i32)] = if self.kind.letter_code == LetterCode::Alone {
            &capital_kilo
        } else {
            &[]
        };
        let prefixes = PREFIXES
            .iter()
            .filter(|(text, _)| text.chars().count() == 1)
            .chain(kilo);
        let prefixes = prefixes
            .filter(|(_, power)| self.allows(*power))
            .map(|(text, power)| (*text, *power, false));
        let units = self
            .kind
            .units
            .iter()
            .filter(|unit| unit.prefixed)
            .map(|unit| (unit.text, 0, true));
        let (length, letter) = prefixes.chain(units).find_map(|(text, exponent, is_unit)| {
            let length = starts_with(self.rest(), text)?;
            let digit_follows = self.rest()[length..].starts_with(|c: char| c.is_ascii_digit());
            digit_follows.then_some((length, Letter { exponent, is_unit }))
        })?;
        self.at += length;
        Some(letter)
    }

    fn allows(&self, power: i32) -> bool {
        (self.kind.prefixes.0..=self.kind.prefixes.1).contains(&power)
    }

    /// A number without sign.
    pub(crate) fn number(&mut self) -> Result<Number, QuantityError> {
        let start = self.at;
        let whole = self.digits();
        let mut letter = None;
        let mut fraction = "";
        let mark = self.mark_and_digit(&['.', ',', '\'', '’', '_']);
        match mark {
            Some('.' | ',') => fraction = self.digits(),
            Some(_) => {}
            None => {
                letter = self.letter();
                if letter.is_some() {
                    fraction = self.digits();
                } else if whole.is_empty() {
                    return Err(self.no_number());
                }
            }
        }
        let grouped = matches!(mark, Some('\'' | '’' | '_'))
            || mark.is_some() && self.mark_and_digit(&['.', ',', '\'', '’', '_']).is_some();
        if grouped {
            self.at += self.rest().len()
                - self
                    .rest()
                    .trim_start_matches(|c: char| {
                        c.is_ascii_digit() || matches!(c, '.' | ',' | '\'' | '’' | '_')
                    })
                    .len();
            return Err(self.grouping(start..self.at));
        }
        if mark == Some(',')
            && fraction.len() == 3
            && (1..=3).contains(&whole.len())
            && !whole.starts_with('0')
        {
            let message = format!("`{whole},{fraction}` is ambiguous: decimal comma or thousands separator");
            let hint = format!("write {whole}{fraction} or {whole}.{fraction}");
            return Err(self.error(start..self.at, message, Some(hint)));
        }
        let decimal = format!(
            "{}.{}",
            if whole.is_empty() { "0" } else { whole },
            if fraction.is_empty() { "0" } else { fraction }
        );
        let exponent = if letter.is_none() { self.exponent() } else { 0 };
        Ok(Number {
            span: start..self.at,
            decimal,
            exponent,
            letter,
        })
    }

    fn exponent(&mut self) -> i64 {
        let mut ahead = Self {
            text: self.text,
            at: self.at,
            kind: self.kind,
        };
        if !ahead.eat_any(&["e", "E"]) {
            return 0;
        }
        let negative = ahead.eat_any(&["-", "−"]);
        if !negative {
            ahead.eat("+");
        }
        let digits = ahead.digits();
        if digits.is_empty() {
            return 0;
        }
        self.at = ahead.at;
        let size = digits.bytes().fold(0_i64, |sum, digit| {
            sum.saturating_mul(10).saturating_add(i64::from(digit - b'0'))
        });
        if negative { -size } else { size }
    }

    fn grouping(&self, span: Range<usize>) -> QuantityError {
        let message = format!("`{}` groups its digits", clip(&self.text[span.clone()]));
        let hint = "write the digits without separators and one decimal mark at most, such as 1000.5";
        self.error(span, message, Some(hint.into()))
    }

    fn no_number(&self) -> QuantityError {
        let span = self.word();
        let word = &self.text[span.clone()];
        let lower = word.to_lowercase();
        if lower.starts_with("nan") || lower.starts_with("inf") || lower.starts_with('∞') {
            return self.error(span, format!("`{}` is not a finite number", clip(word)), None);
        }
        let hint = match word.chars().next() {
            Some('–' | '—' | '‐' | '‑' | '‒') => Some("write the minus sign as - or −".to_owned()),
            Some('<' | '>' | '≤' | '≥') => Some("a limit cannot stand here, only a value".to_owned()),
            _ => None,
        };
        let message = if word.is_empty() {
            "a number is missing".to_owned()
        } else {
            format!("`{}` is not a number", clip(word))
        };
        self.error(span, message, hint)
    }

    /// The unit behind `number`; `None` if the text goes on, or ends, without one.
    pub(crate) fn unit(&mut self, number: &Number) -> Result<Option<Found>, QuantityError> {
        if let Some(Letter {
            exponent,
            is_unit: true,
        }) = number.letter
        {
            return Ok(Some(Found {
                scale: Scale {
                    exponent,
                    factor: 1.0,
                },
                shareable: false,
            }));
        }
        let touching = self.at;
        self.skip_space();
        if let Some((scale, length)) = match_unit(self.kind, self.rest(), number.letter.is_none()) {
            self.at += length;
            let exponent = scale.exponent + number.letter.map_or(0, |letter| letter.exponent);
            return Ok(Some(Found {
                scale: Scale { exponent, ..scale },
                shareable: number.letter.is_none(),
            }));
        }
        if self.kind.letter_code == LetterCode::Alone {
            let code = match number.letter {
                Some(letter) if self.ends_here() => Some((letter.exponent, 0)),
                None if self.at == touching => {
                    PREFIXES.iter().chain(&[("K", 3)]).find_map(|(text, power)| {
                        let length = starts_with(self.rest(), text).filter(|length| *length > 0)?;
                        (self.allows(*power) && is_boundary(&self.rest()[length..]))
                            .then_some((*power, length))
                    })
                }
                _ => None,
            };
            if let Some((exponent, length)) = code {
                self.at += length;
                return Ok(Some(Found {
                    scale: Scale {
                        exponent,
                        factor: 1.0,
                    },
                    shareable: false,
                }));
            }
        }
        if self.ends_here() {
            Ok(None)
        } else {
            Err(self.unknown_unit(number))
        }
    }

    /// Whether a quantity may end here without a unit.
    fn ends_here(&self) -> bool {
        const NEXT: &[&str] = &[
            "±", "+", "-", "−", "–", "—", "…", "..", "/+", "/-", "/−", "(", ")",
        ];
        let rest = self.rest();
        let to = rest.strip_prefix("to").is_some_and(is_boundary);
        rest.is_empty() || to || NEXT.iter().any(|next| rest.starts_with(next))
    }

    fn unknown_unit(&self, number: &Number) -> QuantityError {
        let span = self.word();
        let word = &self.text[span.clone()];
        if word.starts_with(|c: char| c.is_ascii_digit()) {
            return self.grouping(number.span.start..span.end);
        }
        let slip = self
            .kind
            .slips
            .iter()
            .find(|(slip, _)| *slip == word)
            .map(|(_, hint)| (*hint).to_owned());
        let hint = slip.or_else(|| {
            let lower = fold_text(word).to_lowercase();
            let meant = |unit: &str| fold_text(unit).to_lowercase() == lower;
            let number = clip(&self.text[number.span.clone()]);
            self.spellings()
                .find(|unit| meant(unit))
                .map(|unit| format!("did you mean {number} {unit}?"))
        });
        let other = ALL.iter().find(|kind| {
            kind.name != self.kind.name
                && match_unit(kind, word, true).is_some_and(|(_, length)| length == word.len())
        });
        let message = match other {
            Some(other) => format!(
                "`{}` is a unit of {}, not of {}",
                clip(word),
                other.name,
                self.kind.name
            ),
            None => format!("`{}` is not a unit of {}", clip(word), self.kind.name),
        };
        self.error(span, message, hint)
    }

    /// Every accepted spelling of every unit.
    fn spellings(&self) -> impl Iterator<Item = String> {
        self.kind.units.iter().flat_map(|unit| {
            let prefixes = PREFIXES.iter().filter(|(_, power)| {
                if unit.prefixed {
                    self.allows(*power)
                } else {
                    *power == 0
                }
            });
            prefixes.map(|(prefix, _)| format!("{prefix}{}", unit.text))
        })
    }

    /// The error for a number that needs a unit and has none.
    pub(crate) fn missing_unit(&self, number: &Number) -> QuantityError {
        let text = clip(&self.text[number.span.clone()]);
        let hint = self
            .kind
            .printed
            .first()
            .map(|(_, unit)| format!("write {text} {unit} if that is what is meant"));
        self.error(number.span.clone(), format!("`{text}` has no unit"), hint)
    }

    /// The value of a number in a unit, in SI base units. One correctly rounded conversion of the
    /// decimal text, and for minutes and hours one multiplication.
    pub(crate) fn value(&self, number: &Number, scale: Scale) -> Result<f64, QuantityError> {
        // Far beyond what `LONGEST_TEXT` digits can bring back into range.
        const FAR: i64 = 20_000;
        let exponent = number
            .exponent
            .saturating_add(i64::from(scale.exponent))
            .clamp(-FAR, FAR);
        let value = format!("{}e{exponent}", number.decimal)
            .parse::<f64>()
            .unwrap_or(f64::NAN)
            * scale.factor;
        let out = |what: &str| {
            let message = format!(
                "`{}` is too {what} to be represented",
                clip(&self.text[number.span.clone()])
            );
            Err(self.error(number.span.clone(), message, None))
        };
        if !value.is_finite() {
            out("large")
        } else if value == 0.0 && number.decimal.bytes().any(|c| matches!(c, b'1'..=b'9')) {
            out("small")
        } else {
            Ok(value)
        }
    }
}

/// The longest unit of `kind`, prefix included, that `text` begins with, and its length in bytes.
pub(crate) fn match_unit(kind: &Kind, text: &str, prefixes: bool) -> Option<(Scale, usize)> {
    let (lowest, highest) = kind.prefixes;
    let mut best: Option<(Scale, usize)> = None;
    for unit in kind.units {
        for (prefix, power) in PREFIXES {
            if *power != 0 && !(prefixes && unit.prefixed && (lowest..=highest).contains(power)) {
                continue;
            }
            let Some(head) = starts_with(text, prefix) else {
                continue;
            };
            let Some(tail) = starts_with(&text[head..], unit.text) else {
                continue;
            };
            let length = head + tail;
            if is_boundary(&text[length..]) && best.is_none_or(|(_, longest)| longest < length) {
                best = Some((
                    Scale {
                        exponent: unit.scale.exponent + power,
                        ..unit.scale
                    },
                    length,
                ));
            }
        }
    }
    best
}

/// Length in bytes of the part of `text` that spells `word`, look-alike characters counted as equal.
fn starts_with(text: &str, word: &str) -> Option<usize> {
    let mut ahead = text.char_indices();
    for wanted in word.chars() {
        ahead.next().filter(|(_, c)| fold(*c) == fold(wanted))?;
    }
    Some(ahead.next().map_or(text.len(), |(at, _)| at))
}

/// Two characters of Unicode for micro and two for ohm.
fn fold(c: char) -> char {
    match c {
        '\u{3bc}' => '\u{b5}',
        '\u{2126}' => '\u{3a9}',
        other => other,
    }
}

fn fold_text(text: &str) -> String {
    text.chars().map(fold).collect()
}

/// Whether a unit may end before `rest`.
pub(crate) fn is_boundary(rest: &str) -> bool {
    let mut ahead = rest.chars();
    match ahead.next() {
        None => true,
        Some('/') => !ahead.next().is_some_and(|c| c.is_alphanumeric() || c == '°'),
        Some(c) => !(c.is_alphanumeric() || matches!(c, '²' | '°' | '%' | '·' | '^' | '⁻')),
    }
}
