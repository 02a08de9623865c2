//! What command line, report and workbook say alike: numbers, corners and findings in words.

pub mod columns;
pub mod compare;
pub mod correlation;
pub mod draws;
pub mod finding;
pub mod level;
pub mod number;
pub mod plan;
pub mod rank;
pub mod requirement;
pub mod shots;

/// Text without control characters, which a study might use to steer a terminal or to turn a line round; line ends stay.
pub fn harmless(text: &str) -> String {
    let mut clean = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\n' => clean.push(c),
            '\t' => clean.push(' '),
            c if c.is_control() || is_bidi(c) => clean.extend(c.escape_default()),
            c => clean.push(c),
        }
    }
    clean
}

/// Characters that reorder the text around them.
fn is_bidi(c: char) -> bool {
    matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// A reason as a sentence: a capital letter before, a full stop behind.
pub fn sentence(why: &str) -> String {
    ended(&capital(why))
}

/// The first letter as a capital.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first: String = letters.next().into_iter().flat_map(char::to_uppercase).collect();
    first + letters.as_str()
}

/// A text with a full stop behind, unless it has an end already.
pub fn ended(text: &str) -> String {
    match text.trim_end() {
        "" => String::new(),
        text if text.ends_with(['.', '!', '?', ':']) => text.to_owned(),
        text => format!("{text}."),
    }
}
