//! Where candidates come from.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use tidewall_devices::datasheet::{Datasheet, Family};
use tidewall_parts::{PartRecord, wire};
use tidewall_study::parts::FAMILIES;
use tidewall_study::{FolderLoader, Study};

use crate::failure::Failure;
use crate::library::Shelf;
use crate::names::nearest;

/// Which parts are candidates; an empty list asks for nothing in particular.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sources {
    /// Where parts come from: `study`, `library`, `generic` or the name of a parts file.
    pub from: Vec<String>,
    /// Only parts of these families.
    pub families: Vec<String>,
    /// Only parts of these names.
    pub only: Vec<String>,
}

/// Sources when none is named: the study's own parts first, then the library.
const USUAL: [&str; 2] = ["study", "library"];

/// The names of the sources asked for.
fn sources(args: &Sources) -> Vec<&str> {
    let named: Vec<&str> = args.from.iter().map(String::as_str).collect();
    if named.is_empty() { USUAL.to_vec() } else { named }
}

/// Every part of the sources, in the order of their names.
///
/// Of two parts of one name that of the earlier source counts, as in a ladder; two that are named on purpose must not
/// contradict each other.
pub fn gather(study: &Study, args: &Sources, shelf: &Shelf) -> Result<Vec<Arc<Datasheet>>, Failure> {
    let mut parts: BTreeMap<String, Datasheet> = BTreeMap::new();
    for source in sources(args) {
        for part in from(study, source, shelf)? {
            let name = part.name.to_string();
            match parts.get(&name) {
                Some(other) if !args.from.is_empty() && *other != part => {
                    return Err(Failure::usage(
                        format!(
                            "the part `{name}` is described in two ways, by {} and by {}",
                            other.source, part.source
                        ),
                        "name the sources one at a time, or rename one of the two",
                    ));
                }
                Some(_) => {}
                None => {
                    parts.insert(name, part);
                }
            }
        }
    }
    Ok(parts.into_values().map(Arc::new).collect())
}

/// Those of the parts that the arguments let through: of the families asked for, and of the names.
pub fn choose(parts: &[Arc<Datasheet>], args: &Sources) -> Result<Vec<Arc<Datasheet>>, Failure> {
    let words = args.families.iter();
    let families = words.map(|word| family(word)).collect::<Result<Vec<_>, _>>()?;
    if let Some(missing) = args
        .only
        .iter()
        .find(|name| !parts.iter().any(|part| *part.name == ***name))
    {
        let hint = nearest(missing, parts.iter().map(|part| &*part.name));
        return Err(Failure::usage(
            format!("there is no part `{missing}` in {}", sources(args).join(", ")),
            hint.unwrap_or_else(|| "--from names where parts are looked for".to_owned()),
        ));
    }
    Ok(parts
        .iter()
        .filter(|part| families.is_empty() || families.contains(&part.family))
        .filter(|part| args.only.is_empty() || args.only.iter().any(|name| *name == *part.name))
        .cloned()
        .collect())
}

/// The parts of these names, in their order.
pub fn named(all: &[Arc<Datasheet>], names: &[String]) -> Result<Vec<Arc<Datasheet>>, Failure> {
    let find = |name: &String| {
        let found = all.iter().find(|part| *part.name == **name).cloned();
        found.ok_or_else(|| {
            let near = nearest(name, all.iter().map(|part| &*part.name));
            Failure::usage(
                format!("there is no part `{name}` among the candidates"),
                near.unwrap_or_else(|| {
                    "parts are looked for in the study, the library, and the generic classes where these are asked for".to_owned()
                }),
            )
        })
    };
    names.iter().map(find).collect()
}

/// The family of a word.
pub fn family(word: &str) -> Result<Family, Failure> {
    wire::family(word).ok_or_else(|| {
        let words = FAMILIES.iter().map(|(word, _)| *word);
        let hint = nearest(word, words.clone())
            .unwrap_or_else(|| format!("families are: {}", words.collect::<Vec<_>>().join(", ")));
        Failure::usage(format!("there is no family `{word}`"), hint)
    })
}

fn from(study: &Study, source: &str, shelf: &Shelf) -> Result<Vec<Datasheet>, Failure> {
    match source {
        "study" => return Ok(study.parts.values().cloned().collect()),
        "library" => return shelf.datasheets(),
        "generic" => {
            let classes = tidewall_parts::generic::all();
            return Ok(classes.iter().map(PartRecord::datasheet).collect());
        }
        _ => {}
    }
    let path = Path::new(source);
    let unreadable = |error: std::io::Error| {
        Failure::usage(
            format!("{source} cannot be read: {}", error.kind()),
            "--from takes study, library, generic or the name of a parts file",
        )
    };
    let text = std::fs::read_to_string(path).map_err(unreadable)?;
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let loader = FolderLoader::new(folder.unwrap_or(Path::new(".")));
    let entries = tidewall_study::read_parts(source, &text, &loader)?;
    Ok(entries.into_iter().map(|entry| entry.datasheet).collect())
}
