//! tests
fn main() {}
