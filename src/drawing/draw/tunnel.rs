//! Tunnels.

use crate::drawing::draw::place::on_face;
use crate::drawing::feature::{Form, Host, Tunnel};
use crate::drawing::given::{FaceRef, Handle, Spot, TunnelGiven, WayPoint};
use crate::drawing::part::{Part, Refusal};
use crate::measure::{FLUSH_MM, Frame, SAME_POINT_MM, Vec2, Vec3};

impl Part {
    /// Adds a `tunnel`.
    ///
    /// # Errors
    /// A taken name, an end on a face that isn't flat, points that coincide, a bend tighter than the section
    /// or too long for its legs.
    pub fn tunnel(&mut self, given: TunnelGiven) -> Result<Handle, Refusal> {
        self.check_name(&given.head.name)?;
        let last = given.way.len().saturating_sub(1);
        if last == 0 {
            return Err(Refusal::at("path", "a tunnel needs two points or more"));
        }
        let mut ends: [Option<Host>; 2] = [None, None];
        let mut way = Vec::new();
        for (i, point) in given.way.iter().enumerate() {
            match point {
                WayPoint::Xyz(p) => way.push(*p),
                WayPoint::OnFace(reference, at) => {
                    let (point, host) = self.way_on_face(reference, *at)?;
                    way.push(point);
                    match i {
                        0 => ends[0] = Some(host),
                        i if i == last => ends[1] = Some(host),
                        _ => {
                            return Err(Refusal::at(
                                "path",
                                "only the ends of a tunnel may lie on a face",
                            ));
                        }
                    }
                }
            }
        }
        let way = straightened(&way);
        if way.len() < 2 {
            return Err(Refusal::at("path", "the points of a tunnel coincide"));
        }
        self.check_bends(&way, &given)?;
        let form = Tunnel {
            way,
            bend: given.bend,
            inside: given.inside.clone(),
            wall: given.wall,
            ends,
            flip_u: false,
        };
        let host = None;
        self.enter(
            &given.head,
            false,
            given.cored,
            vec![(Frame::PART, host, Form::Tunnel(form))],
        )
    }

    fn way_on_face(&self, reference: &FaceRef, at: Vec2) -> Result<(Vec3, Host), Refusal> {
        let face = self.flat_face(reference, "path")?;
        let spot = on_face(&face.frame, Spot::Uv(at));
        let point = face.frame.point(spot.extend(0.0));
        let host = match reference {
            FaceRef::Level(_) => self.host_at_level(face.as_host(), point),
            _ => face.as_host(),
        };
        Ok((point, host))
    }

    fn check_bends(&self, way: &[Vec3], given: &TunnelGiven) -> Result<(), Refusal> {
        let reach = given.inside.reach() + given.wall;
        let show = |mm: f64| self.unit.show(mm);
        let mut used = vec![0.0; way.len() - 1];
        for i in 1..way.len() - 1 {
            let turn = (way[i] - way[i - 1]).angle_between(way[i + 1] - way[i]);
            if turn > 175f64.to_radians() {
                return Err(Refusal::at(
                    "path",
                    format!("the tunnel turns back on itself at point {}", i + 1),
                ));
            }
            let radius = given.bend.unwrap_or(reach);
            if given.bend.is_some() && radius <= reach {
                return Err(Refusal::at(
                    "bend",
                    format!(
                        "a bend of {} is tighter than the tunnel itself; it must be over {}",
                        show(radius),
                        show(reach)
                    ),
                ));
            }
            used[i - 1] += radius * (turn / 2.0).tan();
            used[i] += radius * (turn / 2.0).tan();
        }
        for (i, leg) in way.windows(2).enumerate() {
            let length = leg[0].distance(leg[1]);
            if used[i] > length + FLUSH_MM {
                return Err(Refusal::at(
                    "path",
                    format!(
                        "the leg from point {} to {} is {} long; its bends need {}",
                        i + 1,
                        i + 2,
                        show(length),
                        show(used[i])
                    ),
                ));
            }
        }
        Ok(())
    }
}

/// The way without doubled points and without points on a straight run.
fn straightened(way: &[Vec3]) -> Vec<Vec3> {
    let mut out: Vec<Vec3> = Vec::new();
    for &p in way {
        if out.last().is_some_and(|q| q.distance(p) < SAME_POINT_MM) {
            continue;
        }
        if let [.., a, b] = out.as_slice()
            && (*b - *a).normalize().distance((p - *b).normalize()) < 1e-9
        {
            out.pop();
        }
        out.push(p);
    }
    out
}
