//! Changes of a study's text that touch nothing else: comments, order and layout stay.
//!
//! A change is told by [`Edit`]s and becomes a [`Patch`]: the bytes that go and the bytes that come. The inverse of a
//! patch takes it back to the byte. A change whose result cannot be read as a study is still a change; only a text that is no
//! TOML cannot be edited by place and needs [`Edit::Text`].

mod apply;
mod blocks;
mod patch;
mod place;
mod value;

use serde::Deserialize;

pub use apply::{apply, apply_all};
pub(crate) use blocks::headers;
pub use patch::Patch;
pub(crate) use place::{find_value as find_in, table as table_in};
pub use value::{Entry, Value};

/// One change.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(tag = "edit", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Edit {
    /// Sets a value; keys and tables on the way are made where they are missing.
    Set {
        /// Where: keys and positions from the top, as `port.ambient`, `stress.0.level` or `ladder.2.series.inductance`.
        at: String,
        /// The value.
        value: Value,
    },
    /// Takes a key away, and nothing else.
    Unset {
        /// Where, as in `Set`.
        at: String,
    },
    /// Puts a new entry into a list of tables.
    Insert {
        /// The list: `stress` or `ladder`, or any other list of tables.
        list: String,
        /// Position it gets, counted from 0; at the end if there are fewer.
        at: usize,
        /// Its keys, in order.
        entry: Entry,
    },
    /// Takes an entry of a list of tables away, with the comment above it.
    Remove {
        /// The list.
        list: String,
        /// Position, counted from 0.
        at: usize,
    },
    /// Moves an entry of a list of tables, with the comment above it.
    Move {
        /// The list.
        list: String,
        /// Position, counted from 0.
        from: usize,
        /// Position it gets.
        to: usize,
    },
    /// Replaces the whole text.
    Text {
        /// The new text.
        text: String,
    },
}
