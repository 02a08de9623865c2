//! The bill of materials of the program: CycloneDX 1.5 as JSON.

use std::path::Path;

use serde_json::{Value, json};

use super::{PLATFORM, Package, packages};

/// Where it is kept.
pub const FILE: &str = "docs/bill-of-materials.cdx.json";

fn reference(package: &Package) -> String {
    format!("pkg:cargo/{}@{}", package.name, package.version)
}

/// The bill of materials as text. It has no time and no serial number, so that the same packages give the same bytes.
///
/// # Errors
/// What cargo says when it cannot tell.
pub fn bill(root: &Path) -> Result<String, String> {
    let packages = packages(root)?;
    let program = packages
        .iter()
        .find(|package| package.name == "tidewall")
        .ok_or("cargo tells of no package `tidewall`")?;
    let others = packages.iter().filter(|package| package.name != "tidewall");
    let bill = json!({
        "$schema": "http://cyclonedx.org/schema/bom-1.5.schema.json",
        "bomFormat": "CycloneDX",
        "specVersion": "1.5",
        "version": 1,
        "metadata": {
            "component": component(program, "application"),
            "properties": [{ "name": "tidewall:platform", "value": PLATFORM }],
        },
        "components": others.map(|package| component(package, "library")).collect::<Vec<Value>>(),
        "dependencies": packages.iter().map(dependency).collect::<Vec<Value>>(),
    });
    let text = serde_json::to_string_pretty(&bill).map_err(|error| error.to_string())?;
    Ok(format!("{text}\n"))
}

fn component(package: &Package, kind: &str) -> Value {
    let mut component = json!({
        "type": kind,
        "bom-ref": reference(package),
        "name": package.name,
        "version": package.version,
        "purl": reference(package),
        // What only builds the program is not delivered with it.
        "scope": if package.linked { "required" } else { "excluded" },
    });
    if let Some(description) = &package.description {
        let words: Vec<&str> = description.split_whitespace().collect();
        component["description"] = words.join(" ").into();
    }
    if let Some(licence) = &package.licence {
        // Old packages write a stroke where SPDX has `OR`.
        let expression = licence.replace(" / ", "/").replace('/', " OR ");
        component["licenses"] = json!([{ "expression": expression }]);
    }
    if let Some(checksum) = &package.checksum {
        component["hashes"] = json!([{ "alg": "SHA-256", "content": checksum }]);
    }
    if let Some(repository) = package.repository.as_ref().filter(|_| !package.is_own()) {
        component["externalReferences"] = json!([{ "type": "vcs", "url": repository }]);
    }
    component
}

fn dependency(package: &Package) -> Value {
    let uses: Vec<String> = package
        .uses
        .iter()
        .map(|(name, version)| format!("pkg:cargo/{name}@{version}"))
        .collect();
    json!({ "ref": reference(package), "dependsOn": uses })
}
