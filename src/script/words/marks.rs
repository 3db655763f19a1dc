//! Finish marks.

use rhai::Dynamic;

use crate::drawing::Refusal;
use crate::drawing::part::Mark;
use crate::script::call::{Answer, Call};
use crate::script::declare::{Group, Kind, Of, Range, Word, may, must};

/// The words of this file.
pub const WORDS: &[Word] = &[Word {
    name: "finish",
    group: Group::Faces,
    of: Of::Nothing,
    does: "Puts a finish mark on a face, on several, or on all faces in a level: machining stock is added there.",
    takes: &[
        must("faces", Kind::Faces, "what is machined"),
        may(
            "amount",
            Kind::Length(Range::OrZero),
            "the stock there; that of `stock` or `stock_grade` if left out",
        ),
    ],
    example: r#"part("bearing foot");
stock(2);
let foot = slab("foot", #{ outline: rect(80, 50), height: 14 });
let seat = boss("seat", #{ on: foot.top, dia: 44, height: 20, bore: 22 });
finish([foot.bottom, seat.top]);
finish(seat.wall, 1.5);"#,
    run: finish,
}];

fn finish(call: &mut Call) -> Answer {
    let faces = call.must(call.values.faces("faces"))?;
    let stock_mm = call.values.number("amount");
    for face in faces {
        let mark = Mark {
            face,
            stock_mm,
            site: call.site.clone(),
        };
        call.state.part.mark(mark).map_err(|r| Refusal {
            key: Some("faces"),
            ..r
        })?;
    }
    Ok(Dynamic::UNIT)
}
