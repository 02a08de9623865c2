//! The parts library, with what it has to say on standard error.

use tidewall_parts::Library;

pub use tidewall_desk::library::{Place, Shelf, now};

use crate::failure::Failure;
use crate::output;

/// [`Place::open`], its notices shown.
pub fn open(place: &Place) -> Result<Library, Failure> {
    place.open().map(told)
}

/// [`Place::look`], its notices shown.
pub fn look(place: &Place) -> Result<Library, Failure> {
    place.look().map(told)
}

fn told(library: Library) -> Library {
    for notice in library.notices() {
        output::remark(&format!("note: {notice}"));
    }
    library
}
