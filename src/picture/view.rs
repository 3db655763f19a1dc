//! Where one looks from.

use std::fmt;
use std::str::FromStr;

use crate::measure::Vec3;

/// A parallel view.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum View {
    /// From -y.
    Front,
    /// From +y.
    Back,
    /// From -x.
    Left,
    /// From +x.
    Right,
    /// From above.
    Top,
    /// From below.
    Bottom,
    /// From the front, the right and above.
    Iso,
    /// From the back, the left and above.
    IsoBack,
    /// From the front, the right and below.
    IsoBelow,
}

/// Every view by its name.
const NAMES: [(&str, View); 9] = [
    ("front", View::Front),
    ("back", View::Back),
    ("left", View::Left),
    ("right", View::Right),
    ("top", View::Top),
    ("bottom", View::Bottom),
    ("iso", View::Iso),
    ("iso-back", View::IsoBack),
    ("iso-below", View::IsoBelow),
];

/// A name that no view has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnknownView {
    /// The name as given.
    pub name: String,
}

impl fmt::Display for UnknownView {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let names: Vec<&str> = NAMES.iter().map(|(n, _)| *n).collect();
        write!(
            f,
            "there is no view \"{}\"; there are {}",
            self.name,
            names.join(", ")
        )
    }
}

impl std::error::Error for UnknownView {}

impl FromStr for View {
    type Err = UnknownView;

    fn from_str(name: &str) -> Result<View, UnknownView> {
        let found = NAMES
            .iter()
            .find(|(n, _)| *n == name.trim())
            .map(|(_, v)| *v);
        found.ok_or_else(|| UnknownView {
            name: name.to_string(),
        })
    }
}

impl View {
    /// Unit directions on the picture: right, up, and towards the eye.
    pub fn axes(self) -> [Vec3; 3] {
        let towards = match self {
            View::Front => Vec3::NEG_Y,
            View::Back => Vec3::Y,
            View::Left => Vec3::NEG_X,
            View::Right => Vec3::X,
            View::Top => return [Vec3::X, Vec3::Y, Vec3::Z],
            // Turned over about its long edge, as one turns the part in the hand.
            View::Bottom => return [Vec3::X, Vec3::NEG_Y, Vec3::NEG_Z],
            View::Iso => Vec3::new(0.6, -0.8, 0.75),
            View::IsoBack => Vec3::new(-0.6, 0.8, 0.75),
            View::IsoBelow => Vec3::new(0.6, -0.8, -0.75),
        }
        .normalize();
        let right = Vec3::Z.cross(towards).normalize();
        [right, towards.cross(right), towards]
    }
}
