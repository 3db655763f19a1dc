//! All the tests: one binary, one module a subject.

mod bodies;
mod outline;
mod seeded;
