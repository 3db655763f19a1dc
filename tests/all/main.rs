//! All the tests: one binary, one module a subject.

mod bad;
mod bodies;
mod bodies_random;
mod cli;
mod export;
mod foundry;
mod outline;
mod picture;
mod report;
mod script;
mod script_imports;
mod script_limits;
mod script_numbers;
mod script_places;
mod script_shapes;
mod seeded;
mod shop;
mod threads;
mod witness_truck;
mod words;
