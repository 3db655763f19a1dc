//! Free faces, and faces of a feature.

use rhai::Dynamic;

use crate::drawing::Refusal;
use crate::drawing::given::{FaceKey, FaceRef, Handle};
use crate::script::call::{Answer, Call};
use crate::script::declare::{Group, Key, Keys, Kind, Of, Range, Word, may, must};
use crate::script::words::links::ANY_DEGREES;

const FREE: &Keys = &Keys {
    keys: &[&[
        must("at", Kind::SpacePoint, "its origin"),
        must("facing", Kind::Direction, "where it looks"),
        may("up", Kind::Direction, "which way is up on it"),
    ]],
    rules: &[],
};

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
        group: Group::Faces,
        of,
        does,
        takes,
        example,
        run,
    }
}

const SLAB_EXAMPLE: &str = r#"part("block");
let block = slab("block", #{ outline: rect(80, 50), height: 30 });
boss("above", #{ on: block.top, dia: 20, height: 10 });
boss("below", #{ on: block.bottom, dia: 20, height: 10 });"#;

const BORE_EXAMPLE: &str = r#"part("stepped block");
stock(1.5);
let block = slab("block", #{ outline: rect(80, 60), height: 30 });
let well = bore("well", #{ into: block.top, dia: 24, depth: 18, counterbore: #{ dia: 46, depth: 6 } });
finish([well.wall, well.floor]);
bore("drain", #{ into: well.floor, dia: 8, through: true });
bore("pin", #{ into: well.shoulder, at: [17.5, 0], dia: 3, depth: 5 });"#;

const TUNNEL_EXAMPLE: &str = r#"part("pipe");
stock(2);
let pipe = tunnel("pipe", #{ from: [0, 0, 0], to: [80, 0, 0], inside: 24, wall: 6 });
flange("inlet", #{ on: pipe.start, dia: 60, thick: 9 });
flange("outlet", #{ on: pipe.end, dia: 60, thick: 9 });
finish([pipe.start, pipe.end]);"#;

/// The words of this file.
pub const WORDS: &[Word] = &[
    word(
        "level",
        Of::Nothing,
        "The part's plane at a height, looking up.",
        &[must("z", Kind::Length(Range::Any), "the height")],
        level,
        r#"part("standing post");
slab("plate", #{ outline: rect(80, 50), height: 10 });
boss("post", #{ on: level(10), at: [20, 0], dia: 20, height: 25 });"#,
    ),
    word(
        "face",
        Of::Nothing,
        "A free face anywhere in space.",
        &[must("keys", Kind::Map(FREE), "where it is")],
        free,
        r#"part("slanting pad");
slab("block", #{ outline: rect(80, 50), height: 40 });
boss("pad", #{ on: face(#{ at: [40, 0, 30], facing: [1, 0, 1] }), dia: 24, height: 12, sink: 15 });"#,
    ),
    word(
        "top",
        Of::FeatureValue,
        "The free end of a slab, boss, flange, rib or turned body.",
        &[],
        |c| of(c, FaceKey::Top),
        SLAB_EXAMPLE,
    ),
    word(
        "bottom",
        Of::FeatureValue,
        "The foot of a body, looking the other way.",
        &[],
        |c| of(c, FaceKey::Bottom),
        SLAB_EXAMPLE,
    ),
    word(
        "side",
        Of::Feature,
        "The flat side that looks most nearly this way, in the feature's own frame.",
        &[must(
            "way",
            Kind::Side,
            "\"front\" looks to -y, \"back\" to +y, \"left\" to -x, \"right\" to +x; or degrees from +x",
        )],
        side,
        r#"part("side boss");
let block = slab("block", #{ outline: rect(80, 50), height: 40 });
boss("spout", #{ on: block.side("front"), at: [10, 5], dia: 20, height: 15 });"#,
    ),
    word(
        "outside",
        Of::FeatureValue,
        "The round outside of a round body.",
        &[],
        |c| of(c, FaceKey::Outside),
        r#"part("grooved peg");
let peg = slab("peg", #{ outline: disc(40), height: 40 });
groove("ring", #{ into: peg.outside, ring: 10, width: 4, depth: 2 });"#,
    ),
    word(
        "wall",
        Of::FeatureValue,
        "The wall of an opening, all of it.",
        &[],
        |c| of(c, FaceKey::Wall),
        BORE_EXAMPLE,
    ),
    word(
        "floor",
        Of::FeatureValue,
        "The floor of an opening.",
        &[],
        |c| of(c, FaceKey::Floor),
        BORE_EXAMPLE,
    ),
    word(
        "mouth",
        Of::FeatureValue,
        "The mouth of an opening, in the plane of the face it was cut into.",
        &[],
        |c| of(c, FaceKey::Mouth),
        r#"part("seated hole");
let plate = slab("plate", #{ outline: rect(80, 60), height: 20 });
let eye = bore("eye", #{ into: plate.top, dia: 26, through: true });
pocket("seat", #{ into: eye.mouth, outline: disc(38), depth: 7 });"#,
    ),
    word(
        "shoulder",
        Of::FeatureValue,
        "The shoulder of a counterbore.",
        &[],
        |c| of(c, FaceKey::Shoulder),
        BORE_EXAMPLE,
    ),
    word(
        "start",
        Of::FeatureValue,
        "The first end of a tunnel.",
        &[],
        |c| of(c, FaceKey::Start),
        TUNNEL_EXAMPLE,
    ),
    word(
        "end",
        Of::FeatureValue,
        "The second end of a tunnel.",
        &[],
        |c| of(c, FaceKey::End),
        TUNNEL_EXAMPLE,
    ),
    word(
        "named",
        Of::Feature,
        "A face that a turned profile names.",
        &[must("name", Kind::Name, "its name in the profile")],
        named,
        r#"part("turned seat");
stock(1);
let ring = turned("ring", #{ profile: [[20, 0], [40, 0], [40, 20, "seat"], [28, 20], [28, 12], [20, 12]] });
finish(ring.named("seat"));"#,
    ),
    word(
        "around",
        Of::Feature,
        "A plane that touches a round body.",
        &[
            must(
                "deg",
                ANY_DEGREES,
                "where round its axis, from its own +x counter-clockwise",
            ),
            must(
                "up",
                Kind::Length(Range::Any),
                "how far up its axis from its foot",
            ),
        ],
        around,
        r#"part("nozzle");
let drum = slab("drum", #{ outline: disc(70), height: 60 });
boss("nozzle", #{ on: drum.around(45, 30), dia: 24, height: 20 });"#,
    ),
    word(
        "along",
        Of::Feature,
        "A plane that touches a tunnel's wall.",
        &[
            must(
                "distance",
                Kind::Length(Range::OrZero),
                "how far along its way from the start",
            ),
            must(
                "deg",
                ANY_DEGREES,
                "where round its way: 0 is the section's up, counted to the right looking along",
            ),
        ],
        along,
        r#"part("tapped pipe");
let pipe = tunnel("pipe", #{ from: [0, 0, 0], to: [90, 0, 0], inside: 30, wall: 6 });
boss("gauge", #{ on: pipe.along(45, 0), dia: 22, height: 14 });"#,
    ),
];

fn level(call: &mut Call) -> Answer {
    Ok(Dynamic::from(FaceRef::Level(
        call.must(call.values.number("z"))?,
    )))
}

fn free(call: &mut Call) -> Answer {
    let at = call.must(call.values.space("at"))?;
    let facing = call.must(call.values.space("facing"))?;
    Ok(Dynamic::from(FaceRef::Free {
        at,
        facing,
        up: call.values.space("up"),
    }))
}

/// A face of the feature, once all its instances are known to have it.
fn of(call: &mut Call, key: FaceKey) -> Answer {
    let handle = call.must(call.of.clone().try_cast::<Handle>())?;
    for &id in &handle.ids {
        let argument = call.word.takes.first().map(|k| k.name);
        call.state.part.face_of(id, &key).map_err(|r| Refusal {
            key: r.key.or(argument),
            ..r
        })?;
    }
    Ok(Dynamic::from(FaceRef::Of(handle, key)))
}

fn side(call: &mut Call) -> Answer {
    let degrees = call.must(call.values.number("way"))?;
    of(call, FaceKey::Side(degrees))
}

fn named(call: &mut Call) -> Answer {
    let name = call.must(call.values.text("name"))?;
    of(call, FaceKey::Named(name))
}

fn around(call: &mut Call) -> Answer {
    let (deg, up) = (
        call.must(call.values.number("deg"))?,
        call.must(call.values.number("up"))?,
    );
    of(call, FaceKey::Around(deg, up))
}

fn along(call: &mut Call) -> Answer {
    let distance = call.must(call.values.number("distance"))?;
    let deg = call.must(call.values.number("deg"))?;
    of(call, FaceKey::Along(distance, deg))
}
