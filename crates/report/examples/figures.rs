//! Writes the figures of the demo and of some invented measurements into a folder, beside a page that shows them all:
//! `cargo run -p tidewall-report --example figures -- FOLDER`

#[path = "../tests/figures/samples.rs"]
mod samples;

use std::error::Error;
use std::fs;
use std::path::Path;

use tidewall_plot::Figure;
use tidewall_report::figures;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("usage: figures FOLDER")?;
    fs::create_dir_all(&folder)?;
    let mut page = String::from("<!doctype html><meta charset=\"utf-8\"><title>Figures</title>\n");
    let mut write = |group: &str, list: &[Figure]| -> Result<(), Box<dyn Error>> {
        for figure in list {
            let name = format!("{group}-{}", figure.id);
            fs::write(Path::new(&folder).join(format!("{name}.svg")), &figure.svg)?;
            fs::write(Path::new(&folder).join(format!("{name}.csv")), figure.data.csv())?;
            fs::write(Path::new(&folder).join(format!("{name}.txt")), &figure.alt)?;
            page.push_str(&format!("<h2>{name}</h2>\n{}\n", figure.svg));
        }
        Ok(())
    };
    let fits = samples::fits();
    for (fit, name) in fits.iter().zip(["varistor", "flat-clamp", "snapback"]) {
        write(name, &[figures::fit(fit)])?;
    }
    write("level-sensor", &[samples::correlation()])?;
    write("inlet", &samples::comparison())?;
    write("inlet", &samples::drawn())?;
    for name in samples::STUDIES {
        let study = samples::study(name);
        let (assessment, traces) = samples::assessed(&study, &|_| true);
        write(name, &figures::all(&study, &assessment, &traces))?;
    }
    fs::write(Path::new(&folder).join("index.html"), page)?;
    Ok(())
}
