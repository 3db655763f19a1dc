//! The foam: boards on hand, and where the pattern is parted into pieces.

use crate::drawing::foam::{Board, Split};
use crate::script::call::{Answer, Call};
use crate::script::declare::{Keys, Kind, Range, Word, may, must};
use crate::script::words::opening::{nothing, once, word};

const SIZE: Kind = Kind::Length(Range::Positive);
const ROOM: Kind = Kind::Length(Range::OrZero);

const BOARD: &Keys = &Keys {
    keys: &[&[
        must("thickness", SIZE, "its thickness"),
        must("length", SIZE, "its length"),
        must("width", SIZE, "its width"),
        may(
            "margin",
            ROOM,
            "what is kept free along its edges; 0 if left out",
        ),
        may(
            "spacing",
            ROOM,
            "what is kept free between two pieces, as for a cutter; 0 if left out",
        ),
        may(
            "turns",
            Kind::Choice(&["quarter", "free"]),
            "how pieces may be turned on it: by right angles (if left out), or by any multiple of 15°, which takes longer",
        ),
        may(
            "density",
            Kind::Number(Range::Positive),
            "its density in kg/m³, for weights",
        ),
    ]],
    rules: &[],
};

const SPLIT: &Keys = &Keys {
    keys: &[&[
        must(
            "at",
            Kind::Face,
            "the level or flat face that it runs along; a face with a finish mark counts with its stock",
        ),
        may(
            "of",
            Kind::Names,
            "only what belongs to these features is parted off; everything if left out",
        ),
    ]],
    rules: &[],
};

/// The words of this file.
pub const WORDS: &[Word] = &[
    word(
        "board",
        "Declares a foam board on hand; say it once for each. Each piece is cut from the thinnest board that takes it, stock and shrink counted.",
        &[must("keys", Kind::Map(BOARD), "the board")],
        board,
        r#"part("mast step");
board(#{ thickness: 50, length: 600, width: 300, margin: 10, spacing: 8 });
slab("step", #{ outline: rect(120, 60), height: 40 });"#,
    ),
    word(
        "min_foam",
        "Sets the thinnest foam that can be handled.",
        &[must("thickness", SIZE, "the least thickness of a piece")],
        min_foam,
        r#"part("mast step");
min_foam(4);
board(#{ thickness: 50, length: 600, width: 300 });
slab("step", #{ outline: rect(120, 60), height: 40 });"#,
    ),
    word(
        "split",
        "Parts the pattern along a level or a flat face. The name is that of the piece below; where that is several, they are numbered.",
        &[
            must("name", Kind::Name, "what the piece below is called"),
            must("keys", Kind::Map(SPLIT), "where"),
        ],
        split,
        r#"part("mast step");
board(#{ thickness: 25, length: 600, width: 300 });
let step = slab("step", #{ outline: rect(120, 60), height: 20 });
boss("post", #{ on: step.top, dia: 40, height: 24 });
split("foot", #{ at: step.top });"#,
    ),
    word(
        "auto_split",
        "Adds the splits that are still needed so that each piece fits a board on hand, along flat faces where it can.",
        &[],
        auto_split,
        r#"part("tall block");
board(#{ thickness: 50, length: 600, width: 300 });
slab("block", #{ outline: rect(120, 60), height: 90 });
auto_split();"#,
    ),
];

fn board(call: &mut Call) -> Answer {
    let board = Board {
        thickness_mm: call.must(call.values.number("thickness"))?,
        length_mm: call.must(call.values.number("length"))?,
        width_mm: call.must(call.values.number("width"))?,
        margin_mm: call.values.number("margin").unwrap_or(0.0),
        spacing_mm: call.values.number("spacing").unwrap_or(0.0),
        turns_freely: call.values.text("turns").as_deref() == Some("free"),
        density_kg_m3: call.values.number("density"),
        site: call.site.clone(),
    };
    call.state.part.add_board(board)?;
    nothing()
}

fn min_foam(call: &mut Call) -> Answer {
    once(call, &[])?;
    call.state.part.min_foam_mm = Some(call.must(call.values.number("thickness"))?);
    nothing()
}

fn split(call: &mut Call) -> Answer {
    let split = Split {
        name: call.must(call.values.text("name"))?,
        at: call.must(call.values.face("at"))?,
        of: call.values.names("of").unwrap_or_default(),
        site: call.site.clone(),
    };
    call.state.part.add_split(split)?;
    nothing()
}

fn auto_split(call: &mut Call) -> Answer {
    once(call, &[])?;
    call.state.part.auto_split = Some(call.site.clone());
    nothing()
}
