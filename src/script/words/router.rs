//! The router that cuts the foam.

use crate::drawing::Refusal;
use crate::drawing::part::Cutter;
use crate::script::call::{Answer, Call};
use crate::script::declare::{Keys, Kind, Range, Word, may, must};
use crate::script::words::opening::{nothing, word};

const SIZE: Kind = Kind::Length(Range::Positive);

const CUTTER: &Keys = &Keys {
    keys: &[&[
        must("dia", SIZE, "its diameter"),
        must(
            "reach",
            SIZE,
            "how deep it goes before its holder is level with the surface",
        ),
        may(
            "holder_dia",
            SIZE,
            "the diameter of its holder; left out, it goes in nowhere: the whole pattern's height counts",
        ),
    ]],
    rules: &[],
};

/// The words of this file.
pub const WORDS: &[Word] = &[word(
    "cutter",
    "Declares a cutter of the router, flat at its end; say it once for each. Inside corners and slots too small for them, and walls too deep, become findings.",
    &[must("keys", Kind::Map(CUTTER), "the cutter")],
    cutter,
    r#"part("pocketed plate");
cutter(#{ dia: 6, reach: 40, holder_dia: 20 });
cutter(#{ dia: 3, reach: 12, holder_dia: 20 });
let plate = slab("plate", #{ outline: rect(80, 50), height: 20 });
pocket("pocket", #{ into: plate.top, outline: rect(30, 20).corners(4), depth: 12 });"#,
)];

fn cutter(call: &mut Call) -> Answer {
    let cutter = Cutter {
        dia_mm: call.must(call.values.number("dia"))?,
        reach_mm: call.must(call.values.number("reach"))?,
        holder_dia_mm: call.values.number("holder_dia"),
    };
    if cutter.holder_dia_mm.is_some_and(|h| h < cutter.dia_mm) {
        let unit = call.state.part.unit;
        let text = format!(
            "a holder narrower than its cutter, {}",
            unit.show(cutter.dia_mm)
        );
        return Err(Refusal::at("holder_dia", text)
            .hint("`reach` then ends where something wider begins: give that")
            .into());
    }
    call.state.part.cutters.push(cutter);
    nothing()
}
