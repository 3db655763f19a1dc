//! Mirrored copies of features.

use crate::drawing::given::MirroredGiven;
use crate::script::call::{Answer, Call};
use crate::script::declare::{Group, Kind, Of, Word, must};
use crate::script::words::links::{made, unique};

/// The words of this file.
pub const WORDS: &[Word] = &[Word {
    name: "mirrored",
    group: Group::Features,
    of: Of::Nothing,
    does: "Repeats features across the plane x = 0 of the part (\"x\"), or y = 0 (\"y\"). The copies are named name.ORIGINAL.",
    takes: &[
        must("name", Kind::Name, "what stands before the copies' names"),
        must("features", Kind::Features, "what is repeated"),
        must("axis", Kind::Choice(&["x", "y"]), "across which plane"),
    ],
    example: r#"part("two eared plate");
let plate = slab("plate", #{ outline: rect(100, 50), height: 10 });
let ear = boss("ear", #{ on: plate.top, at: [36, 0], dia: 22, height: 24, bore: 9 });
mirrored("left", [ear], "x");"#,
    run: mirrored,
}];

fn mirrored(call: &mut Call) -> Answer {
    let name = call.must(call.values.text("name"))?;
    unique(&call.state.part, &name)?;
    let given = MirroredGiven {
        name,
        site: call.site.clone(),
        of: call.must(call.values.features("features"))?,
        across_x: call.must(call.values.text("axis"))? == "x",
    };
    made(call.state.part.mirrored(given))
}
