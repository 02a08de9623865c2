//! Layers look down only, files stay readable, documents name what is there.

use std::collections::BTreeMap;
use std::fs;

use tidewall_dev::{files, root};

/// Layers from the ground up; a crate may use crates of lower layers only.
const LAYERS: &[&[&str]] = &[
    &["units", "lanes"],
    &["devices", "stress", "interchange"],
    &["ladder"],
    &["transient"],
    &["study", "extract"],
    &["assess", "parts", "plot", "pdf"],
    &["report", "desk"],
    &["workbench"],
    &["cli", "bench", "soak", "attack"],
];

/// Libraries that belong to certain layers: (dependency, crates that may use it).
const PLACES: &[(&str, &[&str])] = &[
    ("rayon", &["assess"]),
    ("pulp", &["lanes"]),
    ("toml", &["study", "parts", "report", "dev"]),
    ("syn", &["dev"]),
    ("proc-macro2", &["dev"]),
    ("csv", &["study", "parts", "desk", "cli"]),
    ("rusqlite", &["parts"]),
    ("calamine", &["parts"]),
    ("rust_xlsxwriter", &["parts", "report"]),
    ("toml_edit", &["desk"]),
    ("axum", &["workbench", "attack"]),
    ("tokio", &["workbench", "attack"]),
    ("clap", &["cli", "bench", "soak", "attack"]),
    ("clap_complete", &["cli"]),
    ("clap_mangen", &["cli"]),
    ("indicatif", &["cli"]),
    (
        "serde_json",
        &[
            "assess",
            "parts",
            "report",
            "desk",
            "workbench",
            "cli",
            "bench",
            "soak",
            "dev",
        ],
    ),
    ("typst", &["pdf"]),
    ("typst-layout", &["pdf"]),
    ("typst-pdf", &["pdf"]),
];

fn dependencies(table: &toml::Table) -> Vec<String> {
    let list = table.get("dependencies").and_then(|value| value.as_table());
    list.map(|table| table.keys().cloned().collect())
        .unwrap_or_default()
}

fn manifests() -> BTreeMap<String, toml::Table> {
    let crates = root().join("crates");
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(&crates).unwrap().flatten() {
        let text = fs::read_to_string(entry.path().join("Cargo.toml")).unwrap();
        found.insert(entry.file_name().into_string().unwrap(), text.parse().unwrap());
    }
    found
}

#[test]
fn layers_look_down_only() {
    let level = |name: &str| LAYERS.iter().position(|layer| layer.contains(&name));
    for (name, manifest) in manifests() {
        if name == "dev" {
            continue;
        }
        let own = level(&name).unwrap_or_else(|| panic!("crate `{name}` stands in no layer"));
        for dependency in dependencies(&manifest) {
            if let Some(lower) = dependency.strip_prefix("tidewall-") {
                let below = level(lower).unwrap_or_else(|| panic!("`{lower}` stands in no layer"));
                assert!(below < own, "`{name}` uses `{lower}`, which is not below it");
            }
            if let Some((_, allowed)) = PLACES.iter().find(|(place, _)| *place == dependency) {
                assert!(
                    allowed.contains(&name.as_str()),
                    "`{dependency}` does not belong in `{name}`"
                );
            }
        }
    }
}

#[test]
fn the_engine_touches_no_files_clock_threads_or_network() {
    let banned = [
        "std::fs",
        "std::net",
        "std::thread",
        "std::time",
        "std::env",
        "std::process",
        "println!",
    ];
    for layer in LAYERS.iter().take(4).flat_map(|layer| layer.iter()) {
        for path in files(&root().join("crates").join(layer).join("src"), "rs") {
            let text = fs::read_to_string(&path).unwrap();
            for word in banned {
                assert!(!text.contains(word), "{} uses {word}", path.display());
            }
        }
    }
}

#[test]
fn source_files_stay_under_650_lines() {
    for path in files(&root().join("crates"), "rs") {
        let lines = fs::read_to_string(&path).unwrap().lines().count();
        assert!(
            lines <= 650,
            "{} has {lines} lines: split it by subject",
            path.display()
        );
    }
}

#[test]
fn documents_name_paths_that_exist() {
    let mut looked_at = 0;
    for path in files(&root(), "md") {
        let text = fs::read_to_string(&path).unwrap();
        for piece in text.split('`').skip(1).step_by(2) {
            let starts = [
                "crates/",
                "docs/",
                "demo/",
                "scripts/",
                "validation/",
                "schema/",
                "packaging/",
            ];
            let plain = !piece.contains([' ', '*', '<', '…', '{']);
            if starts.iter().any(|start| piece.starts_with(start)) && plain {
                looked_at += 1;
                assert!(
                    root().join(piece).exists(),
                    "{} names `{piece}`, which is not there",
                    path.display()
                );
            }
        }
    }
    assert!(
        looked_at > 10,
        "only {looked_at} paths found in the documents: is the search broken?"
    );
}
