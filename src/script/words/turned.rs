//! Turned bodies and turned openings.

use crate::drawing::Refusal;
use crate::drawing::given::TurnedGiven;
use crate::script::call::{Answer, Call};
use crate::script::declare::{Group, Keys, Kind, Of, Rule, Word, may, must};
use crate::script::words::links::{
    CORED, FILLS, LOOSE, MEETS, NAME, ON, ONE_SPOT, SPOTS, TURN, head, made, place,
};

const TURNED: &Keys = &Keys {
    keys: &[
        &[must(
            "profile",
            Kind::Profile,
            "from axis to axis, or closed on itself; z counts outward from the face",
        )],
        ON,
        &[may(
            "into",
            Kind::Face,
            "the face that it is cut into: it then removes metal",
        )],
        SPOTS,
        TURN,
        FILLS,
        LOOSE,
        MEETS,
        CORED,
    ],
    rules: &[
        Rule::AtMostOne(&["on", "into"]),
        Rule::Needs("meets", "into"),
        Rule::Needs("loose", "on"),
        Rule::Needs("cored", "into"),
        ONE_SPOT,
    ],
};

/// The words of this file.
pub const WORDS: &[Word] = &[Word {
    name: "turned",
    group: Group::Features,
    of: Of::Nothing,
    does: "Adds a body turned about the face's normal with `on`, or removes one with `into`.",
    takes: &[NAME, must("keys", Kind::Map(TURNED), "what it is like")],
    example: r#"part("domed cap");
let cap = turned("cap", #{ profile: [[0, 0], [40, 0], [40, 12, "rim"], [30, 12], #{ to: [0, 26], radius: 39.1429 }] });
turned("hollow", #{ into: cap.bottom, profile: [[0, 0], [24, 0], [24, -6], [0, -14]] });"#,
    run: turned,
}];

fn turned(call: &mut Call) -> Answer {
    let adds = !call.values.has("into");
    let profile = call.must(call.values.profile("profile"))?;
    let mut names: Vec<&str> = profile.iter().filter_map(|p| p.face.as_deref()).collect();
    names.sort_unstable();
    if let Some(pair) = names.windows(2).find(|pair| pair[0] == pair[1]) {
        let text = format!("two faces of the profile are named \"{}\"", pair[0]);
        return Err(Refusal::at("profile", text).into());
    }
    let given = TurnedGiven {
        head: head(call)?,
        place: place(&call.values, if adds { "on" } else { "into" }),
        profile,
        adds,
        cored: call.values.flag("cored"),
    };
    made(call.state.part.turned(given))
}
