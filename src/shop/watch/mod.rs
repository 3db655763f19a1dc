//! Watching a script: every save is built, and what was last good is kept beside what is wrong now.
//!
//! One thread builds; it sleeps until something may have changed, reads every file that the last build read again, and
//! builds only where a content differs. What is shown is proved in steps, each given up as soon as a save or a page's wish
//! comes. Events of the file system merely wake it: a slow poll finds what they miss, so the
//! last state of a burst of saves is never passed over. Results are immutable and shared.

mod behind;
mod builder;
mod change;
mod desk;
mod folders;
mod good;
mod inbox;
mod inputs;
mod round;
mod work;

pub use change::{Changed, Difference};
pub use desk::{Broken, DeskId, Shown};
pub use good::{Good, GoodFile, Map, beside};
pub use inputs::Inputs;
pub use round::{Outcome, Round};
pub use work::{Told, Watch, WatchWish};
