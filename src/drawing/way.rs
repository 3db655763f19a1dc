//! A way through space with its section carried along: straight legs and round or mitred bends.

use crate::drawing::face::section_axes;
use crate::measure::{Vec2, Vec3};

/// One straight leg or one bend.
#[derive(Debug, Clone, PartialEq)]
enum Piece {
    Leg {
        from: Vec3,
        dir: Vec3,
        length: f64,
        u: Vec3,
        v: Vec3,
        ends: [Option<Vec3>; 2],
    },
    Bend {
        centre: Vec3,
        axis: Vec3,
        out: Vec3,
        radius: f64,
        angle: f64,
        u: Vec3,
        v: Vec3,
    },
}

/// A way as a tunnel or sweep runs it.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    pieces: Vec<Piece>,
}

impl Way {
    /// The way through these points; the bends of `bend` radius, or mitred. `before` and `after` lengthen its ends.
    /// Neighbouring points must differ.
    pub fn new(points: &[Vec3], bend: Option<f64>, flip_u: bool, before: f64, after: f64) -> Way {
        let dirs: Vec<Vec3> = points
            .windows(2)
            .map(|w| (w[1] - w[0]).normalize())
            .collect();
        let (mut u, mut v) = section_axes(dirs[0]);
        if flip_u {
            u = -u;
        }
        let mut pieces = Vec::new();
        let mut from = points[0] - dirs[0] * before;
        let mut start_mitre = None;
        for i in 0..dirs.len() {
            let last = i + 1 == dirs.len();
            let to = points[i + 1] + if last { dirs[i] * after } else { Vec3::ZERO };
            let turn = if last {
                0.0
            } else {
                dirs[i].angle_between(dirs[i + 1])
            };
            let axis = if last {
                Vec3::ZERO
            } else {
                dirs[i].cross(dirs[i + 1]).normalize_or_zero()
            };
            let cut = bend
                .filter(|_| turn > 1e-9)
                .map_or(0.0, |r| r * (turn / 2.0).tan());
            let end_mitre =
                (bend.is_none() && turn > 1e-9).then(|| (dirs[i] + dirs[i + 1]).normalize());
            let end = to - dirs[i] * cut;
            pieces.push(Piece::Leg {
                from,
                dir: dirs[i],
                length: (end - from).dot(dirs[i]),
                u,
                v,
                ends: [start_mitre, end_mitre],
            });
            from = end;
            start_mitre = end_mitre;
            if turn > 1e-9 {
                if let Some(radius) = bend {
                    let toward = axis.cross(dirs[i]);
                    let centre = end + toward * radius;
                    pieces.push(Piece::Bend {
                        centre,
                        axis,
                        out: -toward,
                        radius,
                        angle: turn,
                        u,
                        v,
                    });
                    from = to + dirs[i + 1] * cut;
                } else {
                    from = to;
                }
                (u, v) = (rotate(u, axis, turn), rotate(v, axis, turn));
            }
        }
        Way { pieces }
    }

    /// Where in the section a point of space falls, for each piece of the way that passes it.
    pub fn sections_at(&self, p: Vec3) -> impl Iterator<Item = Vec2> + '_ {
        self.pieces
            .iter()
            .filter_map(move |piece| piece.section_at(p))
    }

    /// Length of the middle line (mm).
    pub fn length(&self) -> f64 {
        self.pieces
            .iter()
            .map(|p| match p {
                Piece::Leg { length, .. } => *length,
                Piece::Bend { radius, angle, .. } => radius * angle,
            })
            .sum()
    }
}

impl Piece {
    fn section_at(&self, p: Vec3) -> Option<Vec2> {
        match self {
            Piece::Leg {
                from,
                dir,
                length,
                u,
                v,
                ends,
            } => {
                let d = p - *from;
                let t = d.dot(*dir);
                let after_start = ends[0].map_or(t >= 0.0, |n| d.dot(n) >= 0.0);
                let to = *from + *dir * *length;
                let before_end = ends[1].map_or(t <= *length, |n| (p - to).dot(n) <= 0.0);
                (after_start && before_end).then(|| Vec2::new(d.dot(*u), d.dot(*v)))
            }
            Piece::Bend {
                centre,
                axis,
                out,
                radius,
                angle,
                u,
                v,
            } => {
                let d = p - *centre;
                let forward = axis.cross(*out);
                let t = d.dot(forward).atan2(d.dot(*out));
                if !(0.0..=*angle).contains(&t) {
                    return None;
                }
                let (u, v, out) = (
                    rotate(*u, *axis, t),
                    rotate(*v, *axis, t),
                    rotate(*out, *axis, t),
                );
                let d = d - out * *radius;
                Some(Vec2::new(d.dot(u), d.dot(v)))
            }
        }
    }
}

/// A vector turned about a unit axis.
fn rotate(x: Vec3, axis: Vec3, angle: f64) -> Vec3 {
    let (s, c) = angle.sin_cos();
    x * c + axis.cross(x) * s + axis * (axis.dot(x) * (1.0 - c))
}
