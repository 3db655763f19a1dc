//! Closed regions of the pattern that a piece is cut out by: bodies of the casting, grown by the shrink, swollen by less
//! than a cutter resolves so that no cut lies in the pattern's own surface, joined and cut back to a plane.

use std::sync::Arc;

use crate::drawing::Part;
use crate::drawing::body::Act;
use crate::drawing::given::FeatureId;
use crate::measure::{Bounds, Plane, Vec3};
use crate::pattern::{Role, Staged};
use crate::solid::{Memo, Shell, SolidFault};

/// How far a region stands out over the bodies that it is made of (mm): over the rounding of a pattern's points to f32,
/// far under what a cutter resolves.
pub(super) const SWELL_MM: f64 = 1e-3;
/// A point moves by no more than so many times that, however sharp its corner is.
const MOST_SWELL: f64 = 4.0;

/// The casting's bodies and their meshes, one each.
#[derive(Debug, Clone, Copy)]
pub struct Bodies<'a> {
    /// The bodies.
    pub staged: &'a Staged,
    /// Their meshes (mm, before the shrink).
    pub shells: &'a [Arc<Shell>],
}

/// What of a feature's bodies a region takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Take {
    /// Its metal without a fillet made apart.
    Core,
    /// That fillet alone.
    Skirt,
    /// Both.
    All,
}

impl Bodies<'_> {
    /// The added bodies of some features, as they lie in the pattern.
    pub(super) fn of<'s>(
        &'s self,
        part: &'s Part,
        wanted: impl Fn(FeatureId) -> Option<Take> + 's,
    ) -> impl Iterator<Item = Shell> + 's {
        let members = self.staged.members.iter().zip(self.shells);
        members
            .filter(move |(member, shell)| {
                let take = wanted(member.body.feature);
                let skirt = member.role == Role::Skirt;
                member.body.act == Act::Add
                    && !shell.triangles.is_empty()
                    && take.is_some_and(|t| t == Take::All || (t == Take::Skirt) == skirt)
            })
            .map(move |(_, shell)| grown(part, shell))
    }
}

impl Bodies<'_> {
    /// The metal of every feature that adds, as it lies in the pattern, without fillets made apart.
    pub(super) fn cores<'s>(
        &'s self,
        part: &'s Part,
    ) -> impl Iterator<Item = (FeatureId, Shell)> + 's {
        let members = self.staged.members.iter().zip(self.shells);
        members
            .filter(|(m, shell)| {
                m.body.act == Act::Add && m.role != Role::Skirt && !shell.triangles.is_empty()
            })
            .map(move |(m, shell)| (m.body.feature, grown(part, shell)))
    }

    /// What some openings take, as it lies in the pattern.
    pub(super) fn cuts<'s>(
        &'s self,
        part: &'s Part,
        openings: &'s [FeatureId],
    ) -> impl Iterator<Item = Shell> + 's {
        let members = self.staged.members.iter().zip(self.shells);
        members
            .filter(move |(m, _)| m.body.act == Act::Cut && openings.contains(&m.body.feature))
            .map(move |(_, shell)| grown(part, shell))
    }
}

fn grown(part: &Part, shell: &Shell) -> Shell {
    let by = part.metal.growth();
    let mut out = shell.clone();
    out.points.iter_mut().for_each(|p| *p *= by);
    out
}

/// Every point moved outward, so that each face moves by at least [`SWELL_MM`].
pub(super) fn swollen(shell: &Shell) -> Shell {
    let mut sums = vec![Vec3::ZERO; shell.points.len()];
    let normals: Vec<Vec3> = shell
        .triangles
        .iter()
        .map(|t| {
            let [a, b, c] = t.map(|i| shell.points[i as usize]);
            (b - a).cross(c - a).normalize_or_zero()
        })
        .collect();
    for (t, normal) in shell.triangles.iter().zip(&normals) {
        for k in 0..3 {
            let at = |i: usize| shell.points[t[i % 3] as usize];
            let (a, b) = (at(k + 1) - at(k), at(k + 2) - at(k));
            // By the angle at the corner, so that nothing depends on how a face is cut into triangles.
            let angle = a.angle_between(b);
            if angle.is_finite() {
                sums[t[k] as usize] += *normal * angle;
            }
        }
    }
    let ways: Vec<Vec3> = sums.into_iter().map(Vec3::normalize_or_zero).collect();
    let mut least = vec![1.0_f64; ways.len()];
    for (t, normal) in shell.triangles.iter().zip(&normals) {
        for &i in t {
            if *normal != Vec3::ZERO {
                least[i as usize] = least[i as usize].min(ways[i as usize].dot(*normal));
            }
        }
    }
    let mut out = shell.clone();
    for ((point, way), least) in out.points.iter_mut().zip(ways).zip(least) {
        *point += way * (SWELL_MM / least.max(1.0 / MOST_SWELL));
    }
    out
}

/// All shells as one; `None` of none.
pub(super) fn together(
    shells: impl Iterator<Item = Shell>,
    memo: &mut Memo,
) -> Result<Option<Shell>, SolidFault> {
    let mut all: Option<Shell> = None;
    for shell in shells {
        all = Some(match all {
            Some(before) => memo.joined(&before, &shell)?,
            None => shell,
        });
    }
    Ok(all)
}

/// What of a shell lies over a plane, on its normal's side.
pub(super) fn over(shell: &Shell, plane: &Plane, memo: &mut Memo) -> Result<Shell, SolidFault> {
    let turned = Plane {
        normal: -plane.normal,
        offset: -plane.offset,
    };
    memo.trimmed(shell, &turned)
}

/// A shell without others, of which only those that come near it count.
pub(super) fn without(
    shell: Shell,
    others: impl Iterator<Item = Shell>,
    memo: &mut Memo,
) -> Result<Shell, SolidFault> {
    let mut left = shell;
    for other in others {
        if left.triangles.is_empty() {
            break;
        }
        let near: Bounds = left.bounds();
        if other.bounds().meets(&near) {
            left = memo.minus(&left, &other)?;
        }
    }
    Ok(left)
}
