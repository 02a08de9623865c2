//! The grammar of source marks in comments.

/// How a number is known, the weakest first: the order in which a reader has to doubt it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Mark {
    /// Recalled from the named standard or paper, not read again.
    Memory,
    /// What the trade does; no standard says so.
    Practice,
    /// Chosen so that the arithmetic works well.
    Choice,
    /// Worked out from something else that is named.
    Derived,
    /// Read in the named public source.
    Read,
}

/// Every mark, the weakest first.
pub const MARKS: [Mark; 5] = [
    Mark::Memory,
    Mark::Practice,
    Mark::Choice,
    Mark::Derived,
    Mark::Read,
];

/// Phrases of each mark. Those of the last two are everyday words as well, so that they count only where a parenthesis,
/// a sentence or a clause begins with them.
const PHRASES: [(Mark, &[&str], bool); 5] = [
    (Mark::Memory, &["from memory"], false),
    (Mark::Practice, &["common practice"], false),
    (Mark::Choice, &["numerical choice"], false),
    (Mark::Derived, &["derived", "worked out"], true),
    (Mark::Read, &["read in"], true),
];

impl Mark {
    /// The mark as the documents name it.
    pub fn title(self) -> &'static str {
        match self {
            Mark::Memory => "From memory",
            Mark::Practice => "Common practice, no source",
            Mark::Choice => "Numerical choice",
            Mark::Derived => "Derived",
            Mark::Read => "Read in a named public source",
        }
    }

    /// The mark a variant of the catalogue's own `Mark` stands for.
    pub fn of_variant(name: &str) -> Option<Mark> {
        match name {
            "Memory" => Some(Mark::Memory),
            "CommonPractice" => Some(Mark::Practice),
            "Derived" => Some(Mark::Derived),
            "Seen" => Some(Mark::Read),
            _ => None,
        }
    }

    /// The mark a `mark = "…"` of a profile stands for.
    pub fn of_profile(word: &str) -> Option<Mark> {
        match word {
            "memory" => Some(Mark::Memory),
            "practice" => Some(Mark::Practice),
            "derived" => Some(Mark::Derived),
            "seen" => Some(Mark::Read),
            _ => None,
        }
    }

    /// The weakest mark that a comment or a message carries.
    pub fn in_text(text: &str) -> Option<Mark> {
        let found = |&(mark, phrases, opening): &(Mark, &[&str], bool)| {
            phrases
                .iter()
                .any(|phrase| stands_in(text, phrase, opening))
                .then_some(mark)
        };
        PHRASES.iter().find_map(found)
    }
}

/// True where `phrase` stands in `text` as words of their own, at the beginning of a clause if that is asked for.
fn stands_in(text: &str, phrase: &str, opening: bool) -> bool {
    let lower = text.to_lowercase();
    lower.match_indices(phrase).any(|(at, _)| {
        let (before, after) = (&lower[..at], &lower[at + phrase.len()..]);
        let alone = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric());
        let begins = before.trim_end().is_empty()
            || before.trim_end().ends_with(['(', '.', ';', ':', ','])
            || before.trim_end().ends_with("and");
        alone(before.chars().next_back()) && alone(after.chars().next()) && (begins || !opening)
    })
}

/// The sentence of a comment that carries its mark; the whole of it if it is short.
pub fn sentence_with_mark(text: &str) -> String {
    let Some(mark) = Mark::in_text(text) else {
        return text.to_owned();
    };
    let mut sentences = vec![String::new()];
    let characters: Vec<char> = text.chars().collect();
    for (k, &c) in characters.iter().enumerate() {
        let last = sentences.len() - 1;
        sentences[last].push(c);
        let next = |n: usize| characters.get(k + n).copied();
        let ends = c == '.' && next(1) == Some(' ') && next(2).is_some_and(char::is_uppercase);
        if ends {
            sentences.push(String::new());
        }
    }
    let carries = |sentence: &&String| Mark::in_text(sentence) == Some(mark);
    sentences
        .iter()
        .find(carries)
        .map_or(text, |found| found.as_str())
        .trim()
        .to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn phrases_are_found_and_the_weakest_wins() {
        let cases = [
            ("Arc voltage in volts (from memory).", Some(Mark::Memory)),
            (
                "(levels read in a summary; impedances from memory)",
                Some(Mark::Memory),
            ),
            ("Opens in 1 µs: common practice, no source.", Some(Mark::Practice)),
            ("Rounding in volts (numerical choice).", Some(Mark::Choice)),
            ("Derived: exact for 1.2 µs.", Some(Mark::Derived)),
            ("Read in a thyristor data book.", Some(Mark::Read)),
            ("a capacitance derived from its tracks", None),
            ("values are read in seconds", None),
            ("from memorylessness", None),
            ("", None),
        ];
        for (text, mark) in cases {
            assert_eq!(Mark::in_text(text), mark, "{text}");
        }
    }

    #[test]
    fn the_sentence_with_the_mark_is_cut_out() {
        let text = "Resistance in ohms. Usual values (IEC 61000-4-5 Ed.3, from memory). Never zero.";
        assert_eq!(
            sentence_with_mark(text),
            "Usual values (IEC 61000-4-5 Ed.3, from memory)."
        );
    }
}
