//! Files to be saved by the browser.

use axum::http::header;
use axum::response::{IntoResponse, Response};

/// A file with its media type. `study` is the study's name in the folder; `end` follows in the file's name.
pub fn file(study: &str, end: &str, media: &'static str, content: Vec<u8>) -> Response {
    let disposition = format!("attachment; filename=\"{}\"", name(study, end));
    (
        [
            (header::CONTENT_TYPE, media.to_owned()),
            (header::CONTENT_DISPOSITION, disposition),
        ],
        content,
    )
        .into_response()
}

/// A name of plain letters, whatever the study's name has.
fn name(study: &str, end: &str) -> String {
    let last = study.rsplit('/').next().unwrap_or(study);
    let stem = last.strip_suffix(".toml").unwrap_or(last);
    let plain: String = stem
        .chars()
        .map(|c| {
            if c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.') {
                c
            } else {
                '-'
            }
        })
        .take(80)
        .collect();
    let plain = plain.trim_start_matches('.');
    format!("{}{end}", if plain.is_empty() { "study" } else { plain })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_files_are_plain() {
        assert_eq!(name("sub/supply-24v.toml", "-plan.csv"), "supply-24v-plan.csv");
        assert_eq!(name("a\"\r\nb.toml", ".pdf"), "a---b.pdf");
        assert_eq!(name("....toml", ".pdf"), "study.pdf");
    }
}
