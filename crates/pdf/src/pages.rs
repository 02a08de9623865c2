//! What stands on the pages, as it was set.

use typst::layout::{Abs, Frame, FrameItem, Point, Size, Transform};
use typst_layout::PagedDocument;

/// The texts of a document's pages.
#[derive(Default)]
pub(crate) struct Texts {
    /// All of them in the order in which they were set, one after the other; pages are parted by form feeds.
    pub all: String,
    /// Those that reach beyond the paper.
    pub outside: Vec<String>,
}

/// Reads the pages.
pub(crate) fn texts(document: &PagedDocument) -> Texts {
    let mut texts = Texts::default();
    for page in document.pages() {
        if !texts.all.is_empty() {
            texts.all.push('\u{c}');
        }
        walk(&page.frame, Transform::identity(), page.frame.size(), &mut texts);
    }
    texts
}

fn walk(frame: &Frame, placed: Transform, paper: Size, texts: &mut Texts) {
    for (at, item) in frame.items() {
        match item {
            FrameItem::Group(group) => {
                let inner = placed
                    .pre_concat(Transform::translate(at.x, at.y))
                    .pre_concat(group.transform);
                walk(&group.frame, inner, paper, texts);
            }
            FrameItem::Text(text) => {
                texts.all.push_str(&text.text);
                let left = at.transform(placed);
                let right = Point::new(at.x + text.width(), at.y).transform(placed);
                let inside = |point: Point| {
                    let within = |value: Abs, most: Abs| value >= Abs::zero() && value <= most;
                    within(point.x, paper.x) && within(point.y, paper.y)
                };
                if !inside(left) || !inside(right) {
                    texts.outside.push(text.text.to_string());
                }
            }
            _ => {}
        }
    }
}
