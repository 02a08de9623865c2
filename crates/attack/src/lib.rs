//! Readers under attack: one function per reader, given any bytes.
//!
//! A [`Target`] does with bytes all that the program would do with a file or a request of its kind, and fails if the answer is
//! not what it must be: an error with a place and words, or values that are finite. [`mutate`] makes bad files from
//! good ones. The targets of `fuzz/` (cargo-fuzz, on request), the command `attack` and the replay test share both.

pub mod corpus;
pub mod mutate;
pub mod text;

#[cfg(feature = "requests")]
pub mod request;
#[cfg(feature = "tables")]
pub mod table;

/// A reader under attack.
#[derive(Clone, Copy, Debug)]
pub struct Target {
    /// Its name: that of its folder below `fuzz/corpus`, and of its cargo-fuzz target.
    pub name: &'static str,
    /// Does with bytes all that the program does; fails by a panic.
    pub run: fn(&[u8]),
    /// Words of its language, to be put where they do not belong.
    pub words: &'static [&'static str],
}

/// Every reader.
pub fn targets() -> Vec<Target> {
    let target = |name, run, words| Target { name, run, words };
    vec![
        target("quantity", text::quantity, text::QUANTITY_WORDS),
        target("study", text::study, text::STUDY_WORDS),
        target("parts-file", text::parts_file, text::STUDY_WORDS),
        target("ibis", text::ibis, text::IBIS_WORDS),
        target("touchstone", text::touchstone, text::TOUCHSTONE_WORDS),
        target("capture", text::capture, text::CAPTURE_WORDS),
        #[cfg(feature = "tables")]
        target("import", table::import, table::WORDS),
        #[cfg(feature = "tables")]
        target("mapping", table::mapping, table::MAPPING_WORDS),
        #[cfg(feature = "requests")]
        target("request", request::request, request::WORDS),
    ]
}
