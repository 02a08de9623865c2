//! Lines of text with their styles. Style never carries a meaning alone: the words say it too.

use console::{colors_enabled, measure_text_width};
use textwrap::{Options, WordSplitter};

use tidewall_report::words::harmless;

/// Widths of the sheet in columns: elsewhere than on a terminal, and the limits on one.
const WIDTH: usize = 100;
const NARROWEST: usize = 80;
const WIDEST: usize = 110;

/// How a piece of text stands out, on a terminal that can show it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Style {
    /// Not at all.
    Plain,
    /// Headings.
    Strong,
    /// A failure.
    Fail,
    /// A marginal pass or an unknown.
    Doubt,
    /// A pass.
    Pass,
}

/// A text being written.
pub struct Page {
    text: String,
    width: usize,
    colour: bool,
}

impl Page {
    /// For standard output: as wide as the terminal within limits, and styled if it wants colours (`NO_COLOR` is
    /// respected).
    pub fn for_terminal() -> Page {
        let columns = console::Term::stdout()
            .size_checked()
            .map(|(_, columns)| usize::from(columns));
        let width = columns.map_or(WIDTH, |columns| columns.clamp(NARROWEST, WIDEST));
        Page::new(width, colors_enabled())
    }

    fn new(width: usize, colour: bool) -> Page {
        Page {
            text: String::new(),
            width,
            colour,
        }
    }

    /// An empty line.
    pub fn blank(&mut self) {
        self.text.push('\n');
    }

    /// One line of styled pieces.
    pub fn line(&mut self, pieces: &[(Style, &str)]) {
        let start = self.text.len();
        for (style, piece) in pieces {
            let clean = harmless(piece).replace('\n', " ");
            self.push(*style, &clean);
        }
        let end = self.text[start..].trim_end().len();
        self.text.truncate(start + end);
        self.text.push('\n');
    }

    /// A heading with an empty line above.
    pub fn heading(&mut self, text: &str) {
        self.blank();
        self.line(&[(Style::Strong, text)]);
    }

    /// Indented text behind a label, its further lines below its first.
    pub fn entry(&mut self, label: &str, text: &str) {
        self.styled_entry(Style::Plain, label, text);
    }

    /// The same with a styled label.
    pub fn styled_entry(&mut self, style: Style, label: &str, text: &str) {
        let label = harmless(label).replace('\n', " ");
        // A label as long as the line would leave no room.
        let indent = (2 + measure_text_width(&label)).min(self.width / 2);
        let room = self.width - indent;
        let options = Options::new(room).word_splitter(WordSplitter::NoHyphenation);
        let glued = glue(&harmless(text).replace('\n', " "));
        for (number, line) in textwrap::wrap(&glued, options).iter().enumerate() {
            if number == 0 {
                self.text.push_str("  ");
                self.push(style, &label);
            } else {
                self.text.push_str(&" ".repeat(indent));
            }
            self.text.push_str(line.replace('\u{a0}', " ").trim_end());
            self.text.push('\n');
        }
    }

    /// The whole text.
    pub fn finish(self) -> String {
        self.text
    }

    fn push(&mut self, style: Style, text: &str) {
        use console::Style as Look;
        let look = match style {
            Style::Plain => Look::new(),
            Style::Strong => Look::new().bold(),
            Style::Fail => Look::new().bold().red(),
            Style::Doubt => Look::new().bold().yellow(),
            Style::Pass => Look::new().green(),
        };
        let words = text.trim();
        if self.colour && style != Style::Plain && !words.is_empty() {
            // Padding stays plain, so that blanks at the end of a line can be dropped.
            let before = text.len() - text.trim_start().len();
            self.text.push_str(&text[..before]);
            self.text
                .push_str(&look.force_styling(true).apply_to(words).to_string());
            self.text.push_str(&text[before + words.len()..]);
        } else {
            self.text.push_str(text);
        }
    }
}

/// Keeps a number and its unit in one line.
fn glue(text: &str) -> String {
    let mut glued = String::with_capacity(text.len());
    let mut last = ' ';
    for c in text.chars() {
        glued.push(if c == ' ' && last.is_ascii_digit() {
            '\u{a0}'
        } else {
            c
        });
        last = c;
    }
    glued
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_entry_hangs_below_its_first_line_and_keeps_units() {
        let mut page = Page::new(40, false);
        page.entry(
            "why  ",
            "the pin reaches 72.1 V although it withstands no more than 60 V for ever",
        );
        assert_eq!(
            page.finish(),
            "  why  the pin reaches 72.1 V although\n       it withstands no more than 60 V\n       for ever\n"
        );
    }

    #[test]
    fn a_title_cannot_steer_the_terminal() {
        let mut page = Page::new(80, false);
        page.line(&[(Style::Strong, "gauge \u{1b}[2J\u{202e}x\ny")]);
        let text = page.finish();
        assert!(!text.contains('\u{1b}') && !text.contains('\u{202e}'), "{text:?}");
        assert_eq!(text.matches('\n').count(), 1);
    }

    #[test]
    fn styles_add_nothing_but_escapes() {
        let mut page = Page::new(80, true);
        page.line(&[(Style::Fail, "FAIL"), (Style::Plain, "  why")]);
        let text = page.finish();
        assert!(text.contains("\u{1b}["), "{text:?}");
        assert_eq!(console::strip_ansi_codes(&text), "FAIL  why\n");
    }
}
