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
