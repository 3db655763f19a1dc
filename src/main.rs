//! The `foamwright` command.
fn main() {}
