//! An opened folder: the studies in it, and nothing outside it.

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Component, Path, PathBuf};

use crate::failure::Failure;

/// How deep below the folder studies are looked for.
const DEEPEST: usize = 4;
/// How many studies are listed at most.
const MOST: usize = 2000;
/// How much of a file is read to know a study by its `[port]` table: a study is a few kilobytes.
const BEGINNING: u64 = 1 << 16;

/// Whether a file has a `[port]` table, by which a study is told from a parts file.
///
/// # Errors
/// Those of opening and reading it.
pub fn has_port_table(file: &Path) -> io::Result<bool> {
    let mut bytes = Vec::new();
    File::open(file)?.take(BEGINNING).read_to_end(&mut bytes)?;
    Ok(String::from_utf8_lossy(&bytes)
        .lines()
        .any(|line| line.trim_start().starts_with("[port]")))
}

/// A folder that was opened. Names are relative to it, with `/` between folders; no name reaches what lies outside, be
/// it by `..`, from the root or through a symbolic link, or what is hidden by a dot.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Folder {
    root: PathBuf,
}

/// What a folder has in it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Listing {
    /// Names of the studies, in order.
    pub studies: Vec<String>,
    /// Studies were left out because there are more than are listed.
    pub cut: bool,
    /// Folders that could not be read, and why.
    pub unreadable: Vec<(String, String)>,
}

impl Folder {
    /// Opens a folder.
    ///
    /// # Errors
    /// Where there is no such folder.
    pub fn open(path: &Path) -> Result<Folder, Failure> {
        let shown = path.display();
        let root = fs::canonicalize(path).map_err(|error| {
            Failure::usage(
                format!("the folder `{shown}` cannot be opened: {}", error.kind()),
                "name a folder that has studies in it",
            )
        })?;
        if !root.is_dir() {
            return Err(Failure::usage(
                format!("`{shown}` is not a folder"),
                "name the folder that the study is in",
            ));
        }
        Ok(Folder { root })
    }

    /// The folder itself, without links and dots.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// The existing file of that name.
    ///
    /// # Errors
    /// For a name that leads out of the folder, or to no file.
    pub fn file(&self, name: &str) -> Result<PathBuf, Failure> {
        let path = self.root.join(inside(name)?);
        let real = fs::canonicalize(&path).map_err(|error| match error.kind() {
            io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => missing(name),
            kind => Failure::usage(
                format!("`{name}` cannot be read: {kind}"),
                "check its permissions",
            ),
        })?;
        if !self.holds(&real) {
            return Err(Failure::usage(
                format!("`{name}` is a link that leads out of the folder"),
                "copy the file into the folder, or open the folder it is in",
            ));
        }
        if real.is_file() {
            Ok(real)
        } else {
            Err(missing(name))
        }
    }

    /// The place of a file of that name that may not be there yet; its folder must be.
    ///
    /// # Errors
    /// For a name that leads out of the folder, or into no folder.
    pub fn place(&self, name: &str) -> Result<PathBuf, Failure> {
        let relative = inside(name)?;
        let (Some(parent), Some(last)) = (relative.parent(), relative.file_name()) else {
            return Err(missing(name));
        };
        let real = fs::canonicalize(self.root.join(parent)).map_err(|_| {
            Failure::usage(
                format!("there is no folder for `{name}`"),
                "make the folder first",
            )
        })?;
        if !self.holds(&real) {
            return Err(Failure::usage(
                format!("`{name}` would be written outside the folder"),
                "choose a name without a link in it",
            ));
        }
        let path = real.join(last);
        // A link in this place could lead anywhere.
        match fs::symlink_metadata(&path) {
            Ok(about) if !about.is_file() => Err(Failure::usage(
                format!("`{name}` is there already and is not a plain file"),
                "choose another name",
            )),
            _ => Ok(path),
        }
    }

    /// Whether a path without links and dots lies in the folder and is not hidden there.
    pub fn holds(&self, real: &Path) -> bool {
        real.strip_prefix(&self.root).is_ok_and(|below| {
            below
                .components()
                .all(|part| !part.as_os_str().as_encoded_bytes().starts_with(b"."))
        })
    }

    /// Every study in the folder and, up to four levels, below.
    pub fn list(&self) -> Listing {
        let mut listing = Listing::default();
        self.walk(&self.root, "", DEEPEST, &mut listing);
        listing.studies.sort();
        listing
    }

    fn walk(&self, folder: &Path, prefix: &str, depth: usize, listing: &mut Listing) {
        let entries = match fs::read_dir(folder) {
            Ok(entries) => entries,
            Err(error) => {
                listing
                    .unreadable
                    .push((prefix.trim_end_matches('/').to_owned(), error.kind().to_string()));
                return;
            }
        };
        let mut names: Vec<String> = entries
            .flatten()
            .filter_map(|entry| entry.file_name().into_string().ok())
            .filter(|name| !name.starts_with('.') && name != "node_modules" && name != "target")
            .collect();
        names.sort();
        for own in names {
            let path = folder.join(&own);
            let Ok(about) = fs::symlink_metadata(&path) else {
                continue;
            };
            let name = format!("{prefix}{own}");
            // Linked folders are not entered, or a link upwards would have no end.
            if about.is_dir() {
                if depth > 0 {
                    self.walk(&path, &format!("{name}/"), depth - 1, listing);
                }
            } else if own.ends_with(".toml")
                && self
                    .file(&name)
                    .is_ok_and(|file| has_port_table(&file).unwrap_or(false))
            {
                if listing.studies.len() == MOST {
                    listing.cut = true;
                    return;
                }
                listing.studies.push(name);
            }
        }
    }
}

/// A name as a relative path that stays inside.
fn inside(name: &str) -> Result<PathBuf, Failure> {
    let refused = |why: &str| {
        Err(Failure::usage(
            format!("`{name}` cannot be opened: {why}"),
            "name a file in the opened folder or below it",
        ))
    };
    if name.is_empty() {
        return refused("the name is empty");
    }
    if name.contains(['\0', '\\']) || name.as_bytes().get(1) == Some(&b':') {
        return refused("the name has a character that names of files here may not have");
    }
    let path = Path::new(name);
    for part in path.components() {
        match part {
            Component::Normal(part) if part.as_encoded_bytes().starts_with(b".") => {
                return refused("hidden files stay hidden");
            }
            Component::Normal(_) => {}
            _ => return refused("the name leads out of the folder"),
        }
    }
    Ok(path.to_owned())
}

fn missing(name: &str) -> Failure {
    Failure::usage(
        format!("there is no file `{name}` in the folder"),
        "it may have been renamed or removed; the list of studies shows what is there",
    )
}
