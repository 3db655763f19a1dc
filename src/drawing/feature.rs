//! A feature resolved to millimetres and frames.

use crate::drawing::given::FeatureId;
use crate::fault::Site;
use crate::measure::Frame;

/// One instance of a feature, resolved.
#[derive(Debug, Clone, PartialEq)]
pub struct Feature {
    /// Its own name: `holes.3` for an instance of several.
    pub name: String,
    /// The name that the script gave to all instances: `holes`.
    pub group: String,
    /// The word: `boss`.
    pub word: &'static str,
    /// Where it was made.
    pub site: Site,
    /// Its frame: origin at its place, z outward from the face it stands on (also for openings).
    pub frame: Frame,
    /// The feature whose face it stands on or goes into.
    pub host: Option<FeatureId>,
}
