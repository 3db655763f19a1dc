//! Rasterizing with a depth buffer at three times the size, shading, edges, and averaging down.

use crate::measure::{Bounds, Vec3};
use crate::picture::smooth::{CREASE_COS, corner_normals};
use crate::picture::view::View;
use crate::solid::Solid;

/// Samples a pixel, each way.
const FINE: usize = 3;

/// How far on a sample looks for the other side of an edge (fine samples).
const EDGE: usize = 2;

/// Share of a view's width and height that stays empty at each side.
const MARGIN: f64 = 0.06;

/// The colours of a picture: red, green and blue, 0 to 1.
#[derive(Debug, Clone, Copy)]
pub struct Palette<'a> {
    /// The paper.
    pub paper: [f64; 3],
    /// Ink of edges.
    pub ink: [f64; 3],
    /// One a feature, over again where there are more.
    pub colours: &'a [[f64; 3]],
}

/// The palette of pictures on their own.
const PLAIN: Palette = Palette {
    paper: [0.972, 0.965, 0.945],
    ink: [0.16, 0.15, 0.17],
    colours: &COLOURS,
};

/// Muted colours that differ in lightness as well as in hue, so that they stay apart for the colour-blind.
const COLOURS: [[f64; 3]; 9] = [
    [0.72, 0.75, 0.78],
    [0.86, 0.70, 0.48],
    [0.52, 0.66, 0.76],
    [0.80, 0.83, 0.66],
    [0.74, 0.58, 0.56],
    [0.60, 0.74, 0.68],
    [0.90, 0.82, 0.76],
    [0.62, 0.60, 0.66],
    [0.83, 0.76, 0.88],
];

/// What to draw: views side by side, each this large.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    /// Left to right.
    pub views: Vec<View>,
    /// Width of one view.
    pub width_px: usize,
    /// Height of one view.
    pub height_px: usize,
}

/// A picture: rows from the top, three bytes a pixel.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Width in pixels.
    pub width: usize,
    /// Height in pixels.
    pub height: usize,
    /// Red, green, blue of each pixel.
    pub rgb: Vec<u8>,
}

/// One fine sample. There are millions of them: in single precision they take less than half the room.
#[derive(Clone, Copy)]
struct Sample {
    depth: f32,
    normal: [f32; 3],
    feature: u32,
}

impl Sample {
    fn is_empty(&self) -> bool {
        self.depth == f32::NEG_INFINITY
    }

    /// The cosine between its normal and another one's.
    fn along(&self, other: [f32; 3]) -> f32 {
        let [x, y, z] = self.normal;
        x * other[0] + y * other[1] + z * other[2]
    }
}

/// A direction in single precision.
fn single(v: Vec3) -> [f32; 3] {
    v.to_array().map(|x| x as f32)
}

/// What the eye sees at each fine sample; nothing where `depth` is minus infinity.
struct Screen {
    width: usize,
    height: usize,
    samples: Vec<Sample>,
    /// Millimetres a fine sample.
    pitch: f64,
}

/// Draws a solid; all views share one scale.
pub fn draw(solid: &Solid, sheet: &Sheet) -> Picture {
    draw_in(solid, sheet, &PLAIN)
}

/// The view among `views` in which most is seen of the surfaces of one feature; the first of several alike.
pub fn shows_most(solid: &Solid, views: &[View], feature: usize) -> Option<View> {
    let normals = vec![[Vec3::Z; 3]; solid.triangles.len()];
    let seen = |view: View| {
        let sheet = Sheet {
            views: vec![view],
            width_px: 48,
            height_px: 36,
        };
        let screen = look(solid, &normals, view, &sheet, fit(solid, view, &sheet));
        let of_it = |s: &&Sample| !s.is_empty() && s.feature as usize == feature;
        screen.samples.iter().filter(of_it).count()
    };
    let counted = views.iter().map(|v| (seen(*v), *v));
    counted
        .reduce(|best, next| if next.0 > best.0 { next } else { best })
        .map(|(_, view)| view)
}

/// Draws a solid in colours of one's own; all views share one scale.
pub fn draw_in(solid: &Solid, sheet: &Sheet, palette: &Palette) -> Picture {
    let normals = corner_normals(solid);
    let scale = sheet
        .views
        .iter()
        .map(|v| fit(solid, *v, sheet))
        .fold(f64::INFINITY, f64::min);
    let width = sheet.width_px * sheet.views.len();
    let mut rgb = vec![255; 3 * width * sheet.height_px];
    for (i, view) in sheet.views.iter().enumerate() {
        let screen = look(solid, &normals, *view, sheet, scale);
        let lights = Lights::of(&view.axes());
        for y in 0..sheet.height_px {
            for x in 0..sheet.width_px {
                let at = 3 * (y * width + i * sheet.width_px + x);
                rgb[at..at + 3].copy_from_slice(&screen.pixel(x, y, &lights, palette));
            }
        }
    }
    Picture {
        width,
        height: sheet.height_px,
        rgb,
    }
}

/// The solid's box on a view's own axes.
fn seen(solid: &Solid, view: View) -> Bounds {
    let [right, up, towards] = view.axes();
    Bounds::of(
        solid
            .points
            .iter()
            .map(|p| Vec3::new(p.dot(right), p.dot(up), p.dot(towards))),
    )
}

/// Fine samples a millimetre that let a view fit.
fn fit(solid: &Solid, view: View, sheet: &Sheet) -> f64 {
    let size = seen(solid, view).size();
    let room = |px: usize| (px * FINE) as f64 * (1.0 - 2.0 * MARGIN);
    (room(sheet.width_px) / size.x.max(1e-6)).min(room(sheet.height_px) / size.y.max(1e-6))
}

/// Rasterizes one view.
fn look(solid: &Solid, normals: &[[Vec3; 3]], view: View, sheet: &Sheet, scale: f64) -> Screen {
    let [right, up, towards] = view.axes();
    let middle = seen(solid, view).middle();
    let (width, height) = (sheet.width_px * FINE, sheet.height_px * FINE);
    let empty = Sample {
        depth: f32::NEG_INFINITY,
        normal: single(towards),
        feature: u32::MAX,
    };
    let mut screen = Screen {
        width,
        height,
        samples: vec![empty; width * height],
        pitch: 1.0 / scale,
    };
    let place = |p: &Vec3| {
        Vec3::new(
            width as f64 / 2.0 + (p.dot(right) - middle.x) * scale,
            height as f64 / 2.0 - (p.dot(up) - middle.y) * scale,
            p.dot(towards),
        )
    };
    let placed: Vec<Vec3> = solid.points.iter().map(place).collect();
    for ((corners, normals), &feature) in solid.triangles.iter().zip(normals).zip(&solid.features) {
        let [a, b, c] = corners.map(|v| placed[v as usize]);
        screen.triangle([a, b, c], normals, feature);
    }
    screen
}

/// Rows as short as this are looked at whole (fine samples).
const SHORT: usize = 6;

/// What places on the screen may be off by (fine samples).
const ROUNDING: f64 = 1e-6;

/// Where a level line crosses a triangle seen from above, from left to right; infinities turned round where it doesn't.
fn crossed(corners: [Vec3; 3], y: f64) -> [f64; 2] {
    let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
    for (k, p) in corners.iter().enumerate() {
        let q = &corners[(k + 1) % 3];
        if y < p.y.min(q.y) - ROUNDING || y > p.y.max(q.y) + ROUNDING {
            continue;
        }
        let rise = q.y - p.y;
        let ends = if rise.abs() <= ROUNDING {
            [p.x, q.x]
        } else {
            [p.x + ((y - p.y) / rise).clamp(0.0, 1.0) * (q.x - p.x); 2]
        };
        (left, right) = (
            left.min(ends[0].min(ends[1])),
            right.max(ends[0].max(ends[1])),
        );
    }
    [left, right]
}

impl Screen {
    /// Fills one triangle, nearer samples winning; triangles that look away are skipped.
    fn triangle(&mut self, [a, b, c]: [Vec3; 3], normals: &[Vec3; 3], feature: usize) {
        let area = (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
        // The picture's y runs down, so what faces the eye turns the other way.
        if area >= 0.0 {
            return;
        }
        let share = 1.0 / area;
        let flat = normals[0] == normals[1] && normals[1] == normals[2];
        // The fine samples whose middles lie between two places: of a small triangle there may be none.
        let middles = |low: f64, high: f64, most: usize| {
            let from = (low - 0.5 - ROUNDING).ceil().max(0.0) as usize;
            let to = (high - 0.5 + ROUNDING).floor() + 1.0;
            from..to.clamp(0.0, most as f64) as usize
        };
        let (x0, x1) = (a.x.min(b.x).min(c.x), a.x.max(b.x).max(c.x));
        let (y0, y1) = (a.y.min(b.y).min(c.y), a.y.max(b.y).max(c.y));
        let across = middles(x0, x1, self.width);
        if across.is_empty() {
            return;
        }
        // How the second and the third corner's shares grow from sample to sample.
        let (by_v, by_w) = ((c.y - a.y) * share, (a.y - b.y) * share);
        for y in middles(y0, y1, self.height) {
            let py = y as f64 + 0.5;
            let row = if across.len() <= SHORT {
                across.clone()
            } else {
                // Of a long thin triangle's box hardly anything is its own: a row is looked at only where it crosses it.
                let [left, right] = crossed([a, b, c], py);
                middles((left - 1.0).max(x0), (right + 1.0).min(x1), self.width)
            };
            let (at_v, at_w) = (
                (py - a.y) * (c.x - a.x) * share,
                (py - a.y) * (b.x - a.x) * share,
            );
            for x in row {
                let px = x as f64 + 0.5 - a.x;
                let (v, w) = (px * by_v - at_v, px * by_w + at_w);
                let u = 1.0 - v - w;
                if u < -1e-9 || v < -1e-9 || w < -1e-9 {
                    continue;
                }
                let depth = u * a.z + v * b.z + w * c.z;
                let sample = &mut self.samples[y * self.width + x];
                if depth as f32 > sample.depth {
                    let normal = if flat {
                        normals[0]
                    } else {
                        (normals[0] * u + normals[1] * v + normals[2] * w).normalize_or_zero()
                    };
                    *sample = Sample {
                        depth: depth as f32,
                        normal: single(normal),
                        feature: feature as u32,
                    };
                }
            }
        }
    }

    /// The colour of a pixel: the mean of its fine samples.
    fn pixel(&self, x: usize, y: usize, lights: &Lights, palette: &Palette) -> [u8; 3] {
        if self.is_paper(x, y) {
            return palette.paper.map(byte);
        }
        let mut sum = [0.0; 3];
        for fy in 0..FINE {
            for fx in 0..FINE {
                let colour = self.colour(x * FINE + fx, y * FINE + fy, lights, palette);
                sum.iter_mut().zip(colour).for_each(|(s, c)| *s += c);
            }
        }
        sum.map(|s| byte(s / (FINE * FINE) as f64))
    }

    /// Whether nothing is seen at a pixel, nor at the samples beside it that an edge would show.
    fn is_paper(&self, x: usize, y: usize) -> bool {
        let (x0, y0) = (x * FINE, y * FINE);
        let (x1, y1) = (
            (x0 + FINE + EDGE).min(self.width),
            (y0 + FINE + EDGE).min(self.height),
        );
        (y0..y1).all(|y| {
            let row = &self.samples[y * self.width..][x0..x1];
            row.iter().all(Sample::is_empty)
        })
    }

    fn colour(&self, x: usize, y: usize, lights: &Lights, palette: &Palette) -> [f64; 3] {
        let sample = self.samples[y * self.width + x];
        let base = if sample.is_empty() {
            palette.paper
        } else {
            lights.shade(&sample, palette)
        };
        let ink = self.edge(x, y);
        std::array::from_fn(|i| base[i] * (1.0 - ink) + palette.ink[i] * ink)
    }

    /// How much ink an edge puts on a sample: creases, steps in depth, the outline.
    fn edge(&self, x: usize, y: usize) -> f64 {
        let here = self.samples[y * self.width + x];
        let mut ink: f64 = 0.0;
        for (dx, dy) in [(1, 0), (0, 1), (EDGE, 0), (0, EDGE), (1, 1)] {
            let (nx, ny) = (x + dx, y + dy);
            if nx >= self.width || ny >= self.height {
                continue;
            }
            let there = self.samples[ny * self.width + nx];
            let (a, b) = (here.is_empty(), there.is_empty());
            if a && b {
                continue;
            }
            if a != b {
                ink = ink.max(1.0);
            } else if f64::from(here.along(there.normal)) < CREASE_COS {
                ink = ink.max(0.75);
            } else if f64::from((here.depth - there.depth).abs()) > 12.0 * self.pitch {
                ink = ink.max(0.9);
            }
        }
        ink
    }
}

/// A share of light as a byte.
fn byte(light: f64) -> u8 {
    (light.clamp(0.0, 1.0) * 255.0).round() as u8
}

/// Two soft lights, from the upper left and from the right, and a little from everywhere.
struct Lights {
    key: [f32; 3],
    fill: [f32; 3],
}

impl Lights {
    /// Those of a view by its axes.
    fn of([right, up, towards]: &[Vec3; 3]) -> Lights {
        Lights {
            key: single((*towards * 0.75 + *up * 0.75 - *right * 0.45).normalize()),
            fill: single((*towards * 0.8 + *right * 0.8 - *up * 0.1).normalize()),
        }
    }

    fn shade(&self, sample: &Sample, palette: &Palette) -> [f64; 3] {
        let [key, fill] = [self.key, self.fill].map(|l| f64::from(sample.along(l)).max(0.0));
        let light = 0.42 + 0.50 * key + 0.16 * fill;
        let colour = palette.colours[sample.feature as usize % palette.colours.len()];
        colour.map(|c| c * light)
    }
}
