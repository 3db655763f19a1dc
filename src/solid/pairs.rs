//! Shell algebra: what preparing a body and the findings need. Each catches kernel panics.

use manifold_rust::linalg::Vec3 as KernelVec;
use manifold_rust::types::OpType;

use crate::measure::{Bounds, Plane, Vec3};
use crate::solid::Shell;
use crate::solid::edges::Edges;
use crate::solid::kernel::{SolidFault, boolean, checked, from_kernel, guarded, to_kernel};

/// What both hold: its volume (mm³) and its centroid; `None` where they share nothing.
///
/// # Errors
/// The kernel panicked or refused a shell.
pub fn common_volume(a: &Shell, b: &Shell) -> Result<(f64, Option<Vec3>), SolidFault> {
    if apart(a, b) {
        return Ok((0.0, None));
    }
    let shared = common(a, b)?;
    let volume = shell_volume(&shared);
    Ok((volume, (volume > 0.0).then(|| centroid(&shared, volume))))
}

/// Whether two shells surely share nothing: their triangles' boxes don't meet, and no surface of one lies in the other.
pub fn apart(a: &Shell, b: &Shell) -> bool {
    let (box_a, box_b) = (a.bounds(), b.bounds());
    if !box_a.meets(&box_b) {
        return true;
    }
    let boxes = |shell: &Shell, other: &Bounds| -> Vec<Bounds> {
        let mut boxes: Vec<Bounds> = shell
            .corners()
            .map(Bounds::of)
            .filter(|b| b.meets(other))
            .collect();
        boxes.sort_by(|p, q| p.low.x.total_cmp(&q.low.x));
        boxes
    };
    let (of_a, of_b) = (boxes(a, &box_b), boxes(b, &box_a));
    let mut first = 0;
    let widest = of_b.iter().map(|b| b.size().x).fold(0.0, f64::max);
    for near in &of_a {
        while first < of_b.len() && of_b[first].low.x + widest < near.low.x {
            first += 1;
        }
        let candidates = of_b[first..].iter().take_while(|b| b.low.x <= near.high.x);
        if candidates.into_iter().any(|b| b.meets(near)) {
            return false;
        }
    }
    !enters(a, b) && !enters(b, a)
}

/// Whether a surface of `a` lies in `b`, where their surfaces don't meet.
fn enters(a: &Shell, b: &Shell) -> bool {
    let (of, count) = Edges::of(&a.triangles).surfaces();
    let mut asked = vec![false; count];
    a.corners().zip(of).any(|(corners, surface)| {
        !std::mem::replace(&mut asked[surface], true) && b.holds(corners[0])
    })
}

/// Enclosed volume of a closed shell, positive when it is oriented outward (mm³).
pub fn shell_volume(shell: &Shell) -> f64 {
    shell
        .triangles
        .iter()
        .map(|t| six_volumes(shell, t))
        .sum::<f64>()
        / 6.0
}

fn six_volumes(shell: &Shell, t: &[u32; 3]) -> f64 {
    let [a, b, c] = t.map(|i| shell.points[i as usize]);
    a.dot(b.cross(c))
}

fn centroid(shell: &Shell, volume: f64) -> Vec3 {
    let sum: Vec3 = shell
        .triangles
        .iter()
        .map(|t| {
            let [a, b, c] = t.map(|i| shell.points[i as usize]);
            (a + b + c) * a.dot(b.cross(c))
        })
        .sum();
    sum / (24.0 * volume)
}

fn combined(a: &Shell, b: &Shell, op: OpType) -> Result<Shell, SolidFault> {
    guarded(|| Ok(from_kernel(&boolean(&to_kernel(a)?, &to_kernel(b)?, op)?)))
}

/// `a` without `b`.
///
/// # Errors
/// The kernel panicked or refused a shell.
pub fn minus(a: &Shell, b: &Shell) -> Result<Shell, SolidFault> {
    combined(a, b, OpType::Subtract)
}

/// What both hold.
///
/// # Errors
/// The kernel panicked or refused a shell.
pub fn common(a: &Shell, b: &Shell) -> Result<Shell, SolidFault> {
    combined(a, b, OpType::Intersect)
}

/// What either holds.
///
/// # Errors
/// The kernel panicked or refused a shell.
pub fn joined(a: &Shell, b: &Shell) -> Result<Shell, SolidFault> {
    combined(a, b, OpType::Add)
}

/// What of a shell lies below a plane (against its normal).
///
/// # Errors
/// The kernel panicked or refused the shell.
pub fn trimmed(a: &Shell, plane: &Plane) -> Result<Shell, SolidFault> {
    let deepest = a
        .points
        .iter()
        .map(|p| plane.distance(*p))
        .fold(f64::NEG_INFINITY, f64::max);
    if deepest <= 0.0 {
        return Ok(a.clone());
    }
    guarded(|| {
        let n = -plane.normal;
        let kept = to_kernel(a)?.trim_by_plane(KernelVec::new(n.x, n.y, n.z), -plane.offset);
        Ok(from_kernel(&checked(kept)?))
    })
}
