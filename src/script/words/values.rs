//! Values of a feature that aren't faces.

use rhai::{Array, Dynamic};

use crate::drawing::given::Handle;
use crate::script::call::{Answer, Call, Stop};
use crate::script::declare::{Group, Of, Word};

const fn word(
    name: &'static str,
    does: &'static str,
    run: fn(&mut Call) -> Answer,
    example: &'static str,
) -> Word {
    Word {
        name,
        group: Group::Faces,
        of: Of::FeatureValue,
        does,
        takes: &[],
        example,
        run,
    }
}

/// The words of this file.
pub const WORDS: &[Word] = &[
    word(
        "center",
        "The middle of its extents, [x, y, z] in the part.",
        center,
        r#"part("centred hole");
let block = slab("block", #{ outline: rect(60, 40).at(30, 20), height: 20 });
bore("eye", #{ into: block.top, xyz: block.center, dia: 12, through: true });"#,
    ),
    word(
        "xy",
        "The middle of its extents in plan, [x, y] in the part.",
        xy,
        r#"part("lined up");
let plate = slab("plate", #{ outline: rect(90, 50), height: 10 });
let post = boss("post", #{ on: plate.top, at: [20, 8], dia: 20, height: 20 });
bore("hole", #{ into: plate.bottom, xy: post.xy, dia: 8, depth: 20 });"#,
    ),
    word(
        "name",
        "Its name.",
        name,
        r#"part("named");
let plate = slab("plate", #{ outline: rect(60, 40), height: 10 });
note("Face the " + plate.name + " last.");"#,
    ),
    word(
        "each",
        "Its instances as a list; they are named name.1, name.2 and so on.",
        each,
        r#"part("four posts");
let plate = slab("plate", #{ outline: rect(100, 70), height: 10 });
let posts = boss("post", #{ on: plate.top, at: rect_corners(70, 40), dia: 18, height: 20 });
for post in posts.each {
    bore(post.name + " thread", #{ into: post.top, dia: tap("M6"), depth: 14 });
}"#,
    ),
];

fn this(call: &Call) -> Result<Handle, Stop> {
    call.must(call.of.clone().try_cast::<Handle>())
}

/// The middle in the script's unit.
fn middle(call: &Call) -> Result<[f64; 3], Stop> {
    let handle = this(call)?;
    Ok((call.state.part.center(&handle.ids) / call.state.part.unit.mm()).to_array())
}

fn center(call: &mut Call) -> Answer {
    Ok(Dynamic::from(
        middle(call)?
            .into_iter()
            .map(Dynamic::from)
            .collect::<Array>(),
    ))
}

fn xy(call: &mut Call) -> Answer {
    Ok(Dynamic::from(
        middle(call)?
            .into_iter()
            .take(2)
            .map(Dynamic::from)
            .collect::<Array>(),
    ))
}

fn name(call: &mut Call) -> Answer {
    Ok(this(call)?.name.into())
}

fn each(call: &mut Call) -> Answer {
    let each = call.state.each(&this(call)?);
    Ok(Dynamic::from(
        each.into_iter().map(Dynamic::from).collect::<Array>(),
    ))
}
