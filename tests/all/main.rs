//! All the tests: one binary, one module a subject.

mod outline;
mod seeded;
