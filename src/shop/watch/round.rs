//! What a person is told of one build, in the terminal.

use std::sync::Arc;

use crate::fault::Fault;
use crate::shop::watch::desk::{Broken, DeskId};
use crate::shop::watch::good::Good;

/// How it went.
#[derive(Debug, Clone)]
pub enum Outcome {
    /// Built.
    Good(Arc<Good>),
    /// Not built.
    Broken(Arc<Broken>),
}

/// One build.
#[derive(Debug, Clone)]
pub struct Round {
    /// The page that wished it; none for a build of the script as it stands.
    pub desk: Option<DeskId>,
    /// The file that changed; none for the first build and for a page's wish.
    pub file: Option<String>,
    /// The settings that a page wished.
    pub overrides: Vec<(String, String)>,
    /// How it went.
    pub outcome: Outcome,
    /// Why its files couldn't be written.
    pub trouble: Option<Fault>,
}
