//! Seeded random parts as scripts: a plate crowded with bosses, bores, pockets, ribs, tunnels and what stands in them,
//! overlapping as chance has it. Every statement may stand anywhere after those that make its names.

use super::seeded::Seeded;

/// One statement of a script.
#[derive(Debug, Clone)]
pub struct Line {
    /// Its feature.
    pub name: String,
    /// The features that must be made before it.
    pub needs: Vec<String>,
    /// The opening that it stands in or fills, if it does.
    pub inside: Option<String>,
    /// As in the script.
    pub text: String,
}

/// A random part.
#[derive(Debug, Clone)]
pub struct RandomPart {
    /// Its statements, in an order that builds.
    pub lines: Vec<Line>,
    /// Finish marks, after all of them.
    pub marks: Vec<String>,
}

/// Half the plate's length and width (mm): places are chosen within.
const HALF: (f64, f64) = (50.0, 35.0);

struct Maker<'a> {
    g: &'a mut Seeded,
    lines: Vec<Line>,
    marks: Vec<String>,
    thick: f64,
}

impl RandomPart {
    /// A part of about a dozen features.
    pub fn new(seed: u64) -> RandomPart {
        let g = &mut Seeded(seed);
        let thick = g.between(16.0, 26.0);
        let mut m = Maker {
            g,
            lines: Vec::new(),
            marks: Vec::new(),
            thick,
        };
        m.plate();
        for _ in 0..1 + m.g.below(3) {
            m.pocket();
        }
        for _ in 0..1 + m.g.below(3) {
            m.boss();
        }
        for _ in 0..1 + m.g.below(3) {
            m.bore();
        }
        for _ in 0..m.g.below(3) {
            m.tunnel();
        }
        for _ in 0..m.g.below(3) {
            m.rib();
        }
        for _ in 0..m.g.below(3) {
            m.block();
        }
        RandomPart {
            lines: m.lines,
            marks: m.marks,
        }
    }

    /// The script with its features in the order made, without marks.
    pub fn script(&self) -> String {
        let texts: Vec<&str> = self.lines.iter().map(|l| l.text.as_str()).collect();
        texts.join("\n")
    }

    /// The script with finish marks.
    pub fn marked_script(&self) -> String {
        format!("{}\n{}", self.script(), self.marks.join("\n"))
    }

    /// The script with its features in another order.
    pub fn shuffled(&self, g: &mut Seeded) -> String {
        let mut left: Vec<&Line> = self.lines.iter().collect();
        let mut made: Vec<&str> = Vec::new();
        let mut texts = Vec::new();
        while !left.is_empty() {
            let ready: Vec<usize> = (0..left.len())
                .filter(|&i| left[i].needs.iter().all(|n| made.contains(&n.as_str())))
                .collect();
            let line = left.remove(ready[g.below(ready.len())]);
            made.push(&line.name);
            texts.push(line.text.as_str());
        }
        texts.join("\n")
    }
}

impl Maker<'_> {
    fn put(&mut self, word: &str, needs: &[&str], inside: Option<&str>, keys: &str) -> String {
        let name = format!("{word}_{}", self.lines.len());
        self.lines.push(Line {
            name: name.clone(),
            needs: needs.iter().map(|n| (*n).to_string()).collect(),
            inside: inside.map(String::from),
            text: format!("let {name} = {word}(\"{name}\", #{{ {keys} }});"),
        });
        name
    }

    fn mark(&mut self, p: f64, face: String) {
        if self.g.chance(p) {
            let stock = self.g.between(0.8, 2.5);
            self.marks.push(format!("finish({face}, {stock:.3});"));
        }
    }

    /// A place over the plate, `clear` away from its rim.
    fn place(&mut self, clear: f64) -> (f64, f64) {
        let (x, y) = (HALF.0 - clear, HALF.1 - clear);
        (self.g.between(-x, x), self.g.between(-y, y))
    }

    fn fillet(&mut self, most: f64) -> String {
        if self.g.chance(0.5) {
            format!(", fillet: {:.3}", self.g.between(1.0, most))
        } else {
            String::new()
        }
    }

    fn draft(&mut self) -> String {
        if self.g.chance(0.3) {
            format!(", draft: {:.3}", self.g.between(0.5, 2.5))
        } else {
            String::new()
        }
    }

    fn plate(&mut self) {
        let corners = if self.g.chance(0.5) {
            ".corners(9)"
        } else {
            ""
        };
        let keys = format!(
            "outline: rect({}, {}){corners}, height: {:.3}",
            2.0 * HALF.0,
            2.0 * HALF.1,
            self.thick
        );
        self.put("slab", &[], None, &keys);
        self.mark(0.6, "slab_0.top".into());
        self.mark(0.6, "slab_0.bottom".into());
        self.mark(0.3, "slab_0.side(\"left\")".into());
    }

    fn pocket(&mut self) {
        let (x, y) = self.place(14.0);
        let (l, w) = (self.g.between(14.0, 40.0), self.g.between(12.0, 30.0));
        let outline = match self.g.below(3) {
            0 => format!("disc({w:.3})"),
            1 => format!("rect({l:.3}, {w:.3})"),
            _ => format!("rect({l:.3}, {w:.3}).corners(4)"),
        };
        let depth = self.g.between(6.0, self.thick - 3.0);
        let (draft, fillet) = (self.draft(), self.fillet(2.0));
        let turn = self.g.between(0.0, 90.0);
        let keys = format!(
            "into: slab_0.top, at: [{x:.3}, {y:.3}], outline: {outline}, turn: {turn:.2}, depth: {depth:.3}{draft}{fillet}"
        );
        let name = self.put("pocket", &["slab_0"], None, &keys);
        self.mark(0.4, format!("{name}.floor"));
        if self.g.chance(0.6) {
            // A post on its floor, sometimes higher than its mouth.
            let (dia, height) = (self.g.between(6.0, 11.0), self.g.between(4.0, depth + 8.0));
            let (dx, dy, fillet) = (
                self.g.between(-4.0, 4.0),
                self.g.between(-4.0, 4.0),
                self.fillet(2.0),
            );
            let bored = if self.g.chance(0.4) {
                format!(", bore: {:.3}", dia * 0.5)
            } else {
                String::new()
            };
            let keys = format!(
                "on: {name}.floor, at: [{dx:.3}, {dy:.3}], dia: {dia:.3}, height: {height:.3}{fillet}{bored}"
            );
            self.put("boss", &[&name], Some(&name), &keys);
        }
    }

    fn boss(&mut self) {
        let (x, y) = self.place(8.0);
        let (dia, height) = (self.g.between(14.0, 30.0), self.g.between(10.0, 26.0));
        let (draft, fillet) = (self.draft(), self.fillet(4.0));
        let bored = match self.g.below(4) {
            0 => format!(", bore: {:.3}", dia * self.g.between(0.3, 0.6)),
            1 => format!(
                ", bore: {:.3}, bore_depth: {:.3}",
                dia * self.g.between(0.3, 0.6),
                height * self.g.between(0.3, 0.9)
            ),
            _ => String::new(),
        };
        let keys = format!(
            "on: slab_0.top, at: [{x:.3}, {y:.3}], dia: {dia:.3}, height: {height:.3}{draft}{fillet}{bored}"
        );
        let name = self.put("boss", &["slab_0"], None, &keys);
        self.mark(0.6, format!("{name}.top"));
        if !bored.is_empty() {
            self.mark(0.4, format!("{name}.wall"));
        } else if self.g.chance(0.5) {
            let end = match self.g.below(3) {
                0 => format!("depth: {:.3}", height * self.g.between(0.3, 1.3)),
                1 => "to: slab_0.bottom".to_string(),
                _ => "through: \"all\"".to_string(),
            };
            let keys = format!(
                "into: {name}.top, at: [{:.3}, 0], dia: {:.3}, {end}",
                self.g.between(-2.0, 2.0),
                dia * 0.5
            );
            self.put("bore", &[&name, "slab_0"], None, &keys);
        }
    }

    fn bore(&mut self) {
        let dia = self.g.between(5.0, 14.0);
        let (x, y) = self.place(8.0);
        let step = if self.g.chance(0.4) {
            format!(
                ", counterbore: #{{ dia: {:.3}, depth: {:.3} }}",
                dia * 1.6,
                self.g.between(2.0, 5.0)
            )
        } else {
            String::new()
        };
        let keys = match self.g.below(4) {
            0 => format!(
                "into: slab_0.top, at: [{x:.3}, {y:.3}], dia: {dia:.3}, depth: {:.3}{step}",
                self.g.between(6.0, self.thick - 2.0)
            ),
            1 => format!(
                "into: slab_0.bottom, at: [{x:.3}, {y:.3}], dia: {dia:.3}, through: \"all\"{step}"
            ),
            2 => format!(
                "into: slab_0.top, at: [{x:.3}, {y:.3}], dia: {dia:.3}, to: slab_0.bottom{step}"
            ),
            _ => format!(
                "into: slab_0.side(\"left\"), at: [{:.3}, {:.3}], dia: {:.3}, depth: {:.3}",
                self.g.between(-20.0, 20.0),
                self.g.between(-3.0, 3.0),
                dia * 0.6,
                self.g.between(20.0, 90.0)
            ),
        };
        let name = self.put("bore", &["slab_0"], None, &keys);
        self.mark(0.3, format!("{name}.wall"));
    }

    fn tunnel(&mut self) {
        let (inside, wall) = (self.g.between(5.0, 9.0), [0.0, 2.5, 3.5][self.g.below(3)]);
        let z = self.g.between(0.3, 1.2) * self.thick;
        let y = [(); 3].map(|()| self.g.between(-28.0, 28.0));
        let keys = if self.g.chance(0.5) {
            format!(
                "from: [-58, {:.3}, {z:.3}], to: [58, {:.3}, {z:.3}], inside: {inside:.3}, wall: {wall}",
                y[0], y[1]
            )
        } else {
            format!(
                "path: [[-58, {:.3}, {z:.3}], [{:.3}, {:.3}, {z:.3}], [58, {:.3}, {:.3}]], bend: 14, inside: {inside:.3}, wall: {wall}",
                y[0],
                self.g.between(-15.0, 15.0),
                y[1],
                y[2],
                z + 6.0
            )
        };
        let name = self.put("tunnel", &[], None, &keys);
        self.mark(0.4, format!("{name}.start"));
    }

    fn rib(&mut self) {
        let (a, b) = (self.place(6.0), self.place(6.0));
        if (a.0 - b.0).hypot(a.1 - b.1) < 15.0 {
            return;
        }
        let pocket = self
            .lines
            .iter()
            .find(|l| l.name.starts_with("pocket"))
            .map(|l| l.name.clone());
        let fills = pocket.filter(|_| self.g.chance(0.4));
        let (sink, needs) = match &fills {
            // Down to the pocket's floor, so that it does stand there.
            Some(name) => (
                format!(", fills: {name}, sink: {:.3}", self.thick - 1.0),
                vec!["slab_0", name.as_str()],
            ),
            None => (String::new(), vec!["slab_0"]),
        };
        let (thick, height) = (self.g.between(4.0, 8.0), self.g.between(5.0, 14.0));
        let keys = format!(
            "on: slab_0.top, from: [{:.3}, {:.3}], to: [{:.3}, {:.3}], thick: {thick:.3}, height: {height:.3}{sink}",
            a.0, a.1, b.0, b.1
        );
        let inside = fills.clone();
        self.put("rib", &needs, inside.as_deref(), &keys);
    }

    /// A block on the ground through whatever is there.
    fn block(&mut self) {
        let (x, y) = self.place(0.0);
        let (l, w) = (self.g.between(15.0, 40.0), self.g.between(15.0, 40.0));
        let height = self.g.between(0.4, 1.8) * self.thick;
        let (draft, turn) = (self.draft(), self.g.between(0.0, 90.0));
        let keys = format!(
            "outline: rect({l:.3}, {w:.3}), at: [{x:.3}, {y:.3}], turn: {turn:.2}, height: {height:.3}{draft}"
        );
        let name = self.put("slab", &[], None, &keys);
        self.mark(0.5, format!("{name}.top"));
    }
}
