//! What is said of the part as a whole.

use rhai::Dynamic;

use crate::drawing::Refusal;
use crate::drawing::part::{Metal, Setting, SettingValue, StockRule};
use crate::fault::Span;
use crate::measure::{Unit, parse_length};
use crate::script::call::{Answer, Call, Stop};
use crate::script::declare::{Group, Key, Keys, Kind, Of, Range, Word, must};
use crate::script::reader::did_you_mean;

/// The metal of a script that names none.
pub const DEFAULT_METAL: &str = "A356";

/// That metal where the table lacks it: shrink 5/32 in a foot (from memory: ASTM B26 appendix), density
/// from memory: ASM Handbook 15.
pub fn default_metal() -> Metal {
    Metal {
        name: DEFAULT_METAL.into(),
        shrink_percent: [1.3; 3],
        density_kg_m3: 2685.0,
    }
}

const METAL: &Keys = &Keys {
    keys: &[&[
        must("name", Kind::Name, "what it is called"),
        must("shrink", Kind::Percents, "linear shrink in percent"),
        must(
            "density",
            Kind::Number(Range::Positive),
            "density of the solid in kg/m³",
        ),
    ]],
    rules: &[],
};
const TEST_BAR: &Keys = &Keys {
    keys: &[&[
        must(
            "pattern",
            Kind::Length(Range::Positive),
            "length of the bar's pattern",
        ),
        must(
            "casting",
            Kind::Length(Range::Positive),
            "length of the bar as cast",
        ),
    ]],
    rules: &[],
};
const GRADES: &[&str] = &["A", "B", "C", "D", "E", "F", "G", "H", "J", "K"];
const TOLERANCES: &[&str] = &[
    "CT1", "CT2", "CT3", "CT4", "CT5", "CT6", "CT7", "CT8", "CT9", "CT10", "CT11", "CT12", "CT13",
    "CT14", "CT15", "CT16",
];

const fn word(
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
        "metal",
        "Picks the metal, which sets shrink and density. A356 if left out; `foamwright metals` lists the table.",
        &[must(
            "metal",
            Kind::NameOrMap(METAL),
            "its name in the metals table, or a metal of your own",
        )],
        metal,
        r#"part("valve chest lid");
metal(#{ name: "ingot of the last pour", shrink: 1.25, density: 2680 });
slab("lid", #{ outline: rect(90, 60), height: 10 });"#,
    ),
    word(
        "shrink",
        "Sets the linear shrink in percent in place of the metal's: pattern = casting × (1 + shrink/100). A list of three gives x, y and z.",
        &[must("percent", Kind::Percents, "the shrink; 0 is none")],
        shrink,
        r#"part("test bar");
shrink([1.3, 1.3, 1.1]);
slab("bar", #{ outline: rect(250, 25), height: 25 });"#,
    ),
    word(
        "shrink_measured",
        "Sets the shrink from a test bar of your own, pattern and casting measured at the same place.",
        &[must("keys", Kind::Map(TEST_BAR), "the bar")],
        shrink_measured,
        r#"part("winch cheek");
shrink_measured(#{ pattern: 250, casting: 246.8 });
slab("cheek", #{ outline: disc(140), height: 14 });"#,
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
    word(
        "setting",
        "Gives a value that `--set name=value` overrides: a number (`--set bore=3/4` is 0.75), a text, or true or false.",
        &[
            must("name", Kind::Name, "what it is called"),
            must(
                "value",
                Kind::Scalar,
                "what it is where nothing overrides it",
            ),
        ],
        setting,
        r#"part("spacer");
let thick = setting("thick", 12);
slab("spacer", #{ outline: disc(50), height: thick });"#,
    ),
    word(
        "note",
        "Puts a line on the shop sheet.",
        &[must("text", Kind::Name, "the line")],
        note,
        r#"part("labelled plate");
note("Ram the sand well under the flange.");
slab("plate", #{ outline: rect(80, 50), height: 10 });"#,
    ),
    word(
        "allow",
        "Judges a finding acceptable on the features named, with the reason on record: it becomes a note.",
        &[
            must(
                "code",
                Kind::Name,
                "the finding's code, such as \"comes-through\"",
            ),
            must(
                "features",
                Kind::Names,
                "the features that it is accepted on",
            ),
            must("why", Kind::Name, "the reason"),
        ],
        allow,
        r#"part("pierced plate");
let plate = slab("plate", #{ outline: rect(80, 50), height: 10 });
let vent = bore("vent", #{ into: plate.top, dia: 12, depth: 14 });
allow("comes-through", [vent], "it is meant to come out below");"#,
    ),
];

/// Codes that a check of this version can find; others could only be allowed in vain.
const CODES: &[&str] = crate::fault::FINDING_CODES;

/// Notes that an opening word was said, and refuses a second time.
fn once(call: &mut Call, also: &[&'static str]) -> Result<(), Stop> {
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

fn nothing() -> Answer {
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

fn metal(call: &mut Call) -> Answer {
    once(call, &[])?;
    let values = call.values.clone();
    if let Some(own) = values.map("metal") {
        call.state.part.metal = Metal {
            name: call.must(own.text("name"))?,
            shrink_percent: call.must(own.percents("shrink"))?,
            density_kg_m3: call.must(own.number("density"))?,
        };
        return nothing();
    }
    let name = call.must(values.text("metal"))?;
    let metals = &call.state.metals;
    let same = |known: &&String| known.eq_ignore_ascii_case(&name);
    match metals.keys().find(same).and_then(|known| metals.get(known)) {
        Some(metal) => call.state.part.metal = metal.clone(),
        None => {
            let refusal = Refusal::at("metal", format!("the metals table has no \"{name}\""));
            let hints = did_you_mean(&name, metals.keys().map(String::as_str));
            let known: Vec<&str> = metals.keys().map(String::as_str).collect();
            let refusal = hints.into_iter().fold(refusal, Refusal::hint);
            let all = format!("known metals: {}", known.join(", "));
            return Err(refusal
                .hint(all)
                .hint("or give one of your own: metal(#{ name, shrink, density })")
                .into());
        }
    }
    nothing()
}

fn shrink(call: &mut Call) -> Answer {
    once(call, &["shrink_measured"])?;
    call.state.shrink_percent = Some(call.must(call.values.percents("percent"))?);
    nothing()
}

fn shrink_measured(call: &mut Call) -> Answer {
    once(call, &["shrink"])?;
    let pattern = call.must(call.values.number("pattern"))?;
    let casting = call.must(call.values.number("casting"))?;
    let percent = (pattern / casting - 1.0) * 100.0;
    if !(0.0..=10.0).contains(&percent) {
        let text = format!("this bar shrank by {percent:.2} percent; from 0 to 10 is believable");
        let hint = "`pattern` is the length of the foam, `casting` that of the metal once cold";
        return Err(Refusal::at("casting", text).hint(hint).into());
    }
    call.state.shrink_percent = Some([percent; 3]);
    nothing()
}

fn min_cored(call: &mut Call) -> Answer {
    once(call, &[])?;
    call.state.part.min_cored_mm = call.must(call.values.number("width"))?;
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

fn note(call: &mut Call) -> Answer {
    let text = call.must(call.values.text("text"))?;
    call.state.part.notes.push(text);
    nothing()
}

fn allow(call: &mut Call) -> Answer {
    let code = call.must(call.values.text("code"))?;
    let features = call.must(call.values.names("features"))?;
    let reason = call.must(call.values.text("why"))?;
    if !CODES.contains(&code.as_str()) {
        let refusal = Refusal::at("code", format!("there is no finding \"{code}\""));
        let hints = did_you_mean(&code, CODES.iter().copied());
        let refusal = hints.into_iter().fold(refusal, Refusal::hint);
        return Err(refusal
            .hint(format!("findings: {}", CODES.join(", ")))
            .into());
    }
    if features.is_empty() {
        return Err(Refusal::at("features", "name the features that it is accepted on").into());
    }
    let site = call.site.clone();
    call.state.part.allows.push(crate::drawing::part::Allow {
        code,
        features,
        reason,
        site,
    });
    nothing()
}

fn setting(call: &mut Call) -> Answer {
    let name = call.must(call.values.text("name"))?;
    let default = call.must(call.values.scalar("value"))?;
    if let Some(first) = call.state.part.settings.iter().find(|s| s.name == name) {
        let refusal = Refusal::at("name", format!("the setting \"{name}\" is made twice"));
        return Err(refusal
            .hint(format!("first at {}", first.site.script()))
            .into());
    }
    call.state.asked.insert(name.clone());
    let outer = call
        .state
        .overrides
        .iter()
        .rev()
        .find(|(n, _)| *n == name)
        .map(|(_, v)| v.clone());
    let value = match outer {
        Some(text) => overridden(call, &name, &text, &default)?,
        None => default,
    };
    let kept = if let Ok(flag) = value.as_bool() {
        SettingValue::Flag(flag)
    } else if let Ok(number) = value.as_float().or(value.as_int().map(|i| i as f64)) {
        SettingValue::Number(number)
    } else {
        SettingValue::Text(value.to_string())
    };
    let site = call.site.clone();
    call.state.part.settings.push(Setting {
        name,
        value: kept,
        site,
    });
    Ok(value)
}

/// The value from outside, of the same kind as the script's own.
fn overridden(call: &mut Call, name: &str, text: &str, default: &Dynamic) -> Answer {
    let bad = |wanted: &str| {
        let said = format!("the setting \"{name}\" takes {wanted}, not \"{text}\" from outside");
        Stop::Refused(Refusal::at("value", said))
    };
    if default.is_string() {
        return Ok(text.to_string().into());
    }
    if default.is_bool() {
        return match text.trim() {
            "true" | "yes" => Ok(true.into()),
            "false" | "no" => Ok(false.into()),
            _ => Err(bad("true or false")),
        };
    }
    if let Ok(whole) = text.trim().parse::<i64>() {
        return Ok(if default.is_float() {
            (whole as f64).into()
        } else {
            whole.into()
        });
    }
    let unit = call.state.part.unit;
    if text.chars().any(char::is_alphabetic) {
        let span: Span = call.site.span.clone();
        call.state.length_at.get_or_insert(span);
    }
    let number =
        parse_length(text, unit).map_err(|_| bad("a number, such as 5, 0.75, 3/4 or 2-3/8"))?;
    Ok((number / unit.mm()).into())
}
