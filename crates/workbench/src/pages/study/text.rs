//! The text of a study, to be edited as a whole.

use maud::{Markup, html};

use super::Sheet;

/// The text as it stands in the file.
pub fn section(sheet: &Sheet) -> Markup {
    let snapshot = &sheet.reading.snapshot;
    let fault = sheet.reading.study.as_ref().err().map(|failure| failure.pieces());
    let line = fault
        .filter(|report| report.file.as_deref() == Some(snapshot.name.as_str()))
        .and_then(|report| report.line);
    let rows = snapshot.text.lines().count().clamp(8, 40);
    html! {
        h2 { "Text" }
        details.text open[sheet.outline.is_err()] {
            summary { "The study as it stands in the file" }
            form data-form="text" {
                label for="text" { "Everything above is this text; comments and layout stay as they are." }
                textarea id="text" name="text" rows=(rows) spellcheck="false" autocomplete="off" data-line=[line]
                    data-ends=[snapshot.text.contains("\r\n").then_some("crlf")] {
                    // The parser of HTML drops one line end right behind the tag.
                    "\n" (snapshot.text)
                }
                p {
                    button type="submit" { "Save the text" }
                    " "
                    button type="reset" { "Back to the file's text" }
                    @if let Some(line) = line { " " span.hint { "The fault is in line " (line) "." } }
                }
            }
            form.add data-form="copy" data-of=(snapshot.name) {
                label for="copy-name" { "A copy of this study, as another variant: " }
                input id="copy-name" name="name" size="24" required autocomplete="off" spellcheck="false" placeholder="variant.toml";
                " "
                button type="submit" { "Copy" }
            }
        }
    }
}
