//! Every number has a source mark, and `docs/sources.md` says so.

use std::fs;

use tidewall_dev::provenance::{FOLDERS, Mark, Number, audit, document, numbers, profile_values};
use tidewall_dev::root;

#[test]
fn every_number_has_a_source_mark() {
    let found = audit(&root()).unwrap();
    assert!(
        found.len() > 500,
        "only {} numbers found: is the search broken?",
        found.len()
    );
    for folder in FOLDERS {
        let own = found.iter().filter(|(file, _)| file.starts_with(folder)).count();
        assert!(
            own > 5,
            "only {own} numbers below {folder}: is the search broken?"
        );
    }
    let bare: Vec<String> = found
        .iter()
        .filter(|(_, number)| number.mark.is_none())
        .map(|(file, number)| format!("{file}:{}: {} in `{}`", number.line, number.text, number.item))
        .collect();
    assert!(
        bare.is_empty(),
        "{} numbers without a source mark (the grammar stands in ARCHITECTURE.md):\n{}",
        bare.len(),
        bare.join("\n")
    );
}

#[test]
fn every_value_of_the_profiles_has_a_source_mark() {
    let values = profile_values(&root()).unwrap();
    let profiles = values
        .iter()
        .map(|value| value.number)
        .collect::<std::collections::BTreeSet<_>>();
    assert!(
        profiles.len() >= 45 && values.len() > 400,
        "{} values of {} profiles",
        values.len(),
        profiles.len()
    );
}

#[test]
fn the_document_is_up_to_date() {
    let made = document(&audit(&root()).unwrap(), &profile_values(&root()).unwrap());
    let kept = fs::read_to_string(root().join("docs/sources.md")).unwrap_or_default();
    assert!(
        made == kept,
        "docs/sources.md is stale: cargo run -p tidewall-dev --bin sources"
    );
}

/// The numbers of a source text as (number, mark).
fn marks(text: &str) -> Vec<(String, Option<Mark>)> {
    let brief = |number: Number| (number.text, number.mark.map(|mark| mark.0));
    numbers(text).unwrap().into_iter().map(brief).collect()
}

fn one(text: &str) -> Option<Mark> {
    let found = marks(text);
    assert_eq!(found.len(), 1, "{text}: {found:?}");
    found[0].1
}

#[test]
fn a_constant_without_a_mark_is_caught() {
    assert_eq!(one("/// Resistance in ohms.\npub const R: f64 = 50.0;"), None);
    assert_eq!(one("pub const ONE: usize = 1;"), None);
    assert_eq!(one("impl X { const R: f64 = 50.0; }"), None);
    assert_eq!(one("static R: f32 = -50.0;"), None);
    assert_eq!(marks("const R: [(f64, f64); 1] = [(1.0, 33e-9)];").len(), 2);
    assert_eq!(one("const S: Set = Set { name: \"x\", farad: 6.04e-6 };"), None);
    // A marked neighbour does not cover it.
    let pair = "/// One (from memory).\nconst A: f64 = 3.0;\nconst B: f64 = 4.0;";
    assert_eq!(
        marks(pair),
        [("3.0".into(), Some(Mark::Memory)), ("4.0".into(), None)]
    );
}

#[test]
fn a_number_in_a_function_without_a_mark_is_caught() {
    assert_eq!(one("fn f(x: f64) -> f64 { 0.2235 * x }"), None);
    assert_eq!(
        one("/// Not said whence.\nfn f(x: f64) -> f64 { let y = x + 7e3; y }"),
        None
    );
    assert_eq!(one("fn f() { g(15_000) }"), None);
    assert_eq!(one("fn f() -> Vec<f64> { vec![0.7] }"), None);
    assert_eq!(one("trait T { const R: f64 = 0.7; }"), None);
    assert_eq!(one("fn f() -> S { S { duration_s: 8e-6 } }"), None);
    // Only the statement below the comment is marked.
    let two = "fn f() -> f64 {\n// Slope (from memory).\nlet a = 0.3;\nlet b = 0.7;\na * b\n}";
    assert_eq!(
        marks(two),
        [("0.3".into(), Some(Mark::Memory)), ("0.7".into(), None)]
    );
}

#[test]
fn signs_counts_units_tests_and_places_do_not_count() {
    let plain = "
        fn f(x: &[f64]) -> f64 {
            for k in 0..40 { g(x[k + 3]); }
            let half = 0.5 * x[7] * 1e-6 + 2.0 * x.len() as f64;
            half.powi(4) - 1.0 + 10.0
        }
        #[cfg(test)]
        mod tests { const A: f64 = 3.0; }
        #[test]
        fn t() { assert!(f(&[]) > 3.0); }
    ";
    assert_eq!(marks(plain), []);
}

#[test]
fn marks_are_found_where_they_may_stand() {
    let memory = Some(Mark::Memory);
    assert_eq!(one("/// Drop (from memory).\nconst V: f64 = 15.0;"), memory);
    assert_eq!(
        one("/// Drop (from memory).\nfn f(x: f64) -> f64 { x + 15.0 }"),
        memory
    );
    assert_eq!(one("fn f() { g(15.0); // from memory\n}"), memory);
    assert_eq!(
        one("fn f() {\n    // From memory: the annex.\n    g(15.0);\n}"),
        memory
    );
    assert_eq!(
        one("fn f() -> S {\n    S {\n        // Usual (from memory).\n        a: 15.0,\n    }\n}"),
        memory
    );
    assert_eq!(
        one("fn f() { note(\"drop\", 15.0, \"usual value (from memory)\"); }"),
        memory
    );
    assert_eq!(
        one("const T: [Row; 1] = [row(\"a\", 15.0, Mark::Memory)];"),
        memory
    );
    let noted = "fn f() -> f64 {\n    let v = 15.0;\n    note(\"drop\", v, \"from memory\");\n    v\n}";
    assert_eq!(one(noted), memory);
    let twice = "fn f() -> f64 { note(\"drop\", 15.0, \"from memory\"); 15.0 }";
    assert_eq!(marks(twice), [("15.0".into(), memory), ("15.0".into(), memory)]);
    // A later link of a chain does not speak for an earlier one.
    assert_eq!(one("fn f() { a(0.15).sourced(\"level\", Mark::Memory); }"), None);
    // The nearest mark holds, and in one comment the weakest.
    let nearest =
        "/// All (read in a book).\nconst T: [f64; 2] = [\n    3.0,\n    // From memory.\n    4.0,\n];";
    assert_eq!(
        marks(nearest),
        [("3.0".into(), Some(Mark::Read)), ("4.0".into(), memory)]
    );
    assert_eq!(
        one("/// Level (read in a manual; tolerance from memory).\nconst T: f64 = 3.0;"),
        memory
    );
}
