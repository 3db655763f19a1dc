//! Gates, runners, sprue, feeders, ties, the tree; flask, crucible and which way is up.

use rhai::Dynamic;

use crate::drawing::Refusal;
use crate::drawing::gating::{
    Crucible, Flask, FlaskForm, GateGiven, GatingForm, GatingHandle, RunnerWay, Section, Tree,
    TreeLay,
};
use crate::drawing::given::WayPoint;
use crate::script::call::{Answer, Call, Stop};
use crate::script::declare::{Group, Key, Keys, Kind, Of, Range, Rule, Word, may, must};
use crate::script::given::Values;
use crate::script::words::links::{NAME, ONE_SPOT, SIZE, SPOTS, TURN, place, unique};
use crate::script::words::opening::{nothing, once};

const STANDS_ON: Key = must(
    "on",
    Kind::Face,
    "the face it stands on; where that has a finish mark, its raw face",
);
const RECT: Kind = Kind::Pair("[width, height]");

const GATE: &Keys = &Keys {
    keys: &[
        &[
            STANDS_ON,
            may(
                "size",
                RECT,
                "its section as cut: width along the face's u, height along v",
            ),
            may("dia", SIZE, "its diameter as cut, instead of `size`"),
            may("length", SIZE, "its length from the raw face, as cut"),
            may(
                "up_to",
                Kind::Face,
                "the face whose plane it ends at, instead of `length`",
            ),
        ],
        SPOTS,
        TURN,
    ],
    rules: &[
        Rule::One(&["size", "dia"]),
        Rule::One(&["length", "up_to"]),
        ONE_SPOT,
    ],
};

const RUNNER: &Keys = &Keys {
    keys: &[&[
        may(
            "size",
            RECT,
            "its section as cut: width across, height as near up as it goes",
        ),
        may("dia", SIZE, "its diameter as cut, instead of `size`"),
        may(
            "path",
            Kind::SpacePlaces,
            "its middle line: two points [x, y, z] or more; mitred where it turns",
        ),
        may(
            "joins",
            Kind::GatingPieces,
            "the gates that it runs along, in this order, from stub to stub, instead of `path`",
        ),
        may(
            "sizes",
            Kind::Pairs("[width, height]"),
            "with `joins`, its sections as cut, one from each stub to the next, instead of `size`; it steps past the stub between two",
        ),
    ]],
    rules: &[
        Rule::One(&["size", "dia", "sizes"]),
        Rule::One(&["path", "joins"]),
    ],
};

const SPRUE: &Keys = &Keys {
    keys: &[&[
        must("on", Kind::GatingPiece, "the runner or gate it stands on"),
        may(
            "xy",
            Kind::Point,
            "where on the runner, by the nearest place in the part's plan; the middle of its length if left out",
        ),
        must(
            "height",
            SIZE,
            "its height over the upper side of what it stands on, as cut",
        ),
        must(
            "dia",
            Kind::Pair("[at its top, at its foot]"),
            "its diameter as cut",
        ),
        may(
            "cup",
            Kind::Pair("[dia, depth]"),
            "the metal that stays in the pouring cup over it, for the weights; it is no foam",
        ),
    ]],
    rules: &[],
};

const FEEDER: &Keys = &Keys {
    keys: &[
        &[
            STANDS_ON,
            must("dia", SIZE, "its diameter as cut"),
            must("height", SIZE, "its height over the raw face, as cut"),
        ],
        SPOTS,
    ],
    rules: &[ONE_SPOT],
};

const TIE: &Keys = &Keys {
    keys: &[&[
        must("from", Kind::WayPoint, "where it starts"),
        must("to", Kind::WayPoint, "where it ends"),
        may("size", RECT, "its section as cut"),
        may("dia", SIZE, "its diameter as cut, instead of `size`"),
    ]],
    rules: &[Rule::One(&["size", "dia"])],
};

const TREE: &Keys = &Keys {
    keys: &[&[
        must("copies", Kind::Count(2), "how many patterns"),
        may(
            "step",
            Kind::SpacePoint,
            "how far each lies from the last, [x, y, z] as cut",
        ),
        may(
            "about",
            Kind::Point,
            "a place of the part's plan that they are turned about evenly, instead of `step`",
        ),
    ]],
    rules: &[Rule::One(&["step", "about"])],
};

const FLASK: &Keys = &Keys {
    keys: &[&[
        may("dia", SIZE, "its diameter inside"),
        may("length", SIZE, "its length inside, instead of `dia`"),
        may("width", SIZE, "its width inside"),
        must("height", SIZE, "its height inside"),
    ]],
    rules: &[
        Rule::One(&["dia", "length"]),
        Rule::Needs("length", "width"),
        Rule::Needs("width", "length"),
    ],
};

const CRUCIBLE: &Keys = &Keys {
    keys: &[&[
        may(
            "kg",
            Kind::Number(Range::Positive),
            "what it takes of this metal at a working level, in kg",
        ),
        may(
            "litres",
            Kind::Number(Range::Positive),
            "what it holds to the brim, in litres of water, instead of `kg`",
        ),
    ]],
    rules: &[Rule::One(&["kg", "litres"])],
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
        group: Group::Gating,
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
        "gate",
        "A stub that the metal comes in through. It stands on a face, reaches into the metal under it, and is sawn off after casting. Its size is as cut: it doesn't grow with shrink.",
        &[NAME, must("keys", Kind::Map(GATE), "what it is like")],
        gate,
        r#"part("valve lid");
let lid = slab("lid", #{ outline: rect(90, 60), height: 12 });
let g = gate("gate", #{ on: lid.side("left"), size: [24, 9], length: 15 });
sprue("sprue", #{ on: g, dia: [25, 19], height: 180 });"#,
    ),
    word(
        "runner",
        "A bar that carries the metal from the sprue to the gates: along a path, or from gate to gate, straight and mitred, of one section or stepped. A gate whose end lies off its level gets an upright riser.",
        &[NAME, must("keys", Kind::Map(RUNNER), "what it is like")],
        runner,
        r#"part("bilge strainer lid");
let lid = slab("lid", #{ outline: rect(140, 60), height: 14 });
let pads = boss("pad", #{ on: lid.top, at: [[-45, 0], [45, 0]], dia: 30, height: 12 });
let gates = [];
for pad in pads.each {
    gates.push(gate(pad.name + " gate", #{ on: pad.top, dia: 19, length: 15 }));
}
let bar = runner("bar", #{ size: 19, joins: gates });
sprue("sprue", #{ on: bar, dia: [28, 22], height: 160 });"#,
    ),
    word(
        "sprue",
        "The upright channel that the metal is poured into; it stands on a runner, or on a gate's end.",
        &[NAME, must("keys", Kind::Map(SPRUE), "what it is like")],
        sprue,
        r#"part("bearing cap");
let cap = slab("cap", #{ outline: rect(80, 40), height: 25 });
let g = gate("gate", #{ on: cap.top, dia: 20, length: 15 });
sprue("sprue", #{ on: g, dia: [26, 20], height: 160, cup: [60, 40] });"#,
    ),
    word(
        "feeder",
        "A body of metal that stays liquid longest and feeds what shrinks under it while it freezes; sawn off after casting.",
        &[NAME, must("keys", Kind::Map(FEEDER), "what it is like")],
        feeder,
        r#"part("winch drum end");
let end = slab("end", #{ outline: rect(90, 60), height: 14 });
let hub = boss("hub", #{ on: end.top, dia: 40, height: 30 });
feeder("feeder", #{ on: hub.top, dia: 36, height: 45 });
let g = gate("gate", #{ on: end.side("left"), size: [24, 10], length: 15 });
sprue("sprue", #{ on: g, dia: [25, 19], height: 220 });"#,
    ),
    word(
        "tie",
        "A bar that keeps an open shape from spreading while it is handled and cools; sawn off after casting.",
        &[NAME, must("keys", Kind::Map(TIE), "what it is like")],
        tie,
        r#"part("yoke");
let base = slab("base", #{ outline: rect(100, 40), height: 15 });
let left = boss("left arm", #{ on: base.top, at: [-40, 0], outline: rect(14, 36), height: 50 });
let right = boss("right arm", #{ on: base.top, at: [40, 0], outline: rect(14, 36), height: 50 });
tie("tie", #{ from: #{ on: left.side("right"), at: [0, 15] }, to: #{ on: right.side("left"), at: [0, 15] }, size: [8, 8] });
let g = gate("gate", #{ on: base.side("left"), size: [30, 12], length: 15 });
sprue("sprue", #{ on: g, dia: [25, 19], height: 220 });"#,
    ),
    word(
        "tree",
        "Sets several patterns, each with its gates, on one runner. A runner with `joins` goes on through the gates of all of them. It is said before the runner.",
        &[must("keys", Kind::Map(TREE), "how many and how they lie")],
        tree,
        r#"part("lever blank");
let arm = slab("arm", #{ outline: rect(70, 24), height: 12 });
tree(#{ copies: 4, step: [0, 40, 0] });
let g = gate("gate", #{ on: arm.side("left"), size: [14, 9], length: 12 });
let bar = runner("bar", #{ size: 16, joins: g });
sprue("sprue", #{ on: bar, dia: [26, 20], height: 180 });"#,
    ),
    word(
        "flask",
        "Declares the box or drum that the gated pattern is packed in, by its size inside or as a container of the table: \"5 gal pail\", \"30 gal drum\", \"55 gal drum\".",
        &[must(
            "flask",
            Kind::NameOrMap(FLASK),
            "the container, or its size inside",
        )],
        flask,
        r#"part("bearing cap");
flask("30 gal drum");
let cap = slab("cap", #{ outline: rect(80, 40), height: 25 });
let g = gate("gate", #{ on: cap.top, dia: 20, length: 15 });
sprue("sprue", #{ on: g, dia: [26, 20], height: 200 });"#,
    ),
    word(
        "crucible",
        "Declares what the metal is melted in.",
        &[must("keys", Kind::Map(CRUCIBLE), "what it takes")],
        crucible,
        r#"part("bearing cap");
crucible(#{ litres: 2.5 });
let cap = slab("cap", #{ outline: rect(80, 40), height: 25 });
let g = gate("gate", #{ on: cap.top, dia: 20, length: 15 });
sprue("sprue", #{ on: g, dia: [26, 20], height: 160 });"#,
    ),
    word(
        "pour_up",
        "Sets which way is up in the flask: a direction, or the face that lies uppermost. +z if left out.",
        &[must("up", Kind::Up, "the direction or the face")],
        pour_up,
        r#"part("drain plate");
let plate = slab("plate", #{ outline: rect(100, 70), height: 12 });
pour_up(plate.side("back"));
let g = gate("gate", #{ on: plate.side("left"), size: [40, 10], length: 15 });
sprue("sprue", #{ on: g, dia: [25, 19], height: 180 });"#,
    ),
];

fn named(call: &Call) -> Result<String, Stop> {
    let name = call.must(call.values.text("name"))?;
    unique(&call.state.part, &name)?;
    Ok(name)
}

fn section(call: &Call, values: &Values) -> Result<Section, Stop> {
    if let Some((width, height)) = values.pair("size") {
        return Ok(Section::Rect { width, height });
    }
    let dia = call.must(values.number("dia"))?;
    Ok(Section::Round { dia })
}

fn handle(made: Result<GatingHandle, Refusal>) -> Answer {
    made.map(Dynamic::from).map_err(Stop::from)
}

fn gate(call: &mut Call) -> Answer {
    let given = GateGiven {
        name: named(call)?,
        site: call.site.clone(),
        place: place(&call.values, "on"),
        section: section(call, &call.values)?,
        length: call.values.number("length"),
        up_to: call.values.face("up_to"),
    };
    handle(call.state.part.gate(given))
}

fn feeder(call: &mut Call) -> Answer {
    let given = GateGiven {
        name: named(call)?,
        site: call.site.clone(),
        place: place(&call.values, "on"),
        section: section(call, &call.values)?,
        length: call.values.number("height"),
        up_to: None,
    };
    handle(call.state.part.feeder(given))
}

fn runner(call: &mut Call) -> Answer {
    let name = named(call)?;
    let sections = match call.values.points("sizes") {
        Some(sizes) => sizes
            .into_iter()
            .map(|s| Section::Rect {
                width: s.x,
                height: s.y,
            })
            .collect(),
        None => vec![section(call, &call.values)?],
    };
    let stepped = call.values.points("sizes").is_some();
    let way = match call.values.names("joins") {
        Some(names) => RunnerWay::Joins(names),
        None => {
            let (spots, _) = call.must(call.values.spots("path"))?;
            let point = |spot| match spot {
                crate::drawing::given::Spot::Xyz(p) => Some(p),
                _ => None,
            };
            RunnerWay::Path(spots.into_iter().filter_map(point).collect())
        }
    };
    let site = call.site.clone();
    let runner = call.state.part.runner(&name, &site, sections, stepped, way);
    handle(runner)
}

fn sprue(call: &mut Call) -> Answer {
    let name = named(call)?;
    let on = call.must(call.values.names("on"))?.remove(0);
    let (top, foot) = call.must(call.values.pair("dia"))?;
    let form = GatingForm::Sprue {
        on,
        xy: call.values.points("xy").and_then(|p| p.first().copied()),
        height: call.must(call.values.number("height"))?,
        top,
        foot,
        cup: call.values.pair("cup"),
    };
    let site = call.site.clone();
    handle(call.state.part.sprue(&name, &site, form))
}

fn tie(call: &mut Call) -> Answer {
    let name = named(call)?;
    let end = |key: &str| -> Option<WayPoint> { call.values.way(key)?.pop() };
    let ends = [call.must(end("from"))?, call.must(end("to"))?];
    let section = section(call, &call.values)?;
    let site = call.site.clone();
    handle(call.state.part.tie(&name, &site, ends, section))
}

fn tree(call: &mut Call) -> Answer {
    once(call, &[])?;
    let runner = call
        .state
        .part
        .gating
        .pieces
        .iter()
        .find(|p| p.word == "runner");
    if let Some(runner) = runner {
        let refusal = Refusal::whole("`tree` comes after a runner");
        let hint = format!("move it before {}", runner.site.script());
        return Err(refusal.hint(hint).into());
    }
    let about = call.values.points("about").and_then(|p| p.first().copied());
    let lay = match about {
        Some(at) => TreeLay::About(at),
        None => TreeLay::Step(call.must(call.values.space("step"))?),
    };
    let tree = Tree {
        copies: call.must(call.values.count("copies"))? as usize,
        lay,
        site: call.site.clone(),
    };
    call.state.part.tree(tree)?;
    nothing()
}

fn flask(call: &mut Call) -> Answer {
    once(call, &[])?;
    let form = match call.values.map("flask").cloned() {
        None => FlaskForm::Named(call.must(call.values.text("flask"))?),
        Some(own) => {
            let height = call.must(own.number("height"))?;
            match own.number("dia") {
                Some(dia) => FlaskForm::Round { dia, height },
                None => FlaskForm::Box {
                    length: call.must(own.number("length"))?,
                    width: call.must(own.number("width"))?,
                    height,
                },
            }
        }
    };
    let site = call.site.clone();
    call.state.part.gating.flask = Some(Flask { form, site });
    nothing()
}

fn crucible(call: &mut Call) -> Answer {
    once(call, &[])?;
    call.state.part.gating.crucible = Some(Crucible {
        kg: call.values.number("kg"),
        litres: call.values.number("litres"),
        site: call.site.clone(),
    });
    nothing()
}

fn pour_up(call: &mut Call) -> Answer {
    once(call, &[])?;
    let up = match call.values.face("up") {
        Some(face) => {
            let found = call.state.part.face(&face)?;
            if !found.is_flat() {
                let refusal = Refusal::at("up", "that face isn't flat");
                return Err(refusal.hint("give a direction: pour_up([0, 0, 1])").into());
            }
            found.frame.z
        }
        None => call.must(call.values.space("up"))?.normalize(),
    };
    let site = call.site.clone();
    call.state.part.gating.pour_up = Some((up, site));
    nothing()
}
