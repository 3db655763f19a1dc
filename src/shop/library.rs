//! The built-in script modules, in the binary.

/// Module name and text, in order of name.
pub const LIBRARY: &[(&str, &str)] = &[
    ("bearings", include_str!("../../library/bearings.rhai")),
    ("bosses", include_str!("../../library/bosses.rhai")),
    ("clamps", include_str!("../../library/clamps.rhai")),
    ("flanges", include_str!("../../library/flanges.rhai")),
    ("ribs", include_str!("../../library/ribs.rhai")),
    ("seals", include_str!("../../library/seals.rhai")),
    ("spigots", include_str!("../../library/spigots.rhai")),
];
