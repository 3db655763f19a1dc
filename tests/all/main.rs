//! All the tests: one binary, one module a subject.

mod outline;
mod script;
mod seeded;
mod words;
