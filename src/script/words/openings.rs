//! What removes metal: bores, pockets, grooves, hollows.

use crate::drawing::Refusal;
use crate::drawing::given::{
    BoreGiven, GrooveGiven, GrooveRun, GrooveSection, HollowGiven, PocketGiven,
};
use crate::script::call::{Answer, Call, Stop};
use crate::script::declare::{Group, Key, Keys, Kind, Of, Rule, Word, may, must};
use crate::script::words::links::{
    ANY_DEGREES, CORED, DRAFT, FILLS, FLOOR_FILLET, INTO, MEETS, MOUTH, NAME, ONE_EDGE, ONE_REACH,
    ONE_SPOT, OR_NONE, REACH, SIZE, SPOTS, TURN, head, made, place, reach, trim,
};

const COUNTERBORE: &Keys = &Keys {
    keys: &[&[
        must("dia", SIZE, "its diameter"),
        must("depth", SIZE, "its depth from the face"),
    ]],
    rules: &[],
};

const COUNTERSINK: &Keys = &Keys {
    keys: &[&[
        must("dia", SIZE, "its diameter at the face"),
        must(
            "angle",
            Kind::Degrees(20.0, 170.0),
            "its included angle in degrees, such as 90",
        ),
    ]],
    rules: &[],
};

const BORE: &Keys = &Keys {
    keys: &[
        INTO,
        &[must("dia", SIZE, "its diameter at the mouth")],
        REACH,
        &[
            may(
                "counterbore",
                Kind::Map(COUNTERBORE),
                "a wider, flat-bottomed step at its mouth",
            ),
            may("countersink", Kind::Map(COUNTERSINK), "a cone at its mouth"),
        ],
        SPOTS,
        TURN,
        DRAFT,
        FLOOR_FILLET,
        MOUTH,
        FILLS,
        MEETS,
        CORED,
    ],
    rules: &[ONE_REACH, ONE_SPOT, ONE_EDGE],
};

const POCKET: &Keys = &Keys {
    keys: &[
        INTO,
        &[must("outline", Kind::Outline, "its shape at the mouth")],
        REACH,
        SPOTS,
        TURN,
        DRAFT,
        FLOOR_FILLET,
        MOUTH,
        FILLS,
        MEETS,
        CORED,
    ],
    rules: &[ONE_REACH, ONE_SPOT, ONE_EDGE],
};

const GROOVE: &Keys = &Keys {
    keys: &[
        &[
            must(
                "into",
                Kind::Face,
                "the flat face or round wall that it is cut into",
            ),
            may(
                "along",
                Kind::Line,
                "its middle line on a flat face: points, or an outline",
            ),
            may(
                "ring",
                Kind::Length(crate::script::declare::Range::Any),
                "round a round wall: distance of its middle from the mouth",
            ),
            may(
                "lengthwise",
                ANY_DEGREES,
                "along a round wall at this angle: a keyway",
            ),
            may("length", SIZE, "length of a keyway from the mouth"),
            may("width", SIZE, "its width"),
            may("depth", SIZE, "its depth"),
            may(
                "section",
                Kind::Points(3),
                "its section [[across, down], …] from lip to lip, instead of `width` and `depth`",
            ),
        ],
        SPOTS,
        TURN,
        FILLS,
        MEETS,
        CORED,
    ],
    rules: &[
        Rule::One(&["along", "ring", "lengthwise"]),
        Rule::One(&["width", "section"]),
        Rule::Needs("width", "depth"),
        Rule::Needs("depth", "width"),
        Rule::Needs("lengthwise", "length"),
        Rule::Needs("length", "lengthwise"),
        Rule::Needs("at", "along"),
        Rule::Needs("xy", "along"),
        Rule::Needs("xyz", "along"),
        Rule::Needs("turn", "along"),
        ONE_SPOT,
    ],
};

const HOLLOW: &Keys = &Keys {
    keys: &[
        &[
            must(
                "of",
                Kind::Group,
                "the slab, boss or turned body that is hollowed",
            ),
            must(
                "open",
                Kind::GroupFace,
                "the end that it opens at: .top, .bottom or a turned end",
            ),
            must("wall", SIZE, "the wall left at its sides, square to them"),
            must("floor", SIZE, "the floor left at its closed end"),
            may(
                "fillet",
                OR_NONE,
                "radius of the fillet at its floor, where there is no round to follow",
            ),
        ],
        FILLS,
        MEETS,
    ],
    rules: &[],
};

const fn word(
    name: &'static str,
    does: &'static str,
    takes: &'static [Key],
    run: fn(&mut Call) -> Answer,
    example: &'static str,
) -> Word {
    Word {
        name,
        group: Group::Features,
        of: Of::Nothing,
        does,
        takes,
        example,
        run,
    }
}

/// The words of this file.
pub const WORDS: &[Word] = &[
    word(
        "bore",
        "Removes a round hole, with a counterbore or countersink if wanted.",
        &[NAME, must("keys", Kind::Map(BORE), "what it is like")],
        bore,
        r#"part("bored block");
let block = slab("block", #{ outline: rect(80, 50), height: 30 });
bore("screw", #{ into: block.top, at: [-20, 0], dia: 9, through: true, counterbore: #{ dia: 15, depth: 9 } });
bore("oil", #{ into: block.side("right"), dia: 6, depth: 25, countersink: #{ dia: 10, angle: 90 } });"#,
    ),
    word(
        "pocket",
        "Removes a recess or window of any outline.",
        &[NAME, must("keys", Kind::Map(POCKET), "what it is like")],
        pocket,
        r#"part("pocketed block");
let block = slab("block", #{ outline: rect(90, 60), height: 30 });
pocket("recess", #{ into: block.top, outline: rect(60, 30).corners(6), depth: 14, draft: 2, fillet: 3, chamfer: 1 });"#,
    ),
    word(
        "groove",
        "Removes a groove: along a line on a flat face, or round or along a round wall.",
        &[NAME, must("keys", Kind::Map(GROOVE), "what it is like")],
        groove,
        r#"part("grooved hub");
let hub = slab("hub", #{ outline: disc(90), height: 30 });
let eye = bore("eye", #{ into: hub.top, dia: 30, through: true });
groove("seal", #{ into: hub.top, along: disc(60), width: 4, depth: 3 });
groove("key", #{ into: eye.wall, lengthwise: 90, length: 30, width: 8, depth: 3.3, meets: eye });"#,
    ),
    word(
        "hollow",
        "Removes the inside of a slab, boss or turned body so that a wall and a floor are left.",
        &[NAME, must("keys", Kind::Map(HOLLOW), "what it is like")],
        hollow,
        r#"part("oil box");
let box = slab("box", #{ outline: rect(90, 60).corners(10), height: 40, draft: 2 });
hollow("inside", #{ of: box, open: box.top, wall: 6, floor: 8, fillet: 4 });"#,
    ),
];

fn bore(call: &mut Call) -> Answer {
    let values = &call.values;
    let step = |key: &str, second: &str| {
        values
            .map(key)
            .and_then(|m| m.number("dia").zip(m.number(second)))
    };
    let given = BoreGiven {
        head: head(call)?,
        place: place(values, "into"),
        dia: call.must(values.number("dia"))?,
        reach: reach(call)?,
        counterbore: step("counterbore", "depth"),
        countersink: step("countersink", "angle"),
        trim: trim(values),
        cored: values.flag("cored"),
    };
    made(call.state.part.bore(given))
}

fn pocket(call: &mut Call) -> Answer {
    let given = PocketGiven {
        head: head(call)?,
        place: place(&call.values, "into"),
        outline: call.must(call.values.outline("outline"))?,
        reach: reach(call)?,
        trim: trim(&call.values),
        cored: call.values.flag("cored"),
    };
    made(call.state.part.pocket(given))
}

fn groove(call: &mut Call) -> Answer {
    let given = GrooveGiven {
        head: head(call)?,
        place: place(&call.values, "into"),
        run: run(call)?,
        section: section(call)?,
        cored: call.values.flag("cored"),
    };
    made(call.state.part.groove(given))
}

fn run(call: &Call) -> Result<GrooveRun, Stop> {
    let values = &call.values;
    if let Some(points) = values.points("along") {
        return Ok(GrooveRun::Along(points));
    }
    if let Some(outline) = values.outline("along") {
        return Ok(GrooveRun::Round(outline));
    }
    if let Some(distance) = values.number("ring") {
        return Ok(GrooveRun::Ring(distance));
    }
    let (deg, length) = (
        call.must(values.number("lengthwise"))?,
        call.must(values.number("length"))?,
    );
    Ok(GrooveRun::Lengthwise { deg, length })
}

fn section(call: &Call) -> Result<GrooveSection, Stop> {
    let values = &call.values;
    if let Some(points) = values.points("section") {
        return Ok(GrooveSection::Points(points));
    }
    let (width, depth) = (
        call.must(values.number("width"))?,
        call.must(values.number("depth"))?,
    );
    Ok(GrooveSection::Plain { width, depth })
}

fn hollow(call: &mut Call) -> Answer {
    let of = call.must(call.values.feature("of"))?;
    if of.ids.is_empty() {
        return Err(Refusal::at("of", "there is nothing to hollow").into());
    }
    let given = HollowGiven {
        head: head(call)?,
        of,
        open: call.must(call.values.face("open"))?,
        wall: call.must(call.values.number("wall"))?,
        floor: call.must(call.values.number("floor"))?,
        fillet: call.values.number("fillet"),
    };
    made(call.state.part.hollow(given))
}
