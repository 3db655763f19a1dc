//! All tests in one binary.

mod bad;
mod script;
mod script_imports;
mod script_limits;
mod script_numbers;
mod script_places;
mod script_shapes;
mod threads;
mod words;
