//! All the tests: one binary, one module a subject.

mod bodies;
mod bodies_carried;
mod bodies_random;
mod bodies_stacked;
mod outline;
mod script;
mod seeded;
mod words;
mod witness_truck;
