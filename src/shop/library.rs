//! The built-in script modules, in the binary.

/// Module name and text, in order of name.
pub const LIBRARY: &[(&str, &str)] = &[];
