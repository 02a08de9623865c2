//! The notices of copyright that go with the program: every licence text of what is linked into it.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::Path;

use super::licence::taken;
use super::{Package, packages};

/// Beginnings of the names of licence files.
const FILES: &[&str] = &[
    "license",
    "licence",
    "copying",
    "copyright",
    "unlicense",
    "notice",
];

/// Words in the name of a licence file that say which licence it holds.
const WORDS: &[(&str, &str)] = &[
    ("mit", "MIT"),
    ("apache", "Apache"),
    ("zlib", "Zlib"),
    ("bsd", "BSD"),
    ("0bsd", "0BSD"),
    ("boost", "BSL"),
    ("bsl", "BSL"),
    ("cc0", "CC0"),
    ("unlicense", "Unlicense"),
    ("unicode", "Unicode"),
    ("llvm", "LLVM"),
];

/// The notices as one text: each licence text once, below the packages that come under it.
///
/// # Errors
/// A package whose licence is unknown or not allowed, or whose files cannot be read.
pub fn notices(root: &Path) -> Result<String, String> {
    let mut texts: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for package in packages(root)?
        .iter()
        .filter(|package| package.linked && !package.is_own())
    {
        for text in texts_of(package)? {
            texts
                .entry(text)
                .or_default()
                .push(format!("{} {}", package.name, package.version));
        }
    }
    let mut blocks: Vec<(Vec<String>, String)> =
        texts.into_iter().map(|(text, names)| (names, text)).collect();
    blocks.sort();
    let mut out = String::from(
        "Tidewall is made with the packages below, each under the licence that follows its name.\n\
         Where its makers leave a choice of licences, the one printed here is taken.\n",
    );
    for (names, text) in blocks {
        let _ = write!(out, "\n{}\n{}\n\n{text}\n", "=".repeat(80), names.join("\n"));
    }
    Ok(out)
}

fn texts_of(package: &Package) -> Result<Vec<String>, String> {
    let fault = |text: String| format!("{} {}: {text}", package.name, package.version);
    let expression = package
        .licence
        .as_deref()
        .ok_or_else(|| fault("no licence is stated".to_owned()))?;
    let wanted = taken(expression).map_err(fault)?;
    let wanted: Vec<String> = wanted.iter().map(ToString::to_string).collect();
    let entries = std::fs::read_dir(&package.folder).map_err(|error| fault(error.to_string()))?;
    let mut names: Vec<String> = entries
        .flatten()
        .filter(|entry| entry.path().is_file())
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    let mut found = Vec::new();
    for name in names {
        let lower = name.to_lowercase();
        if !FILES.iter().any(|start| lower.starts_with(start)) || lower.ends_with(".rs") {
            continue;
        }
        let said: Vec<&str> = WORDS
            .iter()
            .filter(|(word, _)| lower.contains(word))
            .map(|(_, id)| *id)
            .collect();
        let fits = said
            .iter()
            .any(|id| wanted.iter().any(|licence| licence.contains(id)));
        if said.is_empty() || fits {
            let bytes =
                std::fs::read(package.folder.join(&name)).map_err(|error| fault(error.to_string()))?;
            let text = String::from_utf8_lossy(&bytes);
            let lines: Vec<&str> = text.lines().map(str::trim_end).collect();
            found.push(lines.join("\n").trim_matches('\n').to_owned());
        }
    }
    if found.is_empty() {
        found = standard(package, expression)?;
    }
    Ok(found)
}

/// A package that brings no text comes with the standard one, below what it says of its makers.
fn standard(package: &Package, expression: &str) -> Result<Vec<String>, String> {
    let makers = match package.authors.as_slice() {
        [] => format!("The makers of {}", package.name),
        authors => authors.join(", "),
    };
    let texts = taken(expression)?.into_iter().map(|licence| {
        let id = licence
            .license
            .id()
            .ok_or_else(|| format!("{licence} has no standard text"))?;
        Ok(format!(
            "Copyright: {makers} (the package holds no text of its own)\n\n{}",
            id.text().trim()
        ))
    });
    texts.collect()
}
