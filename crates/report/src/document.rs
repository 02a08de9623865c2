//! A note as content: what it says, not how it looks. Both back ends render it, [`crate::html`] and the typesetter's
//! template.

use serde::Serialize;
use tidewall_plot::Figure;

use crate::words::columns::drop_empty;
use crate::words::harmless;

/// A piece of running text.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Span {
    /// The words.
    pub text: String,
    /// How they stand out.
    pub style: Style,
}

/// How a piece of text stands out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Style {
    /// Not at all.
    Plain,
    /// Strong.
    Strong,
    /// What is typed or copied: a command, a digest.
    Code,
}

/// Running text.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(transparent)]
pub struct Text {
    /// Its pieces.
    pub spans: Vec<Span>,
}

impl Text {
    /// With another piece.
    #[must_use]
    pub fn and(mut self, style: Style, text: impl AsRef<str>) -> Text {
        let text = clean(text.as_ref());
        if !text.is_empty() {
            self.spans.push(Span { text, style });
        }
        self
    }

    /// With plain words behind it.
    #[must_use]
    pub fn plain(self, text: impl AsRef<str>) -> Text {
        self.and(Style::Plain, text)
    }

    /// With strong words behind it.
    #[must_use]
    pub fn strong(self, text: impl AsRef<str>) -> Text {
        self.and(Style::Strong, text)
    }

    /// Its words without their styles.
    pub fn words(&self) -> String {
        self.spans.iter().map(|span| span.text.as_str()).collect()
    }
}

impl<T: AsRef<str>> From<T> for Text {
    fn from(text: T) -> Text {
        Text::default().plain(text)
    }
}

/// Text for a note: one line, no control characters; a number and its unit stay together.
pub fn clean(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut last = ' ';
    for c in harmless(text).chars() {
        let c = if c == '\n' { ' ' } else { c };
        out.push(if c == ' ' && last.is_ascii_digit() {
            '\u{a0}'
        } else {
            c
        });
        last = c;
    }
    // A number before a word of three letters or more is no quantity: a long table cell must be able to break there.
    unglue(&out)
}

/// Makes those no-break spaces breakable again behind which a word stands that cannot be a unit.
fn unglue(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(place) = rest.find('\u{a0}') {
        let (before, after) = rest.split_at(place);
        let after = &after['\u{a0}'.len_utf8()..];
        let word = after.chars().take_while(|c| c.is_alphabetic()).count();
        out.push_str(before);
        let unit = (1..=3).contains(&word) || after.starts_with(['%', '°']);
        out.push(if unit { '\u{a0}' } else { ' ' });
        rest = after;
    }
    out.push_str(rest);
    out
}

/// What a word or a cell says of a check.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Tone {
    /// Nothing.
    Plain,
    /// It holds.
    Pass,
    /// It holds by too little.
    Marginal,
    /// It is not known.
    Unknown,
    /// It does not hold.
    Fail,
}

/// How the cells of a column stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Align {
    /// Words, at the left edge.
    Left,
    /// Numbers, on the decimal point, the unit behind.
    Point,
}

/// A column of a table.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Column {
    /// Heading; not empty.
    pub head: String,
    /// How its cells stand.
    pub align: Align,
    /// Share of the width that is left over; zero for a column as wide as its content.
    pub share: u8,
}

/// A cell of a table.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Cell {
    /// The text; of a number what stands before its decimal point.
    pub text: String,
    /// Of a number what stands from the decimal point on.
    pub decimals: String,
    /// Its unit.
    pub unit: String,
    /// What it says.
    pub tone: Tone,
}

impl Cell {
    /// Words.
    pub fn words(text: impl AsRef<str>) -> Cell {
        Cell::toned(text, Tone::Plain)
    }

    /// Words that say something of a check.
    pub fn toned(text: impl AsRef<str>, tone: Tone) -> Cell {
        Cell {
            text: clean(text.as_ref()),
            decimals: String::new(),
            unit: String::new(),
            tone,
        }
    }

    /// A number with its unit.
    pub fn number(text: impl AsRef<str>, unit: impl AsRef<str>) -> Cell {
        let text = clean(text.as_ref());
        let (whole, decimals) = text.split_at(text.find(['.', 'e']).unwrap_or(text.len()));
        Cell {
            text: whole.to_owned(),
            decimals: decimals.to_owned(),
            unit: clean(unit.as_ref()),
            tone: Tone::Plain,
        }
    }

    /// The text as it is read.
    pub fn read(&self) -> String {
        let gap = if self.unit.is_empty() { "" } else { "\u{a0}" };
        format!("{}{}{gap}{}", self.text, self.decimals, self.unit)
    }
}

/// A table.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Table {
    /// What it shows.
    pub caption: String,
    /// Its columns; the first one heads the rows.
    pub columns: Vec<Column>,
    /// Its rows, each with a cell for each column.
    pub rows: Vec<Vec<Cell>>,
    /// Rows that belong together, for the rules between them; zero where none do.
    pub group: usize,
    /// What stands below it.
    pub notes: Vec<Text>,
}

impl Table {
    /// An empty table.
    pub fn new(caption: impl AsRef<str>) -> Table {
        Table {
            caption: clean(caption.as_ref()),
            columns: Vec::new(),
            rows: Vec::new(),
            group: 0,
            notes: Vec::new(),
        }
    }

    /// With a column of words that takes its share of the width.
    #[must_use]
    pub fn text(self, head: impl AsRef<str>, share: u8) -> Table {
        self.column(head, Align::Left, share)
    }

    /// With a column of numbers.
    #[must_use]
    pub fn numbers(self, head: impl AsRef<str>) -> Table {
        self.column(head, Align::Point, 0)
    }

    fn column(mut self, head: impl AsRef<str>, align: Align, share: u8) -> Table {
        self.columns.push(Column {
            head: clean(head.as_ref()),
            align,
            share,
        });
        self
    }

    /// Another row.
    pub fn row(&mut self, cells: Vec<Cell>) {
        self.rows.push(cells);
    }

    /// Another note below.
    pub fn note(&mut self, text: impl Into<Text>) {
        self.notes.push(text.into());
    }

    /// Without the columns in which no row has anything.
    #[must_use]
    pub fn without_empty(mut self) -> Table {
        drop_empty(&mut self.columns, &mut self.rows, |cell| cell.read().is_empty());
        self
    }
}

/// A picture with its words.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Picture {
    /// Identifier, unique in the note.
    pub id: String,
    /// What it is and how to read it.
    pub caption: String,
    /// What it shows, for those who do not see it.
    pub alt: String,
    /// The picture: one `<svg>` element.
    #[serde(skip)]
    pub svg: String,
}

/// A piece of a section.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "block", content = "content")]
pub enum Block {
    /// Text.
    Paragraph(Text),
    /// A heading within the section.
    Heading(String),
    /// The verdict, set apart.
    Verdict(Verdict),
    /// Points.
    List(Vec<Text>),
    /// Steps, in their order.
    Steps(Vec<Text>),
    /// Words with what is said of them.
    Terms(Vec<(String, Text)>),
    /// A table.
    Table(Table),
    /// A picture.
    Picture(Picture),
    /// What is typed.
    Code(String),
}

/// A verdict, set apart.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Verdict {
    /// In a word.
    pub word: String,
    /// What that says.
    pub tone: Tone,
    /// In a sentence.
    pub sentence: Text,
}

/// A section.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Section {
    /// Identifier, unique in the note.
    pub id: &'static str,
    /// Heading.
    pub title: String,
    /// What it says.
    pub blocks: Vec<Block>,
}

impl Section {
    /// An empty section.
    pub fn new(id: &'static str, title: &str) -> Section {
        Section {
            id,
            title: clean(title),
            blocks: Vec::new(),
        }
    }

    /// Another paragraph.
    pub fn paragraph(&mut self, text: impl Into<Text>) {
        self.blocks.push(Block::Paragraph(text.into()));
    }

    /// A heading within.
    pub fn heading(&mut self, text: impl AsRef<str>) {
        self.blocks.push(Block::Heading(clean(text.as_ref())));
    }

    /// Points, if there are any.
    pub fn list(&mut self, points: Vec<Text>) {
        if !points.is_empty() {
            self.blocks.push(Block::List(points));
        }
    }

    /// A figure.
    pub fn figure(&mut self, figure: &Figure) {
        self.blocks.push(Block::Picture(Picture {
            id: figure.id.clone(),
            caption: clean(&figure.caption),
            alt: clean(&figure.alt),
            svg: figure.svg.clone(),
        }));
    }

    /// A table, if it has rows.
    pub fn table(&mut self, table: Table) {
        if !table.rows.is_empty() {
            self.blocks.push(Block::Table(table));
        }
    }
}

/// Who sends the note.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Sender {
    /// Name of the firm; may be empty.
    pub name: String,
    /// Lines of the address.
    pub address: Vec<String>,
    /// The logo.
    pub logo: Option<Logo>,
    /// A line at the foot of each page; may be empty.
    pub footer: String,
    /// Who signs: lines under which a signature goes.
    pub signatures: Vec<String>,
}

/// A logo.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Logo {
    /// Name of its file, for the typesetter.
    pub file: String,
    /// Media type.
    #[serde(skip)]
    pub media: &'static str,
    /// The file.
    #[serde(skip)]
    pub bytes: Vec<u8>,
    /// What it shows.
    pub alt: String,
}

/// Paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Paper {
    /// 210 mm × 297 mm.
    #[default]
    A4,
    /// 8.5 in × 11 in.
    UsLetter,
}

/// A whole note.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Note {
    /// Language of the words (BCP 47).
    pub lang: &'static str,
    /// What kind of note it is.
    pub kind: String,
    /// Title.
    pub title: String,
    /// Date, as the user gave it; none otherwise.
    pub date: Option<String>,
    /// Sender.
    pub sender: Sender,
    /// Paper.
    pub paper: Paper,
    /// Facts below the title.
    pub facts: Vec<(String, Text)>,
    /// Sections.
    pub sections: Vec<Section>,
    /// The words that the back ends need themselves.
    pub labels: Labels,
    /// Digest of what it was made from.
    pub digest: String,
    /// Program and version.
    pub program: String,
}

/// Words that the back ends need themselves.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Labels {
    /// Before the number of a table.
    pub table: &'static str,
    /// Before the number of a figure.
    pub figure: &'static str,
    /// Before the number of a page.
    pub page: &'static str,
    /// Between the number of a page and their count.
    pub of: &'static str,
    /// Before the list of sections.
    pub contents: &'static str,
    /// Before a date.
    pub date: &'static str,
}

impl Note {
    /// The pictures, in their order.
    pub fn pictures(&self) -> impl Iterator<Item = &Picture> {
        let blocks = self.sections.iter().flat_map(|section| &section.blocks);
        blocks.filter_map(|block| match block {
            Block::Picture(picture) => Some(picture),
            _ => None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_keeps_its_unit_and_lets_other_words_go() {
        assert_eq!(clean("72.1 V for 5 shots"), "72.1\u{a0}V for 5 shots");
        assert_eq!(clean("−40 °C\n70 °C"), "−40\u{a0}°C 70\u{a0}°C");
        assert_eq!(clean("F1 (line 1)"), "F1 (line 1)");
        assert_eq!(clean("a\u{202e}b"), "a\\u{202e}b");
    }

    #[test]
    fn a_number_is_parted_at_its_point() {
        let cell = Cell::number("≤ 60.5", "V");
        assert_eq!((cell.text.as_str(), cell.decimals.as_str()), ("≤ 60", ".5"));
        assert_eq!(cell.read(), "≤ 60.5\u{a0}V");
        assert_eq!(Cell::number("1.5e−5", "").decimals, ".5e−5");
    }
}
