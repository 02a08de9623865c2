//! Keyword lines, column headings and rows.

use super::number::{LARGEST, scaled};
use super::{Package, Pin, Row, TypMinMax};
use tidewall_units::clip;

use crate::fault::{Line, TextFault, Word, fault};

/// Name, place and argument of a keyword line; `None` for a line of data. The name is folded: small letters, blanks.
pub(super) fn keyword<'t>(
    text: &str,
    line: Line<'t>,
) -> Result<Option<(String, Word<'t>, Word<'t>)>, TextFault> {
    let Some((word, rest)) = line.bracketed(text)? else {
        return Ok(None);
    };
    let inside: Vec<String> = word.text[1..word.text.len() - 1]
        .split(|c: char| c == '_' || c.is_whitespace())
        .filter(|piece| !piece.is_empty())
        .map(str::to_ascii_lowercase)
        .collect();
    if inside.is_empty() {
        return Err(fault(
            text,
            word,
            "the keyword is empty",
            "a keyword between the brackets",
            "",
        ));
    }
    Ok(Some((inside.join(" "), word, rest.whole())))
}

/// The first word behind `[Comment Char]`, if the line is that.
pub(super) fn comment_char_argument(line: Line<'_>) -> Option<Word<'_>> {
    let (name, _, argument) = keyword(line.text, line).ok()??;
    let first = argument.text.split_whitespace().next().unwrap_or_default();
    (name == "comment char").then_some(Word {
        text: first,
        at: argument.at,
    })
}

/// The argument of `[Comment Char]`: the character with `_char` behind it.
pub(super) fn comment_char(text: &str, argument: Word<'_>) -> Result<char, TextFault> {
    let mut chars = argument.text.chars();
    match (chars.next(), chars.as_str()) {
        (Some(c), rest) if rest.eq_ignore_ascii_case("_char") && c.is_ascii_punctuation() && c != '[' => {
            Ok(c)
        }
        _ => Err(fault(
            text,
            argument,
            format!("[Comment Char] cannot be `{}`", clip(argument.text)),
            "one sign followed by _char, such as #_char",
            "",
        )),
    }
}

/// The words of an argument, which lies within `text`.
pub(super) fn words<'t>(text: &'t str, argument: Word<'t>) -> Vec<Word<'t>> {
    Line {
        text: text
            .get(argument.at..argument.at + argument.text.len())
            .unwrap_or_default(),
        at: argument.at,
        number: 0,
    }
    .words()
}

fn is_na(word: Word<'_>) -> bool {
    word.text.eq_ignore_ascii_case("NA")
}

fn number(text: &str, word: Word<'_>) -> Result<f64, TextFault> {
    scaled(word.text).ok_or_else(|| {
        fault(
            text,
            word,
            format!("`{}` is not a number up to {LARGEST:e}", clip(word.text)),
            "a number such as 5.0pF, 1.2e-3 or 200mV, with a point and no blank before its unit",
            "scaling letters are T G M k m u n p f, and M is not m",
        )
    })
}

fn number_or_na(text: &str, word: Word<'_>) -> Result<Option<f64>, TextFault> {
    if is_na(word) {
        Ok(None)
    } else {
        number(text, word).map(Some)
    }
}

/// Typical, minimum and maximum; the last two may be `NA` or, together, left out.
pub(super) fn columns(text: &str, of: Word<'_>, words: &[Word<'_>]) -> Result<TypMinMax, TextFault> {
    let expected = "typ min max, the last two of which may be NA";
    let (typ, min, max) = match *words {
        [typ] => (typ, None, None),
        [typ, min, max] => (typ, Some(min), Some(max)),
        _ => {
            let message = format!("{} has {} values", of.text, words.len());
            return Err(fault(text, of, message, expected, ""));
        }
    };
    if is_na(typ) {
        return Err(fault(text, typ, "the typical value cannot be NA", expected, ""));
    }
    Ok(TypMinMax {
        typ: number(text, typ)?,
        min: min.map(|word| number_or_na(text, word)).transpose()?.flatten(),
        max: max.map(|word| number_or_na(text, word)).transpose()?.flatten(),
    })
}

/// The rows of `[Package]` as they come.
#[derive(Default)]
pub(super) struct PackageDraft {
    r_ohm: Option<TypMinMax>,
    l_h: Option<TypMinMax>,
    c_f: Option<TypMinMax>,
}

impl PackageDraft {
    pub(super) fn row(&mut self, text: &str, words: &[Word<'_>]) -> Result<(), TextFault> {
        let name = words[0];
        let place = match name.text.to_ascii_lowercase().as_str() {
            "r_pkg" => &mut self.r_ohm,
            "l_pkg" => &mut self.l_h,
            "c_pkg" => &mut self.c_f,
            _ => {
                return Err(fault(
                    text,
                    name,
                    format!("`{}` is no row of [Package]", clip(name.text)),
                    "R_pkg, L_pkg, C_pkg",
                    "",
                ));
            }
        };
        let values: Vec<Word<'_>> = words[1..]
            .iter()
            .filter(|word| word.text != "=")
            .copied()
            .collect();
        *place = Some(columns(text, name, &values)?);
        Ok(())
    }

    pub(super) fn finish(&self, text: &str, opened: Word<'_>) -> Result<Package, TextFault> {
        match (self.r_ohm, self.l_h, self.c_f) {
            (Some(r_ohm), Some(l_h), Some(c_f)) => Ok(Package { r_ohm, l_h, c_f }),
            _ => Err(fault(
                text,
                opened,
                "[Package] is not complete",
                "the three rows R_pkg, L_pkg and C_pkg",
                "",
            )),
        }
    }
}

/// What the columns of `[Pin]` behind the first three are: resistance, inductance, capacitance.
pub(super) type PinColumns = [Option<usize>; 3];

/// Reads the heading behind `[Pin]`.
pub(super) fn pin_columns(text: &str, word: Word<'_>, argument: Word<'_>) -> Result<PinColumns, TextFault> {
    let heading = words(text, argument);
    let expected = "signal_name model_name, or signal_name model_name R_pin L_pin C_pin";
    let is = |index: usize, name: &str| {
        heading
            .get(index)
            .is_some_and(|word| word.text.eq_ignore_ascii_case(name))
    };
    if !is(0, "signal_name") || !is(1, "model_name") {
        return Err(fault(
            text,
            word,
            "[Pin] has no heading of its columns",
            expected,
            "",
        ));
    }
    let mut columns = [None; 3];
    for (index, name) in heading.iter().enumerate().skip(2) {
        let which = ["r_pin", "l_pin", "c_pin"]
            .iter()
            .position(|known| name.text.eq_ignore_ascii_case(known));
        match which {
            Some(which) if columns[which].is_none() => columns[which] = Some(index + 1),
            _ => {
                let message = format!("`{}` is no column of [Pin] here", clip(name.text));
                return Err(fault(text, *name, message, expected, ""));
            }
        }
    }
    Ok(columns)
}

/// Reads a row of `[Pin]`.
pub(super) fn pin(
    text: &str,
    columns: PinColumns,
    words: &[Word<'_>],
    line: usize,
) -> Result<Pin, TextFault> {
    let all = 3 + columns.iter().flatten().count();
    if words.len() != 3 && words.len() != all {
        let whole = words[0];
        return Err(fault(
            text,
            whole,
            format!(
                "the row of pin `{}` has {} columns",
                clip(whole.text),
                words.len()
            ),
            if all == 3 {
                "3 columns".to_owned()
            } else {
                format!("3 or {all} columns")
            },
            "pin, signal, model, and what the heading names; names cannot hold blanks",
        ));
    }
    let value = |which: usize| -> Result<Option<f64>, TextFault> {
        let Some(word) = columns[which].and_then(|index| words.get(index)) else {
            return Ok(None);
        };
        let value = number_or_na(text, *word)?;
        if value.is_some_and(|value| value < 0.0) {
            return Err(fault(
                text,
                *word,
                "a pin cannot have less than nothing",
                "zero or above, or NA",
                "",
            ));
        }
        Ok(value)
    };
    Ok(Pin {
        name: words[0].text.to_owned(),
        signal: words[1].text.to_owned(),
        model: words[2].text.to_owned(),
        r_ohm: value(0)?,
        l_h: value(1)?,
        c_f: value(2)?,
        line,
    })
}

/// Reads a row of a clamp table.
pub(super) fn row(text: &str, words: &[Word<'_>]) -> Result<Row, TextFault> {
    let &[voltage, typ, min, max] = words else {
        return Err(fault(
            text,
            words[0],
            format!("the row has {} columns", words.len()),
            "four columns: voltage, I(typ), I(min), I(max)",
            "currents that are not known are NA",
        ));
    };
    Ok(Row {
        table_v: number(text, voltage)?,
        current_a: [
            number_or_na(text, typ)?,
            number_or_na(text, min)?,
            number_or_na(text, max)?,
        ],
    })
}

/// The ends of a table must be given: in the typical column, and in every other that is used at all.
pub(super) fn ends_given(text: &str, opened: Word<'_>, table: &[Row]) -> Result<(), TextFault> {
    let names = ["typical", "minimum", "maximum"];
    for (column, name) in names.iter().enumerate() {
        let given = |row: Option<&Row>| row.is_some_and(|row| row.current_a[column].is_some());
        let used = column == 0 || table.iter().any(|row| row.current_a[column].is_some());
        if used && !(given(table.first()) && given(table.last())) {
            return Err(fault(
                text,
                opened,
                format!("{}: an end of the {name} column is NA", opened.text),
                "a current in the first and the last row",
                "",
            ));
        }
    }
    Ok(())
}
