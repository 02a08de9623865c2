//! The PDF as a reader of the format sees it, without the typesetter's word for it: tags, words for figures, embedded fonts
//! and content that is tagged or marked as decoration (ISO 14289-1, PDF/UA-1, from memory; the clauses are not named here).
#![cfg(feature = "pdf")]

mod common;

use std::collections::BTreeMap;

use common::{PLAIN, note, study};
use hayro_syntax::Pdf;
use hayro_syntax::object::{Array, Dict, Name, Object, Stream, String as PdfString};
use tidewall_report::content::Form;
use tidewall_report::document::{Block, Note};
use tidewall_report::pdf::pdf;

fn made() -> (Note, Pdf) {
    let note = note(&study(&PLAIN), &Form::default());
    let typeset = pdf(&note).unwrap_or_else(|error| panic!("{error}"));
    (note, Pdf::new(typeset.bytes).expect("a reader can open it"))
}

fn root(pdf: &Pdf) -> Dict<'_> {
    pdf.xref()
        .get(pdf.xref().root_id())
        .expect("there is a catalogue")
}

fn name(dict: &Dict, key: &str) -> String {
    dict.get::<Name>(key)
        .map_or(String::new(), |name| name.as_str().to_owned())
}

/// A text string: UTF-16 with its mark, UTF-8 with its mark, or ASCII.
fn text(dict: &Dict, key: &str) -> String {
    let Some(string) = dict.get::<PdfString>(key) else {
        return String::new();
    };
    match string.as_bytes() {
        [0xfe, 0xff, rest @ ..] => {
            let units: Vec<u16> = rest
                .chunks(2)
                .map(|pair| u16::from_be_bytes([pair[0], pair[1]]))
                .collect();
            String::from_utf16(&units).expect("UTF-16")
        }
        [0xef, 0xbb, 0xbf, rest @ ..] => String::from_utf8(rest.to_vec()).expect("UTF-8"),
        ascii => String::from_utf8(ascii.to_vec()).expect("ASCII"),
    }
}

/// An element of the structure: its kind, its words, its children.
struct Element {
    kind: String,
    alt: String,
    children: Vec<Element>,
}

impl Element {
    fn read(dict: &Dict) -> Element {
        Element {
            kind: name(dict, "S"),
            alt: text(dict, "Alt"),
            children: kids(dict),
        }
    }

    /// All elements of a kind, in reading order.
    fn all<'e>(&'e self, kind: &str, found: &mut Vec<&'e Element>) {
        if self.kind == kind {
            found.push(self);
        }
        for child in &self.children {
            child.all(kind, found);
        }
    }
}

fn kids(dict: &Dict) -> Vec<Element> {
    let element = |object: Dict| object.contains_key("S").then(|| Element::read(&object));
    if let Some(kids) = dict.get::<Array>("K") {
        let objects = kids.iter::<Object>();
        let dicts = objects.filter_map(|object| match object {
            Object::Dict(dict) => Some(dict),
            _ => None,
        });
        return dicts.filter_map(element).collect();
    }
    dict.get::<Dict>("K").and_then(element).into_iter().collect()
}

fn tree(pdf: &Pdf) -> Element {
    let tree: Dict = root(pdf).get("StructTreeRoot").expect("the file is tagged");
    Element {
        kind: "root".to_owned(),
        alt: String::new(),
        children: kids(&tree),
    }
}

#[test]
fn the_file_says_what_it_is_and_in_which_language() {
    let (note, pdf) = made();
    let root = root(&pdf);
    assert_eq!(text(&root, "Lang"), note.lang);
    let marked: Dict = root.get("MarkInfo").expect("it is marked");
    assert_eq!(marked.get::<bool>("Marked"), Some(true));
    let view: Dict = root.get("ViewerPreferences").expect("preferences");
    assert_eq!(view.get::<bool>("DisplayDocTitle"), Some(true));
    let metadata: Stream = root.get("Metadata").expect("metadata");
    let metadata = String::from_utf8(metadata.decoded().expect("readable").into_owned()).expect("UTF-8");
    for word in [note.title.as_str(), "pdfuaid:part"] {
        assert!(metadata.contains(word), "{word} is not in {metadata}");
    }
    for page in pdf.pages().iter() {
        assert_eq!(name(page.raw(), "Tabs"), "S");
        assert!(page.raw().contains_key("StructParents"));
    }
}

#[test]
fn every_figure_is_told_in_words_with_numbers() {
    let (note, pdf) = made();
    let tree = tree(&pdf);
    let mut figures = Vec::new();
    tree.all("Figure", &mut figures);
    let told: Vec<&str> = figures.iter().map(|figure| figure.alt.as_str()).collect();
    let pictures: Vec<&str> = note.pictures().map(|picture| picture.alt.as_str()).collect();
    assert!(pictures.len() > 5, "{} pictures", pictures.len());
    assert_eq!(told, pictures);
    for words in told {
        assert!(
            words.chars().any(|c| c.is_ascii_digit()),
            "no number in `{words}`"
        );
    }
}

#[test]
fn headings_and_tables_are_tagged_as_such() {
    let (note, pdf) = made();
    let tree = tree(&pdf);
    let count = |kind: &str| {
        let mut found = Vec::new();
        tree.all(kind, &mut found);
        found.len()
    };
    // Below the title come the sections, and below these the headings within.
    assert_eq!(
        count("Title") + count("H1") + count("H2"),
        1 + note.sections.len() + inner(&note)
    );
    let mut tables = Vec::new();
    tree.all("Table", &mut tables);
    let blocks = note.sections.iter().flat_map(|section| &section.blocks);
    let said = blocks.filter(|block| matches!(block, Block::Table(table) if !table.rows.is_empty()));
    assert_eq!(tables.len(), said.count());
    for table in tables {
        let (mut heads, mut rows) = (Vec::new(), Vec::new());
        table.all("TH", &mut heads);
        table.all("TR", &mut rows);
        assert!(
            !heads.is_empty() && rows.len() > 1,
            "{} heads, {} rows",
            heads.len(),
            rows.len()
        );
    }
}

fn inner(note: &Note) -> usize {
    let blocks = note.sections.iter().flat_map(|section| &section.blocks);
    blocks.filter(|block| matches!(block, Block::Heading(_))).count()
}

#[test]
fn every_font_is_embedded_and_can_be_read_back() {
    let (_, pdf) = made();
    let mut fonts: BTreeMap<String, bool> = BTreeMap::new();
    for object in pdf.objects() {
        let Object::Dict(font) = object else { continue };
        if name(&font, "Type") != "Font" || !font.contains_key("DescendantFonts") {
            continue;
        }
        assert!(
            font.contains_key("ToUnicode"),
            "{} cannot be read back",
            name(&font, "BaseFont")
        );
        let below: Array = font.get("DescendantFonts").expect("a font below");
        for own in below.iter::<Dict>() {
            let descriptor: Dict = own.get("FontDescriptor").expect("a descriptor");
            let file = ["FontFile2", "FontFile3"]
                .iter()
                .any(|key| descriptor.contains_key(*key));
            fonts.insert(name(&font, "BaseFont"), file);
        }
    }
    assert!(fonts.len() >= 2, "{fonts:?}");
    assert!(fonts.values().all(|embedded| *embedded), "{fonts:?}");
    for used in fonts.keys() {
        assert!(
            used.contains("LiberationSans") || used.contains("DejaVuSans"),
            "{used}"
        );
    }
}

#[test]
fn whatever_is_drawn_is_tagged_or_marked_as_decoration() {
    const DRAWS: [&str; 15] = [
        "Tj", "TJ", "'", "\"", "f", "F", "f*", "S", "s", "B", "B*", "b", "b*", "sh", "Do",
    ];
    let (_, pdf) = made();
    let mut drawn = 0;
    for (number, page) in pdf.pages().iter().enumerate() {
        let mut depth = 0usize;
        let mut operations = page.operations();
        while let Some(operation) = operations.next() {
            let operator = std::str::from_utf8(operation.operator).expect("an operator");
            match operator {
                "BMC" | "BDC" => depth += 1,
                "EMC" => depth = depth.checked_sub(1).expect("marked content ends once"),
                operator if DRAWS.contains(&operator) => {
                    drawn += 1;
                    assert!(depth > 0, "page {}: {operator} is neither", number + 1);
                }
                _ => {}
            }
        }
        assert_eq!(depth, 0, "page {}: marked content does not end", number + 1);
    }
    assert!(drawn > 500, "{drawn} operators");
}

#[test]
fn nothing_in_the_file_acts_or_points_elsewhere() {
    let (_, pdf) = made();
    for object in pdf.objects() {
        let Object::Dict(dict) = object else { continue };
        for key in [
            "JS",
            "JavaScript",
            "Launch",
            "EmbeddedFiles",
            "OpenAction",
            "AA",
            "URI",
        ] {
            assert!(!dict.contains_key(key), "{key}");
        }
    }
}
