//! Flat shapes.

use rhai::Dynamic;

use crate::drawing::Refusal;
use crate::drawing::outline::{Outline, OutlineError};
use crate::script::call::{Answer, Call, Stop};
use crate::script::declare::{Group, Key, Kind, Of, Range, Word, must};

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
        group: Group::Outlines,
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
        "rect",
        Of::Nothing,
        "A rectangle, centred on its origin.",
        &[
            must("l", SIZE, "its length along x"),
            must("w", SIZE, "its width along y"),
        ],
        rect,
        r#"part("plate");
slab("plate", #{ outline: rect(80, 50), height: 10 });"#,
    ),
    word(
        "disc",
        Of::Nothing,
        "A disc, centred on its origin.",
        &[must("dia", SIZE, "its diameter")],
        disc,
        r#"part("blank");
slab("blank", #{ outline: disc(60), height: 10 });"#,
    ),
    word(
        "obround",
        Of::Nothing,
        "A bar with round ends along x, centred on its origin.",
        &[
            must("l", SIZE, "its length over all"),
            must("w", SIZE, "its width, at most its length"),
        ],
        obround,
        r#"part("slotted plate");
let plate = slab("plate", #{ outline: rect(80, 50), height: 10 });
pocket("slot", #{ into: plate.top, outline: obround(40, 12), through: true });"#,
    ),
    word(
        "polygon",
        Of::Nothing,
        "A shape with straight sides through its points; it closes itself and must not cross itself.",
        &[must(
            "points",
            Kind::Points(3),
            "its corners in order, either way round",
        )],
        polygon,
        r#"part("wedge foot");
slab("foot", #{ outline: polygon([[0, 0], [70, 0], [40, 45], [0, 45]]).corners(5), height: 12 });"#,
    ),
    word(
        "belt",
        Of::Nothing,
        "The taut outline round several circles: a link, a lever, an oval flange.",
        &[must(
            "circles",
            Kind::Circles,
            "the circles that it runs round",
        )],
        belt,
        r#"part("link");
let link = slab("link", #{ outline: belt([[0, 0, 40], [90, 10, 26]]), height: 12 });
bore("pin", #{ into: link.top, dia: 16, through: true });"#,
    ),
    word(
        "arc_path",
        Of::Nothing,
        "A shape of lines and arcs from its first point on; it closes itself by a straight line and must not cross itself.",
        &[must("steps", Kind::ArcPath, "the points and arcs in order")],
        arc_path,
        r#"part("half moon");
slab("moon", #{
    outline: arc_path([[-30, 0], [30, 0], #{ to: [0, 30], radius: 30 }, #{ to: [-30, 0], through: [-21.2132, 21.2132] }]),
    height: 10,
});"#,
    ),
    word(
        "corners",
        Of::Outline,
        "The outline with every sharp corner rounded, inside corners too.",
        &[must(
            "r",
            Kind::Length(Range::OrZero),
            "the radius; 0 leaves it as it is",
        )],
        corners,
        r#"part("soft plate");
slab("plate", #{ outline: rect(80, 50).corners(8), height: 10 });"#,
    ),
    word(
        "at",
        Of::Outline,
        "The outline moved.",
        &[
            must("x", Kind::Length(Range::Any), "to the right"),
            must("y", Kind::Length(Range::Any), "to the back"),
        ],
        at,
        r#"part("two pads");
slab("pads", #{ outline: rect(60, 20).plus(disc(30).at(20, 12)), height: 10 });"#,
    ),
    word(
        "turn",
        Of::Outline,
        "The outline turned about its origin, counter-clockwise.",
        &[must("deg", DEGREES, "by how much")],
        turn,
        r#"part("slanting slot");
let plate = slab("plate", #{ outline: rect(80, 50), height: 10 });
pocket("slot", #{ into: plate.top, outline: obround(40, 12).turn(30), through: true });"#,
    ),
    word(
        "mirrored",
        Of::Outline,
        "The outline turned over: \"x\" swaps left and right, \"y\" front and back.",
        &[must("axis", Kind::Choice(&["x", "y"]), "which way")],
        mirrored,
        r#"part("left hand wedge");
let right = polygon([[0, 0], [70, 0], [50, 45], [0, 45]]);
slab("wedge", #{ outline: right.mirrored("x"), height: 12 });"#,
    ),
    word(
        "grown",
        Of::Outline,
        "The outline grown by a distance all round, corners round; negative shrinks it.",
        &[must("d", Kind::Length(Range::Any), "by how much")],
        grown,
        r#"part("rimmed lid");
let shape = rect(80, 50).corners(6);
let lid = slab("lid", #{ outline: shape, height: 16 });
pocket("inside", #{ into: lid.top, outline: shape.grown(-6), depth: 8 });"#,
    ),
    word(
        "plus",
        Of::Outline,
        "What lies in either of two outlines.",
        &[must("other", Kind::Outline, "the other one")],
        plus,
        r#"part("tee");
slab("tee", #{ outline: rect(80, 20).plus(rect(20, 60).at(0, 20)), height: 10 });"#,
    ),
    word(
        "minus",
        Of::Outline,
        "What lies in the outline and not in another; a hole where the other lies inside.",
        &[must("other", Kind::Outline, "what is taken away")],
        minus,
        r#"part("ring");
slab("ring", #{ outline: disc(80).minus(disc(50)), height: 10 });"#,
    ),
];

/// Any angle.
const DEGREES: Kind = Kind::Degrees(f64::NEG_INFINITY, f64::INFINITY);

/// An outline as the script gets it, or the refusal at `key`.
fn shape(call: &Call, key: &'static str, made: Result<Outline, OutlineError>) -> Answer {
    let unit = call.state.part.unit;
    made.map(Dynamic::from)
        .map_err(|e| Refusal::at(key, e.text(unit)).into())
}

/// The outline that a method is said of.
fn this(call: &Call) -> Result<Outline, Stop> {
    call.must(call.of.clone().try_cast::<Outline>())
}

fn rect(call: &mut Call) -> Answer {
    let (l, w) = (
        call.must(call.values.number("l"))?,
        call.must(call.values.number("w"))?,
    );
    Ok(Dynamic::from(Outline::rect(l, w)))
}

fn disc(call: &mut Call) -> Answer {
    Ok(Dynamic::from(Outline::disc(
        call.must(call.values.number("dia"))?,
    )))
}

fn obround(call: &mut Call) -> Answer {
    let (l, w) = (
        call.must(call.values.number("l"))?,
        call.must(call.values.number("w"))?,
    );
    if l < w {
        let text = format!(
            "an obround of {} is shorter than it is wide",
            call.state.show(l)
        );
        let hint = format!(
            "its length runs along x and is at least its width, {}; .turn(90) sets it upright",
            call.state.show(w)
        );
        return Err(Refusal::at("l", text).hint(hint).into());
    }
    shape(call, "w", Outline::obround(l, w))
}

fn polygon(call: &mut Call) -> Answer {
    let points = call.must(call.values.points("points"))?;
    shape(call, "points", Outline::polygon(&points))
}

fn belt(call: &mut Call) -> Answer {
    let circles = call.must(call.values.circles("circles"))?;
    shape(call, "circles", Outline::belt(&circles))
}

fn arc_path(call: &mut Call) -> Answer {
    let (start, steps) = call.must(call.values.arc_path("steps"))?;
    shape(call, "steps", Outline::arc_path(start, &steps))
}

fn corners(call: &mut Call) -> Answer {
    let (outline, r) = (this(call)?, call.must(call.values.number("r"))?);
    let made = if r == 0.0 {
        Ok(outline)
    } else {
        outline.corners(r)
    };
    shape(call, "r", made)
}

fn at(call: &mut Call) -> Answer {
    let (x, y) = (
        call.must(call.values.number("x"))?,
        call.must(call.values.number("y"))?,
    );
    Ok(Dynamic::from(this(call)?.at(x, y)))
}

fn turn(call: &mut Call) -> Answer {
    let degrees = call.must(call.values.number("deg"))?;
    Ok(Dynamic::from(this(call)?.turn(degrees)))
}

fn mirrored(call: &mut Call) -> Answer {
    let outline = this(call)?;
    let across_x = call.must(call.values.text("axis"))? == "x";
    Ok(Dynamic::from(if across_x {
        outline.mirrored_x()
    } else {
        outline.mirrored_y()
    }))
}

fn grown(call: &mut Call) -> Answer {
    let d = call.must(call.values.number("d"))?;
    let outline = this(call)?;
    let made = if d == 0.0 {
        Ok(outline)
    } else {
        outline.grown(d)
    };
    shape(call, "d", made)
}

fn plus(call: &mut Call) -> Answer {
    let other = call.must(call.values.outline("other"))?;
    shape(call, "other", this(call)?.plus(&other))
}

fn minus(call: &mut Call) -> Answer {
    let other = call.must(call.values.outline("other"))?;
    shape(call, "other", this(call)?.minus(&other))
}
