//! Words that don't exist: found while the script runs, recorded with every place that says them, and
//! answered with a broken value so that the script goes on and its other faults come out too.

use rhai::{Dynamic, Engine, EvalContext};

use crate::drawing::given::{FaceRef, Handle};
use crate::drawing::outline::Outline;
use crate::fault::Fault;
use crate::script::reader::{did_you_mean, is_broken};
use crate::script::state::{Broken, Shared, State, lock};
use crate::script::text::Text;
use crate::script::words::word_list;

/// What the engine could do and a part script must not: with what to do instead.
const FORBIDDEN: &[(&str, &str)] = &[
    ("eval", "write the statements themselves"),
    ("print", "note(\"…\") puts a line on the shop sheet"),
    ("debug", "note(\"…\") puts a line on the shop sheet"),
    ("sleep", "a script has no clock"),
    ("timestamp", "a script has no clock"),
    ("exit", "a script runs to its end; use if"),
];

/// The engine's own functions that a script may call plainly.
const ENGINE: &[&str] = &[
    "abs",
    "acos",
    "acosh",
    "asin",
    "asinh",
    "atan",
    "atanh",
    "ceiling",
    "cos",
    "cosh",
    "exp",
    "floor",
    "fraction",
    "hypot",
    "int",
    "is_finite",
    "is_infinite",
    "is_nan",
    "len",
    "ln",
    "log",
    "max",
    "min",
    "parse_float",
    "parse_int",
    "range",
    "round",
    "sign",
    "sin",
    "sinh",
    "sqrt",
    "tan",
    "tanh",
    "to_degrees",
    "to_float",
    "to_int",
    "to_radians",
    "to_string",
    "type_of",
    "is_def_var",
    "is_def_fn",
    "is_shared",
    "curry",
    "call",
    "Fn",
    "contains",
    "split",
    "trim",
    "sub_string",
    "index_of",
    "replace",
    "push",
    "pop",
    "insert",
    "remove",
    "keys",
    "values",
    "map",
    "filter",
    "reduce",
    "sort",
    "reverse",
    "E",
    "PI",
    "all",
    "some",
    "find",
    "append",
    "extract",
    "splice",
    "drain",
    "retain",
    "zip",
    "order",
    "is_empty",
    "is_even",
    "is_odd",
    "is_zero",
    "to_json",
    "parse_json",
    "to_upper",
    "to_lower",
];

/// Records every call of a function that the sandbox leaves out.
pub fn forbidden(text: &Text, state: &mut State) {
    for (name, instead) in FORBIDDEN {
        for place in text.calls_of(name) {
            let fault = Fault::new(format!("`{name}` is not a word of a part script"));
            state.fault(fault.at(text.span(&place)).hint(*instead));
        }
    }
}

/// Binds what happens where a function is missing.
pub fn bind(engine: &mut Engine, shared: &Shared) {
    engine.register_type_with_name::<Broken>(BROKEN);
    engine.register_type_with_name::<Outline>("an outline");
    engine.register_type_with_name::<FaceRef>("a face");
    engine.register_type_with_name::<Handle>("a feature");
    engine.register_iterator::<Broken>();
    engine.register_indexer_get(|_: &mut Broken, _: Dynamic| Broken);
    let shared = shared.clone();
    #[allow(deprecated)] // the engine marks it as liable to change; the engine's version is pinned
    engine.on_missing_function(move |name, arguments, method, context| {
        if arguments.iter().any(|a| is_broken(a)) {
            return Ok(Some(Dynamic::from(Broken)));
        }
        let unknown = !method && record(&mut lock(&shared), name, &context);
        Ok(unknown.then(|| Dynamic::from(Broken)))
    });
}

/// The type name of a broken value, by which errors that come of one are told.
pub const BROKEN: &str = "a broken value";

/// Records the faults of an unknown word; whether it is one.
fn record(state: &mut State, name: &str, context: &EvalContext) -> bool {
    let is_name = name.starts_with(|c: char| c.is_alphabetic());
    let word = word_list().iter().any(|w| w.name == name);
    if !is_name || word || ENGINE.contains(&name) || FORBIDDEN.iter().any(|(f, _)| *f == name) {
        return false;
    }
    let Some(text) = state.text(context.source().unwrap_or_default()) else {
        return false;
    };
    let own = own_functions(&text);
    if own.iter().any(|f| f == name) {
        return false;
    }
    if !state.unknown.insert(name.to_string()) {
        return true;
    }
    let words = word_list()
        .iter()
        .map(|w| w.name)
        .chain(own.iter().map(String::as_str));
    let hints = did_you_mean(name, words);
    for place in text.calls_of(name) {
        let fault = Fault::new(format!("there is no word `{name}`")).at(text.span(&place));
        let fault = hints.iter().cloned().fold(fault, Fault::hint);
        state.fault(if hints.is_empty() {
            fault.hint("`foamwright words` lists all words")
        } else {
            fault
        });
    }
    true
}

/// The names of the functions that a file defines.
pub fn own_functions(text: &Text) -> Vec<String> {
    crate::script::pages::functions(text)
        .into_iter()
        .map(|f| f.name)
        .collect()
}
