//! The local server of `watch` and its page. It reads builds and writes nothing; the page is in the binary.
//!
//! Safe by default: it listens on the loopback address alone, refuses a foreign `Host` or `Origin`, wants a token that only
//! its own page knows, and never makes a path out of a request: files come out of the build in memory, by look-up of their
//! name. The editor is run only where its command was given on the command line, and never through a shell.

mod answer;
mod assets;
mod editor;
mod events;
mod guard;
mod marks;
mod patient;
mod server;
mod sessions;
mod state;

pub use editor::{Editor, EditorFault};
pub use server::{Preview, PreviewWish};
