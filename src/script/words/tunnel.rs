//! Tunnels.

use crate::drawing::given::TunnelGiven;
use crate::script::call::{Answer, Call};
use crate::script::declare::{Group, Keys, Kind, Of, Rule, Word, may, must};
use crate::script::words::links::{CORED, FILLS, LOOSE, MEETS, NAME, OR_NONE, SIZE, head, made};

const TUNNEL: &Keys = &Keys {
    keys: &[
        &[
            may("from", Kind::WayPoint, "where it starts"),
            may("to", Kind::WayPoint, "where it ends"),
            may("path", Kind::Way, "its way, instead of `from` and `to`"),
            may(
                "bend",
                SIZE,
                "radius of its middle line at bends; mitred if left out",
            ),
            must(
                "inside",
                Kind::Section,
                "its inside: a diameter, or an outline",
            ),
            must("wall", OR_NONE, "thickness of its wall; 0 adds none"),
        ],
        FILLS,
        LOOSE,
        MEETS,
        CORED,
    ],
    rules: &[
        Rule::One(&["from", "path"]),
        Rule::Needs("from", "to"),
        Rule::Needs("to", "from"),
        Rule::Needs("bend", "path"),
    ],
};

/// The words of this file.
pub const WORDS: &[Word] = &[Word {
    name: "tunnel",
    group: Group::Features,
    of: Of::Nothing,
    does: "Adds the wall of a pipe or passage along a line in space, and removes its inside.",
    takes: &[NAME, must("keys", Kind::Map(TUNNEL), "what it is like")],
    example: r#"part("elbow");
let foot = slab("foot", #{ outline: rect(80, 80), height: 12 });
tunnel("elbow", #{ path: [#{ on: foot.bottom }, [0, 0, 60], [70, 0, 60]], bend: 30, inside: 24, wall: 6 });"#,
    run: tunnel,
}];

fn tunnel(call: &mut Call) -> Answer {
    let ends = || {
        [call.values.way("from"), call.values.way("to")]
            .into_iter()
            .flatten()
            .flatten()
    };
    let way = call.values.way("path").unwrap_or_else(|| ends().collect());
    let given = TunnelGiven {
        head: head(call)?,
        way,
        bend: call.values.number("bend"),
        inside: call.must(call.values.outline("inside"))?,
        wall: call.must(call.values.number("wall"))?,
        cored: call.values.flag("cored"),
    };
    made(call.state.part.tunnel(given))
}
