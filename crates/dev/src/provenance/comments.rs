//! Comments of a source file, by line.

/// What stands beside the code of a file.
#[derive(Default)]
pub struct Comments {
    /// Text of a line that holds nothing but a comment; `None` for other lines.
    alone: Vec<Option<String>>,
    /// Comment behind the code of a line.
    behind: Vec<Option<String>>,
    /// True for lines that hold an attribute.
    attribute: Vec<bool>,
}

impl Comments {
    /// Reads the comments of a source text.
    pub fn of(text: &str) -> Comments {
        let mut out = Comments {
            alone: Vec::new(),
            behind: Vec::new(),
            attribute: Vec::new(),
        };
        for line in text.lines() {
            let code = line.trim();
            let comment = code.strip_prefix("//").map(words);
            out.behind.push(if comment.is_none() {
                behind(code).map(words)
            } else {
                None
            });
            out.alone.push(comment);
            out.attribute.push(code.starts_with("#["));
        }
        out
    }

    /// The block of comment lines that ends right above a line, counted from 1, as one text.
    pub fn above(&self, line: usize) -> String {
        let mut first = line.saturating_sub(1);
        while first > 0 && (self.alone[first - 1].is_some() || self.attribute[first - 1]) {
            first -= 1;
        }
        let block = &self.alone[first..line.saturating_sub(1)];
        block.iter().flatten().cloned().collect::<Vec<_>>().join(" ")
    }

    /// The comment behind the code of a line, counted from 1.
    pub fn behind(&self, line: usize) -> &str {
        let found = self.behind.get(line.wrapping_sub(1)).and_then(Option::as_deref);
        found.unwrap_or_default()
    }
}

fn words(comment: &str) -> String {
    comment.trim_start_matches(['/', '!']).trim().to_owned()
}

/// What follows `//` outside of string literals.
fn behind(code: &str) -> Option<&str> {
    let (mut quoted, mut escaped) = (false, false);
    for (at, c) in code.char_indices() {
        match c {
            _ if escaped => escaped = false,
            '\\' if quoted => escaped = true,
            '"' => quoted = !quoted,
            '/' if !quoted && code[at..].starts_with("//") => return Some(&code[at..]),
            _ => {}
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_above_and_behind_are_found() {
        let text = "/// One.\n/// Two.\n#[x]\nlet a = \"// no\"; // three\nlet b = 1;\n";
        let comments = Comments::of(text);
        assert_eq!(comments.above(4), "One. Two.");
        assert_eq!(comments.behind(4), "three");
        assert_eq!(comments.above(5), "");
        assert_eq!(comments.behind(5), "");
    }
}
