//! `heavy`, `hot-corner`, `gate-weak`, `gate-thick`, `misrun` and `no-sand` from the fields.
//!
//! Every text says that it is an estimate and by which method.

use crate::drawing::Part;
use crate::fault::{Finding, Level, Span};
use crate::measure::{Unit, Vec3};
use crate::pour::fields::attitude::Attitude;
use crate::pour::fields::contact::{Contact, Kind};
use crate::pour::fields::corner::Corner;
use crate::pour::fields::far::{FarWall, lateness};
use crate::pour::fields::feed::{FED_FROM, Fed};
use crate::pour::fields::hot::HotSpot;
use crate::pour::fields::propose::Proposal;
use crate::pour::fields::sand::{BALL_MM, Hollow, REPOSE_DEG, Why};
use crate::solid::Solid;

/// A section counts as heavy from this ratio of its modulus to the usual one: our own choice.
pub const HEAVY_FROM: f64 = 1.3;

/// A junction counts from this ratio of ball to wall (common practice).
pub const CORNER_FROM: f64 = 1.5;

/// A junction is looked at from this ratio; under it, it is worth knowing: our own choice.
pub const SHARP_FROM: f64 = 2.0;

/// Sand that is missing in a hollow is looked at from this volume; less comes in as it is vibrated: our own choice (mm³).
const EMPTY_FROM_MM3: f64 = 5000.0;

/// A gate counts as thick from this ratio of its modulus to what its section calls for: our own choice.
pub const THICK_FROM: f64 = 1.5;

/// What is found on a casting with gates or feeders.
pub struct Fill<'a> {
    /// The drawing.
    pub part: &'a Part,
    /// The hot spots.
    pub spots: &'a [HotSpot],
    /// How each is fed; one a spot.
    pub fed: &'a [Fed],
    /// A gate that would feed each; one a spot.
    pub proposals: &'a [Option<Proposal>],
    /// Junctions above [`CORNER_FROM`].
    pub corners: &'a [Corner],
    /// A gate on each junction; one a corner.
    pub at_corners: &'a [Option<Proposal>],
    /// The finished part.
    pub finished: &'a Solid,
    /// Gates and feeders.
    pub contacts: &'a [Contact],
    /// Name and place of each contact; one a contact.
    pub names: &'a [(String, Span)],
    /// The usual modulus of the casting (mm).
    pub usual_mm: f64,
}

/// `heavy`, `hot-corner`, `gate-weak` and `gate-thick`; none without a contact.
pub fn findings(fill: &Fill) -> Vec<Finding> {
    if fill.contacts.is_empty() {
        return Vec::new();
    }
    let heavy = |s: &HotSpot| s.modulus_mm >= HEAVY_FROM * fill.usual_mm;
    let mut out = Vec::new();
    for (fed, proposal) in fill.fed.iter().zip(fill.proposals) {
        let spot = &fill.spots[fed.spot];
        if heavy(spot) && !fed.reached() {
            out.push(unfed(fill, spot, fed, proposal.as_ref()));
        }
    }
    for (i, corner) in fill.corners.iter().enumerate() {
        // One whose section is fed, or told as heavy already, isn't told again.
        let told = |f: &Fed| {
            let spot = &fill.spots[f.spot];
            (heavy(spot) || f.reached()) && spot.at.distance(corner.at) < corner.ball_mm / 2.0
        };
        let on_it = |c: &Contact| c.stands_over(corner.at, corner.ball_mm);
        if !fill.fed.iter().any(told) && !fill.contacts.iter().any(on_it) {
            let proposal = fill.at_corners.get(i).and_then(Option::as_ref);
            out.push(hot_corner(fill, corner, proposal));
        }
    }
    for (i, contact) in fill.contacts.iter().enumerate() {
        out.extend(size(fill, i, contact, &heavy));
    }
    out
}

/// Features as findings name them: the first two of a list.
fn features(part: &Part, ids: &[usize]) -> Vec<(String, Span)> {
    let known = ids.iter().filter_map(|id| part.features.get(*id));
    let mut out: Vec<(String, Span)> = known
        .map(|f| (f.name.clone(), f.site.script().clone()))
        .collect();
    out.dedup_by(|a, b| a.0 == b.0);
    out.truncate(2);
    out
}

fn listed(names: &[(String, Span)]) -> String {
    let names: Vec<&str> = names.iter().map(|(n, _)| n.as_str()).collect();
    names.join(" and ")
}

fn place(unit: Unit, p: Vec3) -> String {
    format!("[{}]", p.to_array().map(|x| unit.number(x)).join(", "))
}

fn with(mut finding: Finding, about: Vec<(String, Span)>, at: Vec3, held: [f64; 2]) -> Finding {
    finding.features = about;
    finding.stage = Some("casting");
    finding.at_mm = Some(at.to_array());
    [finding.value, finding.limit] = held.map(Some);
    finding
}

fn unfed(fill: &Fill, spot: &HotSpot, fed: &Fed, proposal: Option<&Proposal>) -> Finding {
    let unit = fill.part.unit;
    let about = features(fill.part, &spot.features);
    let modulus = unit.show(spot.modulus_mm);
    let is = if about.len() == 1 { "is" } else { "are" };
    let text = match fed.contact {
        Some(contact) => format!(
            "{} {is} heavy (modulus about {modulus}), and the way there from {} necks down to {:.0} % of that at {}, over a ball of {}: estimated by local volume over area",
            listed(&about),
            fill.names[contact].0,
            100.0 * fed.ratio,
            place(unit, fed.neck_at),
            unit.show(fed.neck_mm),
        ),
        None => format!(
            "{} {is} heavy (modulus about {modulus}), and no gate or feeder leads there: estimated by local volume over area",
            listed(&about),
        ),
    };
    let remedy = match proposal {
        Some(p) => format!(
            "feed it: `{}`, or make it lighter",
            script_line(fill.part, &about, p)
        ),
        None => "feed it by a gate or feeder, widen the neck, or make it lighter; no flat face beside it takes a gate of its size".to_string(),
    };
    let finding = Finding::new("heavy", Level::Look, text, remedy);
    with(finding, about, spot.at, [fed.ratio, FED_FROM])
}

/// A gate as the script would say it, on a free face at the proposed place; its sizes are as cut, shrink counted.
fn script_line(part: &Part, about: &[(String, Span)], p: &Proposal) -> String {
    let unit = part.unit;
    let dia_mm = unit.upward(p.dia_mm * part.metal.growth().max_element());
    let name = about.first().map_or("gate", |(name, _)| name.as_str());
    let facing = p.facing.to_array().map(|x| format!("{}", round(x)));
    format!(
        "gate(\"{name}-gate\", #{{ on: face(#{{ at: {}, facing: [{}] }}), dia: {}, length: {} }});",
        place(unit, p.at),
        facing.join(", "),
        unit.number(dia_mm),
        unit.number(1.5 * dia_mm),
    )
}

/// To four places, without a negative zero.
fn round(x: f64) -> f64 {
    (x * 1e4).round() / 1e4 + 0.0
}

/// One whose middle is machined away is worth knowing only: what is loose there goes with the chips.
fn hot_corner(fill: &Fill, corner: &Corner, proposal: Option<&Proposal>) -> Finding {
    let part = fill.part;
    let about = features(part, &corner.features);
    let drilled = !fill.finished.holds(corner.at);
    let level = if drilled || corner.ratio() < SHARP_FROM {
        Level::Note
    } else {
        Level::Look
    };
    let middle = if drilled {
        "; its middle is machined away"
    } else {
        ""
    };
    let text = format!(
        "the junction at {} takes a ball of {}, {:.2} times the wall of {} beside it: the sand in it stays hot (estimated by the largest inside ball){middle}",
        listed(&about),
        part.unit.show(corner.ball_mm),
        corner.ratio(),
        part.unit.show(corner.wall_mm),
    );
    let feed = proposal.map_or("feed it".to_string(), |p| {
        format!("feed it: `{}`", script_line(part, &about, p))
    });
    let remedy = format!(
        "make the fillet smaller, stagger the walls, take metal out behind the junction, or {feed}"
    );
    let finding = Finding::new("hot-corner", level, text, remedy);
    with(finding, about, corner.at, [corner.ratio(), CORNER_FROM])
}

/// A gate or feeder that is too small for the heaviest spot that it feeds, where that needs feeding, or far too large.
fn size(
    fill: &Fill,
    i: usize,
    contact: &Contact,
    heavy: &dyn Fn(&HotSpot) -> bool,
) -> Option<Finding> {
    let of_it = fill
        .fed
        .iter()
        .filter(|f| f.contact == Some(i) && f.reached());
    let heaviest = of_it
        .map(|f| &fill.spots[f.spot])
        .max_by(|a, b| a.modulus_mm.total_cmp(&b.modulus_mm))?;
    let wants = contact.call() * heaviest.modulus_mm;
    let has = contact.modulus_mm();
    let (code, how, remedy) = if has < wants && heavy(heaviest) {
        ("gate-weak", "less than", "make it larger")
    } else if has > THICK_FROM * wants {
        ("gate-thick", "far more than", "make it smaller")
    } else {
        return None;
    };
    let unit = fill.part.unit;
    let mut about = vec![fill.names[i].clone()];
    about.extend(features(fill.part, &heaviest.features));
    let call = if about.len() == 2 { "calls" } else { "call" };
    let text = format!(
        "{} has a modulus of {}, {how} the {} that {} {call} for ({:.1} times its own: estimated by local volume over area)",
        about[0].0,
        unit.show(has),
        unit.show(wants),
        listed(&about[1..]),
        contact.call(),
    );
    // A round gate has a quarter of its diameter, a feeder as high as wide a fifth.
    let (times, what) = match contact.kind {
        Kind::Gate => (4.0, "a round stub of"),
        Kind::Feeder { .. } => (5.0, "a feeder as high as wide of"),
    };
    let as_cut_mm = times * wants * fill.part.metal.growth().max_element();
    let remedy = format!(
        "{remedy}: {what} {} has what it takes",
        unit.show(unit.upward(as_cut_mm))
    );
    let finding = Finding::new(code, Level::Look, text, remedy);
    Some(with(finding, about, contact.at, [has, wants]))
}

/// `misrun`, one a feature.
pub fn misruns(part: &Part, walls: &[FarWall]) -> Vec<Finding> {
    let one = |wall: &FarWall| {
        let about = features(part, &[wall.feature]);
        let range = |[low, high]: [f64; 2]| format!("{low:.0} to {high:.0} s");
        let text = format!(
            "{} is thin (modulus about {}) and {} of travel from the gates: the metal gets there in {}, and a wall as thin freezes in {}. Estimated; comparing the middles of both is this program's own choice",
            listed(&about),
            part.unit.show(wall.modulus_mm),
            part.unit.show(wall.travel_mm),
            range(wall.reached_s()),
            range(wall.freezes_s()),
        );
        let remedy = "set a gate nearer to it, or make it thicker";
        let finding = Finding::new("misrun", Level::Look, text, remedy);
        let late = lateness(wall.travel_mm, wall.modulus_mm);
        with(finding, about, wall.at, [late, 1.0])
    };
    walls.iter().map(one).collect()
}

/// `no-sand`: one a hollow that stays empty, and one for all that fill by vibration. `feature_at` names the feature whose
/// surface is nearest to a place; `better` is the way up that leaves least empty, where that is much less.
pub fn no_sand(
    part: &Part,
    hollows: &[Hollow],
    feature_at: &dyn Fn(Vec3) -> Option<usize>,
    better: Option<&Attitude>,
) -> Vec<Finding> {
    let about = |hollow: &Hollow| {
        let id = feature_at(hollow.at);
        features(part, &id.map_or(Vec::new(), |id| vec![id]))
    };
    let (few, many): (Vec<&Hollow>, Vec<&Hollow>) = hollows.iter().partition(|h| empty(h));
    let mut out: Vec<Finding> = few
        .into_iter()
        .map(|hollow| stays_empty(part, hollow, about(hollow), better))
        .collect();
    out.extend(shaken_in(part, &many, &about));
    out
}

/// Whether a hollow is told by itself.
pub(super) fn empty(hollow: &Hollow) -> bool {
    match hollow.why {
        Why::Closed | Why::Narrow => true,
        Why::Level => hollow.volume_mm3 >= EMPTY_FROM_MM3,
        Why::Shaken => false,
    }
}

/// A volume as the shop reads it.
fn millilitres(mm3: f64) -> String {
    format!("{:.0} ml", (mm3 / 1e3).max(1.0))
}

fn stays_empty(
    part: &Part,
    hollow: &Hollow,
    about: Vec<(String, Span)>,
    better: Option<&Attitude>,
) -> Finding {
    let where_ = match about.first() {
        Some((name, _)) => format!("the hollow at {name}"),
        None => format!("the hollow at {}", place(part.unit, hollow.at)),
    };
    let (level, why, remedy) = match hollow.why {
        Why::Closed => (
            Level::Stop,
            "is closed: no sand gets in".to_string(),
            "open it to the outside".to_string(),
        ),
        Why::Narrow => (
            Level::Look,
            format!(
                "has a mouth that a ball of {} doesn't pass",
                part.unit.show(BALL_MM)
            ),
            "widen its mouth, or leave it solid and machine it".to_string(),
        ),
        Why::Level | Why::Shaken => (
            Level::Look,
            format!(
                "stays empty in the pouring position, even at an angle of repose of {}°",
                REPOSE_DEG[1]
            ),
            turned(better),
        ),
    };
    let text = format!(
        "{where_} {why}; about {}, estimated on a grid; ball and angles are this program's own choices",
        millilitres(hollow.volume_mm3)
    );
    in_sand(part, level, text, remedy, (about, hollow))
}

/// What to do about sand that doesn't run in.
fn turned(better: Option<&Attitude>) -> String {
    let by_hand = "fill it by hand while the sand rises, or give it another mouth";
    match better {
        Some(a) => {
            let [x, y, z] = a.up.to_array().map(|x| x + 0.0);
            format!(
                "turn the pattern: `pour_up([{x}, {y}, {z}]);` leaves about {} empty in all instead of {}; or {by_hand}",
                millilitres(a.empty_mm3),
                millilitres(a.now_mm3),
            )
        }
        None => format!("tilt the pattern (`pour_up`), {by_hand}"),
    }
}

/// All hollows that fill by vibration, as one; it stands at the largest.
fn shaken_in(
    part: &Part,
    hollows: &[&Hollow],
    about: &dyn Fn(&Hollow) -> Vec<(String, Span)>,
) -> Option<Finding> {
    let largest = hollows
        .iter()
        .max_by(|a, b| a.volume_mm3.total_cmp(&b.volume_mm3))?;
    let whole: f64 = hollows.iter().map(|h| h.volume_mm3).sum();
    let named = about(largest);
    let where_ = match named.first() {
        Some((name, _)) => format!("at {name}"),
        None => format!("at {}", place(part.unit, largest.at)),
    };
    let [still, _] = REPOSE_DEG;
    let text = format!(
        "sand fills about {} only by vibration or turning, most of it {where_} ({}): at an angle of repose of {still}° it stays empty; estimated on a grid, the angle is this program's own choice",
        millilitres(whole),
        millilitres(largest.volume_mm3),
    );
    let remedy = "vibrate while filling, layer by layer".to_string();
    let mut finding = in_sand(part, Level::Note, text, remedy, (named, largest));
    finding.value = Some(whole);
    Some(finding)
}

/// A finding of the pattern in the sand, at a hollow.
fn in_sand(
    part: &Part,
    level: Level,
    text: String,
    remedy: String,
    (about, hollow): (Vec<(String, Span)>, &Hollow),
) -> Finding {
    let mut finding = Finding::new("no-sand", level, text, remedy);
    finding.features = about;
    finding.stage = Some("pattern");
    finding.at_mm = Some((hollow.at * part.metal.growth()).to_array());
    finding.value = Some(hollow.volume_mm3);
    finding
}
