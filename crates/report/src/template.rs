//! The user's own: firm, address, logo, and texts that stand in every note. A folder with a `template.toml` and the logo.

use serde::Deserialize;
use serde_spanned::Spanned;

use crate::document::{Block, Logo, Section, Sender, Text, clean};

/// Name of the file.
pub const FILE: &str = "template.toml";
/// The largest logo that is taken, in bytes: it is repeated in every note.
pub const LARGEST_LOGO: usize = 1 << 20;

/// A template.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Template {
    /// Who sends the note.
    pub sender: Sender,
    kind: Option<String>,
    introduction: Vec<String>,
    closing_title: Option<String>,
    closing: Vec<String>,
}

/// Why a template cannot be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TemplateError {
    /// The file in the template's folder.
    pub file: String,
    /// Line, counted from 1; zero if the file as a whole is meant.
    pub line: usize,
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub hint: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    #[serde(default)]
    name: String,
    #[serde(default)]
    address: Vec<String>,
    logo: Option<Spanned<String>>,
    logo_alt: Option<String>,
    #[serde(default)]
    footer: String,
    #[serde(default)]
    signatures: Vec<String>,
    kind: Option<String>,
    #[serde(default)]
    introduction: Vec<String>,
    closing_title: Option<String>,
    closing: Option<Spanned<Vec<String>>>,
}

/// The keys, for a hint.
const KEYS: &str =
    "keys are name, address, logo, logo_alt, footer, signatures, kind, introduction, closing_title, closing";

impl Template {
    /// Reads a template out of its folder; `read` gives the content of a file in it, or why it cannot.
    ///
    /// # Errors
    /// A file that is not there or cannot be read, a key that is unknown or of the wrong kind, a logo that is no picture.
    pub fn read(read: &dyn Fn(&str) -> Result<Vec<u8>, String>) -> Result<Template, TemplateError> {
        let wrong = |line: usize, message: String, hint: &str| TemplateError {
            file: FILE.to_owned(),
            line,
            message,
            hint: hint.to_owned(),
        };
        let bytes = read(FILE).map_err(|why| wrong(0, why, "a template is a folder with a template.toml"))?;
        let text = String::from_utf8(bytes)
            .map_err(|_| wrong(0, "is not text in UTF-8".to_owned(), "save it as UTF-8"))?;
        let line_of = |at: usize| 1 + text[..at.min(text.len())].matches('\n').count();
        let written: Written = toml::from_str(&text).map_err(|fault| {
            let line = fault.span().map_or(0, |span| line_of(span.start));
            wrong(line, fault.message().to_owned(), KEYS)
        })?;
        let logo = match &written.logo {
            None => None,
            Some(name) => Some(logo(name.get_ref(), &written, read).map_err(|(message, hint)| {
                wrong(line_of(name.span().start), format!("logo: {message}"), &hint)
            })?),
        };
        let closing = written.closing.map(Spanned::into_inner).unwrap_or_default();
        let lines = |texts: Vec<String>| texts.iter().map(|text| clean(text)).collect();
        Ok(Template {
            sender: Sender {
                name: clean(&written.name),
                address: lines(written.address),
                logo,
                footer: clean(&written.footer),
                signatures: lines(written.signatures),
            },
            kind: written.kind.map(|kind| clean(&kind)),
            introduction: lines(written.introduction),
            closing_title: written.closing_title.map(|title| clean(&title)),
            closing: lines(closing),
        })
    }

    /// What kind of note it is, in the user's words.
    pub fn kind(&self) -> Option<&str> {
        self.kind.as_deref()
    }

    /// The user's words behind the recommendation.
    pub fn introduction(&self) -> Option<Vec<Block>> {
        let texts = self.introduction.iter();
        let blocks: Vec<Block> = texts.map(|text| Block::Paragraph(Text::from(text))).collect();
        Some(blocks).filter(|blocks| !blocks.is_empty())
    }

    /// The user's words at the end.
    pub fn closing(&self) -> Option<Section> {
        if self.closing.is_empty() {
            return None;
        }
        let title = self.closing_title.as_deref().unwrap_or(crate::english::CLOSING);
        let mut section = Section::new("closing", title);
        for text in &self.closing {
            section.paragraph(text);
        }
        Some(section)
    }
}

/// The logo; else what is wrong with it and a hint.
fn logo(
    name: &str,
    written: &Written,
    read: &dyn Fn(&str) -> Result<Vec<u8>, String>,
) -> Result<Logo, (String, String)> {
    let kinds = "a logo is an SVG, PNG or JPEG file in the template's folder";
    let wrong = |message: String| (message, kinds.to_owned());
    if name.is_empty() || name.contains(['/', '\\', '\0']) || name.starts_with('.') {
        return Err(wrong(format!(
            "`{name}` is not the name of a file in this folder"
        )));
    }
    let bytes = read(name).map_err(|why| wrong(format!("`{name}` {why}")))?;
    if bytes.len() > LARGEST_LOGO {
        return Err(wrong(format!("`{name}` is larger than 1 MiB")));
    }
    let (media, ending) = picture(&bytes)
        .ok_or_else(|| wrong(format!("`{name}` is neither an SVG nor a PNG nor a JPEG picture")))?;
    let alt = match &written.logo_alt {
        Some(alt) => clean(alt),
        None if written.name.is_empty() => crate::english::LOGO.to_owned(),
        None => format!("{} {}", crate::english::LOGO, clean(&written.name)),
    };
    Ok(Logo {
        file: format!("logo.{ending}"),
        media,
        bytes,
        alt,
    })
}

/// Media type and ending of a picture by its content.
fn picture(bytes: &[u8]) -> Option<(&'static str, &'static str)> {
    if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        return Some(("image/png", "png"));
    }
    if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
        return Some(("image/jpeg", "jpg"));
    }
    let text = std::str::from_utf8(bytes).ok()?;
    let mut rest = text.trim_start_matches('\u{feff}').trim_start();
    // What may stand before the root element.
    loop {
        let end = if rest.starts_with("<?") {
            "?>"
        } else if rest.starts_with("<!--") {
            "-->"
        } else if rest.starts_with("<!") {
            ">"
        } else {
            break;
        };
        rest = rest[rest.find(end)? + end.len()..].trim_start();
    }
    let root = rest.strip_prefix("<svg")?;
    root.starts_with([' ', '\n', '\r', '\t', '>'])
        .then_some(("image/svg+xml", "svg"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn from(files: &[(&str, &[u8])]) -> Result<Template, TemplateError> {
        Template::read(&|name| {
            let found = files.iter().find(|(known, _)| *known == name);
            found
                .map(|(_, bytes)| bytes.to_vec())
                .ok_or("is not there".to_owned())
        })
    }

    #[test]
    fn a_template_is_read_with_its_logo() {
        let toml =
            b"name = \"Ferry & Sons\"\naddress = [\"Quay 1\"]\nlogo = \"mark.svg\"\nclosing = [\"Ours.\"]\n";
        let svg = b"<?xml version=\"1.0\"?>\n<!-- mark -->\n<svg xmlns=\"http://www.w3.org/2000/svg\"/>";
        let template = from(&[(FILE, toml), ("mark.svg", svg)]).unwrap();
        let logo = template.sender.logo.as_ref().unwrap();
        assert_eq!((logo.file.as_str(), logo.media), ("logo.svg", "image/svg+xml"));
        assert_eq!(template.sender.name, "Ferry & Sons");
        assert_eq!(template.closing().unwrap().blocks.len(), 1);
        assert_eq!(template.introduction(), None);
    }

    #[test]
    fn what_cannot_be_used_is_said_with_its_line() {
        let fault = |files: &[(&str, &[u8])]| from(files).unwrap_err();
        assert_eq!(fault(&[]).message, "is not there");
        let unknown = fault(&[(FILE, b"name = \"A\"\ncolour = \"red\"\n")]);
        assert_eq!(unknown.line, 2, "{unknown:?}");
        assert!(unknown.message.contains("colour"), "{unknown:?}");
        let absent = fault(&[(FILE, b"\nlogo = \"a.png\"\n")]);
        assert_eq!(
            (absent.line, absent.message.as_str()),
            (2, "logo: `a.png` is not there")
        );
        let other = fault(&[(FILE, b"logo = \"a.png\"\n"), ("a.png", b"GIF89a")]);
        assert!(other.message.contains("neither"), "{other:?}");
        let outside = fault(&[(FILE, b"logo = \"../a.png\"\n")]);
        assert!(outside.message.contains("not the name"), "{outside:?}");
        assert_eq!(fault(&[(FILE, b"\xff")]).line, 0);
    }
}
