//! `tidewall new`.

use schemars::JsonSchema;
use serde::Serialize;
use tidewall_report::words::harmless;
use tidewall_study::profile::{profile, profiles};
use tidewall_study::template::new_study;

use crate::args::{Format, NewArgs};
use crate::failure::Failure;
use crate::output::{self, Existing, Target};
use crate::sheet::page::Page;
use crate::status::Status;
use tidewall_desk::names::nearest;

/// Output of `new` as JSON.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum NewOutput {
    /// A study.
    Study(NewStudy),
    /// The kinds of port, with `--list`.
    Profiles(ProfileList),
}

/// A study to begin with.
#[derive(Debug, Serialize, JsonSchema)]
pub struct NewStudy {
    /// Version of this form.
    schema: &'static str,
    /// Key of the profile.
    profile: String,
    /// Its title.
    title: String,
    /// The study as text.
    text: String,
    /// The file it was written to, with `--output`.
    #[serde(skip_serializing_if = "Option::is_none")]
    written: Option<String>,
}

/// Every kind of port.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ProfileList {
    /// Version of this form.
    schema: &'static str,
    /// The profiles.
    profiles: Vec<ProfileTitle>,
}

/// One kind of port.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ProfileTitle {
    /// Key, as `new` takes it.
    key: String,
    /// Title.
    title: String,
}

/// Prints or writes a study, or lists the profiles.
pub fn run(args: &NewArgs, format: Format) -> Result<Status, Failure> {
    match &args.profile {
        Some(key) => study(key, args, format)?,
        None => list(format)?,
    }
    Ok(Status::Pass)
}

fn study(key: &str, args: &NewArgs, format: Format) -> Result<(), Failure> {
    let (Some(profile), Some(text)) = (profile(key), new_study(key)) else {
        let near = nearest(key, profiles().iter().map(|profile| profile.key.as_str()));
        let hint = near.unwrap_or_else(|| "tidewall new --list shows the kinds of port".to_owned());
        return Err(Failure::usage(format!("there is no port profile `{key}`"), hint));
    };
    if let Some(path) = &args.output {
        let existing = if args.force {
            Existing::Replace
        } else {
            Existing::Keep
        };
        Target::new(path, existing)?.write(|out| out.write_all(text.as_bytes()))?;
    }
    let written = args.output.as_ref().map(|path| path.display().to_string());
    match (format, written) {
        (Format::Json, written) => output::print_json(&NewOutput::Study(NewStudy {
            schema: "tidewall/new/1",
            profile: profile.key.clone(),
            title: profile.title.clone(),
            text,
            written,
        })),
        (Format::Text, Some(file)) => output::print(&format!(
            "{}: a study for the port \"{}\". Fill in what is marked FILL IN, then run tidewall check on it.\n",
            harmless(&file),
            profile.title
        )),
        (Format::Text, None) => output::print(&text),
    }
}

fn list(format: Format) -> Result<(), Failure> {
    let profiles = profiles();
    if format == Format::Json {
        return output::print_json(&NewOutput::Profiles(ProfileList {
            schema: "tidewall/profiles/1",
            profiles: profiles
                .iter()
                .map(|profile| ProfileTitle {
                    key: profile.key.clone(),
                    title: profile.title.clone(),
                })
                .collect(),
        }));
    }
    let mut page = Page::for_terminal();
    let widest = profiles
        .iter()
        .map(|profile| profile.key.len())
        .max()
        .unwrap_or(0);
    for profile in profiles {
        page.entry(&format!("{:<widest$}  ", profile.key), &profile.title);
    }
    output::print(&page.finish())
}
