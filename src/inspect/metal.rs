//! Metal by definition: at a point of the finished part, from the bodies' descriptions alone.

use crate::drawing::body::{Act, Body};
use crate::drawing::given::FeatureId;
use crate::inspect::Subject;
use crate::measure::{Frame, Vec3};
use crate::solid::Claim;

/// Metal by definition: held by an add that no opening may take away.
pub(super) struct Metal<'a> {
    subject: &'a Subject<'a>,
    /// Members near the axis looked at.
    near: Vec<usize>,
}

impl<'a> Metal<'a> {
    /// Metal near a line, without what one feature opens.
    pub(super) fn without(
        subject: &'a Subject<'a>,
        feature: FeatureId,
        from: Vec3,
        to: Vec3,
        reach: f64,
    ) -> Metal<'a> {
        let line = crate::measure::Bounds::of([from, to]).grown(reach);
        let near = (0..subject.finished.members.len())
            .filter(|&m| {
                let body: &Body = &subject.finished.members[m].body;
                let own = body.feature == feature && body.act == Act::Cut;
                !own && subject.boxes[m].meets(&line)
            })
            .collect();
        Metal { subject, near }
    }

    /// How far below a frame's plane there can be metal: from, to (mm).
    pub(super) fn depths(&self, frame: &Frame) -> (f64, f64) {
        let adds = self
            .near
            .iter()
            .filter(|&&m| self.subject.finished.members[m].body.act == Act::Add);
        adds.map(|&m| self.subject.boxes[m])
            .flat_map(|b| b.corners())
            .map(|p| -frame.local(p).z)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), d| {
                (low.min(d), high.max(d))
            })
    }

    pub(super) fn at(&self, p: Vec3) -> bool {
        let staged = self.subject.finished;
        let inside = |m: usize| staged.members[m].body.holds(p, 0.0) == Some(true);
        let (adds, cuts): (Vec<usize>, Vec<usize>) = self
            .near
            .iter()
            .partition(|&&m| staged.members[m].body.act == Act::Add);
        let cuts: Vec<usize> = cuts.into_iter().filter(|&c| inside(c)).collect();
        adds.into_iter()
            .any(|a| inside(a) && cuts.iter().all(|&c| staged.claim(c, a) != Claim::Takes))
    }
}
