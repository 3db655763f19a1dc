//! What stands up: slabs, bosses, flanges, ribs.

use crate::drawing::given::{FlangeGiven, RaisedGiven, RibGiven, Rise};
use crate::drawing::outline::Outline;
use crate::script::call::{Answer, Call, Stop};
use crate::script::declare::{Group, Keys, Kind, Of, Rule, Word, may, must};
use crate::script::words::links::{
    CORED, DRAFT, EDGE, FILLS, FOOT, LOOSE, NAME, ON, ONE_EDGE, ONE_SPOT, OR_NONE, SIZE, SPOTS,
    TURN, edge, head, made, place, trim,
};

const RISE: &[crate::script::declare::Key] = &[
    may("height", SIZE, "how high it rises"),
    may(
        "up_to",
        Kind::Face,
        "the face that it rises to, instead of `height`",
    ),
];

const SLAB: &Keys = &Keys {
    keys: &[
        &[must("outline", Kind::Outline, "its shape at the free end")],
        RISE,
        ON,
        SPOTS,
        TURN,
        DRAFT,
        FOOT,
        EDGE,
        FILLS,
        LOOSE,
    ],
    rules: &[Rule::One(&["height", "up_to"]), ONE_SPOT, ONE_EDGE],
};

const BOSS: &Keys = &Keys {
    keys: &[
        &[
            may("dia", SIZE, "its diameter at the free end"),
            may(
                "outline",
                Kind::Outline,
                "its shape at the free end, instead of `dia`",
            ),
        ],
        RISE,
        &[
            may(
                "bore",
                SIZE,
                "diameter of a bore from its top to the face it stands on",
            ),
            may(
                "bore_depth",
                SIZE,
                "depth of that bore from the top, where it goes less deep",
            ),
        ],
        ON,
        SPOTS,
        TURN,
        DRAFT,
        FOOT,
        EDGE,
        FILLS,
        LOOSE,
        CORED,
    ],
    rules: &[
        Rule::One(&["dia", "outline"]),
        Rule::One(&["height", "up_to"]),
        ONE_SPOT,
        ONE_EDGE,
        Rule::Needs("bore_depth", "bore"),
        Rule::Needs("cored", "bore"),
    ],
};

const FLANGE: &Keys = &Keys {
    keys: &[
        &[
            must(
                "on",
                Kind::Face,
                "the mouth or face that its outer side lies in",
            ),
            may("dia", SIZE, "its diameter"),
            may("outline", Kind::Outline, "its shape, instead of `dia`"),
            must("thick", SIZE, "its thickness, back from that face"),
            may("bolts", Kind::Points(1), "where the bolt holes are"),
            may("bolt_dia", SIZE, "their diameter"),
            may(
                "fillet",
                OR_NONE,
                "radius of the fillet at its back, round what comes out there",
            ),
        ],
        SPOTS,
        TURN,
        EDGE,
        FILLS,
        LOOSE,
        CORED,
    ],
    rules: &[
        Rule::One(&["dia", "outline"]),
        Rule::Needs("bolts", "bolt_dia"),
        Rule::Needs("bolt_dia", "bolts"),
        Rule::Needs("cored", "bolts"),
        ONE_SPOT,
        ONE_EDGE,
    ],
};

const RIB: &Keys = &Keys {
    keys: &[
        &[
            may("from", Kind::Point, "where it starts on its face"),
            may("to", Kind::Point, "where it ends"),
            may(
                "path",
                Kind::Points(2),
                "its way over the face, instead of `from` and `to`",
            ),
            must("thick", SIZE, "its thickness at the free edge"),
            must(
                "height",
                Kind::Heights,
                "its height; a list of two makes a gusset, of which one end may be 0",
            ),
        ],
        ON,
        TURN,
        DRAFT,
        FOOT,
        EDGE,
        FILLS,
        LOOSE,
    ],
    rules: &[
        Rule::One(&["from", "path"]),
        Rule::Needs("from", "to"),
        Rule::Needs("to", "from"),
        ONE_EDGE,
    ],
};

const fn word(
    name: &'static str,
    does: &'static str,
    takes: &'static [crate::script::declare::Key],
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
        "slab",
        "Adds a plate or block of any outline.",
        &[NAME, must("keys", Kind::Map(SLAB), "what it is like")],
        raised,
        r#"part("cover plate");
let plate = slab("plate", #{ outline: rect(90, 60).corners(8), height: 10 });
slab("pad", #{ on: plate.top, at: [10, 0], outline: rect(40, 30).corners(4), height: 14, draft: 2, fillet: 3, round: 1.5 });"#,
    ),
    word(
        "boss",
        "Adds a boss, round by `dia` or of any outline, with a bore through it if wanted.",
        &[NAME, must("keys", Kind::Map(BOSS), "what it is like")],
        raised,
        r#"part("bossed plate");
let plate = slab("plate", #{ outline: rect(90, 60), height: 10 });
boss("post", #{ on: plate.top, at: [[-25, 0], [25, 0]], dia: 22, height: 24, bore: 10, fillet: 3, chamfer: 1 });"#,
    ),
    word(
        "flange",
        "Adds a flange whose outer side lies in a mouth or face; its thickness goes back from there.",
        &[NAME, must("keys", Kind::Map(FLANGE), "what it is like")],
        flange,
        r#"part("hose tail");
let pipe = tunnel("pipe", #{ from: [0, 0, 0], to: [0, 0, 70], inside: 25, wall: 5 });
flange("rim", #{ on: pipe.start, dia: 80, thick: 10, bolts: bolt_circle(4, 60), bolt_dia: 9, fillet: 3 });"#,
    ),
    word(
        "rib",
        "Adds a rib or gusset along a line over a face.",
        &[NAME, must("keys", Kind::Map(RIB), "what it is like")],
        rib,
        r#"part("ribbed plate");
let plate = slab("plate", #{ outline: rect(100, 60), height: 10 });
let post = boss("post", #{ on: plate.top, dia: 26, height: 30 });
rib("gusset", #{ on: plate.top, from: [10, 0], to: [42, 0], thick: 6, height: [26, 4], fillet: 2 });"#,
    ),
];

/// The outline, or the disc of `dia`.
fn outline(call: &Call) -> Result<Outline, Stop> {
    match call.values.number("dia") {
        Some(dia) => Ok(Outline::disc(dia)),
        None => call.must(call.values.outline("outline")),
    }
}

fn raised(call: &mut Call) -> Answer {
    let rise = match call.values.number("height") {
        Some(height) => Rise::Height(height),
        None => Rise::UpTo(call.must(call.values.face("up_to"))?),
    };
    let given = RaisedGiven {
        head: head(call)?,
        place: place(&call.values, "on"),
        outline: outline(call)?,
        rise,
        trim: trim(&call.values),
        bore: call.values.number("bore"),
        bore_depth: call.values.number("bore_depth"),
        cored: call.values.flag("cored"),
    };
    made(call.state.part.raised(given))
}

fn flange(call: &mut Call) -> Answer {
    let given = FlangeGiven {
        head: head(call)?,
        place: place(&call.values, "on"),
        outline: outline(call)?,
        thick: call.must(call.values.number("thick"))?,
        bolts: call.values.points("bolts").unwrap_or_default(),
        bolt_dia: call.values.number("bolt_dia"),
        fillet: call.values.number("fillet"),
        edge: edge(&call.values),
        cored: call.values.flag("cored"),
    };
    made(call.state.part.flange(given))
}

fn rib(call: &mut Call) -> Answer {
    let ends = || {
        [call.values.points("from"), call.values.points("to")]
            .into_iter()
            .flatten()
            .flatten()
    };
    let path = call
        .values
        .points("path")
        .unwrap_or_else(|| ends().collect());
    let given = RibGiven {
        head: head(call)?,
        place: place(&call.values, "on"),
        path,
        thick: call.must(call.values.number("thick"))?,
        height: call.must(call.values.pair("height"))?,
        trim: trim(&call.values),
    };
    made(call.state.part.rib(given))
}
