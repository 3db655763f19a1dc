//! Sizes of screw threads: tapping drills and clearance holes.
//!
//! Metric coarse and fine: tapping drills from memory: ISO 2306:1972; clearance holes, medium series,
//! from memory: ISO 273:1979. Unified coarse and fine: tapping drills for about 75 % of thread depth,
//! from memory: Machinery's Handbook, tap drill tables (numbered and lettered drills by their diameter);
//! clearance holes, normal fit, from memory: ASME B18.2.8.

/// One thread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thread {
    /// Its name: `M8`, `M10x1.25`, `1/4-20`.
    pub name: &'static str,
    /// Major diameter (mm).
    pub major_mm: f64,
    /// Pitch (mm).
    pub pitch_mm: f64,
    /// Tapping drill (mm).
    pub tap_mm: f64,
    /// Clearance hole (mm).
    pub clear_mm: f64,
}

const fn m(name: &'static str, major_mm: f64, pitch_mm: f64, tap_mm: f64, clear_mm: f64) -> Thread {
    Thread {
        name,
        major_mm,
        pitch_mm,
        tap_mm,
        clear_mm,
    }
}

/// Inch sizes: major diameter, threads per inch, tapping drill, clearance hole.
const fn u(name: &'static str, major: f64, per_inch: f64, tap: f64, clear: f64) -> Thread {
    m(
        name,
        major * 25.4,
        25.4 / per_inch,
        tap * 25.4,
        clear * 25.4,
    )
}

/// Every thread known here.
pub const ALL: &[Thread] = &[
    m("M2", 2.0, 0.4, 1.6, 2.4),
    m("M2.5", 2.5, 0.45, 2.05, 2.9),
    m("M3", 3.0, 0.5, 2.5, 3.4),
    m("M4", 4.0, 0.7, 3.3, 4.5),
    m("M5", 5.0, 0.8, 4.2, 5.5),
    m("M6", 6.0, 1.0, 5.0, 6.6),
    m("M8", 8.0, 1.25, 6.8, 9.0),
    m("M10", 10.0, 1.5, 8.5, 11.0),
    m("M12", 12.0, 1.75, 10.2, 13.5),
    m("M14", 14.0, 2.0, 12.0, 15.5),
    m("M16", 16.0, 2.0, 14.0, 17.5),
    m("M18", 18.0, 2.5, 15.5, 20.0),
    m("M20", 20.0, 2.5, 17.5, 22.0),
    m("M22", 22.0, 2.5, 19.5, 24.0),
    m("M24", 24.0, 3.0, 21.0, 26.0),
    m("M27", 27.0, 3.0, 24.0, 30.0),
    m("M30", 30.0, 3.5, 26.5, 33.0),
    m("M8x1", 8.0, 1.0, 7.0, 9.0),
    m("M10x1", 10.0, 1.0, 9.0, 11.0),
    m("M10x1.25", 10.0, 1.25, 8.8, 11.0),
    m("M12x1.25", 12.0, 1.25, 10.8, 13.5),
    m("M12x1.5", 12.0, 1.5, 10.5, 13.5),
    m("M14x1.5", 14.0, 1.5, 12.5, 15.5),
    m("M16x1.5", 16.0, 1.5, 14.5, 17.5),
    m("M18x1.5", 18.0, 1.5, 16.5, 20.0),
    m("M20x1.5", 20.0, 1.5, 18.5, 22.0),
    m("M22x1.5", 22.0, 1.5, 20.5, 24.0),
    m("M24x2", 24.0, 2.0, 22.0, 26.0),
    u("4-40", 0.112, 40.0, 0.0890, 0.128),
    u("6-32", 0.138, 32.0, 0.1065, 0.154),
    u("8-32", 0.164, 32.0, 0.1360, 0.180),
    u("10-24", 0.190, 24.0, 0.1495, 0.206),
    u("10-32", 0.190, 32.0, 0.1590, 0.206),
    u("1/4-20", 0.25, 20.0, 0.2010, 0.28125),
    u("1/4-28", 0.25, 28.0, 0.2130, 0.28125),
    u("5/16-18", 0.3125, 18.0, 0.2570, 0.34375),
    u("5/16-24", 0.3125, 24.0, 0.2720, 0.34375),
    u("3/8-16", 0.375, 16.0, 0.3125, 0.40625),
    u("3/8-24", 0.375, 24.0, 0.3320, 0.40625),
    u("7/16-14", 0.4375, 14.0, 0.3680, 0.46875),
    u("7/16-20", 0.4375, 20.0, 0.390625, 0.46875),
    u("1/2-13", 0.5, 13.0, 0.421875, 0.5625),
    u("1/2-20", 0.5, 20.0, 0.453125, 0.5625),
    u("5/8-11", 0.625, 11.0, 0.53125, 0.6875),
    u("5/8-18", 0.625, 18.0, 0.578125, 0.6875),
    u("3/4-10", 0.75, 10.0, 0.65625, 0.8125),
    u("3/4-16", 0.75, 16.0, 0.6875, 0.8125),
    u("7/8-9", 0.875, 9.0, 0.765625, 0.9375),
    u("7/8-14", 0.875, 14.0, 0.8125, 0.9375),
    u("1-8", 1.0, 8.0, 0.875, 1.09375),
    u("1-12", 1.0, 12.0, 0.921875, 1.09375),
];

const fn pipe(name: &'static str, major_mm: f64, per_inch: f64, tap_mm: f64) -> Thread {
    m(name, major_mm, 25.4 / per_inch, tap_mm, 0.0)
}

/// Pipe threads, parallel and tapered: they have a drill and no clearance hole. From memory: ISO 228-1 and
/// ASME B1.20.1, drills as in Machinery's Handbook.
pub const PIPES: &[Thread] = &[
    pipe("G1/8", 9.728, 28.0, 8.8),
    pipe("G1/4", 13.157, 19.0, 11.8),
    pipe("G3/8", 16.662, 19.0, 15.25),
    pipe("G1/2", 20.955, 14.0, 19.0),
    pipe("G3/4", 26.441, 14.0, 24.5),
    pipe("G1", 33.249, 11.0, 30.75),
    pipe("NPT1/8", 0.405 * 25.4, 27.0, 0.339 * 25.4),
    pipe("NPT1/4", 0.54 * 25.4, 18.0, 0.4375 * 25.4),
    pipe("NPT3/8", 0.675 * 25.4, 18.0, 0.578125 * 25.4),
    pipe("NPT1/2", 0.84 * 25.4, 14.0, 0.703125 * 25.4),
    pipe("NPT3/4", 1.05 * 25.4, 14.0, 0.90625 * 25.4),
    pipe("NPT1", 1.315 * 25.4, 11.5, 1.140625 * 25.4),
];

/// What a script asked the diameter of a hole for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HoleFor {
    /// The thread.
    pub thread: &'static Thread,
    /// The hole is tapped; else the screw passes through it.
    pub tapped: bool,
}

impl HoleFor {
    /// The hole's diameter (mm).
    pub fn dia_mm(&self) -> f64 {
        if self.tapped {
            self.thread.tap_mm
        } else {
            self.thread.clear_mm
        }
    }

    /// Where it is in the lists: what a number that comes of it carries along; over 0.
    pub fn number(&self) -> Option<usize> {
        let same = |t: &&Thread| t.name == self.thread.name;
        let at = all().position(|t| same(&t))?;
        Some(2 * at + 1 + usize::from(self.tapped))
    }

    /// The one of that number.
    pub fn numbered(number: usize) -> Option<HoleFor> {
        let at = number.checked_sub(1)?;
        let thread = all().nth(at / 2)?;
        Some(HoleFor {
            thread,
            tapped: at % 2 == 1,
        })
    }
}

fn all() -> impl Iterator<Item = &'static Thread> {
    ALL.iter().chain(PIPES)
}

/// The thread with this name; upper or lower case, `×` or `x`, and blanks make no difference.
pub fn find(name: &str) -> Option<&'static Thread> {
    let plain = |s: &str| s.replace('×', "x").replace(' ', "").to_lowercase();
    let wanted = plain(name);
    all().find(|t| plain(t.name) == wanted)
}
