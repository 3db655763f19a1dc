//! Openings against each other and against metal: `breaks-into`, `kept-open`, `capped`.

use crate::drawing::body::Act;
use crate::drawing::given::FeatureId;
use crate::fault::{Finding, Level};
use crate::inspect::{Subject, named};
use crate::measure::{Plane, TRIFLE_MM3, Vec3};
use crate::pattern::{Member, Role, may_meet};
use crate::solid::{Claim, apart, common, common_volume, minus, shell_volume, trimmed};

/// How far over a mouth its cover is looked for (mm): more than any sink, less than any boss is high.
const COVER_MM: f64 = 0.45;

/// Index of the member that is the opening of each cut, alone where it was made, else with its extension.
fn openings<'a>(subject: &'a Subject) -> impl Iterator<Item = (usize, usize, &'a Member)> + 'a {
    subject
        .finished
        .members
        .iter()
        .enumerate()
        .filter_map(|(m, member)| match member.role {
            Role::Tall(cut) => Some((m, cut, member)),
            _ => None,
        })
}

/// Openings that meet unannounced.
pub(super) fn breaks_into(subject: &Subject) -> Vec<Finding> {
    let part = subject.part;
    let all: Vec<_> = openings(subject).collect();
    let mut found: Vec<(FeatureId, FeatureId, f64, Option<Vec3>)> = Vec::new();
    for (i, (ma, ca, a)) in all.iter().enumerate() {
        for (mb, cb, b) in &all[i + 1..] {
            let (fa, fb) = (a.body.feature, b.body.feature);
            let near = subject.boxes[*ma].meets(&subject.boxes[*mb]);
            if fa == fb || !near || may_meet(part, fa, fb) {
                continue;
            }
            if apart(&subject.shells[*ma], &subject.shells[*mb]) {
                continue;
            }
            // Without their extensions over the mouths.
            let clean = |cut: &usize| (subject.shell_of)(&subject.finished.cuts[*cut].clean);
            let (Some(sa), Some(sb)) = (clean(ca), clean(cb)) else {
                continue;
            };
            let Ok((volume, at)) = common_volume(&sa, &sb) else {
                continue;
            };
            if volume < TRIFLE_MM3 {
                continue;
            }
            match found.iter_mut().find(|f| (f.0, f.1) == (fa, fb)) {
                Some(f) => f.2 += volume,
                None => found.push((fa, fb, volume, at)),
            }
        }
    }
    found
        .into_iter()
        .map(|(a, b, volume, at)| {
            let (a, b) = (named(part, a.max(b)), named(part, a.min(b)));
            let mut finding = Finding::new(
                "breaks-into",
                Level::Stop,
                format!("{} breaks into {}: they share {:.0} mm³", a.0, b.0, volume),
                format!(
                    "move one of them, or say `meets: {}` in {} if they are meant to meet",
                    b.0, a.0
                ),
            );
            finding.features = vec![a, b];
            finding.stage = Some("finished");
            finding.at_mm = at.map(|p| p.to_array());
            finding.value = Some(volume);
            finding
        })
        .collect()
}

/// Metal of a later feature that an earlier opening keeps clear.
pub(super) fn kept_open(subject: &Subject) -> Vec<Finding> {
    let part = subject.part;
    let staged = subject.finished;
    let mut found: Vec<(FeatureId, FeatureId, f64, f64)> = Vec::new();
    for (m, _, opening) in openings(subject) {
        for (a, metal) in staged.members.iter().enumerate() {
            let (fo, fm) = (opening.body.feature, metal.body.feature);
            let later = fm > fo && metal.role == Role::Core;
            // A tunnel's wall inside an opening that it is meant to meet is not missed.
            let expected = part.features[fm].opens() && may_meet(part, fm, fo);
            if !later
                || !subject.boxes[m].meets(&subject.boxes[a])
                || expected
                || staged.claim(m, a) != Claim::Takes
                || apart(&subject.shells[m], &subject.shells[a])
            {
                continue;
            }
            // What merely reaches into its host to join it is not the feature's own.
            let foot = part.features[fm].host.as_ref().map(|h| h.frame.plane());
            let shell = match foot {
                Some(plane) => {
                    let above = Plane {
                        normal: -plane.normal,
                        offset: -plane.offset,
                    };
                    match trimmed(&subject.shells[a], &above) {
                        Ok(shell) => shell,
                        Err(_) => continue,
                    }
                }
                None => (*subject.shells[a]).clone(),
            };
            let Ok((volume, _)) = common_volume(&subject.shells[m], &shell) else {
                continue;
            };
            if volume < TRIFLE_MM3 {
                continue;
            }
            let whole = shell_volume(&shell);
            match found.iter_mut().find(|f| (f.0, f.1) == (fo, fm)) {
                Some(f) => f.2 += volume,
                None => found.push((fo, fm, volume, whole)),
            }
        }
    }
    found
        .into_iter()
        .map(|(o, f, volume, whole)| {
            let share = volume / whole.max(1e-9);
            let level = if share > 0.5 {
                Level::Look
            } else {
                Level::Note
            };
            let (o, f) = (named(part, o), named(part, f));
            let mut finding = Finding::new(
                "kept-open",
                level,
                format!(
                    "{} stays open: {:.0} mm³ of {} ({:.0} %) are left out",
                    o.0,
                    volume,
                    f.0,
                    share * 100.0
                ),
                format!(
                    "say `fills: {}` in {} if its metal is meant to stand there",
                    o.0, f.0
                ),
            );
            finding.features = vec![f, o];
            finding.stage = Some("finished");
            finding.value = Some(volume);
            finding
        })
        .collect()
}

/// Features that cover an opening's mouth from outside.
pub(super) fn capped(subject: &Subject) -> Vec<Finding> {
    let part = subject.part;
    let staged = subject.finished;
    let mut out = Vec::new();
    for (m, c, opening) in openings(subject) {
        for (a, metal) in staged.members.iter().enumerate() {
            let over = metal.body.act == Act::Add
                && metal.role == Role::Core
                && !staged.stands_in(metal.body.feature, c)
                && staged.over_mouth(c, metal)
                && !apart(&subject.shells[m], &subject.shells[a]);
            if !over {
                continue;
            }
            for mouth in &staged.cuts[c].mouths {
                let Some(share) = covered(subject, c, m, a, &mouth.plane) else {
                    continue;
                };
                let (level, how) = if share > 0.99 {
                    (Level::Stop, "all of")
                } else {
                    (Level::Look, "a part of")
                };
                let (o, f) = (
                    named(part, opening.body.feature),
                    named(part, metal.body.feature),
                );
                let mut finding = Finding::new(
                    "capped",
                    level,
                    format!(
                        "{} covers {how} the mouth of {} ({:.0} %)",
                        f.0,
                        o.0,
                        share * 100.0
                    ),
                    format!(
                        "cut {} into the free end of {} instead, or move one of them",
                        o.0, f.0
                    ),
                );
                finding.features = vec![f, o];
                finding.stage = Some("finished");
                finding.value = Some(share * 100.0);
                out.push(finding);
            }
        }
    }
    out
}

/// The share of an opening's extension, just over its mouth, that is metal of a body once every opening has taken
/// its own; `None` for next to nothing.
fn covered(
    subject: &Subject,
    cut: usize,
    opening: usize,
    metal: usize,
    plane: &Plane,
) -> Option<f64> {
    let up = Plane {
        normal: -plane.normal,
        offset: -(plane.offset + 0.02),
    };
    let top = Plane {
        normal: plane.normal,
        offset: plane.offset + COVER_MM,
    };
    let slice = trimmed(&trimmed(&subject.shells[opening], &up).ok()?, &top).ok()?;
    let whole = shell_volume(&slice);
    if whole < 1e-6 {
        return None;
    }
    let mut cover = common(&slice, &subject.shells[metal]).ok()?;
    for (other, member) in subject.finished.members.iter().enumerate() {
        let mine = matches!(member.role, Role::Tall(c) | Role::Clean(c) if c == cut);
        let takes = member.body.act == Act::Cut
            && !mine
            && subject.boxes[other].meets(&cover.bounds())
            && subject.finished.claim(other, metal) == Claim::Takes;
        if takes {
            cover = minus(&cover, &subject.shells[other]).ok()?;
        }
    }
    let share = shell_volume(&cover) / whole;
    (share > 0.01).then_some(share)
}
