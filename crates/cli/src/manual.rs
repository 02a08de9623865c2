//! `tidewall manual`: pages for `man`, made from the same definition that the arguments are read by.

use std::io;
use std::path::Path;

use clap::CommandFactory;
use clap_mangen::Man;
use clap_mangen::roff::{Roff, bold, roman};
use schemars::JsonSchema;
use serde::Serialize;
use tidewall_desk::names::nearest;

use crate::args::{Cli, Format, ManualArgs};
use crate::failure::Failure;
use crate::output::{self, Existing, Target};
use crate::status::Status;

/// A longer line that ends in a colon is a sentence.
const LONGEST_HEADING: usize = 40;

/// Output of `manual --into` as JSON.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ManualOutput {
    /// Version of this form.
    schema: &'static str,
    /// The files written.
    written: Vec<String>,
}

/// Prints one page, or writes all of them.
pub fn run(args: &ManualArgs, format: Format) -> Result<Status, Failure> {
    let program = program();
    match &args.into {
        Some(folder) => write_all(&program, folder, format)?,
        None => output::print(&page(find(&program, &args.command)?)?)?,
    }
    Ok(Status::Pass)
}

/// The definition, complete with what clap derives of it, and without the `help` commands, which need no page.
fn program() -> clap::Command {
    let mut program = Cli::command().disable_help_subcommand(true);
    program.build();
    program
}

fn find<'p>(program: &'p clap::Command, names: &[String]) -> Result<&'p clap::Command, Failure> {
    names.iter().try_fold(program, |parent, name| {
        parent.find_subcommand(name).ok_or_else(|| {
            let all: Vec<&str> = parent.get_subcommands().map(clap::Command::get_name).collect();
            let hint = nearest(name, all.iter().copied()).unwrap_or_else(|| match all[..] {
                [] => format!("{} has no commands of its own", full_name(parent, " ")),
                _ => format!("its commands are {}", all.join(", ")),
            });
            Failure::usage(
                format!("{} has no command `{name}`", full_name(parent, " ")),
                hint,
            )
        })
    })
}

fn write_all(program: &clap::Command, folder: &Path, format: Format) -> Result<(), Failure> {
    std::fs::create_dir_all(folder).map_err(|error| {
        let message = format!("the folder cannot be made: {}", error.kind());
        Failure::output(folder.display().to_string(), message, "name another folder")
    })?;
    let mut written = Vec::new();
    for command in all(program) {
        let file = folder.join(format!("{}.1", full_name(command, "-")));
        let text = page(command)?;
        Target::new(&file, Existing::Replace)?.write(|out| out.write_all(text.as_bytes()))?;
        written.push(file.display().to_string());
    }
    match format {
        Format::Json => output::print_json(&ManualOutput {
            schema: "tidewall/manual/1",
            written,
        }),
        Format::Text => output::print(&format!("{}: {} manual pages\n", folder.display(), written.len())),
    }
}

/// A command and all below it.
fn all(command: &clap::Command) -> Vec<&clap::Command> {
    let below = command.get_subcommands().flat_map(all);
    std::iter::once(command).chain(below).collect()
}

/// `tidewall parts import`, with another sign between the words.
fn full_name(command: &clap::Command, between: &str) -> String {
    let name = command.get_bin_name().unwrap_or_else(|| command.get_name());
    name.replace(' ', between)
}

fn page(command: &clap::Command) -> Result<String, Failure> {
    let mut text = Vec::new();
    render(command, &mut text)
        .map_err(|error| Failure::output("the manual page", format!("cannot be made: {error}"), ""))?;
    Ok(String::from_utf8_lossy(&text).into_owned())
}

fn render(command: &clap::Command, out: &mut Vec<u8>) -> io::Result<()> {
    let version = env!("CARGO_PKG_VERSION");
    let man = Man::new(command.clone())
        .source(format!("Tidewall {version}"))
        .manual("Tidewall");
    man.render_title(out)?;
    man.render_name_section(out)?;
    man.render_synopsis_section(out)?;
    man.render_description_section(out)?;
    man.render_options_section(out)?;
    if command.get_subcommands().next().is_some() {
        man.render_subcommands_section(out)?;
    }
    let mut roff = Roff::default();
    if let Some(help) = command.get_after_help() {
        for block in help.to_string().split("\n\n") {
            notes(&mut roff, block);
        }
    }
    let name = full_name(command, "-");
    if name == "tidewall" {
        files(&mut roff);
    } else {
        section(&mut roff, "SEE ALSO");
        for (position, (end, _)) in name.match_indices('-').enumerate() {
            let before = if position == 0 { "" } else { ", " };
            roff.text([roman(before), bold(&name[..end]), roman("(1)")]);
        }
    }
    out.extend(roff.to_roff().into_bytes());
    Ok(())
}

fn section(roff: &mut Roff, heading: &str) {
    roff.control("SH", [heading]);
}

/// A block of the help that stands behind the options: under its own first line if that is a heading, else as notes. A list
/// or table keeps its lines, prose is filled.
fn notes(roff: &mut Roff, block: &str) {
    let own = block
        .split_once(":\n")
        .filter(|(heading, _)| heading.len() <= LONGEST_HEADING && !heading.contains('\n'));
    let (heading, lines) = own.unwrap_or(("Notes", block));
    section(roff, &heading.to_uppercase());
    let list = lines.lines().any(|line| line.starts_with(' '));
    if list {
        roff.control("nf", []);
    }
    for line in lines.lines() {
        roff.text([roman(line)]);
    }
    if list {
        roff.control("fi", []);
    }
}

/// What the page of the program says besides.
fn files(roff: &mut Roff) {
    section(roff, "FILES");
    roff.control("TP", []);
    roff.text([bold("~/.local/share/tidewall/parts.sqlite")]);
    roff.text([roman(
        "The parts library, unless --library or TIDEWALL_LIBRARY names another file. XDG_DATA_HOME stands for \
         ~/.local/share where it is set. It belongs to the user: no installation touches it.",
    )]);
    section(roff, "ENVIRONMENT");
    for (name, meaning) in [
        ("TIDEWALL_LIBRARY", "File of the parts library."),
        (
            "XDG_DATA_HOME",
            "Folder of the user's data, if it is an absolute path.",
        ),
        ("NO_COLOR", "Turns colours off."),
    ] {
        roff.control("TP", []);
        roff.text([bold(name)]);
        roff.text([roman(meaning)]);
    }
}
