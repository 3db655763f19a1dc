//! What a script says of the foam itself: the boards on hand and where the pattern is parted.

use crate::drawing::feature::{Form, Ground, Host};
use crate::drawing::given::FaceRef;
use crate::drawing::part::{Part, Refusal};
use crate::fault::{Fault, Site};
use crate::measure::{Vec2, Vec3};

/// The least foam round a hole in a blank's rim (mm).
pub const HOLE_WALL_MM: f64 = 3.0;

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
    /// Pieces may lie at other angles than right ones on it.
    pub turns_freely: bool,
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

/// Pegs of foam across the splits, or under a loose piece, as given.
#[derive(Debug, Clone, PartialEq)]
pub struct Dowels {
    /// Diameter (mm).
    pub dia_mm: f64,
    /// How deep each end goes into its piece (mm).
    pub depth_mm: f64,
    /// How many a joint gets, where given.
    pub count: Option<usize>,
    /// Places in the part's plan, in a tilted split in the plane's own; empty leaves the choice.
    pub at: Vec<Vec2>,
    /// Where it stands.
    pub site: Site,
}

/// How deep the foot of a loose piece is let into what it stands on, as given.
#[derive(Debug, Clone, PartialEq)]
pub struct Recess {
    /// How far it goes on below its seat (mm), as cut.
    pub depth_mm: f64,
    /// Where it stands.
    pub site: Site,
}

/// What keeps a loose piece from sliding on the glue, as given.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Located {
    /// Pegs between it and what it is glued to.
    pub pegs: Option<Dowels>,
    /// A pocket for its foot.
    pub recess: Option<Recess>,
}

/// A foot or a handle of foam, cut off before the pour, as given.
#[derive(Debug, Clone, PartialEq)]
pub struct Aid {
    /// Its name.
    pub name: String,
    /// A handle; else a foot.
    pub grip: bool,
    /// The face that it is glued to.
    pub on: FaceRef,
    /// Where on that face, in its u and v (mm).
    pub at: Vec2,
    /// Length and width along the face and height off it (mm), as cut.
    pub size_mm: Vec3,
    /// Where it stands.
    pub site: Site,
}

/// The blank that each piece is cut from, front and back, as given.
#[derive(Debug, Clone, PartialEq)]
pub struct Blank {
    /// Width of what is left round the piece (mm).
    pub rim_mm: f64,
    /// How many tabs hold the piece.
    pub tabs: usize,
    /// Diameter of the holes that it is turned over on (mm).
    pub dowel_dia_mm: f64,
    /// Where it stands.
    pub site: Site,
}

impl Part {
    /// Adds a foot or a handle of foam.
    ///
    /// # Errors
    /// The name is taken by another; the face isn't flat.
    pub fn add_aid(&mut self, aid: Aid) -> Result<(), Refusal> {
        if let Some(first) = self.aids.iter().find(|a| a.name == aid.name) {
            let text = format!("the name \"{}\" is used twice", aid.name);
            let hint = format!("first at {}", first.site.script());
            return Err(Refusal::at("name", text).hint(hint));
        }
        if aid.size_mm.min_element() <= 0.0 {
            return Err(Refusal::at(
                "size",
                "its length, width and height must be over 0",
            ));
        }
        if !self.face(&aid.on)?.is_flat() {
            let text = "what is cut off before the pour is glued to a flat face";
            return Err(
                Refusal::at("on", text).hint("take a top, bottom, side or floor, or level(z)")
            );
        }
        self.aids.push(aid);
        Ok(())
    }

    /// Makes features of a name pieces of foam of their own; what keeps them in place is added to what did before.
    ///
    /// # Errors
    /// No feature is called so; one of them removes metal, or stands on nothing, or where nothing can keep it so.
    pub fn set_loose(&mut self, name: &str, located: &Located) -> Result<(), Refusal> {
        let ids = self.named(name);
        if ids.is_empty() {
            let text = format!("no feature is called \"{name}\"");
            return Err(Refusal::at("features", text).hint("say it after the feature is made"));
        }
        for id in ids {
            let feature = &self.features[id];
            let tunnel = matches!(feature.form, Form::Tunnel(_));
            if feature.is_opening() || (feature.host.is_none() && !tunnel) {
                let text = format!(
                    "{} stands on nothing that it could be glued to",
                    feature.name
                );
                return Err(Refusal::at("features", text));
            }
            if let Some(no) = unlocatable(located, &feature.form, feature.host.as_ref()) {
                return Err(no.at(if no.pegs { "peg" } else { "recess" }));
            }
            let feature = &mut self.features[id];
            feature.loose = true;
            let (own, new) = (&mut feature.located, located.clone());
            own.pegs = new.pegs.or_else(|| own.pegs.take());
            own.recess = new.recess.or_else(|| own.recess.take());
        }
        Ok(())
    }

    /// Sets the blank that pieces are cut from.
    ///
    /// # Errors
    /// Its rim is too narrow for its holes.
    pub fn set_blank(&mut self, blank: Blank) -> Result<(), Refusal> {
        let least = blank.dowel_dia_mm + 2.0 * HOLE_WALL_MM;
        if blank.rim_mm < least {
            let text = format!(
                "a rim of {} is too narrow for holes of {}: with foam round them they take {}",
                self.unit.show(blank.rim_mm),
                self.unit.show(blank.dowel_dia_mm),
                self.unit.show(least)
            );
            return Err(Refusal::at("rim", text));
        }
        self.blank = Some(blank);
        Ok(())
    }

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

/// Why a loose piece can't be kept in place as it is asked for.
pub(in crate::drawing) struct Unlocatable {
    /// It can't be by pegs; else not by a recess.
    pub pegs: bool,
    text: &'static str,
    hint: &'static str,
}

impl Unlocatable {
    /// The refusal, at a key.
    pub fn at(&self, key: &'static str) -> Refusal {
        Refusal::at(key, self.text).hint(self.hint)
    }
}

/// What a loose piece's form and the face that it stands on don't allow of what is asked for to keep it in place.
pub(in crate::drawing) fn unlocatable(
    located: &Located,
    form: &Form,
    host: Option<&Host>,
) -> Option<Unlocatable> {
    let no = |pegs, text, hint| Some(Unlocatable { pegs, text, hint });
    let recess = located.recess.is_some();
    match form {
        Form::Tunnel(_) if recess || located.pegs.is_some() => no(
            !recess,
            "a loose tunnel is cut as two halves, which stand on no face",
            "leave it at `loose: true`: the halves are set by the wall that they lie in",
        ),
        Form::Flange(_) if recess => no(
            false,
            "a loose flange is glued on by its back, which stands on no face that it could be let into",
            "set it on pegs (`peg`) where there is foam enough round its opening",
        ),
        _ if recess && host.is_some_and(|h| matches!(h.ground, Ground::Round { .. })) => no(
            false,
            "a foot is let into a flat face, and this one is a plane that touches a round body",
            "set it on pegs (`peg`), or stand it on a flat face",
        ),
        _ => None,
    }
}
