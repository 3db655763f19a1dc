//! A feature's sizes in words, under the names of its keys.

use crate::drawing::feature::{
    Bore, Depth, Feature, Flange, FlatRun, Form, Groove, Pocket, Raised, RibForm, Tunnel, Turned,
};
use crate::drawing::given::{Edge, GrooveSection, Trim};
use crate::drawing::outline::Outline;
use crate::measure::{Unit, Vec2};

/// The sizes of a feature as name and text, in the order that its word takes them.
pub fn sizes(feature: &Feature, unit: Unit) -> Vec<[String; 2]> {
    let mut list = List {
        unit,
        rows: Vec::new(),
    };
    match &feature.form {
        Form::Raised(r) => list.raised(r),
        Form::Flange(f) => list.flange(f),
        Form::Rib(r) => list.rib(r),
        Form::Tunnel(t) => list.tunnel(t),
        Form::Turned(t) => list.turned(t),
        Form::Bore(b) => list.bore(b),
        Form::Pocket(p) => list.pocket(p),
        Form::Groove(g) => list.groove(g),
        Form::Hollow(h) => {
            list.length("wall", h.wall);
            list.length("floor", h.floor);
            list.some("fillet", h.fillet);
        }
    }
    list.rows
}

struct List {
    unit: Unit,
    rows: Vec<[String; 2]>,
}

impl List {
    fn text(&mut self, name: &str, text: String) {
        self.rows.push([name.to_string(), text]);
    }

    fn length(&mut self, name: &str, mm: f64) {
        let text = self.unit.show(mm);
        self.text(name, text);
    }

    /// A length that is left out where it is none.
    fn some(&mut self, name: &str, mm: f64) {
        if mm > 0.0 {
            self.length(name, mm);
        }
    }

    /// Two lengths with one unit: `110 x 76 mm`.
    fn pair(&self, a: f64, b: f64) -> String {
        format!("{} x {}", self.unit.number(a), self.unit.show(b))
    }

    /// A disc by its diameter, another outline by its extents.
    fn outline(&mut self, name: &str, outline: &Outline) {
        match outline.as_disc() {
            Some((_, radius)) if name == "outline" => self.length("dia", 2.0 * radius),
            Some((_, radius)) => {
                let text = format!("dia {}", self.unit.show(2.0 * radius));
                self.text(name, text);
            }
            None => {
                let (low, high) = outline.bounds();
                let text = self.pair(high.x - low.x, high.y - low.y);
                self.text(name, text);
            }
        }
    }

    fn trim(&mut self, trim: &Trim) {
        if trim.draft_deg != 0.0 {
            self.text("draft", format!("{}°", plain(trim.draft_deg)));
        }
        self.some("fillet", trim.fillet.unwrap_or(0.0));
        self.edge(trim.edge);
    }

    fn edge(&mut self, edge: Edge) {
        match edge {
            Edge::Sharp => {}
            Edge::Round(r) => self.length("round", r),
            Edge::Chamfer(leg) => self.length("chamfer", leg),
        }
    }

    fn depth(&mut self, depth: &Depth) {
        match depth {
            Depth::Through { .. } => self.text("depth", "through".to_string()),
            _ => self.length("depth", depth.known()),
        }
    }

    fn raised(&mut self, r: &Raised) {
        self.outline("outline", &r.outline);
        self.length("height", r.height);
        if let Some((dia, depth)) = r.bore {
            self.length("bore", dia);
            self.length("bore depth", depth);
        }
        self.trim(&r.trim);
    }

    fn flange(&mut self, f: &Flange) {
        self.outline("outline", &f.outline);
        self.length("thick", f.thick);
        if !f.bolts.is_empty() {
            let text = format!("{} x {}", f.bolts.len(), self.unit.show(f.bolt_dia));
            self.text("bolts", text);
        }
        self.some("fillet", f.fillet);
        self.edge(f.edge);
    }

    fn rib(&mut self, r: &RibForm) {
        self.length("thick", r.thick);
        self.length("length", way(&r.path));
        match (r.heights.first(), r.heights.last()) {
            (Some(from), Some(to)) if from != to => {
                let text = format!("{} to {}", self.unit.number(*from), self.unit.show(*to));
                self.text("height", text);
            }
            (Some(height), _) => self.length("height", *height),
            _ => {}
        }
        self.trim(&r.trim);
    }

    fn tunnel(&mut self, t: &Tunnel) {
        self.outline("inside", &t.inside);
        self.some("wall", t.wall);
        let length = t.way.windows(2).map(|w| (w[1] - w[0]).length()).sum();
        self.length("length", length);
        self.some("bend", t.bend.unwrap_or(0.0));
    }

    fn turned(&mut self, t: &Turned) {
        let radius = t.profile.iter().map(|p| p.r).fold(0.0, f64::max);
        let heights = t.profile.iter().map(|p| p.z);
        let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), z| {
            (a.min(z), b.max(z))
        });
        self.length("dia", 2.0 * radius);
        let name = if t.adds { "height" } else { "depth" };
        self.length(name, (high - low).max(0.0));
    }

    fn bore(&mut self, b: &Bore) {
        self.length("dia", b.dia);
        self.depth(&b.depth);
        if let Some((dia, depth)) = b.counterbore {
            let text = self.pair(dia, depth);
            self.text("counterbore", text);
        }
        if let Some((dia, angle_deg)) = b.countersink {
            let text = format!("{} x {}°", self.unit.show(dia), plain(angle_deg));
            self.text("countersink", text);
        }
        self.trim(&b.trim);
    }

    fn pocket(&mut self, p: &Pocket) {
        self.outline("outline", &p.outline);
        self.depth(&p.depth);
        self.trim(&p.trim);
    }

    fn groove(&mut self, g: &Groove) {
        match g {
            Groove::Flat { run, section } => {
                self.section(section);
                let length = match run {
                    FlatRun::Along(points) => way(points),
                    FlatRun::Round(outline) => outline.perimeter(),
                };
                self.length("length", length);
            }
            Groove::Ring {
                radius,
                distance,
                section,
                ..
            } => {
                self.section(section);
                self.length("wall dia", 2.0 * radius);
                self.length("ring", *distance);
            }
            Groove::Keyway {
                deg,
                length,
                width_depth: (width, depth),
                ..
            } => {
                self.length("width", *width);
                self.length("depth", *depth);
                self.length("length", *length);
                self.text("lengthwise", format!("{}°", plain(*deg)));
            }
        }
    }

    fn section(&mut self, section: &GrooveSection) {
        self.length("width", section.mouth_width());
        self.length("depth", section.depth());
    }
}

/// Length of a way in the plane (mm).
fn way(points: &[Vec2]) -> f64 {
    points.windows(2).map(|w| (w[1] - w[0]).length()).sum()
}

/// A number with at most two decimals.
fn plain(x: f64) -> String {
    Unit::Mm.number(x)
}
