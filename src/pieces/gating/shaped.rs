//! Each piece of the gating less the pattern and less what is whole before it: runners keep their form, sprues and stubs
//! are shaped to them.

use crate::drawing::Part;
use crate::drawing::gating::GatingForm;
use crate::measure::Bounds;
use crate::pattern::{Gated, LaidPlace, Rigid};
use crate::pieces::gating::Labels;
use crate::solid::{
    BOX, BodyFault, Shell, Solid, SolidFault, apart, common, joined, shell_of_body,
};

/// The pattern is looked at so far round a piece (mm): an odd number, so that no face of the box lies in one of the part's.
const ROUND_MM: f64 = 1.371;
/// A gate looks straight up where the product of its way with that is more.
const STRAIGHT: f64 = 0.999;
/// What is left of a piece and smaller than this isn't cut (mm³).
const CHIP_MM3: f64 = 1.0;

/// A body of foam in its own place in the gated pattern.
#[derive(Debug, Clone)]
pub(super) struct Shaped {
    /// Its number in `gated.laid`.
    pub laid: usize,
    /// Each triangle's label in place of its feature.
    pub solid: Solid,
}

/// All pieces, those that keep their form first.
pub(super) fn shaped(
    part: &Part,
    gated: &Gated,
    pattern: &Solid,
    labels: Labels,
) -> Result<Vec<Shaped>, SolidFault> {
    let shells = gated.laid.iter().map(|laid| {
        shell_of_body(&laid.body, part.facet_mm).map_err(|fault| match fault {
            BodyFault::Solid(fault) => fault,
            // It was made before, for the gated stage.
            BodyFault::Shape(_) => SolidFault::Refused {
                body: None,
                status: "a body that can't be made".to_string(),
            },
        })
    });
    let shells: Vec<Shell> = shells.collect::<Result<_, _>>()?;
    let foam = Foam::round(gated, &shells, pattern)?;
    let mut order: Vec<usize> = (0..shells.len()).collect();
    order.sort_by_key(|&laid| rank(part, gated, laid));
    let mut out = Vec::new();
    for (at, &laid) in order.iter().enumerate() {
        let shell = &shells[laid];
        let mut solid = Solid {
            points: shell.points.clone(),
            triangles: shell.triangles.clone(),
            features: vec![Labels::FREE; shell.triangles.len()],
        };
        for (_, copy) in foam.met.iter().filter(|(l, _)| *l == laid) {
            let place = &gated.places[*copy];
            let own = moved(&solid, |p| place.back(p));
            solid = without(&own, &foam.shell, labels.pattern(*copy))?;
            solid = moved(&solid, |p| place.point(p));
        }
        for &before in &order[..at] {
            if !solid.triangles.is_empty() && !apart(shell, &shells[before]) {
                solid = without(&solid, &shells[before], labels.laid(before))?;
            }
        }
        let bodies = solid.bodies().into_iter();
        let worth = bodies.filter(|body| body.volume_mm3() > CHIP_MM3);
        out.extend(worth.map(|solid| Shaped { laid, solid }));
    }
    Ok(out)
}

/// Which pieces keep their form: the lower first.
fn rank(part: &Part, gated: &Gated, laid: usize) -> u8 {
    let of = &gated.laid[laid];
    match of.place {
        LaidPlace::Bar { riser: false, .. } => 0,
        LaidPlace::Bar { riser: true, .. } => 1,
        LaidPlace::Sprue { .. } if on_a_gate(part, gated, of.piece) => 4,
        LaidPlace::Sprue { .. } => 2,
        LaidPlace::Stub { .. } => 3,
        LaidPlace::Tie { .. } => 5,
    }
}

/// Whether a sprue stands on the end of a gate that looks straight up.
fn on_a_gate(part: &Part, gated: &Gated, sprue: usize) -> bool {
    let GatingForm::Sprue { on, .. } = &part.gating.pieces[sprue].form else {
        return false;
    };
    let base = part.gating.named(on).first().copied();
    gated.laid.iter().any(|laid| {
        let looks_up = match &laid.place {
            LaidPlace::Stub { frame, .. } => frame.z.dot(part.gating.up()) > STRAIGHT,
            _ => false,
        };
        Some(laid.piece) == base && looks_up
    })
}

/// The pattern's foam round about all that meets it.
struct Foam {
    shell: Shell,
    /// Which laid pieces meet which copies of the pattern.
    met: Vec<(usize, usize)>,
}

impl Foam {
    fn round(gated: &Gated, shells: &[Shell], pattern: &Solid) -> Result<Foam, SolidFault> {
        let whole = pattern.as_shell();
        let around = whole.bounds();
        let mut met = Vec::new();
        let mut boxes: Option<Shell> = None;
        for (laid, shell) in shells.iter().enumerate() {
            for (copy, place) in gated.places.iter().enumerate() {
                let own = brought(shell, place);
                if !own.bounds().meets(&around) || apart(&own, &whole) {
                    continue;
                }
                met.push((laid, copy));
                let one = boxed(&own.bounds().grown(ROUND_MM));
                boxes = Some(match boxes {
                    Some(all) => joined(&all, &one)?,
                    None => one,
                });
            }
        }
        let shell = match boxes {
            Some(boxes) => common(&whole, &boxes)?,
            None => Shell::plain(Vec::new(), Vec::new()),
        };
        Ok(Foam { shell, met })
    }
}

/// A shell as it lies to the first pattern when it is on another.
fn brought(shell: &Shell, place: &Rigid) -> Shell {
    let points = shell.points.iter().map(|p| place.back(*p)).collect();
    Shell::plain(points, shell.triangles.clone())
}

fn boxed(bounds: &Bounds) -> Shell {
    Shell::plain(bounds.corners().to_vec(), BOX.to_vec())
}

fn moved(solid: &Solid, by: impl Fn(crate::measure::Vec3) -> crate::measure::Vec3) -> Solid {
    Solid {
        points: solid.points.iter().map(|p| by(*p)).collect(),
        ..solid.clone()
    }
}

fn without(solid: &Solid, other: &Shell, label: usize) -> Result<Solid, SolidFault> {
    Ok(solid.parted_by(&other.points, &other.triangles, label)?.1)
}
