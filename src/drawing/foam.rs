//! What a script says of the foam itself: the boards on hand and where the pattern is parted.

use crate::drawing::given::FaceRef;
use crate::drawing::part::{Part, Refusal};
use crate::fault::{Fault, Site};

/// A foam board on hand, as given.
#[derive(Debug, Clone, PartialEq)]
pub struct Board {
    /// Its thickness (mm).
    pub thickness_mm: f64,
    /// Its length (mm).
    pub length_mm: f64,
    /// Its width (mm).
    pub width_mm: f64,
    /// What is kept free along its edges (mm); 0 where the script gives none.
    pub margin_mm: f64,
    /// What is kept free between two pieces (mm); 0 where the script gives none.
    pub spacing_mm: f64,
    /// Its density (kg/m³), where given.
    pub density_kg_m3: Option<f64>,
    /// Where it is declared.
    pub site: Site,
}

impl Board {
    /// Length and width inside its margins (mm).
    pub fn inside_mm(&self) -> [f64; 2] {
        [self.length_mm, self.width_mm].map(|side| side - 2.0 * self.margin_mm)
    }
}

/// Where the pattern is parted, as given.
#[derive(Debug, Clone, PartialEq)]
pub struct Split {
    /// The name of what lies below.
    pub name: String,
    /// The plane: a level or a flat face.
    pub at: FaceRef,
    /// Only what belongs to these features is parted off; empty parts all.
    pub of: Vec<String>,
    /// Where it stands.
    pub site: Site,
}

impl Part {
    /// Puts a board on the list.
    ///
    /// # Errors
    /// Its margins leave nothing of it.
    pub fn add_board(&mut self, board: Board) -> Result<(), Refusal> {
        if board.inside_mm().iter().any(|side| *side <= 0.0) {
            let narrow = board.length_mm.min(board.width_mm);
            let text = format!(
                "a margin of {} on both sides leaves nothing of a board {} wide",
                self.unit.show(board.margin_mm),
                self.unit.show(narrow)
            );
            return Err(Refusal::at("margin", text));
        }
        self.boards.push(board);
        Ok(())
    }

    /// Parts the pattern.
    ///
    /// # Errors
    /// The name is taken by another split; the face isn't flat.
    pub fn add_split(&mut self, split: Split) -> Result<(), Refusal> {
        if let Some(first) = self.splits.iter().find(|s| s.name == split.name) {
            let text = format!("the name \"{}\" is used twice", split.name);
            let hint = format!("first at {}", first.site.script());
            return Err(Refusal::at("name", text).hint(hint));
        }
        let face = self.face(&split.at)?;
        if !face.is_flat() {
            return Err(
                Refusal::at("at", "a split runs along a flat face or a level")
                    .hint("take a top, bottom, side or floor, or level(z)"),
            );
        }
        self.splits.push(split);
        Ok(())
    }

    /// Features named by splits that don't exist.
    pub(in crate::drawing) fn unknown_in_splits(&self) -> Vec<Fault> {
        let names = self
            .splits
            .iter()
            .flat_map(|s| s.of.iter().map(move |n| (s, n)));
        names
            .filter(|(_, name)| self.named(name).is_empty())
            .map(|(split, name)| {
                let text = format!(
                    "`of` of the split \"{}\" names \"{name}\", which no feature is called",
                    split.name
                );
                Fault::new(text).from_site(&split.site)
            })
            .collect()
    }
}
