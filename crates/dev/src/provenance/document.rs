//! `docs/sources.md`, made from the marks.

use std::fmt::Write;

use super::mark::{MARKS, Mark};
use super::profiles::ProfileValue;
use super::scan::Number;

/// Numbers of a row that are written out; longer tables are read in the source.
const WRITTEN_OUT: usize = 12;

/// One row: numbers of one item that carry the same words.
struct Row<'a> {
    file: &'a str,
    item: &'a str,
    constant: bool,
    numbers: Vec<String>,
    mark: Mark,
    words: &'a str,
}

const HEAD: &str = "\
# Where the numbers come from

Made by `cargo run -p tidewall-dev --bin sources` from the marks beside the numbers themselves; a test fails when this file is
stale or a number has no mark. Do not edit it. The grammar of the marks and the rule that says which numbers count stand in
`ARCHITECTURE.md`.

**Read this before claiming compliance.** No paid standard was at hand when these numbers were written down. What is listed
first, *from memory*, was recalled from the standard or paper named beside it and has not been read again: check it against
your own copy before a claim rests on it. Then comes what the trade does without any source, then what was chosen for the
arithmetic or worked out here, and last what was read in the public source that is named (a data sheet, a manual, an open
article; not the standard itself). Where a number has several origins, it is listed under the weakest.
";

fn rows<'a>(numbers: &'a [(String, Number)]) -> Vec<Row<'a>> {
    let mut rows: Vec<Row<'a>> = Vec::new();
    for (file, number) in numbers {
        let Some((mark, words)) = &number.mark else {
            continue;
        };
        let same = |row: &&mut Row<'a>| {
            (row.file, row.item, row.mark, row.words)
                == (file.as_str(), number.item.as_str(), *mark, words.as_str())
        };
        match rows.iter_mut().find(same) {
            Some(row) => row.numbers.extend(written(number)),
            None => rows.push(Row {
                file,
                item: &number.item,
                constant: number.constant,
                numbers: written(number).into_iter().collect(),
                mark: *mark,
                words,
            }),
        }
    }
    rows
}

/// The number with the name of its place; `None` for a note without one.
fn written(number: &Number) -> Option<String> {
    let text = Some(&number.text).filter(|text| !text.is_empty())?;
    Some(match &number.place {
        Some(place) => format!("`{place}` {text}"),
        None => text.clone(),
    })
}

fn cell(text: &str) -> String {
    // Links of the documentation are none here.
    let plain = text.replace("[`", "`").replace("`]", "`");
    plain.replace('|', "\\|").replace('\n', " ")
}

/// The whole document.
pub fn document(numbers: &[(String, Number)], profiles: &[ProfileValue]) -> String {
    let rows = rows(numbers);
    let mut out = String::from(HEAD);
    let _ = writeln!(
        out,
        "\n| mark | numbers in constants | numbers in formulae | values of port profiles |"
    );
    let _ = writeln!(out, "|---|---:|---:|---:|");
    for mark in MARKS {
        let count = |constant: bool| -> usize {
            let own = rows
                .iter()
                .filter(|row| row.mark == mark && row.constant == constant);
            own.map(|row| row.numbers.len()).sum()
        };
        let values = profiles.iter().filter(|value| value.mark == mark).count();
        let _ = writeln!(
            out,
            "| {} | {} | {} | {values} |",
            mark.title(),
            count(true),
            count(false)
        );
    }
    for mark in MARKS {
        let _ = writeln!(out, "\n## {}", mark.title());
        in_sources(&mut out, rows.iter().filter(|row| row.mark == mark));
        in_profiles(&mut out, profiles.iter().filter(|value| value.mark == mark));
    }
    out
}

fn in_sources<'a>(out: &mut String, rows: impl Iterator<Item = &'a Row<'a>>) {
    let mut file = "";
    for row in rows {
        if row.file != file {
            file = row.file;
            let _ = writeln!(
                out,
                "\n### `{file}`\n\n| where | numbers | what and whence |\n|---|---|---|"
            );
        }
        let mut numbers = row
            .numbers
            .iter()
            .take(WRITTEN_OUT)
            .cloned()
            .collect::<Vec<_>>()
            .join(", ");
        if row.numbers.len() > WRITTEN_OUT {
            let _ = write!(numbers, " … ({} numbers)", row.numbers.len());
        }
        let _ = writeln!(out, "| `{}` | {numbers} | {} |", row.item, cell(row.words));
    }
}

fn in_profiles<'a>(out: &mut String, values: impl Iterator<Item = &'a ProfileValue>) {
    let mut title = "";
    for value in values {
        if title.is_empty() {
            let _ = writeln!(out, "\n### Port profiles (`crates/study/data`)");
        }
        if value.title != title {
            title = &value.title;
            let _ = writeln!(
                out,
                "\n**{}. {title}**\n\n| value of | value | source |\n|---|---|---|",
                value.number
            );
        }
        let _ = writeln!(
            out,
            "| {} | {} | {} |",
            value.key,
            cell(&value.value),
            cell(&value.source)
        );
    }
}
