//! Stray dimensions and sizes by thread.

use rhai::Dynamic;

use crate::drawing::Refusal;
use crate::drawing::threads::{self, HoleFor};
use crate::measure::Unit;
use crate::script::call::{Answer, Call, Stop};
use crate::script::declare::{Group, Key, Kind, Of, Word, must};
use crate::script::hole_tag::marked;
use crate::script::say::did_you_mean;

const fn word(
    name: &'static str,
    does: &'static str,
    takes: &'static [Key],
    run: fn(&mut Call) -> Answer,
    example: &'static str,
) -> Word {
    Word {
        name,
        group: Group::Sizes,
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
        "inch",
        "A length given in inches, as a number in the script's unit.",
        &[must("length", Kind::Fraction, "the length in inches")],
        |call| convert(call, Unit::Inch),
        r#"part("half inch plate");
slab("plate", #{ outline: rect(80, 50), height: inch(1/2) });"#,
    ),
    word(
        "mm",
        "A length given in millimetres, as a number in the script's unit.",
        &[must("length", Kind::Fraction, "the length in mm")],
        |call| convert(call, Unit::Mm),
        r#"part("bearing plate");
units("in");
let plate = slab("plate", #{ outline: rect(4, 3), height: 1 });
pocket("bearing", #{ into: plate.top, outline: disc(mm(47)), depth: mm(14) });"#,
    ),
    word(
        "tap",
        "The tapping drill's diameter for a thread: \"M8\", \"M10x1.25\", \"1/4-20\", \"10-32\", \"G1/4\", \"NPT1/4\"; a hole of it is tapped after the casting.",
        &[must("thread", Kind::Name, "the thread")],
        |call| sized(call, true),
        r#"part("tapped pad");
let pad = slab("pad", #{ outline: disc(40), height: 20 });
bore("thread", #{ into: pad.top, dia: tap("M8"), depth: 16 });"#,
    ),
    word(
        "clear",
        "The diameter of a hole that a screw of this thread passes through, medium fit.",
        &[must("thread", Kind::Name, "the thread")],
        |call| sized(call, false),
        r#"part("screwed plate");
let plate = slab("plate", #{ outline: rect(60, 40), height: 10 });
bore("screw", #{ into: plate.top, dia: clear("1/4-20"), through: true });"#,
    ),
];

fn convert(call: &mut Call, from: Unit) -> Answer {
    let number = call.must(call.values.number("length"))?;
    let unit = call.state.part.unit;
    let span = call.site.span.clone();
    call.state.length_at.get_or_insert(span);
    Ok(Dynamic::from(if from == unit {
        number
    } else {
        number * from.mm() / unit.mm()
    }))
}

fn sized(call: &mut Call, tapped: bool) -> Answer {
    let name = call.must(call.values.text("thread"))?;
    let found = threads::find(&name).map(|thread| HoleFor { thread, tapped });
    let Some(hole) = found.filter(|h| h.dia_mm() > 0.0) else {
        return Err(unknown(&name, tapped));
    };
    let span = call.site.span.clone();
    call.state.length_at.get_or_insert(span);
    Ok(marked(hole, call.state.part.unit))
}

fn unknown(name: &str, tapped: bool) -> Stop {
    let metric = name.trim_start().starts_with(['M', 'm']);
    let known = threads::ALL
        .iter()
        .map(|t| t.name)
        .filter(|n| n.starts_with('M') == metric);
    let pipes = threads::PIPES.iter().map(|t| t.name);
    let pipes = pipes.filter(|_| tapped && !metric);
    let known: Vec<&str> = known.chain(pipes).collect();
    let refusal = Refusal::at(
        "thread",
        format!("the thread \"{name}\" is in no table here"),
    );
    let refusal = did_you_mean(name, known.iter().copied())
        .into_iter()
        .fold(refusal, Refusal::hint);
    refusal
        .hint(format!("known threads: {}", known.join(", ")))
        .into()
}
