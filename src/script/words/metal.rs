//! The metal and its shrink.

use crate::drawing::Refusal;
use crate::drawing::part::Metal;
use crate::script::call::{Answer, Call};
use crate::script::declare::{Keys, Kind, Range, Word, may, must};
use crate::script::say::did_you_mean;
use crate::script::words::opening::{nothing, once, word};

/// The metal of a script that names none.
pub const DEFAULT_METAL: &str = "A356";

/// That metal where the table lacks it: shrink 5/32 in a foot (from memory: ASTM B26 appendix), density
/// from memory: ASM Handbook 15.
pub fn default_metal() -> Metal {
    Metal {
        name: DEFAULT_METAL.into(),
        shrink_percent: [1.3; 3],
        density_kg_m3: 2685.0,
        least_wall_mm: None,
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
        may(
            "min_wall",
            Kind::Length(Range::Positive),
            "the least wall that runs",
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

/// The words of this file.
pub const WORDS: &[Word] = &[
    word(
        "metal",
        "Picks the metal, which sets shrink, density and the least wall. A356 if left out; `foamwright metals` lists the table.",
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
];

fn metal(call: &mut Call) -> Answer {
    once(call, &[])?;
    let values = call.values.clone();
    call.state.part.metal_site = Some(call.site.clone());
    if let Some(own) = values.map("metal") {
        call.state.part.metal = Metal {
            name: call.must(own.text("name"))?,
            shrink_percent: call.must(own.percents("shrink"))?,
            density_kg_m3: call.must(own.number("density"))?,
            least_wall_mm: own.number("min_wall"),
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
