//! The bundled fonts: Liberation Sans for everything, DejaVu Sans for the scripts and symbols that it lacks. Their licences
//! stand beside them.

use std::sync::LazyLock;

use typst::foundations::Bytes;
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;

/// The fonts, in the order in which they are asked for.
static FILES: [&[u8]; 3] = [
    include_bytes!("../fonts/LiberationSans-Regular.ttf"),
    include_bytes!("../fonts/LiberationSans-Bold.ttf"),
    include_bytes!("../fonts/DejaVuSans.ttf"),
];

/// The fonts, read once.
pub(crate) struct Fonts {
    pub fonts: Vec<Font>,
    pub book: LazyHash<FontBook>,
}

pub(crate) static FONTS: LazyLock<Fonts> = LazyLock::new(|| {
    let fonts: Vec<Font> = FILES
        .iter()
        .flat_map(|file| Font::iter(Bytes::new(*file)))
        .collect();
    let book = LazyHash::new(FontBook::from_fonts(&fonts));
    Fonts { fonts, book }
});

/// Whether some bundled font has a glyph for a character, or needs none.
pub fn covers(c: char) -> bool {
    let mut fonts = FONTS.fonts.iter();
    c.is_ascii_control() || fonts.any(|font| font.info().coverage.contains(u32::from(c)))
}

/// A text of which nothing gets lost: a character without a glyph is replaced by its code point, as in "[U+1F30A]".
/// Selectors of a variant, which only say how the character before them should look, are dropped.
pub fn readable(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            // First, because a font may hold an invisible glyph for them.
            '\u{fe00}'..='\u{fe0f}' | '\u{e0100}'..='\u{e01ef}' => {}
            c if covers(c) => out.push(c),
            // The mark before it keeps the bracket out of a line that runs from right to left.
            c => out.push_str(&format!("\u{200e}[U+{:04X}]", u32::from(c))),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fonts_are_there_and_cover_the_scripts_they_should() {
        let families: Vec<&str> = FONTS
            .fonts
            .iter()
            .map(|font| font.info().family.as_str())
            .collect();
        assert_eq!(families, ["Liberation Sans", "Liberation Sans", "DejaVu Sans"]);
        for c in "Ωµ−≤≥²³∞±θτ·…– Жд שלום سلام".chars() {
            assert!(covers(c), "{c} has no glyph");
        }
    }

    #[test]
    fn what_has_no_glyph_is_told_by_its_code_point() {
        assert_eq!(
            readable("river 漢\u{1f30a}\u{fe0f}"),
            "river \u{200e}[U+6F22]\u{200e}[U+1F30A]"
        );
        assert!(covers('\u{200e}'));
        assert_eq!(readable("4.7 µF"), "4.7 µF");
    }
}
