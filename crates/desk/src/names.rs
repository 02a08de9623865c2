//! Slips of names.

/// The names that `word` may be a slip of, as a hint.
pub fn nearest<'a>(word: &str, names: impl Iterator<Item = &'a str>) -> Option<String> {
    // Nobody means a name by a text far longer than any.
    let word: String = word.to_lowercase().chars().take(60).collect();
    let mut scored: Vec<(usize, &str)> = names
        .map(|name| {
            let distance = strsim::osa_distance(&word, &name.to_lowercase());
            // The beginning, or a piece, of a name is as good as a slip.
            let piece = word.chars().count() >= 3 && name.to_lowercase().contains(&word);
            (if piece { 0 } else { distance }, name)
        })
        .filter(|(distance, name)| *distance <= 1 + name.chars().count() / 3)
        .collect();
    scored.sort();
    let names: Vec<String> = scored
        .iter()
        .take(4)
        .map(|(_, name)| format!("`{name}`"))
        .collect();
    match names.as_slice() {
        [] => None,
        names => Some(format!("did you mean {}?", names.join(" or "))),
    }
}

/// A word as a shell takes it.
pub fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_.,:+/=@".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', r"'\''"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_quoted_as_a_shell_takes_them() {
        assert_eq!(quoted("supply-24v.toml"), "supply-24v.toml");
        assert_eq!(quoted("5 May"), "'5 May'");
        assert_eq!(quoted("it's"), r"'it'\''s'");
        assert_eq!(quoted(""), "''");
    }
}
