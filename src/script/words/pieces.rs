//! The bench: dowels, blanks, feet and handles of foam, and how many patterns are made.

use crate::drawing::foam::{Aid, Blank, Dowels};
use crate::measure::Vec2;
use crate::script::call::{Answer, Call};
use crate::script::declare::{Keys, Kind, Word, may, must};
use crate::script::words::links::{LOCATED, NAME, PEG_SIZE, SIZE, located};
use crate::script::words::opening::{nothing, once, word};

/// Tabs of a blank where the script doesn't say.
const TABS: i64 = 4;

const DOWELS: &Keys = &Keys {
    keys: &[
        PEG_SIZE,
        &[
            may(
                "count",
                Kind::Count(1),
                "how many each joint gets; 3 if left out",
            ),
            may(
                "at",
                Kind::Points(1),
                "where, in the part's plan; chosen if left out",
            ),
        ],
    ],
    rules: &[],
};

const FRAME: &Keys = &Keys {
    keys: &[&[
        must("rim", SIZE, "width of the foam left round the piece"),
        may(
            "tabs",
            Kind::Count(1),
            "how many tabs hold the piece; 4 if left out",
        ),
        must(
            "dowel_dia",
            SIZE,
            "diameter of the holes in the rim that the blank is turned over on",
        ),
    ]],
    rules: &[],
};

const AID: &Keys = &Keys {
    keys: &[&[
        must("on", Kind::Face, "the flat face that it is glued to"),
        may("at", Kind::Point, "where on the face; [0, 0] if left out"),
        must(
            "size",
            Kind::SpacePoint,
            "length and width along the face and height off it, as cut",
        ),
    ]],
    rules: &[],
};

/// The words of this file.
pub const WORDS: &[Word] = &[
    word(
        "dowels",
        "Sets foam pegs across each split, in holes in both pieces, so placed that no piece can be turned round.",
        &[must("keys", Kind::Map(DOWELS), "the pegs")],
        dowels,
        r#"part("mast step");
board(#{ thickness: 25, length: 600, width: 300 });
let step = slab("step", #{ outline: rect(120, 60), height: 20 });
slab("post", #{ on: step.top, outline: rect(70, 40), height: 24 });
split("foot", #{ at: step.top });
dowels(#{ dia: 6, depth: 8 });"#,
    ),
    word(
        "loose",
        "Cuts features as pieces of foam of their own, as `loose: true` does: for those that a library makes.",
        &[
            must("features", Kind::Names, "one or more"),
            may("keys", Kind::Map(LOCATED), "what keeps them in place"),
        ],
        loose,
        r#"part("mast step");
let step = slab("step", #{ outline: rect(120, 60), height: 40 });
let ear = boss("ear", #{ on: step.side("right"), dia: 24, height: 10, fillet: 3 });
let pad = boss("pad", #{ on: step.top, dia: 30, height: 8, fillet: 3 });
loose(ear, #{ peg: #{ dia: 4, depth: 6 } });
loose(pad, #{ recess: 2 });"#,
    ),
    word(
        "frame",
        "Makes the blank that each piece is cut from, front and back: a rim that tabs hold the piece in, with holes to turn it over on.",
        &[must("keys", Kind::Map(FRAME), "the blank")],
        frame,
        r#"part("mast step");
board(#{ thickness: 50, length: 600, width: 300 });
cutter(#{ dia: 6, reach: 60 });
slab("step", #{ outline: rect(120, 60).corners(10), height: 40 });
frame(#{ rim: 20, tabs: 4, dowel_dia: 8 });"#,
    ),
    word(
        "prop",
        "Adds a foam foot to stand the pattern on while its coating dries; it is cut off before the pour and in no stage.",
        &[NAME, must("keys", Kind::Map(AID), "the foot")],
        prop,
        r#"part("mast step");
board(#{ thickness: 50, length: 600, width: 300 });
let step = slab("step", #{ outline: rect(120, 60), height: 40 });
prop("left foot", #{ on: step.bottom, at: [-40, 0], size: [20, 20, 40] });"#,
    ),
    word(
        "grip",
        "Adds a foam handle to dip the pattern by; it is cut off before the pour and in no stage.",
        &[NAME, must("keys", Kind::Map(AID), "the handle")],
        grip,
        r#"part("mast step");
board(#{ thickness: 50, length: 600, width: 300 });
let step = slab("step", #{ outline: rect(120, 60), height: 40 });
grip("handle", #{ on: step.top, size: [60, 25, 45] });"#,
    ),
    word(
        "copies",
        "Says how many patterns are made: boards and bill count for all. A `tree` makes at least as many as it carries.",
        &[must("count", Kind::Count(1), "how many")],
        copies,
        r#"part("mast step");
board(#{ thickness: 50, length: 600, width: 300 });
slab("step", #{ outline: rect(120, 60), height: 40 });
copies(6);"#,
    ),
];

fn dowels(call: &mut Call) -> Answer {
    once(call, &[])?;
    let dowels = Dowels {
        dia_mm: call.must(call.values.number("dia"))?,
        depth_mm: call.must(call.values.number("depth"))?,
        count: call.values.count("count").map(|n| n as usize),
        at: call.values.points("at").unwrap_or_default(),
        site: call.site.clone(),
    };
    call.state.part.dowels = Some(dowels);
    nothing()
}

fn loose(call: &mut Call) -> Answer {
    let located = located(&call.values, &call.site);
    for name in call.must(call.values.names("features"))? {
        call.state.part.set_loose(&name, &located)?;
    }
    nothing()
}

fn frame(call: &mut Call) -> Answer {
    once(call, &[])?;
    let blank = Blank {
        rim_mm: call.must(call.values.number("rim"))?,
        tabs: call.values.count("tabs").unwrap_or(TABS) as usize,
        dowel_dia_mm: call.must(call.values.number("dowel_dia"))?,
        site: call.site.clone(),
    };
    call.state.part.set_blank(blank)?;
    nothing()
}

fn prop(call: &mut Call) -> Answer {
    aid(call, false)
}

fn grip(call: &mut Call) -> Answer {
    aid(call, true)
}

fn aid(call: &mut Call, grip: bool) -> Answer {
    let aid = Aid {
        name: call.must(call.values.text("name"))?,
        grip,
        on: call.must(call.values.face("on"))?,
        at: call
            .values
            .points("at")
            .and_then(|p| p.first().copied())
            .unwrap_or(Vec2::ZERO),
        size_mm: call.must(call.values.space("size"))?,
        site: call.site.clone(),
    };
    call.state.part.add_aid(aid)?;
    nothing()
}

fn copies(call: &mut Call) -> Answer {
    once(call, &[])?;
    call.state.part.copies = call.must(call.values.count("count"))? as usize;
    nothing()
}
