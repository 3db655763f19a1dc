//! All tests in one binary.

mod script;
mod words;
