//! What the program is made of: sources, licences, duplicates, reasons, the bill of materials.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use boon::{Compiler, Schemas};
use serde_json::Value;
use tidewall_dev::packages::bill::{self, bill};
use tidewall_dev::packages::licence::{ALLOWED, taken};
use tidewall_dev::packages::notices::notices;
use tidewall_dev::packages::{metadata, packages};
use tidewall_dev::root;

const REGISTRY: &str = "registry+https://github.com/rust-lang/crates.io-index";

fn document() -> String {
    fs::read_to_string(root().join("docs/dependencies.md")).unwrap()
}

/// The rows of the table under a heading of `docs/dependencies.md`, as cells.
fn table(heading: &str) -> Vec<Vec<String>> {
    let text = document();
    let part = text
        .split("\n## ")
        .find(|part| part.starts_with(heading))
        .unwrap();
    let rows = part.lines().filter(|line| line.starts_with("| `"));
    rows.map(|row| {
        row.trim_matches('|')
            .split('|')
            .map(|cell| cell.trim().to_owned())
            .collect()
    })
    .collect()
}

fn table_of(path: &str) -> toml::Table {
    fs::read_to_string(root().join(path)).unwrap().parse().unwrap()
}

/// The manifest of every crate, by its folder.
fn manifests() -> BTreeMap<String, toml::Table> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(root().join("crates")).unwrap().flatten() {
        let text = fs::read_to_string(entry.path().join("Cargo.toml")).unwrap();
        found.insert(entry.file_name().into_string().unwrap(), text.parse().unwrap());
    }
    found
}

#[test]
fn every_direct_dependency_has_a_reason() {
    let workspace = table_of("Cargo.toml");
    let direct: BTreeSet<String> = workspace["workspace"]["dependencies"]
        .as_table()
        .unwrap()
        .keys()
        .filter(|name| !name.starts_with("tidewall-"))
        .cloned()
        .collect();
    let in_program: BTreeSet<String> = manifests()
        .iter()
        .filter(|(name, _)| !["bench", "soak", "attack", "dev"].contains(&name.as_str()))
        .filter_map(|(_, manifest)| manifest.get("dependencies")?.as_table().cloned())
        .flat_map(|table| table.into_iter().map(|(name, _)| name))
        .collect();
    let mut listed = BTreeSet::new();
    for row in table("Direct dependencies") {
        let [name, place, reason] = &row[..] else {
            panic!("{row:?}")
        };
        let name = name.trim_matches('`').to_owned();
        assert!(reason.len() > 10, "{name} has no reason");
        let expected = if in_program.contains(&name) {
            "program"
        } else {
            "tests"
        };
        assert_eq!(place, expected, "{name}");
        assert!(listed.insert(name), "{row:?} stands twice");
    }
    assert_eq!(listed, direct);
    for (name, value) in workspace["workspace"]["dependencies"].as_table().unwrap() {
        let version = value.as_str().or_else(|| value.get("version")?.as_str());
        let own = name.starts_with("tidewall-");
        assert!(
            own || version.is_some_and(|version| !version.contains('*')),
            "{name}: {value}"
        );
    }
    assert!(direct.len() > 40);
}

#[test]
fn no_crate_has_dependencies_past_the_workspace() {
    for (crate_name, manifest) in manifests() {
        for kind in ["dependencies", "dev-dependencies", "build-dependencies"] {
            for (name, value) in manifest
                .get(kind)
                .and_then(|table| table.as_table())
                .into_iter()
                .flatten()
            {
                let shared = value.get("workspace").and_then(|value| value.as_bool());
                let own = name.starts_with("tidewall-") && value.get("path").is_some();
                assert!(shared == Some(true) || own, "{name} in {crate_name}");
            }
        }
    }
}

#[test]
fn everything_comes_from_the_registry_under_an_allowed_licence() {
    let metadata = metadata(&root()).unwrap();
    let mut seen = 0;
    for package in metadata["packages"].as_array().unwrap() {
        let name = format!("{} {}", package["name"], package["version"]);
        let licence = package["license"]
            .as_str()
            .unwrap_or_else(|| panic!("{name} states no licence"));
        taken(licence).unwrap_or_else(|fault| panic!("{name}: {fault}"));
        match package["source"].as_str() {
            Some(source) => assert_eq!(source, REGISTRY, "{name}"),
            None => assert!(
                package["name"].as_str().unwrap().starts_with("tidewall"),
                "{name}"
            ),
        }
        seen += 1;
    }
    assert!(seen > 300, "{seen} packages only");
}

#[test]
fn licences_outside_the_list_are_refused() {
    assert_eq!(taken("MIT OR Apache-2.0").unwrap()[0].to_string(), "MIT");
    assert_eq!(taken("(MIT OR Apache-2.0) AND Unicode-3.0").unwrap().len(), 2);
    assert_eq!(taken("GPL-3.0-only OR Zlib").unwrap()[0].to_string(), "Zlib");
    for expression in [
        "GPL-3.0-only",
        "MIT AND GPL-2.0-or-later",
        "MPL-2.0",
        "no such thing",
    ] {
        assert!(taken(expression).is_err(), "{expression}");
    }
}

#[test]
fn the_configuration_of_cargo_deny_allows_the_same_licences() {
    let deny = table_of("deny.toml");
    let allowed = deny["licenses"]["allow"]
        .as_array()
        .unwrap()
        .iter()
        .map(|name| name.as_str().unwrap());
    assert_eq!(allowed.collect::<Vec<_>>(), ALLOWED);
}

#[test]
fn every_duplicate_is_listed() {
    let mut versions: BTreeMap<String, usize> = BTreeMap::new();
    for package in packages(&root()).unwrap() {
        *versions.entry(package.name).or_default() += 1;
    }
    let found: BTreeSet<String> = versions
        .into_iter()
        .filter(|(_, count)| *count > 1)
        .map(|(name, _)| name)
        .collect();
    let listed = table("More than one version");
    let listed = listed
        .iter()
        .flat_map(|row| row[0].split(", "))
        .map(|name| name.trim_matches('`').to_owned());
    assert_eq!(listed.collect::<BTreeSet<_>>(), found);
}

#[test]
fn every_crate_takes_over_the_ban_of_unsafe_code() {
    let workspace = table_of("Cargo.toml");
    assert_eq!(
        workspace["workspace"]["lints"]["rust"]["unsafe_code"].as_str(),
        Some("forbid")
    );
    let mut crates = 0;
    for (name, manifest) in manifests() {
        let taken = manifest.get("lints").and_then(|lints| lints.get("workspace"));
        assert_eq!(taken.and_then(|value| value.as_bool()), Some(true), "{name}");
        crates += 1;
    }
    assert!(crates > 15, "{crates} crates only");
}

#[test]
fn the_bill_of_materials_is_up_to_date() {
    let kept = fs::read_to_string(root().join(bill::FILE)).unwrap();
    let fresh = bill(&root()).unwrap();
    assert!(
        kept == fresh,
        "{} is stale: cargo run -p tidewall-dev --bin packages -- bill",
        bill::FILE
    );
}

/// The faults that a bill has by the published schema.
fn faults(bill: &Value) -> Option<String> {
    let mut compiler = Compiler::new();
    let base = "http://cyclonedx.org/schema/";
    // The schemas call each other by the names of the files they were adapted in.
    for (file, name) in [
        ("bom-1.5", "bom-1.5.schema.json"),
        ("spdx", "spdx.SNAPSHOT.schema.json"),
        ("jsf-0.82", "jsf-0.82.SNAPSHOT.schema.json"),
    ] {
        let path = root().join(format!("crates/dev/tests/cyclonedx/{file}.schema.json"));
        let mut schema: Value = serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap();
        schema["$id"] = format!("{base}{name}").into();
        compiler.add_resource(&format!("{base}{name}"), schema).unwrap();
    }
    let mut schemas = Schemas::new();
    let index = compiler
        .compile(&format!("{base}bom-1.5.schema.json"), &mut schemas)
        .unwrap();
    schemas.validate(bill, index).err().map(|error| error.to_string())
}

#[test]
fn the_bill_of_materials_fits_the_schema() {
    let text = fs::read_to_string(root().join(bill::FILE)).unwrap();
    let bill: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(faults(&bill), None);
    let mut broken = bill.clone();
    broken["components"][3].as_object_mut().unwrap().remove("name");
    assert!(faults(&broken).is_some());
    let mut broken = bill.clone();
    broken["components"][3]["hashes"][0]["content"] = "12".into();
    assert!(faults(&broken).is_some());
    // Every reference leads somewhere.
    let references: BTreeSet<&str> = bill["components"]
        .as_array()
        .unwrap()
        .iter()
        .chain([&bill["metadata"]["component"]])
        .map(|component| component["bom-ref"].as_str().unwrap())
        .collect();
    for dependency in bill["dependencies"].as_array().unwrap() {
        assert!(
            references.contains(dependency["ref"].as_str().unwrap()),
            "{dependency}"
        );
        for used in dependency["dependsOn"].as_array().unwrap() {
            assert!(references.contains(used.as_str().unwrap()), "{dependency}");
        }
    }
    assert_eq!(bill["dependencies"].as_array().unwrap().len(), references.len());
}

#[test]
fn notices_name_everything_that_is_linked() {
    let text = notices(&root()).unwrap();
    let lines: BTreeSet<&str> = text.lines().collect();
    let packages = packages(&root()).unwrap();
    let linked: Vec<_> = packages
        .iter()
        .filter(|package| package.linked && !package.is_own())
        .collect();
    assert!(linked.len() > 200, "{}", linked.len());
    for package in linked {
        let line = format!("{} {}", package.name, package.version);
        assert!(lines.contains(line.as_str()), "{line} is missing");
    }
    assert!(
        text.contains("Permission is hereby granted") && text.contains("Unicode"),
        "texts are missing"
    );
}
