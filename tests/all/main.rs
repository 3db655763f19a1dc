//! All the tests: one binary, one module a subject.

// A test that can't go on fails, and says where.
#![allow(clippy::unwrap_used)]

mod bad;
mod bodies;
mod bodies_carried;
mod bodies_random;
mod bodies_stacked;
mod body_files;
mod built;
mod cards;
mod cli;
mod corpus;
mod evaluate;
mod evaluate_figures;
mod evaluate_hard;
mod evaluate_order;
mod examples;
mod export;
mod features;
mod features_carried;
mod findings;
mod formulas;
mod foundry;
mod layers;
mod library;
mod openings;
mod outline;
mod page;
mod picture;
mod plates;
mod preview;
mod random_part;
mod reach;
mod reach_findings;
mod report;
mod script;
mod script_imports;
mod script_limits;
mod script_numbers;
mod script_places;
mod script_shapes;
mod seeded;
mod served;
mod shop;
mod stages;
mod stages_random;
mod threads;
mod view;
mod watch;
mod watch_command;
mod witness;
mod witness_truck;
mod words;
