//! Reads points, ways, arcs and profiles.

use rhai::{Array, Dynamic, Map};

use crate::drawing::given::{Spot, WayPoint};
use crate::drawing::outline::PathStep;
use crate::measure::{Vec2, Vec3};
use crate::script::declare::{Key, Keys, Kind, Range, Rule, may, must};
use crate::script::find_key::Step;
use crate::script::given::{Given, Values};
use crate::script::reader::{Caret, Reader};

const ARC: &Keys = &Keys {
    keys: &[ARC_KEYS],
    rules: &[Rule::One(&["radius", "through"])],
};
const ARC_KEYS: &[Key] = &[
    must("to", Kind::Point, "where the arc ends"),
    may(
        "radius",
        Kind::Length(Range::Any),
        "its radius, the shorter way; positive turns counter-clockwise",
    ),
    may("through", Kind::Point, "a point that it goes through"),
];
const ON_FACE: &Keys = &Keys {
    keys: &[&[
        must(
            "on",
            Kind::Face,
            "the face through which the inside runs out",
        ),
        may("at", Kind::Point, "where on that face"),
    ]],
    rules: &[],
};

impl Reader<'_> {
    /// Reads what is made of points.
    pub(super) fn shape(&mut self, kind: &Kind, value: &Dynamic) -> Option<Given> {
        match kind {
            Kind::Point => self.point(value, kind).map(|p| Given::Points(vec![p])),
            Kind::Points(least) => self.points(*least, value, kind).map(Given::Points),
            Kind::Places => self.places(value, kind),
            Kind::SpacePlaces => self.space_places(value, kind),
            Kind::SpacePoint => self.space(value, kind).map(Given::Space),
            Kind::Direction => self.direction(value, kind),
            Kind::Circles => self.circles(value, kind),
            Kind::ArcPath => self.arc_path(value, kind),
            Kind::Profile => self.profile(value, kind),
            Kind::WayPoint => self.way_point(value, kind).map(|p| Given::Way(vec![p])),
            Kind::Way => self.way(value, kind),
            Kind::Line => self.line(value, kind),
            Kind::Heights => self.heights(value, kind),
            Kind::Percents => self.percents(value, kind),
            Kind::Pair(_) => self.two(value, kind),
            Kind::Pairs(two) => self.pairs(&Kind::Pair(two), value, kind),
            _ => self.wrong(kind, value),
        }
    }

    /// A list of exactly `N` lengths.
    fn lengths<const N: usize>(&mut self, value: &Dynamic, kind: &Kind) -> Option<[f64; N]> {
        if self.any_broken(value) {
            return None;
        }
        let list = self.list(value, kind)?;
        if list.len() != N {
            self.wrong(kind, value);
            return None;
        }
        let mut lengths = [0.0; N];
        for (n, item) in list.iter().enumerate() {
            let read = |r: &mut Self| r.length(Range::Any, item, &Kind::Length(Range::Any));
            lengths[n] = self.within(Step::Item(n), read)?;
        }
        Some(lengths)
    }

    fn point(&mut self, value: &Dynamic, kind: &Kind) -> Option<Vec2> {
        self.lengths::<2>(value, kind).map(Vec2::from_array)
    }

    fn space(&mut self, value: &Dynamic, kind: &Kind) -> Option<Vec3> {
        self.lengths::<3>(value, kind).map(Vec3::from_array)
    }

    fn direction(&mut self, value: &Dynamic, kind: &Kind) -> Option<Given> {
        let list = self.list(value, kind)?;
        if list.len() != 3 {
            return self.wrong(kind, value);
        }
        let mut d = [0.0; 3];
        for (n, item) in list.iter().enumerate() {
            d[n] = self.within(Step::Item(n), |r| r.number(item, &Kind::Number(Range::Any)))?;
        }
        if d == [0.0; 3] {
            let text = format!("{} is no direction: all three are 0", self.label());
            self.fault(Caret::Value, text, Vec::new());
            return None;
        }
        Some(Given::Space(Vec3::from_array(d)))
    }

    /// Each item of a list read by `read`; all faulty ones are recorded.
    fn each<T>(
        &mut self,
        list: &Array,
        mut read: impl FnMut(&mut Self, &Dynamic) -> Option<T>,
    ) -> Option<Vec<T>> {
        let items: Vec<Option<T>> = list
            .iter()
            .enumerate()
            .map(|(n, item)| {
                self.within(Step::Item(n), |r| {
                    if item.is::<crate::script::state::Broken>() {
                        r.broken = true;
                        return None;
                    }
                    read(r, item)
                })
            })
            .collect();
        items.into_iter().collect()
    }

    fn points(&mut self, least: usize, value: &Dynamic, kind: &Kind) -> Option<Vec<Vec2>> {
        let list = self.list(value, kind)?;
        if list.len() < least {
            self.wrong(kind, value);
            return None;
        }
        self.each(&list, |r, item| r.point(item, &Kind::Point))
    }

    /// Whether a value is a list of lists.
    fn nested(value: &Dynamic) -> bool {
        value
            .read_lock::<Array>()
            .is_some_and(|l| l.first().is_some_and(Dynamic::is_array))
    }

    fn not_empty(&mut self, value: &Dynamic) -> Option<()> {
        if value.read_lock::<Array>().is_some_and(|l| l.is_empty()) {
            let text = format!("{} is an empty list", self.label());
            self.fault(Caret::Value, text, Vec::new());
            return None;
        }
        Some(())
    }

    fn places(&mut self, value: &Dynamic, kind: &Kind) -> Option<Given> {
        self.not_empty(value)?;
        if !Self::nested(value) {
            return self
                .point(value, kind)
                .map(|p| Given::Spots(vec![Spot::Uv(p)], false));
        }
        let points = self.points(1, value, kind)?;
        Some(Given::Spots(
            points.into_iter().map(Spot::Uv).collect(),
            true,
        ))
    }

    fn space_places(&mut self, value: &Dynamic, kind: &Kind) -> Option<Given> {
        self.not_empty(value)?;
        if !Self::nested(value) {
            return self
                .space(value, kind)
                .map(|p| Given::Spots(vec![Spot::Xyz(p)], false));
        }
        let list = self.list(value, kind)?;
        let points = self.each(&list, |r, item| r.space(item, &Kind::SpacePoint))?;
        Some(Given::Spots(
            points.into_iter().map(Spot::Xyz).collect(),
            true,
        ))
    }

    fn circles(&mut self, value: &Dynamic, kind: &Kind) -> Option<Given> {
        let list = self.list(value, kind)?;
        if list.is_empty() {
            return self.wrong(kind, value);
        }
        let circles = self.each(&list, |r, item| {
            let [x, y, dia] = r.lengths::<3>(item, kind)?;
            if dia <= 0.0 {
                let text = format!("{}: the diameter must be over 0", r.label());
                r.within(Step::Item(2), |r| r.fault(Caret::Value, text, Vec::new()));
                return None;
            }
            Some((Vec2::new(x, y), dia))
        })?;
        Some(Given::Circles(circles))
    }

    /// The arc of a map; its keys may hold a name beside the end point.
    fn arc(&mut self, value: &Dynamic) -> Option<Values> {
        match self.map(ARC, value, &Kind::Map(ARC))? {
            Given::Map(values) => Some(values),
            _ => None,
        }
    }

    fn arc_path(&mut self, value: &Dynamic, kind: &Kind) -> Option<Given> {
        let list = self.list(value, kind)?;
        if list.len() < 2 || list[0].is_map() {
            return self.wrong(kind, value);
        }
        let steps = self.each(&list, |r, item| {
            if !item.is_map() {
                return r.point(item, &Kind::Point).map(PathStep::Line);
            }
            let arc = r.arc(item)?;
            let to = *arc.points("to")?.first()?;
            match (arc.number("radius"), arc.points("through")) {
                (Some(radius), _) => Some(PathStep::ArcRadius(to, radius)),
                (_, Some(through)) => Some(PathStep::ArcThrough(*through.first()?, to)),
                _ => None,
            }
        })?;
        match steps.split_first() {
            Some((PathStep::Line(start), rest)) => Some(Given::ArcPath(*start, rest.to_vec())),
            _ => None,
        }
    }

    fn way_point(&mut self, value: &Dynamic, kind: &Kind) -> Option<WayPoint> {
        if !value.is_map() {
            return self.space(value, kind).map(WayPoint::Xyz);
        }
        match self.map(ON_FACE, value, kind)? {
            Given::Map(values) => {
                let at = values.points("at").and_then(|p| p.first().copied());
                Some(WayPoint::OnFace(values.face("on")?, at.unwrap_or_default()))
            }
            _ => None,
        }
    }

    fn way(&mut self, value: &Dynamic, kind: &Kind) -> Option<Given> {
        let list = self.list(value, kind)?;
        if list.len() < 2 {
            return self.wrong(kind, value);
        }
        let last = list.len() - 1;
        let mut n = 0;
        let points = self.each(&list, |r, item| {
            n += 1;
            if item.is_map() && n > 1 && n <= last {
                let text = format!("{}: only an end of the way can lie on a face", r.label());
                r.fault(Caret::Value, text, Vec::new());
                return None;
            }
            r.way_point(item, &Kind::WayPoint)
        })?;
        Some(Given::Way(points))
    }

    fn line(&mut self, value: &Dynamic, kind: &Kind) -> Option<Given> {
        if let Some(outline) = value.clone().try_cast() {
            return Some(Given::Outline(outline));
        }
        self.points(2, value, kind).map(Given::Points)
    }

    fn heights(&mut self, value: &Dynamic, kind: &Kind) -> Option<Given> {
        if !value.is_array() {
            let height = self.length(Range::Positive, value, kind)?;
            return Some(Given::Pair(height, height));
        }
        let [start, end] = self.lengths::<2>(value, kind)?;
        if start < 0.0 || end < 0.0 || start + end <= 0.0 {
            let text = format!(
                "{} must not be negative, and one of the two must be over 0",
                self.label()
            );
            self.fault(Caret::Value, text, Vec::new());
            return None;
        }
        Some(Given::Pair(start, end))
    }

    /// One length for both, or two.
    fn two(&mut self, value: &Dynamic, kind: &Kind) -> Option<Given> {
        if !value.is_array() {
            let both = self.length(Range::Positive, value, kind)?;
            return Some(Given::Pair(both, both));
        }
        let pair = self.lengths::<2>(value, kind)?;
        if let Some(n) = pair.iter().position(|x| *x <= 0.0) {
            let text = format!("{} must be over 0, both of them", self.label());
            self.within(Step::Item(n), |r| r.fault(Caret::Value, text, Vec::new()));
            return None;
        }
        Some(Given::Pair(pair[0], pair[1]))
    }

    /// A list of pairs, as points.
    fn pairs(&mut self, one: &Kind, value: &Dynamic, kind: &Kind) -> Option<Given> {
        let list = self.list(value, kind)?;
        self.not_empty(value)?;
        let all = self.each(&list, |r, item| match r.two(item, one)? {
            Given::Pair(a, b) => Some(Vec2::new(a, b)),
            _ => None,
        });
        all.map(Given::Points)
    }

    fn percents(&mut self, value: &Dynamic, kind: &Kind) -> Option<Given> {
        let mut percents = [0.0; 3];
        match value.clone().try_cast::<Array>() {
            None => percents = [self.percent(value, kind)?; 3],
            Some(list) if list.len() == 3 => {
                for (n, item) in list.iter().enumerate() {
                    percents[n] = self.within(Step::Item(n), |r| r.percent(item, kind))?;
                }
            }
            Some(_) => return self.wrong(kind, value),
        }
        Some(Given::Percents(percents))
    }

    /// A shrink: 0 is none; a tenth of the size is far over any casting metal's.
    fn percent(&mut self, value: &Dynamic, kind: &Kind) -> Option<f64> {
        let percent = self.number(value, kind)?;
        if (0.0..=10.0).contains(&percent) {
            return Some(percent);
        }
        let text = format!(
            "{} must be from 0 to 10 percent, not {percent}",
            self.label()
        );
        self.fault(Caret::Value, text, Vec::new());
        None
    }

    /// A map that is a profile's arc: what stands at `to` may carry a name.
    pub(super) fn arc_entry(map: &Map) -> (Map, Option<Dynamic>) {
        let mut plain = map.clone();
        let mut name = None;
        if let Some(mut to) = plain.get("to").cloned().and_then(|t| t.try_cast::<Array>())
            && to.len() == 3
        {
            name = to.pop();
            plain.insert("to".into(), to.into());
        }
        (plain, name)
    }

    /// The parts of a profile's arc.
    pub(super) fn profile_arc(&mut self, map: Map) -> Option<Values> {
        self.arc(&map.into())
    }
}
