//! tests
fn main(){}
