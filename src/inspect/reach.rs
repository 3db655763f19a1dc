//! `out-of-reach`, `tight-corner`, `too-deep`: what a 3-axis cutter gets to of the whole pattern, from above and below.
//!
//! Sizes are those of the foam as it is cut, shrink included; heights named for a split are the drawing's.

use std::collections::BTreeMap;

use crate::drawing::Part;
use crate::drawing::feature::{Feature, Form};
use crate::drawing::given::FeatureId;
use crate::drawing::part::Cutter;
use crate::fault::{Finding, Level};
use crate::inspect::named;
use crate::inspect::order::allowing;
use crate::measure::{LIP_MM, TRIFLE_MM2, Unit, Vec3};
use crate::solid::Solid;
use crate::solid::reach::{Clearance, Gaps, Hidden, Miss, MissKind};

/// Features beside the first that a finding names, at most.
const MOST_OTHERS: usize = 2;

/// Under an overhang lower than this foam is left, and rubbed off by hand (mm).
const LOW_MM: f64 = 0.2;

/// A corner that takes a cutter this much narrower than a slot's width is one of its own.
const WIDTH_SHARE: f64 = 0.8;

/// A corner that takes a cutter narrower than this is called sharp (mm).
const SHARP_MM: f64 = 1.5;

/// The findings of a part's pattern. `solid` is the pattern's mesh; the cutters are the part's.
pub fn reach(part: &Part, solid: &Solid) -> Vec<Finding> {
    let grown = 1.0 + part.metal.shrink_percent[2] / 100.0;
    let view = View {
        solid,
        unit: part.unit,
        grown,
        lip: LIP_MM.max(2.5 * part.facet_mm),
        part: Some(part),
    };
    view.findings(&part.cutters)
}

/// The same for a mesh that has no script (mm): findings name no features.
pub fn reach_of_mesh(solid: &Solid, cutters: &[Cutter]) -> Vec<Finding> {
    let one = Solid {
        features: vec![0; solid.triangles.len()],
        ..solid.clone()
    };
    let view = View {
        solid: &one,
        unit: Unit::Mm,
        grown: 1.0,
        lip: LIP_MM,
        part: None,
    };
    view.findings(cutters)
}

/// Sharp corners have so many lines at most; where there are more, the last line is shared.
const OWN_LINES: usize = 4;

/// The findings of all pieces, where many sharp corners share a line: a part without fillets has one at every junction.
pub fn gathered(part: &Part, found: Vec<Finding>) -> Vec<Finding> {
    let sharp = |f: &Finding| {
        f.code == "tight-corner"
            && f.value.is_some_and(|mm| mm < SHARP_MM)
            && allowing(f, part).is_none()
    };
    let (corners, mut out): (Vec<Finding>, Vec<Finding>) = found.into_iter().partition(sharp);
    if corners.len() <= OWN_LINES {
        out.extend(corners);
        return out;
    }
    let mut corners = corners.into_iter();
    out.extend(corners.by_ref().take(OWN_LINES - 1));
    let rest: Vec<Finding> = corners.collect();
    let limit = rest[0].limit.unwrap_or(0.0);
    let mut shared = Finding::new(
        "tight-corner",
        Level::Look,
        format!(
            "sharp inside corners at {} more places keep foam that the smallest cutter, {}, doesn't reach",
            rest.len(),
            part.unit.show(limit)
        ),
        format!(
            "leave it on where a fillet of {} does no harm; else file it out, or round the corner in the script",
            part.unit.show(limit / 2.0)
        ),
    );
    shared.stage = Some("pattern");
    shared.value = rest.iter().filter_map(|f| f.value).min_by(f64::total_cmp);
    shared.limit = Some(limit);
    for finding in rest {
        for feature in finding.features {
            if !shared.features.contains(&feature) {
                shared.features.push(feature);
            }
        }
    }
    out.push(shared);
    out
}

struct View<'a> {
    solid: &'a Solid,
    unit: Unit,
    /// The pattern's height over the drawing's.
    grown: f64,
    /// The lip that counts as reached (mm).
    lip: f64,
    /// `None` for a mesh without a script.
    part: Option<&'a Part>,
}

/// What is hidden by one feature.
struct Undercut {
    id: FeatureId,
    hidden: Hidden,
    /// A level that opens it (mm, of the pattern) and the room about it, if one does.
    split: Option<(f64, (f64, f64))>,
}

impl View<'_> {
    fn findings(&self, cutters: &[Cutter]) -> Vec<Finding> {
        let (mut out, mut hidden) = self.out_of_reach();
        if self.part.is_none() {
            // All is one group: what is hidden somewhere would silence every corner.
            hidden.clear();
        }
        out.extend(self.missed(cutters, &hidden));
        out
    }

    /// The name that findings of a feature are gathered under.
    fn group(&self, id: FeatureId) -> String {
        match self.feature(id) {
            Some(feature) => feature.group.clone(),
            None if self.part.is_some() => "the joint".to_string(),
            None => "the mesh".to_string(),
        }
    }

    fn feature(&self, id: FeatureId) -> Option<&Feature> {
        self.part.and_then(|part| part.features.get(id))
    }

    /// Features as a finding lists them: those of the group in the drawing's order, then the others.
    fn named(&self, own: &[FeatureId], others: &[FeatureId]) -> Vec<(String, crate::fault::Span)> {
        let Some(part) = self.part else {
            return Vec::new();
        };
        let all = own.iter().chain(others);
        all.filter(|id| **id < part.features.len())
            .map(|id| named(part, *id))
            .collect()
    }

    /// The findings, and the groups that they are about.
    fn out_of_reach(&self) -> (Vec<Finding>, Vec<String>) {
        let gaps = Gaps::of(self.solid);
        if gaps.none() {
            return (Vec::new(), Vec::new());
        }
        // Of a floor and its roof the feature drawn later is what was put in the other's way.
        let of = |floor: u32, roof: u32| {
            let feature = |t: u32| self.solid.features[t as usize];
            feature(floor).max(feature(roof))
        };
        let mut by_feature: BTreeMap<FeatureId, Hidden> = BTreeMap::new();
        for (i, piece) in gaps.all_hidden(self.lip).pieces {
            let id = of(gaps.list[i].floor, gaps.list[i].roof);
            by_feature.entry(id).or_default().pieces.push((i, piece));
        }
        let mut groups: BTreeMap<String, Vec<Undercut>> = BTreeMap::new();
        for (id, hidden) in by_feature {
            if hidden.plan_mm2() < TRIFLE_MM2 || hidden.tallest() < LOW_MM {
                continue;
            }
            let (floor, roof) = hidden.window();
            let level = (floor + roof) / 2.0;
            let own = |gap: &crate::solid::reach::Gap| of(gap.floor, gap.roof) == id;
            let opens = gaps
                .hidden(f64::NEG_INFINITY, level, self.lip, &own)
                .is_empty()
                && gaps.hidden(level, f64::INFINITY, self.lip, &own).is_empty();
            let split = opens.then_some((level, (floor, roof)));
            let undercut = Undercut { id, hidden, split };
            groups.entry(self.group(id)).or_default().push(undercut);
        }
        let found = groups
            .iter()
            .map(|(name, undercuts)| self.undercut(&gaps, name, undercuts))
            .collect();
        (found, groups.into_keys().collect())
    }

    fn undercut(&self, gaps: &Gaps, name: &str, undercuts: &[Undercut]) -> Finding {
        let ids: Vec<FeatureId> = undercuts.iter().map(|u| u.id).collect();
        let mut areas: BTreeMap<FeatureId, f64> = BTreeMap::new();
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for undercut in undercuts {
            let (from, to) = undercut.hidden.extent();
            (low, high) = (low.min(from), high.max(to));
            for (id, mm2) in undercut.hidden.by_feature(self.solid, gaps) {
                *areas.entry(id).or_default() += mm2;
            }
        }
        let total: f64 = areas.values().sum();
        let mut others: Vec<(FeatureId, f64)> = areas
            .into_iter()
            .filter(|(id, mm2)| !ids.contains(id) && *mm2 >= TRIFLE_MM2)
            .collect();
        others.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        others.truncate(MOST_OTHERS);
        let others: Vec<FeatureId> = others.into_iter().map(|(id, _)| id).collect();
        let at = |mm: f64| self.unit.number(mm / self.grown);
        let mut text = format!(
            "a cutter gets to {} of {name} neither from above nor from below, between the heights {} and {}",
            self.area(total),
            at(low),
            self.unit.show(high / self.grown),
        );
        if !others.is_empty() {
            let names: Vec<String> = others.iter().map(|id| self.group(*id)).collect();
            text += &format!(" (with {})", names.join(" and "));
        }
        let mut finding = Finding::new(
            "out-of-reach",
            Level::Look,
            text,
            self.opened(undercuts, others.is_empty()),
        );
        finding.features = self.named(&ids, &others);
        finding.at_mm = middle_of(undercuts);
        finding.stage = Some("pattern");
        finding.value = Some(total);
        finding
    }

    /// What opens an undercut; `alone` where it hides nothing of another feature.
    fn opened(&self, undercuts: &[Undercut], alone: bool) -> String {
        let mut levels: Vec<(f64, (f64, f64))> = undercuts.iter().filter_map(|u| u.split).collect();
        levels.sort_by(|a, b| a.0.total_cmp(&b.0));
        // One level may open several.
        let mut cuts: Vec<(f64, f64)> = Vec::new();
        for (level, (floor, roof)) in levels {
            let (from, to) = if floor < roof {
                (floor, roof)
            } else {
                (level, level)
            };
            match cuts.last_mut() {
                Some(cut) if from <= cut.1 + self.lip => {
                    *cut = (cut.0.max(from), cut.1.min(to).max(cut.0.max(from)));
                }
                _ => cuts.push((from, to)),
            }
        }
        let show = |mm: f64| self.unit.number(mm / self.grown);
        let cuts: Vec<String> = cuts
            .iter()
            .map(|(from, to)| {
                if to - from > 2.0 * self.lip {
                    format!(
                        "at a height from {} to {}",
                        show(*from),
                        self.unit.show(*to / self.grown)
                    )
                } else {
                    format!(
                        "at the height {}",
                        self.unit.show((from + to) / 2.0 / self.grown)
                    )
                }
            })
            .collect();
        let mut ways = Vec::new();
        if undercuts.iter().all(|u| u.split.is_some()) {
            ways.push(format!("part the pattern {}", cuts.join(" and ")));
        }
        let features: Vec<&Feature> = undercuts
            .iter()
            .filter_map(|u| self.feature(u.id))
            .collect();
        if alone && !features.is_empty() && features.iter().all(|f| drilled(f)) {
            ways.push("leave it solid (`cored: false`) and drill it".to_string());
        }
        if features.iter().any(|f| !f.is_opening()) || ways.is_empty() {
            let what = if features.is_empty() {
                "what overhangs"
            } else {
                "it"
            };
            ways.push(format!("cut {what} as a piece of its own and glue it on"));
        }
        ways.join(", or ")
    }

    fn area(&self, mm2: f64) -> String {
        match self.unit {
            Unit::Mm => format!("{mm2:.0} mm²"),
            Unit::Inch => format!("{:.2} in²", mm2 / (Unit::Inch.mm() * Unit::Inch.mm())),
        }
    }

    /// `tight-corner` and `too-deep`, the worst of each group of features. Groups out of reach anyway (`hidden`) are
    /// left out: they are cut otherwise. So are low creases between two features, such as a pad's side over a fillet.
    fn missed(&self, cutters: &[Cutter], hidden: &[String]) -> Vec<Finding> {
        let Some(least) = cutters.iter().map(|c| c.dia_mm).min_by(f64::total_cmp) else {
            return Vec::new();
        };
        let mut worst: BTreeMap<(bool, String), Miss> = BTreeMap::new();
        for miss in Clearance::of(self.solid).misses(cutters) {
            let low = miss.height_mm.1 - miss.height_mm.0 < least;
            let deep = miss.kind == MissKind::Deep;
            let pair = [miss.feature, miss.against].map(|id| self.group(id));
            if pair.iter().any(|g| hidden.contains(g)) || (low && miss.feature != miss.against) {
                continue;
            }
            let own = if deep {
                miss.feature
            } else {
                miss.feature.max(miss.against)
            };
            let key = (deep, self.group(own));
            if worst.get(&key).is_none_or(|old| worse(&miss, old)) {
                worst.insert(key, miss);
            }
        }
        worst
            .iter()
            .map(|((deep, name), miss)| {
                if *deep {
                    self.too_deep(name, miss)
                } else {
                    self.tight(name, miss)
                }
            })
            .collect()
    }

    fn miss(&self, code: &'static str, text: String, remedy: String, miss: &Miss) -> Finding {
        let (own, other) = match miss.kind {
            MissKind::Deep => (miss.feature, miss.feature),
            _ => (
                miss.feature.max(miss.against),
                miss.feature.min(miss.against),
            ),
        };
        let mut finding = Finding::new(code, Level::Look, text, remedy);
        let others: &[FeatureId] = if own == other { &[] } else { &[other] };
        finding.features = self.named(&[own], others);
        finding.stage = Some("pattern");
        finding.at_mm = Some(miss.at.to_array());
        finding.value = Some(miss.size_mm);
        finding.limit = Some(miss.limit_mm);
        finding
    }

    /// "of a" or "between a and b".
    fn place(&self, name: &str, miss: &Miss) -> String {
        let other = self.group(miss.feature.min(miss.against));
        if other == name {
            format!("of {name}")
        } else {
            format!("between {name} and {other}")
        }
    }

    fn tight(&self, name: &str, miss: &Miss) -> Finding {
        let show = |mm: f64| self.unit.show(mm);
        let (size, limit) = (show(miss.size_mm), show(miss.limit_mm));
        let place = self.place(name, miss);
        // Two walls that close on each other to nothing make a corner.
        let narrow = miss.kind == MissKind::Narrow && miss.size_mm >= SHARP_MM;
        let opening = self.feature(miss.feature.max(miss.against));
        if narrow
            && opening
                .and_then(round_mm)
                .is_some_and(|dia| dia > miss.limit_mm)
        {
            // It is wide enough; what is narrow is the bottom of its round, which lies.
            let text = format!(
                "an upright cutter of {limit}, the smallest, leaves foam at the bottom of the lying round {place}: one of {size} gets there"
            );
            let remedy = "scrape the foam out of the round by hand, or declare a smaller cutter";
            return self.miss("tight-corner", text, remedy.into(), miss);
        }
        let (text, remedy) = if narrow {
            let width = if place.starts_with("of") {
                format!("{name} is")
            } else {
                format!("the way {place} is")
            };
            (
                format!("{width} {size} wide in foam, and the smallest cutter is {limit}"),
                format!("make it wider than {limit}, or declare a smaller cutter"),
            )
        } else {
            let what = if miss.size_mm < SHARP_MM {
                format!(
                    "a sharp inside corner {place}: the smallest cutter, {limit}, doesn't fill it"
                )
            } else {
                format!(
                    "an inside corner {place} takes a cutter of {size}, and the smallest is {limit}"
                )
            };
            (
                what,
                format!(
                    "round it with {} or more (a fillet, or `.corners`), leave the foam on as a fillet, or declare a smaller cutter",
                    show(miss.limit_mm / 2.0)
                ),
            )
        };
        let remedy = if narrow && opening.is_some_and(drilled) {
            format!("{remedy}, or leave it solid (`cored: false`) and drill it")
        } else {
            remedy
        };
        self.miss("tight-corner", text, remedy, miss)
    }

    fn too_deep(&self, name: &str, miss: &Miss) -> Finding {
        let show = |mm: f64| self.unit.show(mm);
        let text = format!(
            "a wall of {name} takes a cutter with a reach of {}, and of those that fit none reaches farther than {}",
            show(miss.size_mm),
            show(miss.limit_mm)
        );
        let remedy = format!(
            "part the pattern near the height {}, or declare a cutter that reaches farther",
            show(miss.at.z / self.grown)
        );
        self.miss("too-deep", text, remedy, miss)
    }
}

/// Whether of two misses of one kind the first is worse. A slot's round ends are corners too: its width counts.
fn worse(miss: &Miss, old: &Miss) -> bool {
    match (miss.kind, old.kind) {
        (MissKind::Deep, _) => miss.size_mm - miss.limit_mm > old.size_mm - old.limit_mm,
        (MissKind::Corner, MissKind::Narrow) => miss.size_mm < WIDTH_SHARE * old.size_mm,
        (MissKind::Narrow, MissKind::Corner) => WIDTH_SHARE * miss.size_mm <= old.size_mm,
        _ => miss.size_mm < old.size_mm,
    }
}

/// The diameter of a round opening (mm).
fn round_mm(feature: &Feature) -> Option<f64> {
    match &feature.form {
        Form::Bore(bore) => Some(bore.dia),
        Form::Tunnel(t) => t.inside.as_disc().map(|(_, radius)| 2.0 * radius),
        _ => None,
    }
}

/// Whether a drill makes this opening when it is left solid.
fn drilled(feature: &Feature) -> bool {
    match &feature.form {
        Form::Bore(_) => true,
        Form::Tunnel(t) => t.way.len() == 2 && t.inside.as_disc().is_some(),
        _ => false,
    }
}

/// A place in the largest gap of the first undercut (mm).
fn middle_of(undercuts: &[Undercut]) -> Option<[f64; 3]> {
    let pieces = &undercuts.first()?.hidden.pieces;
    let span = |corners: &[crate::solid::reach::Corner]| -> f64 {
        corners.iter().map(|c| c.roof_mm - c.floor_mm).sum::<f64>() / corners.len() as f64
    };
    let (_, tallest) = pieces
        .iter()
        .max_by(|a, b| span(&a.1).total_cmp(&span(&b.1)))?;
    let count = tallest.len() as f64;
    let middle: Vec3 = tallest.iter().map(|c| c.at.extend(c.roof_mm)).sum::<Vec3>() / count;
    Some(middle.to_array())
}
