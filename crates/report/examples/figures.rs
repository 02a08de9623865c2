//! Writes every figure of the studies named on the command line into a folder, beside a page that shows them all:
//! `cargo run -p tidewall-report --example figures -- FOLDER STUDY.toml …`

use std::error::Error;
use std::fs;
use std::path::Path;

use tidewall_assess::assess;
use tidewall_assess::traces::traces;
use tidewall_report::figures;
use tidewall_study::read;
use tidewall_transient::Options;

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let folder = arguments.next().ok_or("usage: figures FOLDER STUDY.toml …")?;
    let options = Options::default();
    let mut page = String::from("<!doctype html><meta charset=\"utf-8\"><title>Figures</title>\n");
    for path in arguments {
        let study = read(Path::new(&path))?;
        let assessment = assess(&study, &options, &|_, _| {});
        let traces = traces(&study, &assessment, &options);
        let stem = Path::new(&path)
            .file_stem()
            .map_or("study".into(), |stem| stem.to_string_lossy());
        for figure in figures::all(&study, &assessment, &traces) {
            let name = format!("{stem}-{}", figure.id);
            fs::create_dir_all(&folder)?;
            fs::write(Path::new(&folder).join(format!("{name}.svg")), &figure.svg)?;
            fs::write(Path::new(&folder).join(format!("{name}.csv")), figure.data.csv())?;
            fs::write(Path::new(&folder).join(format!("{name}.txt")), &figure.alt)?;
            page.push_str(&format!("<h2>{name}</h2>\n{}\n", figure.svg));
        }
    }
    fs::write(Path::new(&folder).join("index.html"), page)?;
    Ok(())
}
