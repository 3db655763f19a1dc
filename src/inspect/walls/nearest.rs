//! Nearest points of points, segments and triangles.
//!
//! Method: the regions of a triangle by the signs of its edges' products, and two lines' nearest points clamped to
//! their segments (C. Ericson, "Real-Time Collision Detection", 2005, ch. 5; from memory).

use crate::measure::Vec3;

/// The point of a triangle nearest to `p`.
pub(super) fn point_triangle(p: Vec3, &[a, b, c]: &[Vec3; 3]) -> Vec3 {
    let (ab, ac) = (b - a, c - a);
    let (d1, d2) = (ab.dot(p - a), ac.dot(p - a));
    if d1 <= 0.0 && d2 <= 0.0 {
        return a;
    }
    let (d3, d4) = (ab.dot(p - b), ac.dot(p - b));
    if d3 >= 0.0 && d4 <= d3 {
        return b;
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return a + ab * (d1 / (d1 - d3));
    }
    let (d5, d6) = (ab.dot(p - c), ac.dot(p - c));
    if d6 >= 0.0 && d5 <= d6 {
        return c;
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return a + ac * (d2 / (d2 - d6));
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 >= d3 && d5 >= d6 {
        return b + (c - b) * ((d4 - d3) / ((d4 - d3) + (d5 - d6)));
    }
    let sum = va + vb + vc;
    a + ab * (vb / sum) + ac * (vc / sum)
}

/// The nearest points of two segments; of parallel ones, those at the middle of the first where that goes.
pub(super) fn segments(a: [Vec3; 2], b: [Vec3; 2]) -> (Vec3, Vec3) {
    let (u, w, r) = (a[1] - a[0], b[1] - b[0], a[0] - b[0]);
    let (uu, ww, uw) = (u.dot(u), w.dot(w), u.dot(w));
    let (ur, wr) = (u.dot(r), w.dot(r));
    let area = uu * ww - uw * uw;
    let mut s = if area > 1e-12 * uu * ww {
        ((uw * wr - ur * ww) / area).clamp(0.0, 1.0)
    } else {
        0.5
    };
    let mut t = (uw * s + wr) / ww.max(1e-30);
    if t < 0.0 {
        t = 0.0;
        s = (-ur / uu.max(1e-30)).clamp(0.0, 1.0);
    } else if t > 1.0 {
        t = 1.0;
        s = ((uw - ur) / uu.max(1e-30)).clamp(0.0, 1.0);
    }
    (a[0] + u * s, b[0] + w * t)
}

/// The distance of two triangles that don't cross (mm), and the point on each.
pub(super) fn triangles(x: &[Vec3; 3], y: &[Vec3; 3]) -> (f64, Vec3, Vec3) {
    let mut best = (f64::MAX, Vec3::ZERO, Vec3::ZERO);
    let mut offer = |p: Vec3, q: Vec3| {
        let d = p.distance(q);
        if d < best.0 - 1e-9 {
            best = (d, p, q);
        }
    };
    for i in 0..3 {
        offer(x[i], point_triangle(x[i], y));
        offer(point_triangle(y[i], x), y[i]);
    }
    for i in 0..3 {
        for j in 0..3 {
            let (p, q) = segments([x[i], x[(i + 1) % 3]], [y[j], y[(j + 1) % 3]]);
            offer(p, q);
        }
    }
    best
}
