//! `sheet.html`, the shop sheet: one file that prints, with all that the bench, the saw and the pour need of a build.
//!
//! It is HTML that also reads as XML, without scripts and without anything fetched; pictures are greys, so that they print
//! on any machine. All texts of a script go through `page::text`, so none of them can be markup.

mod boards;
mod caliper;
mod findings;
mod foam;
mod head;
mod machining;
mod page;
mod pictures;
mod pour;
mod steps;

use crate::drawing::Part;
use crate::fault::Finding;
use crate::pattern::{LeftSolid, Stage, Stocks};
use crate::pieces::{Boards, Pieces};
use crate::pour::Pour;
use crate::pour::fields::Outlook;
use crate::solid::{Figures, Solid};

/// What a shop sheet is made from.
pub struct SheetSource<'a> {
    /// The drawing.
    pub part: &'a Part,
    /// The script's file name, without folders.
    pub script: &'a str,
    /// Each stage with its figures and its mesh, in order.
    pub stages: Vec<(Stage, Figures, &'a Solid)>,
    /// Stock on each marked surface (mm).
    pub stocks: &'a Stocks,
    /// Openings that the casting leaves solid.
    pub left_solid: &'a [LeftSolid],
    /// The pattern's pieces, where there are any.
    pub pieces: Option<&'a Pieces>,
    /// The boards that they are laid on, once they are.
    pub boards: Option<&'a Boards>,
    /// The pour, where the script gates the pattern.
    pub pour: Option<&'a Pour>,
    /// How it is expected to fill and freeze, once that is known.
    pub outlook: Option<&'a Outlook>,
    /// In the order of reports.
    pub findings: &'a [Finding],
    /// Density of the foam of boards that give none (kg/m³).
    pub foam_kg_m3: f64,
    /// That foam, as the trade calls it.
    pub foam_name: &'a str,
}

impl<'a> SheetSource<'a> {
    /// A stage's figures and mesh.
    fn stage(&self, stage: Stage) -> Option<(&Figures, &'a Solid)> {
        let found = self.stages.iter().find(|s| s.0 == stage);
        found.map(|(_, figures, solid)| (figures, *solid))
    }

    /// What one bare pattern weighs (kg).
    fn foam_kg(&self) -> f64 {
        match (self.pieces, self.stage(Stage::Pattern)) {
            (Some(pieces), _) => {
                let rows = crate::sheet::bill::piece_rows(self.part, pieces, self.foam_kg_m3);
                let pattern = rows.iter().filter(|row| !row.is_gating());
                pattern.fold(0.0, |sum, row| sum + row.foam_kg)
            }
            (None, Some((figures, _))) => figures.volume_mm3 * 1e-9 * self.foam_kg_m3,
            (None, None) => 0.0,
        }
    }
}

/// The sheet as HTML.
pub fn shop_sheet(source: &SheetSource) -> String {
    // Pictures take longest: those of the steps are drawn beside the others.
    let (head, pour, steps) = std::thread::scope(|scope| {
        let steps = scope.spawn(|| steps::steps(source));
        let (head, pour) = (head::title_block(source), pour::pour(source));
        let steps = steps.join();
        (
            head,
            pour,
            steps.unwrap_or_else(|panic| std::panic::resume_unwind(panic)),
        )
    });
    let sections = [
        head,
        head::words(source),
        findings::findings(source),
        foam::bill(source),
        boards::boards(source),
        steps,
        caliper::card(source),
        machining::card(source),
        pour,
        pour::cautions(source),
    ];
    page::page(&source.part.name, &sections.concat())
}
