//! All the tests: one binary, one module a subject.

mod bad;
mod bodies;
mod bodies_random;
mod built;
mod findings;
mod openings;
mod outline;
mod random_part;
mod script;
mod script_imports;
mod script_limits;
mod script_numbers;
mod script_places;
mod script_shapes;
mod seeded;
mod stages;
mod threads;
mod witness_truck;
mod words;
