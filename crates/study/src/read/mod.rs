//! From the text of a study to a [`Study`].

mod ibis;
mod ladder;
mod pin;
mod port;
pub(crate) mod stress;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use tidewall_units::{Celsius, Ohms, Ratio};

use crate::error::StudyError;
use crate::files::Files;
use crate::loader::{FolderLoader, LARGEST_FILE, LoadError, Loader, explain, load_error, load_path};
use crate::model::{AssessOptions, Stage, StressCase, Study};
use crate::parts::{self, PartEntry};
use crate::profile;
use tidewall_units::clip;

use crate::source::Source;
use crate::table::{Item, Section, parse_document};

const KEYS: &[&str] = &[
    "title", "margin", "parts", "part", "port", "stress", "ladder", "pin", "board", "assess",
];

/// The parts file that is used when a study names none.
const DEFAULT_PARTS: &str = "parts.toml";

/// What an entry calls the place of a part that stands in no file.
const LIBRARY: &str = "parts library";

/// Margin when the study gives none.
const DEFAULT_MARGIN: f64 = 0.1;

/// Reads a study from a file. Files it refers to are looked for in its folder.
///
/// # Errors
/// [`StudyError`], exactly one: the first fault found.
pub fn read(path: &Path) -> Result<Study, StudyError> {
    read_with(path, &FolderLoader::new(folder_of(path)))
}

/// Reads a study from a file. `loader` gives the files it refers to.
///
/// # Errors
/// [`StudyError`], exactly one: the first fault found.
pub fn read_with(path: &Path, loader: &dyn Loader) -> Result<Study, StudyError> {
    read_source(&load_source(path)?, loader)
}

/// The folder a file stands in.
pub fn folder_of(path: &Path) -> &Path {
    path.parent()
        .filter(|folder| !folder.as_os_str().is_empty())
        .unwrap_or(Path::new("."))
}

fn load_source(path: &Path) -> Result<Source, StudyError> {
    let name = path.display().to_string();
    let bytes = load_path(path).map_err(|error| {
        let mut report = load_error(&name, &error);
        if error == LoadError::Missing {
            "check the path, and upper and lower case".clone_into(&mut report.hint);
        }
        report
    })?;
    Source::from_bytes(&name, bytes)
}

/// Reads a study from a text. `name` is what errors call it; `loader` gives the files it refers to.
///
/// # Errors
/// [`StudyError`], exactly one: the first fault found.
pub fn read_text(name: &str, text: &str, loader: &dyn Loader) -> Result<Study, StudyError> {
    if text.len() as u64 > LARGEST_FILE {
        return Err(load_error(name, &LoadError::TooLarge(Some(text.len() as u64))));
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    read_source(
        &Source {
            name: name.to_owned(),
            text: text.to_owned(),
        },
        loader,
    )
}

/// Reads a parts file. Files it refers to are looked for in its folder.
///
/// # Errors
/// [`StudyError`], exactly one: the first fault found.
pub fn read_parts_file(path: &Path) -> Result<Vec<PartEntry>, StudyError> {
    let source = load_source(path)?;
    read_parts(&source.name, &source.text, &FolderLoader::new(folder_of(path)))
}

/// Reads a parts file from a text.
///
/// # Errors
/// [`StudyError`], exactly one: the first fault found.
pub fn read_parts(name: &str, text: &str, loader: &dyn Loader) -> Result<Vec<PartEntry>, StudyError> {
    if text.len() as u64 > LARGEST_FILE {
        return Err(load_error(name, &LoadError::TooLarge(Some(text.len() as u64))));
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let source = Source {
        name: name.to_owned(),
        text: text.to_owned(),
    };
    let mut library = Gathered::default();
    library.add(parts::read_file(&source, &mut Files::new(loader))?, &source)?;
    Ok(library.parts.into_values().collect())
}

/// Parts of several files, by name.
#[derive(Default)]
struct Gathered {
    parts: BTreeMap<String, PartEntry>,
    files: Vec<String>,
}

impl Gathered {
    fn add(&mut self, entries: Vec<PartEntry>, source: &Source) -> Result<(), StudyError> {
        for entry in entries {
            let name = entry.datasheet.name.to_string();
            if let Some(other) = self.parts.get(&name) {
                // The heading's line is where the second of the two begins.
                let start = source
                    .text
                    .split_inclusive('\n')
                    .take(entry.line.saturating_sub(1))
                    .map(str::len)
                    .sum();
                let length = source.text[start..].lines().next().unwrap_or_default().len();
                return Err(source.error(
                    start..start + length,
                    format!(
                        "the part `{}` is described twice, before in {}:{}",
                        clip(&name),
                        other.file,
                        other.line
                    ),
                    "a name of its own for each part",
                    "remove or rename one of the two",
                ));
            }
            self.parts.insert(name, entry);
        }
        self.files.push(source.name.clone());
        Ok(())
    }
}

fn read_source(source: &Source, loader: &dyn Loader) -> Result<Study, StudyError> {
    let document = parse_document(source)?;
    let top = Section::new(source, document.get_ref(), 0..0, "", KEYS)?;
    let mut files = Files::new(loader);
    let mut assumptions = Vec::new();
    let title = top
        .require("title", "begin the file with title = \"…\"")?
        .name()?
        .to_owned();
    let margin = margin(&top, &mut assumptions)?;
    let port = port::read(
        &top.require("port", "describe the port under [port]")?,
        &mut assumptions,
    )?;
    let stresses = stresses(&top, &port, &mut files, &mut assumptions)?;
    let mut library = gather(&top, &mut files)?;
    let entries = top.list("ladder")?;
    let library_parts = gather_named(&entries, &mut library, &mut files)?;
    if entries.is_empty() {
        let place = top.get("ladder");
        let (message, expected) = (
            "the ladder is empty",
            "at least one [[ladder]] entry with `series` or `shunt`",
        );
        let hint = "list the elements from the connector inwards, each under its own [[ladder]]";
        return Err(match place {
            Some(item) => item.error(message, expected, hint),
            None => top.error(message, expected, hint),
        });
    }
    let ladder = ladder::read(
        &entries,
        port.lines,
        &ladder::Library {
            parts: &library.parts,
            files: &library.files,
            library: files.library(),
        },
    )?;
    if ladder.iter().all(|stage| matches!(stage, Stage::Series(_))) {
        assumptions.push("the ladder has no shunt protector".to_owned());
    }
    for item in &entries {
        let section = item.table(ladder::KEYS)?;
        if let (Some(part), None) = (
            section.get("shunt").and_then(|shunt| shunt.as_text()),
            section.get("lead"),
        ) {
            assumptions.push(format!(
                "{part}: no `lead` is given; only the inductance of its package counts, which is less than any board has"
            ));
        }
    }
    let pin = pin::read(
        &top.require("pin", "describe the protected circuit under [pin]")?,
        port.lines,
        &mut files,
        &mut assumptions,
    )?;
    let board_impedance_ohm = top
        .optional("board", |item| {
            item.table(&["impedance"])?
                .optional("impedance", Item::positive::<Ohms>)
        })?
        .flatten();
    Ok(Study {
        title,
        digest: files.digest(&source.text),
        path: source.name.clone(),
        port,
        stresses,
        ladder,
        pin,
        margin,
        board_impedance_ohm,
        parts: library
            .parts
            .into_iter()
            .map(|(name, entry)| (name, entry.datasheet))
            .collect(),
        library_parts,
        assumptions,
        assess: assess(&top)?,
    })
}

fn margin(top: &Section<'_>, assumptions: &mut Vec<String>) -> Result<f64, StudyError> {
    let Some(item) = top.get("margin") else {
        assumptions.push(format!("margin = {} (default)", Ratio(DEFAULT_MARGIN)));
        return Ok(DEFAULT_MARGIN);
    };
    let margin = item.not_negative::<Ratio>()?;
    if margin < 1.0 {
        return Ok(margin);
    }
    Err(item.error(
        "`margin` is 100 % or more",
        "a share from 0 % to below 100 %",
        "10 % is usual",
    ))
}

fn stresses(
    top: &Section<'_>,
    port: &crate::model::Port,
    files: &mut Files<'_>,
    assumptions: &mut Vec<String>,
) -> Result<Vec<StressCase>, StudyError> {
    let mut cases: Vec<StressCase> = Vec::new();
    for item in top.list("stress")? {
        let case = stress::read(&item, port.lines, port.kind, files, assumptions)?;
        if let Some(other) = cases.iter().find(|other| other.id == case.id) {
            let place = item
                .table(stress::STRESS_KEYS)?
                .get("id")
                .unwrap_or_else(|| item.clone());
            return Err(place.error(
                format!(
                    "the id `{}` is taken by the stress in line {}",
                    clip(&case.id),
                    other.line
                ),
                "an id of its own for each stress",
                "",
            ));
        }
        cases.push(case);
    }
    if !cases.is_empty() {
        return Ok(cases);
    }
    let usual = port.profile.as_deref().and_then(profile::profile).map(|profile| {
        let standards = profile
            .stresses
            .iter()
            .flat_map(|stress| stress.value.keys.iter());
        let mut names: Vec<&str> = standards
            .filter(|(key, _)| key == "standard")
            .map(|(_, value)| value.as_str())
            .collect();
        names.dedup();
        format!("usual for this port: {}", names.join(", "))
    });
    let hint = usual.unwrap_or_else(|| "add at least one [[stress]] with id, standard and level".to_owned());
    let place = top.get("stress");
    let (message, expected) = ("the study has no stress", "at least one [[stress]] entry");
    Err(match place {
        Some(item) => item.error(message, expected, hint),
        None => top.error(message, expected, hint),
    })
}

/// The parts of the study itself and of its parts files.
fn gather(top: &Section<'_>, files: &mut Files<'_>) -> Result<Gathered, StudyError> {
    let mut library = Gathered::default();
    let own = parts::read_entries(&top.list("part")?, files)?;
    if !own.is_empty() {
        library.add(own, top.source)?;
    }
    if let Some(list) = top.get("parts") {
        for item in list.list()? {
            let source = files.text(&item)?;
            if library.files.contains(&source.name) {
                return Err(item.error("the parts file is named twice", "each file once", ""));
            }
            library.add(parts::read_file(&source, files)?, &source)?;
        }
        return Ok(library);
    }
    match files.named(DEFAULT_PARTS) {
        Ok(source) => {
            let source = source?;
            library.add(parts::read_file(&source, files)?, &source)?;
        }
        Err(LoadError::Missing) => {}
        Err(error) => {
            let (message, expected, hint) = explain(DEFAULT_PARTS, &error);
            return Err(top.error(message, expected, hint));
        }
    }
    Ok(library)
}

/// Adds the parts of the ladder that no parts file describes and the parts library knows; their names.
fn gather_named(
    entries: &[Item<'_>],
    library: &mut Gathered,
    files: &mut Files<'_>,
) -> Result<BTreeSet<String>, StudyError> {
    let mut names = BTreeSet::new();
    for entry in entries {
        let stage = entry.table(ladder::KEYS)?;
        for item in ["series", "shunt"].into_iter().filter_map(|key| stage.get(key)) {
            let Some(name) = item.as_text() else { continue };
            if library.parts.contains_key(name) {
                continue;
            }
            if let Some(part) = files.library_part(&item)? {
                names.insert(name.to_owned());
                let entry = PartEntry {
                    datasheet: part.datasheet,
                    file: LIBRARY.to_owned(),
                    line: 0,
                };
                library.parts.insert(name.to_owned(), entry);
            }
        }
    }
    Ok(names)
}

fn assess(top: &Section<'_>) -> Result<AssessOptions, StudyError> {
    let Some(item) = top.get("assess") else {
        return Ok(AssessOptions::default());
    };
    let section = item.table(&["ambients"])?;
    let ambients = section.list("ambients")?;
    let extra_ambients_c = ambients
        .iter()
        .map(Item::quantity::<Celsius>)
        .collect::<Result<_, _>>()?;
    Ok(AssessOptions { extra_ambients_c })
}
