//! Lists of points. They are plain lists in the script's unit, so that a script can go through them.

use rhai::{Array, Dynamic};

use crate::drawing::Refusal;
use crate::measure::{Vec2, sin_cos_deg};
use crate::script::call::{Answer, Call};
use crate::script::declare::{Group, Key, Kind, Of, Range, Word, may, must};
use crate::script::find_key::Step;
use crate::script::given::Given;
use crate::script::reader::Reader;

const SIZE: Kind = Kind::Length(Range::Positive);

const fn word(
    name: &'static str,
    of: Of,
    does: &'static str,
    takes: &'static [Key],
    run: fn(&mut Call) -> Answer,
    example: &'static str,
) -> Word {
    Word {
        name,
        group: Group::Points,
        of,
        does,
        takes,
        example,
        run,
    }
}

/// The words of this file.
pub const WORDS: &[Word] = &[
    word(
        "bolt_circle",
        Of::Nothing,
        "Points evenly round a circle about [0, 0], counter-clockwise from the first.",
        &[
            must("n", Kind::Count(1), "how many"),
            must("dia", SIZE, "the circle's diameter"),
            may(
                "first",
                Kind::Degrees(f64::NEG_INFINITY, f64::INFINITY),
                "where the first lies; 0, along +x, if left out",
            ),
        ],
        bolt_circle,
        r#"part("round cover");
let cover = slab("cover", #{ outline: disc(100), height: 10 });
bore("bolt", #{ into: cover.top, at: bolt_circle(6, 80, 30), dia: clear("M8"), through: true });"#,
    ),
    word(
        "grid",
        Of::Nothing,
        "Points in rows and columns about [0, 0], from the front left, row by row.",
        &[
            must("nx", Kind::Count(1), "how many to the right"),
            must("ny", Kind::Count(1), "how many to the back"),
            must("dx", Kind::Length(Range::Any), "distance to the right"),
            must("dy", Kind::Length(Range::Any), "distance to the back"),
        ],
        grid,
        r#"part("base plate");
let plate = slab("plate", #{ outline: rect(100, 70), height: 10 });
bore("screw", #{ into: plate.top, at: grid(3, 2, 35, 45), dia: 8, through: true });"#,
    ),
    word(
        "rect_corners",
        Of::Nothing,
        "The four corners of a rectangle about [0, 0], counter-clockwise from the front left.",
        &[
            must("l", SIZE, "its length along x"),
            must("w", SIZE, "its width along y"),
        ],
        rect_corners,
        r#"part("four posts");
let plate = slab("plate", #{ outline: rect(100, 70), height: 10 });
boss("post", #{ on: plate.top, at: rect_corners(76, 46), dia: 16, height: 20 });"#,
    ),
    word(
        "moved",
        Of::Points,
        "The points of a list, all moved.",
        &[
            must("x", Kind::Length(Range::Any), "to the right"),
            must("y", Kind::Length(Range::Any), "to the back"),
        ],
        moved,
        r#"part("offset circle");
let plate = slab("plate", #{ outline: rect(120, 70), height: 10 });
bore("bolt", #{ into: plate.top, at: bolt_circle(5, 40).moved(25, 0), dia: 8, through: true });"#,
    ),
];

/// Points as a script has them, in its own unit.
fn list(call: &Call, points: impl IntoIterator<Item = Vec2>) -> Answer {
    let unit = call.state.part.unit.mm();
    let point = |p: Vec2| {
        Dynamic::from(vec![Dynamic::from(p.x / unit), Dynamic::from(p.y / unit)] as Array)
    };
    Ok(Dynamic::from(
        points.into_iter().map(point).collect::<Array>(),
    ))
}

fn bolt_circle(call: &mut Call) -> Answer {
    let n = call.must(call.values.count("n"))?;
    let radius = call.must(call.values.number("dia"))? / 2.0;
    let first = call.values.number("first").unwrap_or(0.0);
    let points = (0..n).map(|i| {
        let (sin, cos) = sin_cos_deg(first + 360.0 * i as f64 / n as f64);
        Vec2::new(cos, sin) * radius
    });
    list(call, points)
}

fn grid(call: &mut Call) -> Answer {
    let (nx, ny) = (
        call.must(call.values.count("nx"))?,
        call.must(call.values.count("ny"))?,
    );
    let (dx, dy) = (
        call.must(call.values.number("dx"))?,
        call.must(call.values.number("dy"))?,
    );
    if nx * ny > 5_000 {
        let text = format!("a grid of {nx} by {ny} is more than 5000 points");
        return Err(Refusal::at("nx", text).into());
    }
    let middle = |i: i64, n: i64| i as f64 - (n - 1) as f64 / 2.0;
    let points = (0..ny)
        .flat_map(|j| (0..nx).map(move |i| Vec2::new(middle(i, nx) * dx, middle(j, ny) * dy)));
    list(call, points)
}

fn rect_corners(call: &mut Call) -> Answer {
    let (l, w) = (
        call.must(call.values.number("l"))?,
        call.must(call.values.number("w"))?,
    );
    let signs = [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)];
    list(call, signs.map(|(x, y)| Vec2::new(x * l, y * w)))
}

fn moved(call: &mut Call) -> Answer {
    let by = Vec2::new(
        call.must(call.values.number("x"))?,
        call.must(call.values.number("y"))?,
    );
    let mut reader = Reader::new(call.state, &call.site, ".moved");
    let points = reader.within(Step::Key("points".into()), |r| {
        r.read(&Kind::Points(0), &call.of)
    });
    let faults = std::mem::take(&mut reader.faults);
    match points {
        Some(Given::Points(points)) => list(call, points.into_iter().map(|p| p + by)),
        _ => Err(crate::script::call::Stop::Faults(faults)),
    }
}
