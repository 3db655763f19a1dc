//! What is said of the part as a whole.

use rhai::Dynamic;

use crate::drawing::Refusal;
use crate::drawing::part::StockRule;
use crate::measure::Unit;
use crate::script::call::{Answer, Call, Stop};
use crate::script::declare::{Group, Key, Kind, Of, Range, Word, must};

const GRADES: &[&str] = &["A", "B", "C", "D", "E", "F", "G", "H", "J", "K"];
const TOLERANCES: &[&str] = &[
    "CT1", "CT2", "CT3", "CT4", "CT5", "CT6", "CT7", "CT8", "CT9", "CT10", "CT11", "CT12", "CT13",
    "CT14", "CT15", "CT16",
];

/// An opening word.
pub(super) const fn word(
    name: &'static str,
    does: &'static str,
    takes: &'static [Key],
    run: fn(&mut Call) -> Answer,
    example: &'static str,
) -> Word {
    Word {
        name,
        group: Group::Opening,
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
        "part",
        "Names the part. It is said once, before the first feature.",
        &[must("name", Kind::Name, "what the part is called")],
        part,
        r#"part("bilge pump foot");
slab("foot", #{ outline: rect(80, 50), height: 12 });"#,
    ),
    word(
        "units",
        "Sets the unit of every length in the script. It is said before any length; millimetres if left out.",
        &[must("unit", Kind::Choice(&["mm", "in"]), "the unit")],
        units,
        r#"part("feed roller bracket");
units("in");
slab("foot", #{ outline: rect("3-1/4", "2-3/8"), height: 3/4 });"#,
    ),
    word(
        "min_cored",
        "Openings narrower than this, as cast, are left solid in the casting, to be drilled or milled later. 0, all cored, if left out.",
        &[must(
            "width",
            Kind::Length(Range::OrZero),
            "the narrowest opening that is cast",
        )],
        min_cored,
        r#"part("drilled plate");
min_cored(8);
let plate = slab("plate", #{ outline: rect(80, 50), height: 12 });
bore("screw", #{ into: plate.top, at: [25, 0], dia: 6, through: true });"#,
    ),
    word(
        "min_wall",
        "Sets the least wall of the casting; what is thinner is a finding. The metal's if left out, 0 looks at no wall.",
        &[must("wall", Kind::Length(Range::OrZero), "the least wall")],
        min_wall,
        r#"part("drain grate");
min_wall(4.5);
slab("grate", #{ outline: rect(80, 50), height: 6 });"#,
    ),
    word(
        "min_wall_finished",
        "Sets the least wall after machining. The same as of the casting if left out, 0 looks at no wall.",
        &[must("wall", Kind::Length(Range::OrZero), "the least wall")],
        min_wall_finished,
        r#"part("faced grate");
stock(2);
min_wall(4.5);
min_wall_finished(3);
let grate = slab("grate", #{ outline: rect(80, 50), height: 4 });
finish(grate.top);"#,
    ),
    word(
        "stock",
        "Sets the machining stock of every face with a finish mark that gives no amount of its own.",
        &[must(
            "amount",
            Kind::Length(Range::OrZero),
            "the stock; 0 is none",
        )],
        stock,
        r#"part("faced block");
stock(2.5);
let block = slab("block", #{ outline: rect(60, 40), height: 30 });
finish(block.top);"#,
    ),
    word(
        "stock_grade",
        "Takes the machining stock from ISO 8062 by allowance grade and casting tolerance grade: on a flat face RMA + CT/2, on a bore's side RMA + CT/4, rows by the part's largest dimension.",
        &[
            must(
                "allowance",
                Kind::Choice(GRADES),
                "the required machining allowance grade, A to K",
            ),
            must(
                "tolerance",
                Kind::Choice(TOLERANCES),
                "the casting tolerance grade, CT1 to CT16",
            ),
        ],
        stock_grade,
        r#"part("graded block");
stock_grade("G", "CT11");
let block = slab("block", #{ outline: rect(60, 40), height: 30 });
finish(block.top);"#,
    ),
    word(
        "fillets",
        "Sets the foot fillet of every feature that names none and stands on another. It is said before the first feature.",
        &[must(
            "radius",
            Kind::Length(Range::OrZero),
            "the radius; 0 is none",
        )],
        fillets,
        r#"part("bossed plate");
fillets(3);
let plate = slab("plate", #{ outline: rect(80, 50), height: 10 });
boss("boss", #{ on: plate.top, dia: 24, height: 18 });"#,
    ),
    word(
        "facet",
        "Sets the farthest, in mm whatever the unit, that a facet may stand off the true curve. 0.02 if left out.",
        &[must(
            "mm",
            Kind::Number(Range::Positive),
            "the distance in mm, from 0.001 to 1",
        )],
        facet,
        r#"part("fine disc");
facet(0.01);
slab("disc", #{ outline: disc(60), height: 8 });"#,
    ),
];

/// Notes that an opening word was said, and refuses a second time.
pub(super) fn once(call: &mut Call, also: &[&'static str]) -> Result<(), Stop> {
    let name = call.word.name;
    for other in std::iter::once(&name).chain(also) {
        if let Some(first) = call.state.said_at(other) {
            let hint = format!("it was said at {first}");
            let text = if *other == name {
                format!("`{name}` is said twice")
            } else {
                format!("`{name}` and `{other}` can't both be said")
            };
            return Err(Refusal::whole(text).hint(hint).into());
        }
    }
    let span = call.site.span.clone();
    call.state.said.push((name, span));
    Ok(())
}

/// Refuses a word that must stand before the first feature.
fn before_features(call: &Call, why: &str) -> Result<(), Stop> {
    match call.state.part.features.first() {
        None => Ok(()),
        Some(first) => {
            let said = format!("`{}` comes after the first feature", call.word.name);
            let hint = format!("{why}; move it before {}", first.site.script());
            Err(Refusal::whole(said).hint(hint).into())
        }
    }
}

pub(super) fn nothing() -> Answer {
    Ok(Dynamic::UNIT)
}

fn part(call: &mut Call) -> Answer {
    once(call, &[])?;
    before_features(call, "the part is named first")?;
    call.state.part.name = call.must(call.values.text("name"))?;
    nothing()
}

fn units(call: &mut Call) -> Answer {
    once(call, &[])?;
    if let Some(at) = call.state.length_at.clone() {
        let refusal = Refusal::whole("`units` comes after a length");
        return Err(refusal
            .hint(format!(
                "the first length stands at {at}; say the unit before it"
            ))
            .into());
    }
    let unit = call.must(call.values.text("unit"))?;
    call.state.part.unit = if unit == "in" { Unit::Inch } else { Unit::Mm };
    nothing()
}

fn min_cored(call: &mut Call) -> Answer {
    once(call, &[])?;
    call.state.part.min_cored_mm = call.must(call.values.number("width"))?;
    nothing()
}

fn min_wall(call: &mut Call) -> Answer {
    once(call, &[])?;
    call.state.part.least_wall_mm = Some(call.must(call.values.number("wall"))?);
    nothing()
}

fn min_wall_finished(call: &mut Call) -> Answer {
    once(call, &[])?;
    call.state.part.least_wall_finished_mm = Some(call.must(call.values.number("wall"))?);
    nothing()
}

fn stock(call: &mut Call) -> Answer {
    once(call, &["stock_grade"])?;
    call.state.part.stock = StockRule::Flat(call.must(call.values.number("amount"))?);
    nothing()
}

fn stock_grade(call: &mut Call) -> Answer {
    once(call, &["stock"])?;
    let allowance = call.must(call.values.text("allowance"))?;
    let tolerance = call.must(call.values.text("tolerance"))?;
    let rma = call.must(allowance.chars().next())?;
    let ct = call.must(tolerance.trim_start_matches("CT").parse().ok())?;
    call.state.part.stock = StockRule::Grade { rma, ct };
    nothing()
}

fn fillets(call: &mut Call) -> Answer {
    once(call, &[])?;
    before_features(call, "it holds for the features that follow it")?;
    call.state.part.fillets_mm = call.must(call.values.number("radius"))?;
    nothing()
}

fn facet(call: &mut Call) -> Answer {
    once(call, &[])?;
    let facet_mm = call.must(call.values.number("mm"))?;
    if !(0.001..=1.0).contains(&facet_mm) {
        let text = format!("a facet of {facet_mm} mm is out of reach: from 0.001 to 1 mm");
        return Err(Refusal::at("mm", text).into());
    }
    call.state.part.facet_mm = facet_mm;
    nothing()
}
