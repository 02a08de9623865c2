//! Tables with numbers aligned on the decimal point.

use console::measure_text_width;
use tidewall_report::words::columns::drop_empty;

use super::page::{Page, Style};

/// How the cells of a column stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// At the left edge.
    Left,
    /// Numbers, on the decimal point.
    Point,
}

/// A cell without a style.
pub fn plain(text: impl Into<String>) -> (Style, String) {
    (Style::Plain, text.into())
}

/// A column.
struct Column {
    head: String,
    align: Align,
    /// Blanks before it.
    gap: usize,
}

/// A table: a head, then rows.
#[derive(Default)]
pub struct Table {
    columns: Vec<Column>,
    rows: Vec<Vec<(Style, String)>>,
}

impl Table {
    /// With another column.
    pub fn column(mut self, head: &str, align: Align) -> Table {
        let (head, gap) = (head.to_owned(), 2);
        self.columns.push(Column { head, align, gap });
        self
    }

    /// With another column close to the one before it: a unit behind its number.
    pub fn unit_column(mut self, head: &str) -> Table {
        let (head, align, gap) = (head.to_owned(), Align::Left, 1);
        self.columns.push(Column { head, align, gap });
        self
    }

    /// Another row; cells beyond the columns are not shown.
    pub fn row(&mut self, cells: Vec<(Style, String)>) {
        self.rows.push(cells);
    }

    /// Without the columns in which no row has anything.
    pub fn without_empty(mut self) -> Table {
        drop_empty(&mut self.columns, &mut self.rows, |cell| cell.1.is_empty());
        self
    }

    /// Writes the table.
    pub fn write(&self, page: &mut Page) {
        let columns: Vec<Vec<String>> = (0..self.columns.len()).map(|k| self.padded(k)).collect();
        let gaps: Vec<String> = self.columns.iter().map(|column| " ".repeat(column.gap)).collect();
        for line in 0..=self.rows.len() {
            let style = |k: usize| match line.checked_sub(1) {
                None => Style::Strong,
                Some(row) => self.rows[row].get(k).map_or(Style::Plain, |cell| cell.0),
            };
            let mut pieces = Vec::new();
            for (k, cells) in columns.iter().enumerate() {
                pieces.push((Style::Plain, gaps[k].as_str()));
                pieces.push((style(k), cells[line].as_str()));
            }
            page.line(&pieces);
        }
    }

    /// Head and cells of a column, all of one width.
    fn padded(&self, k: usize) -> Vec<String> {
        let column = &self.columns[k];
        let cells: Vec<&str> = self
            .rows
            .iter()
            .map(|row| row.get(k).map_or("", |cell| cell.1.as_str()))
            .collect();
        let body = match column.align {
            Align::Left => cells.iter().map(|cell| (*cell).to_owned()).collect(),
            Align::Point => on_point(&cells),
        };
        let width = body
            .iter()
            .map(|cell| measure_text_width(cell))
            .chain([measure_text_width(&column.head)])
            .max()
            .unwrap_or(0);
        let pad = |cell: &str| " ".repeat(width - measure_text_width(cell));
        let mut all = Vec::with_capacity(body.len() + 1);
        let numbers = column.align == Align::Point;
        all.push(if numbers {
            format!("{}{}", pad(&column.head), column.head)
        } else {
            format!("{}{}", column.head, pad(&column.head))
        });
        for cell in body {
            all.push(if numbers {
                format!("{}{cell}", pad(&cell))
            } else {
                format!("{cell}{}", pad(&cell))
            });
        }
        all
    }
}

/// Texts padded on both sides so that their decimal points stand in one column.
fn on_point(cells: &[&str]) -> Vec<String> {
    let split: Vec<(&str, &str)> = cells
        .iter()
        .map(|cell| cell.split_at(cell.find(['.', 'e']).unwrap_or(cell.len())))
        .collect();
    let widest = |side: fn(&(&str, &str)) -> usize| split.iter().map(side).max().unwrap_or(0);
    let before = widest(|parts| measure_text_width(parts.0));
    let after = widest(|parts| measure_text_width(parts.1));
    split
        .iter()
        .map(|(whole, rest)| {
            format!(
                "{}{whole}{rest}{}",
                " ".repeat(before - measure_text_width(whole)),
                " ".repeat(after - measure_text_width(rest))
            )
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_stand_below_each_other() {
        let cells = ["72.1", "≤ 60", "−0.025", "", "1.5e−5"];
        assert_eq!(
            on_point(&cells),
            ["  72.1   ", "≤ 60     ", "  −0.025 ", "         ", "   1.5e−5"].map(|text| {
                // The widest number has two places before the sign's width of four and five behind.
                let want = measure_text_width("≤ 60") + measure_text_width(".5e−5");
                assert_eq!(measure_text_width(text), want);
                text.to_owned()
            })
        );
    }
}
