//! The demo, within the program.

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
