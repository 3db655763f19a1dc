//! The outlook of a gated casting: what feeds each heavy section, how the front runs, what sand doesn't fill, how long
//! each heavy section takes to freeze. All of it is estimated, and says so.

use std::panic::resume_unwind;
use std::sync::Arc;

use crate::drawing::Part;
use crate::drawing::gating::{GatingForm, Section};
use crate::drawing::given::FeatureId;
use crate::fault::{Finding, Go, Span};
use crate::foundry::freezing::{MOULD_S_CM2, feeder_modulus_mm, freezing_s};
use crate::measure::{Frame, Vec3};
use crate::pattern::{Gated, LaidPlace};
use crate::pour::fields::attitude::{Attitude, better};
use crate::pour::fields::contact::{Contact, Kind};
use crate::pour::fields::corner::Corner;
use crate::pour::fields::far::FarWall;
use crate::pour::fields::feed::Fed;
use crate::pour::fields::findings::{CORNER_FROM, Fill, empty, findings, misruns, no_sand};
use crate::pour::fields::front::{Front, Last};
use crate::pour::fields::hot::HotSpot;
use crate::pour::fields::meet::Meeting;
use crate::pour::fields::propose::Proposal;
use crate::pour::fields::sand::{Hollow, Why, unfilled};
use crate::pour::fields::{Fields, fields};
use crate::solid::{Figures, Solid};

/// Seams smaller than this aren't told (mm²).
const SEAM_FROM_MM2: f64 = 20.0;

/// What a gated casting is expected to do.
#[derive(Debug, Clone)]
pub struct Outlook {
    /// The fields of the casting.
    pub fields: Fields,
    /// Where gates and feeders join it.
    pub contacts: Vec<Contact>,
    /// The hot spots, the largest modulus first.
    pub spots: Vec<HotSpot>,
    /// Least and greatest time that each takes to freeze (s), by Chvorinov's rule; one a spot.
    pub freezing_s: Vec<[f64; 2]>,
    /// How each is fed; one a spot.
    pub fed: Vec<Fed>,
    /// Junctions with a ball above [`CORNER_FROM`] times the walls, the greatest ratio first.
    pub corners: Vec<Corner>,
    /// The metal's travel.
    pub front: Front,
    /// The last place to fill.
    pub last: Option<Last>,
    /// Walls so thin and far that they would have frozen when the front comes, the latest first.
    pub far: Vec<FarWall>,
    /// Where fronts meet, the largest first.
    pub meetings: Vec<Meeting>,
    /// What sand doesn't fill.
    pub hollows: Vec<Hollow>,
    /// What was found.
    pub findings: Vec<Finding>,
}

/// The cells that an outlook takes as a rule (mm): the methods were measured on them.
const CELL_MM: f64 = 1.5;

/// The finest cells (mm).
const FINEST_MM: f64 = 0.75;

/// A wall needs this many cells to be seen whole: 1.4 by measure, with room for one that lies askew.
const CELLS_A_WALL: f64 = 2.0;

/// The most cells, metal and air, that a casting with walls to spare is given: time goes by their number.
const MOST_CELLS: f64 = 1e6;

/// But a wall is never given fewer than this many.
const LEAST_A_WALL: f64 = 1.5;

/// The size of cell for a casting (mm): finer where the part has thinner walls, coarser where it is very large.
pub fn cell_for(part: &Part, casting: &Figures) -> f64 {
    let wall = part.min_wall_mm().unwrap_or(f64::INFINITY);
    let fine = (wall / CELLS_A_WALL).clamp(FINEST_MM, CELL_MM);
    let room = (casting.high_mm - casting.low_mm).element_product();
    let coarse = (room / MOST_CELLS).cbrt().min(wall / LEAST_A_WALL);
    fine.max(coarse)
}

/// What an outlook is worked out from.
pub struct Subject<'a> {
    /// The drawing.
    pub part: &'a Part,
    /// The casting.
    pub casting: &'a Arc<Solid>,
    /// The finished part.
    pub finished: &'a Solid,
    /// How the gating lies.
    pub gated: &'a Gated,
}

/// The outlook of a casting on cells of this size (mm); `None` where `go` says no before it is done.
pub fn outlook(subject: &Subject, cell_mm: f64, go: Go) -> Option<Outlook> {
    let &Subject {
        part,
        casting,
        finished,
        ..
    } = subject;
    // Sand knows nothing of the metal's own fields, and is looked at beside them.
    let (of_metal, (hollows, better)) = std::thread::scope(|scope| {
        let sand = scope.spawn(|| sand(part, casting, cell_mm, go));
        let of_metal = Metal::of(subject, cell_mm, go);
        let sand = sand.join();
        (of_metal, sand.unwrap_or_else(|panic| resume_unwind(panic)))
    });
    let Metal {
        fields,
        contacts,
        names,
        spots,
        corners,
        fed,
        proposals,
        front,
        far,
    } = of_metal?;
    let on = |c| fields.propose_on(c, &spots);
    let at_corners: Vec<_> = corners.iter().map(on).collect();
    if !go() {
        return None;
    }
    let mut found = findings(&Fill {
        part,
        spots: &spots,
        fed: &fed,
        proposals: &proposals,
        at_corners: &at_corners,
        corners: &corners,
        finished,
        contacts: &contacts,
        names: &names,
        usual_mm: fields.usual_modulus_mm(),
    });
    found.extend(misruns(part, &far));
    let feature_at = |p| casting.feature_near(p);
    found.extend(no_sand(part, &hollows, &feature_at, better.as_ref()));
    let freezing = |s: &HotSpot| {
        [MOULD_S_CM2.low, MOULD_S_CM2.high].map(|constant| freezing_s(constant, s.modulus_mm))
    };
    Some(Outlook {
        freezing_s: spots.iter().map(freezing).collect(),
        last: front.last(&fields),
        far,
        meetings: fields.meetings(&front, SEAM_FROM_MM2),
        fields,
        contacts,
        spots,
        fed,
        corners,
        front,
        hollows,
        findings: found,
    })
}

/// What is worked out from the metal's own fields.
struct Metal {
    fields: Fields,
    contacts: Vec<Contact>,
    names: Vec<(String, Span)>,
    spots: Vec<HotSpot>,
    corners: Vec<Corner>,
    fed: Vec<Fed>,
    proposals: Vec<Option<Proposal>>,
    front: Front,
    far: Vec<FarWall>,
}

impl Metal {
    fn of(subject: &Subject, cell_mm: f64, go: Go) -> Option<Metal> {
        let still = || go().then_some(());
        let fields = fields(subject.casting, cell_mm);
        still()?;
        let (contacts, names) = contacts(subject.part, subject.gated);
        let spots = fields.hot_spots();
        still()?;
        let fed = fields.feeding(&spots, &contacts);
        still()?;
        let front = fields.front(&contacts);
        still()?;
        let corners = fields.corners(CORNER_FROM);
        still()?;
        Some(Metal {
            corners,
            proposals: spots.iter().map(|s| fields.propose(s)).collect(),
            far: fields.far_walls(&front),
            fields,
            contacts,
            names,
            spots,
            fed,
            front,
        })
    }
}

/// The hollows that sand doesn't fill, and where much stays empty the best other way up.
fn sand(part: &Part, casting: &Solid, cell_mm: f64, go: Go) -> (Vec<Hollow>, Option<Attitude>) {
    let up = part.gating.up();
    let hollows = unfilled(casting, up, cell_mm);
    let stays = hollows.iter().any(|h| h.why == Why::Level && empty(h));
    let better = (stays && go())
        .then(|| better(casting, up, cell_mm))
        .flatten();
    (hollows, better)
}

/// Where gates and feeders join the first pattern's casting, in its coordinates, with their names and places. `feature`
/// of each is its number in the part's gating.
pub fn contacts(part: &Part, gated: &Gated) -> (Vec<Contact>, Vec<(String, Span)>) {
    let grow = part.metal.growth();
    let first = gated.laid.iter().filter(|laid| laid.copy == 0);
    first
        .filter_map(|laid| {
            let LaidPlace::Stub { frame, section, .. } = &laid.place else {
                return None;
            };
            let piece = &part.gating.pieces[laid.piece];
            let kind = match piece.form {
                GatingForm::Feeder { dia, height, .. } => Kind::Feeder {
                    modulus_mm: feeder_modulus_mm(dia, height),
                },
                _ => Kind::Gate,
            };
            let contact = contact(frame, section, grow, kind, laid.piece);
            Some((contact, (piece.name.clone(), piece.site.script().clone())))
        })
        .unzip()
}

fn contact(frame: &Frame, section: &Section, grow: Vec3, kind: Kind, piece: FeatureId) -> Contact {
    let at = frame.origin / grow;
    match *section {
        Section::Round { dia } => {
            let cold = 3.0 * dia / (grow.x + grow.y + grow.z);
            Contact::round(at, frame.z, cold, kind, piece)
        }
        Section::Rect { width, height } => {
            let sides = [frame.x * width / grow, frame.y * height / grow];
            Contact::rect(at, frame.z, sides, kind, piece)
        }
    }
}
