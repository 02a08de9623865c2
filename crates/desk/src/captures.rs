//! Measured captures: which column is what, and where they lie.

use std::fs;
use std::path::Path;

use tidewall_extract::readers::UnitKind;
use tidewall_extract::readers::capture::Capture;
use tidewall_extract::waves::{Treated, Treatment, Wave, treat};

use crate::failure::Failure;
use crate::folder::Folder;

/// How deep captures are looked for below a folder.
const DEEPEST: usize = 4;
/// How many are listed.
const MOST: usize = 500;

/// How columns are asked for: the names in the capture, and where somebody can name them.
#[derive(Clone, Copy, Debug)]
pub struct Columns<'a> {
    /// Column of the voltage; the only one in volts unless given.
    pub voltage: Option<&'a str>,
    /// Column of the current; the only one in amperes unless given.
    pub current: Option<&'a str>,
    /// What the place for the voltage's name is called.
    pub voltage_asked: &'a str,
    /// What the place for the current's name is called.
    pub current_asked: &'a str,
}

/// The columns of voltage and current.
///
/// # Errors
/// A name that is not there, or columns that do not say which is which.
pub fn columns(
    capture: &Capture,
    asked: &Columns<'_>,
    file: &str,
) -> Result<(usize, Option<usize>), Failure> {
    let names = || {
        let names: Vec<String> = capture.channels.iter().map(|c| format!("`{}`", c.name)).collect();
        format!("the columns are {}", names.join(", "))
    };
    let named = |name: &str| {
        capture
            .channel(name)
            .ok_or_else(|| Failure::capture(file, format!("there is no column `{name}`"), names()))
    };
    let of_kind = |kind: UnitKind| -> Vec<usize> {
        (0..capture.channels.len())
            .filter(|k| capture.channels[*k].kind == Some(kind))
            .collect()
    };
    let voltage = match asked.voltage {
        Some(name) => named(name)?,
        None => match of_kind(UnitKind::Voltage)[..] {
            [one] => one,
            [] if capture.channels.len() == 1 => 0,
            _ => {
                let message = "which column is the voltage is not clear";
                let hint = format!("name it with {}; {}", asked.voltage_asked, names());
                return Err(Failure::capture(file, message, hint));
            }
        },
    };
    let current = match asked.current {
        Some(name) => Some(named(name)?),
        None => match of_kind(UnitKind::Current)[..] {
            [one] => Some(one),
            [] => None,
            _ => {
                let message = "which column is the current is not clear";
                let hint = format!("name it with {}; {}", asked.current_asked, names());
                return Err(Failure::capture(file, message, hint));
            }
        },
    };
    if current == Some(voltage) {
        let message = "one column cannot be both voltage and current";
        return Err(Failure::capture(file, message, names()));
    }
    Ok((voltage, current))
}

/// The waves of these columns, treated.
pub fn waves(capture: &Capture, voltage: usize, current: Option<usize>, treatment: &Treatment) -> Treated {
    let wave = |k: usize| Wave {
        times_s: capture.times_s.clone(),
        values: capture.channels[k].values.clone(),
    };
    treat(&wave(voltage), current.map(wave).as_ref(), treatment)
}

/// Names of the CSV files in a folder and below, in order. Not all of them are captures.
pub fn list(folder: &Folder) -> Vec<String> {
    let mut names = Vec::new();
    walk(folder, folder.root(), "", DEEPEST, &mut names);
    names.sort();
    names
}

fn walk(folder: &Folder, path: &Path, prefix: &str, depth: usize, names: &mut Vec<String>) {
    let Ok(entries) = fs::read_dir(path) else { return };
    let mut own: Vec<String> = entries
        .flatten()
        .filter_map(|entry| entry.file_name().into_string().ok())
        .filter(|name| !name.starts_with('.') && name != "node_modules" && name != "target")
        .collect();
    own.sort();
    for own in own {
        let path = path.join(&own);
        let name = format!("{prefix}{own}");
        // Linked folders are not entered, or a link upwards would have no end.
        match fs::symlink_metadata(&path) {
            Ok(about) if about.is_dir() && depth > 0 => {
                walk(folder, &path, &format!("{name}/"), depth - 1, names);
            }
            Ok(about)
                if !about.is_dir()
                    && own.to_lowercase().ends_with(".csv")
                    && names.len() < MOST
                    && folder.file(&name).is_ok() =>
            {
                names.push(name);
            }
            _ => {}
        }
    }
}
