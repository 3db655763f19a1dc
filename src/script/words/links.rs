//! Keys that many features share, and how they are read.

use rhai::Dynamic;

use crate::drawing::foam::{Dowels, Located, Recess};
use crate::drawing::given::{Edge, FaceRef, Handle, Head, Place, Reach, Spot, Trim};
use crate::drawing::{Part, Refusal};
use crate::fault::Site;
use crate::script::call::{Answer, Call, Stop};
use crate::script::declare::{Key, Keys, Kind, Range, Rule, may, must};
use crate::script::given::Values;

/// The name of a feature.
pub const NAME: Key = must("name", Kind::Name, "its name, unique in the part");

/// Any angle.
pub const ANY_DEGREES: Kind = Kind::Degrees(f64::NEG_INFINITY, f64::INFINITY);

/// A size over 0.
pub const SIZE: Kind = Kind::Length(Range::Positive);

/// A size that may be 0, which means none.
pub const OR_NONE: Kind = Kind::Length(Range::OrZero);

/// Where on a face, in three ways.
pub const SPOTS: &[Key] = &[
    may(
        "at",
        Kind::Places,
        "where on the face, in its own u and v; [0, 0] if left out. A list of points makes several",
    ),
    may(
        "xy",
        Kind::Places,
        "where in the part's own plan, instead of `at`",
    ),
    may(
        "xyz",
        Kind::SpacePlaces,
        "where in space, squarely projected on the face, instead of `at`",
    ),
];

/// At most one of the three.
pub const ONE_SPOT: Rule = Rule::AtMostOne(&["at", "xy", "xyz"]);

/// A turn about the face's normal.
pub const TURN: &[Key] = &[may(
    "turn",
    ANY_DEGREES,
    "turned about the face's normal, counter-clockwise seen from its top",
)];

/// What a feature stands on.
pub const ON: &[Key] = &[may(
    "on",
    Kind::Face,
    "the face it stands on; the ground plane z = 0 if left out",
)];

/// The face an opening is cut into.
pub const INTO: &[Key] = &[must("into", Kind::Face, "the face it is cut into")];

/// Draft of what is added.
pub const DRAFT: &[Key] = &[may(
    "draft",
    DRAFT_DEGREES,
    "draft of its sides in degrees; adds metal towards the foot, or towards an opening's floor",
)];

const DRAFT_DEGREES: Kind = Kind::Degrees(0.0, 60.0);

/// The foot of what is added.
pub const FOOT: &[Key] = &[
    may(
        "fillet",
        OR_NONE,
        "radius of the fillet at its foot; that of `fillets` if left out",
    ),
    may(
        "sink",
        OR_NONE,
        "how far its foot reaches below its face; worked out if left out",
    ),
];

/// The free edge of what is added.
pub const EDGE: &[Key] = &[
    may("round", OR_NONE, "radius of the round on its free edge"),
    may(
        "chamfer",
        OR_NONE,
        "leg of the 45° chamfer on its free edge",
    ),
];

/// The mouth of an opening.
pub const MOUTH: &[Key] = &[
    may("round", OR_NONE, "radius of the round at its mouth"),
    may("chamfer", OR_NONE, "leg of the 45° chamfer at its mouth"),
];

/// The floor of an opening.
pub const FLOOR_FILLET: &[Key] = &[may("fillet", OR_NONE, "radius of the fillet at its floor")];

/// Not both.
pub const ONE_EDGE: Rule = Rule::AtMostOne(&["round", "chamfer"]);

/// What a feature fills.
pub const FILLS: &[Key] = &[may(
    "fills",
    Kind::Names,
    "openings that it stays in, although they would remove it; by name or feature",
)];

/// A piece of foam of its own.
pub const LOOSE: &[Key] = &[may(
    "loose",
    Kind::FlagOrMap(LOCATED),
    "`true` cuts it as a piece of foam of its own, flat at its foot, to be glued on; its fillet is wax; `#{ recess: … }` lets its foot in, `#{ peg: … }` sets it on pegs too",
)];

/// What keeps a loose piece from sliding on the glue.
pub const LOCATED: &Keys = &Keys {
    keys: &[&[
        may(
            "peg",
            Kind::Map(PEG),
            "foam pegs between it and what it stands on, in holes in both",
        ),
        may(
            "recess",
            SIZE,
            "how deep its foot goes on into a pocket of the same outline in what it stands on",
        ),
    ]],
    rules: &[Rule::Some(&["peg", "recess"])],
};

/// The size of pegs of foam.
pub const PEG_SIZE: &[Key] = &[
    must("dia", SIZE, "diameter of the pegs"),
    must("depth", SIZE, "how deep each end goes into its piece"),
];

const PEG: &Keys = &Keys {
    keys: &[
        PEG_SIZE,
        &[may(
            "count",
            Kind::Count(1),
            "how many; 2 if left out, since one alone lets the piece turn",
        )],
    ],
    rules: &[],
};

/// Pegs under a loose piece where the script doesn't say how many.
const PEGS: i64 = 2;

/// What keeps loose pieces in place, of a map with the keys of [`LOCATED`].
pub fn located(given: &Values, site: &Site) -> Located {
    let recess = given.number("recess").map(|depth_mm| Recess {
        depth_mm,
        site: site.clone(),
    });
    Located {
        pegs: given.map("peg").and_then(|peg| pegs(peg, site)),
        recess,
    }
}

fn pegs(peg: &Values, site: &Site) -> Option<Dowels> {
    Some(Dowels {
        dia_mm: peg.number("dia")?,
        depth_mm: peg.number("depth")?,
        count: Some(peg.count("count").unwrap_or(PEGS) as usize),
        at: Vec::new(),
        site: site.clone(),
    })
}

/// What an opening meets.
pub const MEETS: &[Key] = &[may(
    "meets",
    Kind::Names,
    "openings that it is meant to break into; by name or feature, also ones made later",
)];

/// Cast or drilled.
pub const CORED: &[Key] = &[may(
    "cored",
    Kind::Flag,
    "whether it is cast open, whatever `min_cored` says",
)];

/// How far an opening goes.
pub const REACH: &[Key] = &[
    may("depth", SIZE, "how deep from the finished face"),
    may(
        "to",
        Kind::FaceOrOpening,
        "the face that it ends at, or the opening that it meets",
    ),
    may(
        "through",
        Kind::Through,
        "through everything in line; \"all\" where more than one wall is meant",
    ),
];

/// Exactly one of the three.
pub const ONE_REACH: Rule = Rule::One(&["depth", "to", "through"]);

/// Name, place in the script, `fills` and `meets`.
pub fn head(call: &Call) -> Result<Head, Stop> {
    let name = call.must(call.values.text("name"))?;
    unique(&call.state.part, &name)?;
    let keys = call.values.map("loose");
    Ok(Head {
        name,
        word: call.word.name,
        site: call.site.clone(),
        fills: call.values.names("fills").unwrap_or_default(),
        meets: call.values.names("meets").unwrap_or_default(),
        loose: call.values.flag("loose").unwrap_or(keys.is_some()),
        located: keys.map_or_else(Located::default, |k| located(k, &call.site)),
        hole: ["bore", "bolt_dia", "dia"]
            .iter()
            .find_map(|key| call.values.hole_for(key)),
    })
}

/// Refuses a name that a feature or its instances have.
pub fn unique(part: &Part, name: &str) -> Result<(), Refusal> {
    let instance = |f: &str| {
        f.strip_prefix(name)
            .is_some_and(|rest| rest.starts_with('.'))
    };
    let taken = part
        .features
        .iter()
        .find(|f| f.name == name || f.group == name || instance(&f.name));
    let gating = part
        .gating
        .pieces
        .iter()
        .find(|p| p.name == name || p.group == name || instance(&p.name));
    match taken.map(|f| &f.site).or(gating.map(|p| &p.site)) {
        None => Ok(()),
        Some(first) => {
            let refusal = Refusal::at("name", format!("the name \"{name}\" is used twice"));
            Err(refusal.hint(format!("first used at {}", first.script())))
        }
    }
}

/// Where it stands or goes in; `face` is the key that names the face.
pub fn place(values: &Values, face: &str) -> Place {
    let plan = |(spots, listed): (Vec<Spot>, bool)| {
        let turned = |s: Spot| if let Spot::Uv(p) = s { Spot::Xy(p) } else { s };
        (spots.into_iter().map(turned).collect(), listed)
    };
    let spots = values.spots("at").or_else(|| values.spots("xy").map(plan));
    let (spots, listed) = spots.or_else(|| values.spots("xyz")).unwrap_or_default();
    Place {
        on: values.face(face),
        spots,
        listed,
        turn_deg: values.number("turn").unwrap_or(0.0),
    }
}

/// Draft, fillet, edge and sink.
pub fn trim(values: &Values) -> Trim {
    Trim {
        draft_deg: values.number("draft").unwrap_or(0.0),
        fillet: values.number("fillet"),
        edge: edge(values),
        sink: values.number("sink"),
    }
}

/// The free edge or the mouth.
pub fn edge(values: &Values) -> Edge {
    match (values.number("round"), values.number("chamfer")) {
        (Some(r), _) if r > 0.0 => Edge::Round(r),
        (_, Some(c)) if c > 0.0 => Edge::Chamfer(c),
        _ => Edge::Sharp,
    }
}

/// How far an opening goes.
pub fn reach(call: &Call) -> Result<Reach, Stop> {
    let values = &call.values;
    if let Some(depth) = values.number("depth") {
        return Ok(Reach::Depth(depth));
    }
    if let Some(all) = values.flag("through") {
        return Ok(Reach::Through { all });
    }
    if let Some(opening) = values.feature("to") {
        return Ok(Reach::ToOpening(opening));
    }
    let face: FaceRef = call.must(values.face("to"))?;
    Ok(Reach::ToFace(face))
}

/// The handle that a feature word gives.
pub fn made(handle: Result<Handle, Refusal>) -> Answer {
    handle.map(Dynamic::from).map_err(Stop::from)
}
