//! The demo, within the program.

use std::path::Path;

use tempfile::TempDir;
use tidewall_desk::failure::Failure;

/// Its files.
const FILES: &[(&str, &[u8])] = &[
    (
        "camera-poe.toml",
        include_bytes!("../../../demo/river-gauge/camera-poe.toml"),
    ),
    (
        "heater-24vac.toml",
        include_bytes!("../../../demo/river-gauge/heater-24vac.toml"),
    ),
    (
        "level-sensor-io-link.toml",
        include_bytes!("../../../demo/river-gauge/level-sensor-io-link.toml"),
    ),
    (
        "parts.toml",
        include_bytes!("../../../demo/river-gauge/parts.toml"),
    ),
    (
        "service-usb-c.toml",
        include_bytes!("../../../demo/river-gauge/service-usb-c.toml"),
    ),
    (
        "sonde-rs485.toml",
        include_bytes!("../../../demo/river-gauge/sonde-rs485.toml"),
    ),
    (
        "supply-24v-avalanche.toml",
        include_bytes!("../../../demo/river-gauge/supply-24v-avalanche.toml"),
    ),
    (
        "supply-24v.toml",
        include_bytes!("../../../demo/river-gauge/supply-24v.toml"),
    ),
    (
        "measured/level-sensor-esd.csv",
        include_bytes!("../../../demo/river-gauge/measured/level-sensor-esd.csv"),
    ),
];

/// A copy of the demo in a new temporary folder, which goes when the value does.
///
/// # Errors
/// Where it cannot be written.
pub fn copy() -> Result<TempDir, Failure> {
    let failed = |error: std::io::Error| {
        Failure::output(
            "the copy of the demo",
            format!("cannot be written: {}", error.kind()),
            "name a folder of your own: tidewall open FOLDER",
        )
    };
    let folder = tempfile::Builder::new()
        .prefix("tidewall-demo-")
        .tempdir()
        .map_err(failed)?;
    for (name, bytes) in FILES {
        let path = folder.path().join(name);
        std::fs::create_dir_all(tidewall_study::folder_of(&path)).map_err(failed)?;
        std::fs::write(path, bytes).map_err(failed)?;
    }
    Ok(folder)
}

/// Copies the demo's files as they are in one folder into another, new studies included.
///
/// # Errors
/// Where they cannot be read or written; what was copied by then stays.
pub fn copy_to(from: &Path, to: &Path) -> Result<(), Failure> {
    let failed = |error: std::io::Error| {
        Failure::output(
            to.display().to_string(),
            format!("the demo cannot be copied there: {}", error.kind()),
            "make room, or choose another place",
        )
    };
    for entry in std::fs::read_dir(from).map_err(failed)? {
        let entry = entry.map_err(failed)?;
        let (source, target) = (entry.path(), to.join(entry.file_name()));
        let kind = entry.file_type().map_err(failed)?;
        if kind.is_dir() {
            std::fs::create_dir(&target).map_err(failed)?;
            copy_to(&source, &target)?;
        } else if kind.is_file() {
            std::fs::copy(&source, &target).map_err(failed)?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_copy_has_every_study_of_the_demo_and_what_it_names() {
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/river-gauge");
        for entry in std::fs::read_dir(demo).expect("the demo").flatten() {
            let name = entry.file_name().to_string_lossy().into_owned();
            let known = FILES.iter().find(|(own, _)| *own == name);
            if entry.path().is_file() && name.ends_with(".toml") {
                let (_, bytes) = known.unwrap_or_else(|| panic!("{name} is not in the program"));
                assert_eq!(*bytes, std::fs::read(entry.path()).expect("a file"), "{name}");
            }
        }
        let copied = copy().expect("a copy");
        let kept = tempfile::tempdir().expect("a folder");
        copy_to(copied.path(), kept.path()).expect("kept");
        for (name, bytes) in FILES {
            assert_eq!(
                std::fs::read(kept.path().join(name)).expect("a file"),
                *bytes,
                "{name}"
            );
        }
    }
}
