//! `sharp-inside`: inside corners of the casting without a fillet, where metal tears as it cools; and the checks that share
//! a stage's surface with it.

use std::collections::BTreeMap;

use crate::drawing::Part;
use crate::drawing::given::FeatureId;
use crate::fault::{Finding, Go, Level};
use crate::inspect::named;
use crate::inspect::thin::thin_walls;
use crate::inspect::walls::{InsideEdge, Surface};
use crate::measure::Vec3;
use crate::solid::Solid;

/// Sharp corners of a pair of features shorter than this together aren't worth a line (mm).
const FROM_MM: f64 = 10.0;

/// An edge on a ledge narrower than this is a fillet's end, which stops a facet short of the wall that it runs up (mm).
const LEDGE_MM: f64 = 0.25;

/// So many pairs get a line of their own, the longest first; the rest share one.
const OWN_LINES: usize = 4;

/// What is found on the surfaces of the casting and of the finished part: walls, and sharp inside corners.
pub fn on_surfaces(part: &Part, finished: &Solid, casting: &Solid, go: Go) -> Vec<Finding> {
    let surface = |solid: &Solid| Surface::new(&solid.points, &solid.triangles, &solid.features);
    let cast = surface(casting);
    let same = finished.triangles == casting.triangles && finished.points == casting.points;
    let done = (!same).then(|| surface(finished));
    let mut findings = thin_walls(part, done.as_ref(), &cast, go);
    findings.extend(sharp_inside(part, &cast));
    findings
}

/// The sharp inside corners of one pair of features.
#[derive(Default)]
struct Corners {
    length_mm: f64,
    /// The longest piece: its length and middle.
    longest: (f64, Vec3),
}

fn sharp_inside(part: &Part, cast: &Surface) -> Vec<Finding> {
    let mut by_pair: BTreeMap<[FeatureId; 2], Corners> = BTreeMap::new();
    let edges = cast.sharp_inside_edges();
    for InsideEdge { ends, features, .. } in edges.filter(|e| e.width_mm >= LEDGE_MM) {
        let length = ends[0].distance(ends[1]);
        let mut pair = features;
        pair.sort_unstable();
        let corners = by_pair.entry(pair).or_default();
        corners.length_mm += length;
        if length > corners.longest.0 {
            corners.longest = (length, (ends[0] + ends[1]) / 2.0);
        }
    }
    let known = |pair: &[FeatureId; 2]| pair.iter().all(|&id| id < part.features.len());
    let mut pairs: Vec<([FeatureId; 2], Corners)> = by_pair
        .into_iter()
        .filter(|(pair, c)| c.length_mm >= FROM_MM && known(pair))
        .collect();
    pairs.sort_by(|a, b| b.1.length_mm.total_cmp(&a.1.length_mm).then(a.0.cmp(&b.0)));
    let rest = pairs.split_off(pairs.len().min(OWN_LINES));
    let mut out: Vec<Finding> = pairs.iter().map(|(p, c)| own_line(part, p, c)).collect();
    out.extend((!rest.is_empty()).then(|| shared_line(part, &rest)));
    out
}

fn own_line(part: &Part, pair: &[FeatureId; 2], corners: &Corners) -> Finding {
    let [a, b] = pair.map(|id| named(part, id));
    let between = if a == b {
        format!("in {}", a.0)
    } else {
        format!("between {} and {}", a.0, b.0)
    };
    let mut finding = Finding::new(
        "sharp-inside",
        Level::Note,
        format!(
            "{} of sharp inside corner {between}: castings tear there",
            part.unit.show(corners.length_mm)
        ),
        format!("give {} a `fillet:`, or fillet the foam with wax", b.0),
    );
    finding.features = if a == b { vec![a] } else { vec![b, a] };
    finding.stage = Some("casting");
    finding.at_mm = Some(corners.longest.1.to_array());
    finding.value = Some(corners.length_mm);
    finding
}

fn shared_line(part: &Part, rest: &[([FeatureId; 2], Corners)]) -> Finding {
    let length: f64 = rest.iter().map(|(_, c)| c.length_mm).sum();
    let mut names: Vec<FeatureId> = rest.iter().map(|(pair, _)| pair[1]).collect();
    names.sort_unstable();
    names.dedup();
    let count = rest.len();
    let mut finding = Finding::new(
        "sharp-inside",
        Level::Note,
        format!(
            "{} more of sharp inside corners, at {count} more {}",
            part.unit.show(length),
            if count == 1 { "place" } else { "places" }
        ),
        "give these features a `fillet:`, or say `fillets(...)` once for all".to_string(),
    );
    finding.features = names.into_iter().map(|id| named(part, id)).collect();
    finding.stage = Some("casting");
    finding.value = Some(length);
    finding
}
