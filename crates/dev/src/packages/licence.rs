//! Which licences may be in the program, and which of several is taken.

use spdx::{Expression, LicenseReq, Licensee, ParseMode};

/// Licences that the program may be made with, the preferred first: all allow closed use with a notice, none asks for the
/// sources of the whole. Where a package leaves the choice, the first of these is taken.
pub const ALLOWED: &[&str] = &[
    "MIT",
    "MIT-0",
    "Zlib",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "Unicode-3.0",
    "BSL-1.0",
    "CC0-1.0",
    "Unlicense",
];

/// The licences under which a package is taken.
///
/// # Errors
/// What the expression asks for and is not allowed, or why it cannot be read.
pub fn taken(expression: &str) -> Result<Vec<LicenseReq>, String> {
    // Old packages write `MIT/Apache-2.0`, and one puts blanks around the stroke.
    let text = expression.replace(" / ", "/");
    let parsed =
        Expression::parse_mode(&text, ParseMode::LAX).map_err(|error| format!("`{expression}`: {error}"))?;
    let accepted = ALLOWED
        .iter()
        .map(|name| Licensee::parse(name).map_err(|error| format!("`{name}`: {error}")))
        .collect::<Result<Vec<_>, _>>()?;
    parsed
        .minimized_requirements(&accepted)
        .map_err(|_| format!("`{expression}` is not among the licences allowed"))
}
