//! Reads the profile of a turned body: points, names of faces, and arcs as bulges.
//!
//! A bulge is the tangent of a quarter of the arc's angle. By a radius: the half angle's sine is half
//! the chord over the radius. Through a point: the angle seen from that point is 180° less half the
//! arc's. An arc of more than 180° is split at its middle, so that no bulge goes beyond ±1.

use rhai::{Array, Dynamic, ImmutableString, Map};

use crate::drawing::given::ProfilePoint;
use crate::measure::{SAME_POINT_MM, Vec2};
use crate::script::declare::{Kind, Range};
use crate::script::find_key::Step;
use crate::script::given::Given;
use crate::script::reader::{Caret, Reader};

/// How a profile gets to a point.
enum Run {
    Straight,
    Bulge(f64),
}

impl Reader<'_> {
    /// Reads a whole profile.
    pub(super) fn profile(&mut self, value: &Dynamic, kind: &Kind) -> Option<Given> {
        let list = self.list(value, kind)?;
        if list.len() < 2 || list[0].is_map() {
            return self.wrong(kind, value);
        }
        let mut points: Vec<ProfilePoint> = Vec::new();
        for (n, item) in list.iter().enumerate() {
            let last = points.last().map(|p| Vec2::new(p.r, p.z));
            let (run, point) = self.within(Step::Item(n), |r| r.profile_item(item, last))?;
            if let (Run::Bulge(bulge), Some(from)) = (run, points.last_mut()) {
                let (first, second) = halves(
                    Vec2::new(from.r, from.z),
                    Vec2::new(point.r, point.z),
                    bulge,
                );
                from.bulge = first;
                points.extend(second);
            }
            points.push(point);
        }
        Some(Given::Profile(points))
    }

    fn profile_item(&mut self, item: &Dynamic, last: Option<Vec2>) -> Option<(Run, ProfilePoint)> {
        if self.any_broken(item) {
            return None;
        }
        let Some(map) = item.read_lock::<Map>() else {
            return Some((Run::Straight, self.profile_point(item)?));
        };
        let (plain, name) = Self::arc_entry(&map);
        let arc = self.profile_arc(plain)?;
        let to = *arc.points("to")?.first()?;
        let name = match name {
            Some(name) => Some(self.text(&name, &Kind::Name)?),
            None => None,
        };
        let from = last?;
        let bulge = match (arc.number("radius"), arc.points("through")) {
            (Some(radius), _) => self.by_radius(from, to, radius)?,
            (_, Some(through)) => self.through_point(from, to, *through.first()?)?,
            _ => return None,
        };
        let point = self.on_or_off_axis(ProfilePoint {
            r: to.x,
            z: to.y,
            bulge: 0.0,
            face: name,
        })?;
        Some((Run::Bulge(bulge), point))
    }

    fn profile_point(&mut self, item: &Dynamic) -> Option<ProfilePoint> {
        let kind = &Kind::Profile;
        let list = item
            .clone()
            .try_cast::<Array>()
            .filter(|l| (2..=3).contains(&l.len()));
        let Some(list) = list else {
            self.wrong(kind, item);
            return None;
        };
        let length = |r: &mut Self, n: usize| {
            r.within(Step::Item(n), |r| {
                r.length(Range::Any, &list[n], &Kind::Length(Range::Any))
            })
        };
        let (r, z) = (length(self, 0)?, length(self, 1)?);
        let face = match list.get(2) {
            None => None,
            Some(name) if name.is_string() => {
                name.read_lock::<ImmutableString>().map(|n| n.to_string())
            }
            Some(name) => {
                self.within(Step::Item(2), |r| r.wrong(&Kind::Name, name));
                return None;
            }
        };
        self.on_or_off_axis(ProfilePoint {
            r,
            z,
            bulge: 0.0,
            face,
        })
    }

    fn on_or_off_axis(&mut self, point: ProfilePoint) -> Option<ProfilePoint> {
        if point.r >= 0.0 {
            return Some(point);
        }
        let text = format!(
            "{}: r counts from the axis and must not be negative",
            self.label()
        );
        self.fault(Caret::Value, text, Vec::new());
        None
    }

    fn by_radius(&mut self, from: Vec2, to: Vec2, radius: f64) -> Option<f64> {
        let least = from.distance(to) / 2.0;
        if least < SAME_POINT_MM {
            let text = format!("{}: the arc ends where it starts", self.label());
            self.fault(Caret::Value, text, Vec::new());
            return None;
        }
        // A half circle written with a rounded radius is still meant as one.
        if radius.abs() < least - SAME_POINT_MM {
            let text = format!(
                "{}: the radius {} is too small for this arc",
                self.label(),
                self.state.show(radius)
            );
            let hint = format!("its ends need at least {}", self.state.show(least));
            self.within(Step::Key("radius".into()), |r| {
                r.fault(Caret::Value, text, vec![hint])
            });
            return None;
        }
        let half = (least / radius.abs()).min(1.0).asin();
        Some((half / 2.0).tan().copysign(radius))
    }

    fn through_point(&mut self, from: Vec2, to: Vec2, through: Vec2) -> Option<f64> {
        let (a, b) = (from - through, to - through);
        let turn = (through - from).perp_dot(to - through);
        let size = a.length() * b.length();
        if size < SAME_POINT_MM || turn.abs() < 1e-9 * size {
            let text = format!("{}: the arc's three points lie in a line", self.label());
            self.fault(
                Caret::Value,
                text,
                vec!["write a straight run as a plain point".into()],
            );
            return None;
        }
        let seen = a.angle_to(b).abs();
        Some(((std::f64::consts::PI - seen) / 2.0).tan().copysign(turn))
    }
}

/// The bulge of the first run, and the middle point with the second run where the arc is over 180°.
fn halves(from: Vec2, to: Vec2, bulge: f64) -> (f64, Option<ProfilePoint>) {
    if bulge.abs() <= 1.0 {
        return (bulge, None);
    }
    // The arc's middle stands off the chord by bulge times half the chord, to the right of a
    // counter-clockwise run.
    let chord = to - from;
    let middle = (from + to) / 2.0 - chord.perp() / 2.0 * bulge;
    let half = (bulge.atan() / 2.0).tan();
    (
        half,
        Some(ProfilePoint {
            r: middle.x,
            z: middle.y,
            bulge: half,
            face: None,
        }),
    )
}
