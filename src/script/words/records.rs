//! Settings, notes for the shop sheet, and judgements on record.

use rhai::Dynamic;

use crate::drawing::Refusal;
use crate::drawing::part::{Allow, Setting, SettingValue};
use crate::fault::FINDING_CODES;
use crate::measure::parse_length;
use crate::script::call::{Answer, Call, Stop};
use crate::script::declare::{Kind, Word, must};
use crate::script::say::did_you_mean;
use crate::script::words::opening::{nothing, word};

/// The words of this file.
pub const WORDS: &[Word] = &[
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
                "the features that it is accepted on; \"flask\" for `flask-small`, \"crucible\" for `crucible-small`",
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

fn note(call: &mut Call) -> Answer {
    let text = call.must(call.values.text("text"))?;
    call.state.part.notes.push(text);
    nothing()
}

fn allow(call: &mut Call) -> Answer {
    let code = call.must(call.values.text("code"))?;
    let features = call.must(call.values.names("features"))?;
    let reason = call.must(call.values.text("why"))?;
    if !FINDING_CODES.contains(&code.as_str()) {
        let refusal = Refusal::at("code", format!("there is no finding \"{code}\""));
        let hints = did_you_mean(&code, FINDING_CODES.iter().copied());
        let refusal = hints.into_iter().fold(refusal, Refusal::hint);
        return Err(refusal
            .hint(format!("findings: {}", FINDING_CODES.join(", ")))
            .into());
    }
    if features.is_empty() {
        return Err(Refusal::at("features", "name the features that it is accepted on").into());
    }
    let site = call.site.clone();
    call.state.part.allows.push(Allow {
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
        None => default.clone(),
    };
    let site = call.site.clone();
    call.state.part.settings.push(Setting {
        name,
        value: kept(&value),
        default: kept(&default),
        site,
    });
    Ok(value)
}

/// A setting's value as the part keeps it.
fn kept(value: &Dynamic) -> SettingValue {
    if let Ok(flag) = value.as_bool() {
        SettingValue::Flag(flag)
    } else if let Ok(number) = value.as_float().or(value.as_int().map(|i| i as f64)) {
        SettingValue::Number(number)
    } else {
        SettingValue::Text(value.to_string())
    }
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
        let span = call.site.span.clone();
        call.state.length_at.get_or_insert(span);
    }
    let number =
        parse_length(text, unit).map_err(|_| bad("a number, such as 5, 0.75, 3/4 or 2-3/8"))?;
    Ok((number / unit.mm()).into())
}
