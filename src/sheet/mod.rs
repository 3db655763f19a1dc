//! What a person or another program reads of a build, from data only.

pub mod bill;
pub mod boards;
pub mod card;
mod finding_key;
pub mod foam_card;
pub mod mend_bill;
pub mod outlook;
pub mod pour;
pub mod pour_card;
pub mod report;
pub mod shop_sheet;
mod sizes;

pub use finding_key::finding_keys;
