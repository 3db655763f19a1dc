//! Turned bodies: the profile closed, oriented and checked.

use crate::drawing::feature::{Form, Turned, TurnedPoint};
use crate::drawing::given::{Handle, ProfilePoint, TurnedGiven};
use crate::drawing::outline::{Outline, Vertex};
use crate::drawing::part::{Part, Refusal};
use crate::measure::{FLUSH_MM, SAME_POINT_MM, Vec2};

impl Part {
    /// Adds a `turned` body or opening.
    ///
    /// # Errors
    /// A taken name, a face that isn't flat, a profile that crosses itself or the axis, or holds nothing.
    pub fn turned(&mut self, given: TurnedGiven) -> Result<Handle, Refusal> {
        self.check_name(&given.head.name)?;
        self.check_loose(&given.head, &given.place)?;
        let profile = closed_profile(&given.profile)?;
        let place_key = if given.adds { "on" } else { "into" };
        if !given.adds && !profile.iter().any(|p| p.z < -FLUSH_MM) {
            return Err(Refusal::at(
                "profile",
                "it lies wholly outside the face that it is cut into",
            )
            .hint("z counts outward from the face: what is cut has negative z"));
        }
        let forms = self
            .frames(&given.place, place_key)?
            .into_iter()
            .map(|(frame, host)| {
                (
                    frame,
                    host,
                    Form::Turned(Turned {
                        profile: profile.clone(),
                        adds: given.adds,
                    }),
                )
            })
            .collect();
        self.enter(&given.head, given.place.listed, given.cored, forms)
    }
}

/// The profile closed on itself, counter-clockwise in (r, z), with faces kept at the runs they name.
fn closed_profile(given: &[ProfilePoint]) -> Result<Vec<TurnedPoint>, Refusal> {
    if given.len() < 2 {
        return Err(Refusal::at(
            "profile",
            "a profile needs three points or more",
        ));
    }
    if let Some(p) = given.iter().find(|p| p.r < -SAME_POINT_MM) {
        return Err(Refusal::at(
            "profile",
            format!("the point [{}, {}] lies beyond the axis", p.r, p.z),
        ));
    }
    let mut points: Vec<TurnedPoint> = given
        .iter()
        .map(|p| TurnedPoint {
            r: p.r.max(0.0),
            z: p.z,
            bulge: p.bulge,
            face: p.face.clone(),
        })
        .collect();
    if let [first, .., last] = points.as_slice()
        && (first.r - last.r).hypot(first.z - last.z) < SAME_POINT_MM
    {
        points.pop();
    }
    let (first, last) = (&points[0], &points[points.len() - 1]);
    let on_axis = first.r < SAME_POINT_MM && last.r < SAME_POINT_MM;
    let touches = points.iter().filter(|p| p.r < SAME_POINT_MM).count();
    if !on_axis && touches == 1 && (first.r < SAME_POINT_MM) != (last.r < SAME_POINT_MM) {
        return Err(
            Refusal::at("profile", "one end lies on the axis and the other does not")
                .hint("run it from axis to axis, or close it on itself"),
        );
    }
    let area = signed_area(&points);
    if area.abs() < 1e-9 {
        return Err(Refusal::at("profile", "it encloses nothing"));
    }
    if area < 0.0 {
        points = reversed(points);
    }
    let vertices = points
        .iter()
        .map(|p| Vertex {
            at: Vec2::new(p.r, p.z),
            bulge: p.bulge,
        })
        .collect();
    Outline::from_loops(vec![vertices])
        .map_err(|e| Refusal::at("profile", e.text(crate::measure::Unit::Mm)))?;
    Ok(points)
}

/// The same loop the other way round; each face and bulge stays with its run.
fn reversed(points: Vec<TurnedPoint>) -> Vec<TurnedPoint> {
    let n = points.len();
    (0..n)
        .map(|i| {
            let here = &points[(n - i) % n];
            let run = &points[(2 * n - i - 1) % n];
            TurnedPoint {
                r: here.r,
                z: here.z,
                bulge: -run.bulge,
                face: run.face.clone(),
            }
        })
        .collect()
}

/// Area in (r, z), positive counter-clockwise, arcs included.
fn signed_area(points: &[TurnedPoint]) -> f64 {
    (0..points.len())
        .map(|i| {
            let (a, b) = (&points[i], &points[(i + 1) % points.len()]);
            let chord = (a.r - b.r).hypot(a.z - b.z);
            let angle = 4.0 * a.bulge.atan();
            let segment = if angle.abs() < 1e-9 {
                0.0
            } else {
                let radius = chord / (2.0 * (angle / 2.0).sin().abs());
                radius * radius * (angle.abs() - angle.abs().sin()) / 2.0 * angle.signum()
            };
            (a.r * b.z - b.r * a.z) / 2.0 + segment
        })
        .sum()
}
