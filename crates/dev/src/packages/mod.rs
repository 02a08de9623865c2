//! The packages that the program is made of, as cargo tells them.

pub mod bill;
pub mod licence;
pub mod notices;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;

/// The platform whose packages are counted: that of the Debian package.
pub const PLATFORM: &str = "x86_64-unknown-linux-gnu";

/// One package of the program, or of what builds it.
#[derive(Clone, Debug)]
pub struct Package {
    /// Its name in the registry.
    pub name: String,
    /// Its version.
    pub version: String,
    /// Its licence as an SPDX expression, as its makers wrote it.
    pub licence: Option<String>,
    /// What it is.
    pub description: Option<String>,
    /// Who made it.
    pub authors: Vec<String>,
    /// Where its sources are kept.
    pub repository: Option<String>,
    /// The folder of its sources on this machine.
    pub folder: PathBuf,
    /// SHA-256 of its archive in the registry; none for the packages of this workspace.
    pub checksum: Option<String>,
    /// It ends up in the program; else it only helps to build it.
    pub linked: bool,
    /// What it uses itself, by name and version.
    pub uses: BTreeSet<(String, String)>,
}

impl Package {
    /// It belongs to this workspace.
    pub fn is_own(&self) -> bool {
        self.checksum.is_none()
    }

    /// Name and version, which tell packages apart.
    pub fn key(&self) -> (String, String) {
        (self.name.clone(), self.version.clone())
    }
}

fn run(root: &Path, arguments: &[&str]) -> Result<String, String> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let output = Command::new(cargo)
        .args(arguments)
        .current_dir(root)
        .output()
        .map_err(|error| format!("cargo does not start: {error}"))?;
    if !output.status.success() {
        return Err(String::from_utf8_lossy(&output.stderr).into_owned());
    }
    String::from_utf8(output.stdout).map_err(|error| format!("cargo {}: {error}", arguments.join(" ")))
}

/// What `cargo metadata` says of the workspace, for the platform of the Debian package.
pub fn metadata(root: &Path) -> Result<Value, String> {
    let arguments = [
        "metadata",
        "--format-version=1",
        "--locked",
        "--filter-platform",
        PLATFORM,
    ];
    let text = run(root, &arguments)?;
    serde_json::from_str(&text).map_err(|error| format!("cargo metadata: {error}"))
}

/// Name and version of every package of the program, those that only build it included. The features are those of the
/// program alone, which `cargo metadata` does not tell from those of the tests.
fn of_program(root: &Path) -> Result<BTreeSet<(String, String)>, String> {
    let arguments = [
        "tree",
        "--locked",
        "--package=tidewall",
        "--edges=normal,build",
        "--target",
        PLATFORM,
        "--prefix=none",
        "--format={p}",
    ];
    let text = run(root, &arguments)?;
    let pair = |line: &str| {
        let mut words = line.split_whitespace();
        let name = words.next()?.to_owned();
        Some((name, words.next()?.strip_prefix('v')?.to_owned()))
    };
    let lines = text.lines().filter(|line| !line.is_empty());
    lines
        .map(|line| pair(line).ok_or_else(|| format!("cargo tree says `{line}`")))
        .collect()
}

fn checksums(root: &Path) -> Result<BTreeMap<(String, String), String>, String> {
    let text =
        std::fs::read_to_string(root.join("Cargo.lock")).map_err(|error| format!("Cargo.lock: {error}"))?;
    let lock: toml::Table = text.parse().map_err(|error| format!("Cargo.lock: {error}"))?;
    let packages = lock.get("package").and_then(|list| list.as_array());
    let mut found = BTreeMap::new();
    for package in packages.into_iter().flatten() {
        let word = |key: &str| {
            package
                .get(key)
                .and_then(|value| value.as_str())
                .map(str::to_owned)
        };
        if let (Some(name), Some(version), Some(checksum)) = (word("name"), word("version"), word("checksum"))
        {
            found.insert((name, version), checksum);
        }
    }
    Ok(found)
}

/// Every package that the program is made of or built by, in the order of their names and versions.
///
/// # Errors
/// What cargo says when it cannot tell.
pub fn packages(root: &Path) -> Result<Vec<Package>, String> {
    let metadata = metadata(root)?;
    let wanted = of_program(root)?;
    let checksums = checksums(root)?;
    let list = |value: &Value| value.as_array().cloned().unwrap_or_default();
    let mut by_id = BTreeMap::new();
    let mut macros = BTreeSet::new();
    for package in list(&metadata["packages"]) {
        let word = |key: &str| package[key].as_str().map(str::to_owned);
        let missing = |key: &str| format!("cargo metadata names a package without `{key}`");
        let name = word("name").ok_or_else(|| missing("name"))?;
        let version = word("version").ok_or_else(|| missing("version"))?;
        let id = word("id").ok_or_else(|| missing("id"))?;
        let manifest = PathBuf::from(word("manifest_path").ok_or_else(|| missing("manifest_path"))?);
        let key = (name.clone(), version.clone());
        if !wanted.contains(&key) {
            continue;
        }
        let targets = list(&package["targets"]);
        if targets
            .iter()
            .any(|target| list(&target["kind"]).contains(&"proc-macro".into()))
        {
            macros.insert(id.clone());
        }
        let authors = list(&package["authors"]);
        by_id.insert(
            id,
            Package {
                name,
                version,
                licence: word("license"),
                description: word("description"),
                authors: authors
                    .iter()
                    .filter_map(|author| Some(author.as_str()?.to_owned()))
                    .collect(),
                repository: word("repository"),
                folder: manifest.parent().unwrap_or(root).to_owned(),
                checksum: checksums.get(&key).cloned(),
                linked: false,
                uses: BTreeSet::new(),
            },
        );
    }
    let links = connect(&metadata, &mut by_id, &macros);
    mark_linked(&mut by_id, &links, &macros);
    let mut packages: Vec<Package> = by_id.into_values().collect();
    packages.sort_by_key(Package::key);
    if packages.len() != wanted.len() {
        return Err(format!(
            "cargo tree tells of {} packages, cargo metadata of {}",
            wanted.len(),
            packages.len()
        ));
    }
    Ok(packages)
}

/// Fills in what each package uses; the answer says what is linked to what.
fn connect(
    metadata: &Value,
    by_id: &mut BTreeMap<String, Package>,
    macros: &BTreeSet<String>,
) -> BTreeMap<String, Vec<String>> {
    let mut links: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for node in metadata["resolve"]["nodes"].as_array().into_iter().flatten() {
        let Some(id) = node["id"].as_str().filter(|id| by_id.contains_key(*id)) else {
            continue;
        };
        for used in node["deps"].as_array().into_iter().flatten() {
            let Some(target) = used["pkg"].as_str() else {
                continue;
            };
            let Some(key) = by_id.get(target).map(Package::key) else {
                continue;
            };
            let kinds = used["dep_kinds"].as_array().cloned().unwrap_or_default();
            let kind = |wanted: &Value| kinds.iter().any(|kind| kind["kind"] == *wanted);
            if !kind(&Value::Null) && !kind(&"build".into()) {
                continue;
            }
            if kind(&Value::Null) && !macros.contains(target) {
                links.entry(id.to_owned()).or_default().push(target.to_owned());
            }
            if let Some(package) = by_id.get_mut(id) {
                package.uses.insert(key);
            }
        }
    }
    links
}

fn mark_linked(
    by_id: &mut BTreeMap<String, Package>,
    links: &BTreeMap<String, Vec<String>>,
    macros: &BTreeSet<String>,
) {
    let start = by_id.iter().find(|(_, package)| package.name == "tidewall");
    let mut open: Vec<String> = start.map(|(id, _)| id.clone()).into_iter().collect();
    while let Some(id) = open.pop() {
        let Some(package) = by_id.get_mut(&id).filter(|_| !macros.contains(&id)) else {
            continue;
        };
        if !std::mem::replace(&mut package.linked, true) {
            open.extend(links.get(&id).into_iter().flatten().cloned());
        }
    }
}
