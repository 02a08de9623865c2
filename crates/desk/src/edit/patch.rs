//! A change of a text as bytes that go and bytes that come.

/// A change of a text in one place.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Patch {
    /// Byte at which it stands.
    pub at: usize,
    /// What goes.
    pub removed: String,
    /// What comes.
    pub inserted: String,
}

impl Patch {
    /// The smallest change in one place from one text to another.
    pub fn between(old: &str, new: &str) -> Patch {
        let mut start = old
            .bytes()
            .zip(new.bytes())
            .take_while(|(old, new)| old == new)
            .count();
        while !old.is_char_boundary(start) || !new.is_char_boundary(start) {
            start -= 1;
        }
        let (old_rest, new_rest) = (&old[start..], &new[start..]);
        let mut end = old_rest
            .bytes()
            .rev()
            .zip(new_rest.bytes().rev())
            .take_while(|(old, new)| old == new)
            .count();
        while !old_rest.is_char_boundary(old_rest.len() - end)
            || !new_rest.is_char_boundary(new_rest.len() - end)
        {
            end -= 1;
        }
        Patch {
            at: start,
            removed: old_rest[..old_rest.len() - end].to_owned(),
            inserted: new_rest[..new_rest.len() - end].to_owned(),
        }
    }

    /// The text after the change; `None` if it is not the text that the change was made for.
    pub fn on(&self, text: &str) -> Option<String> {
        let (before, rest) = text.split_at_checked(self.at)?;
        let after = rest.strip_prefix(self.removed.as_str())?;
        Some(format!("{before}{}{after}", self.inserted))
    }

    /// The change that takes this one back.
    pub fn inverse(&self) -> Patch {
        Patch {
            at: self.at,
            removed: self.inserted.clone(),
            inserted: self.removed.clone(),
        }
    }

    /// Nothing changes.
    pub fn is_empty(&self) -> bool {
        self.removed == self.inserted
    }
}
