//! Words that don't exist: found while the script runs, recorded with every place that says them, and
//! answered with a broken value so that the script goes on and its other faults come out too.

use rhai::{Dynamic, Engine, EvalContext};

use crate::drawing::given::{FaceRef, Handle};
use crate::drawing::outline::Outline;
use crate::fault::Fault;
use crate::script::places;
use crate::script::say::{did_you_mean, is_broken};
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
    "E",
    "PI",
    "abs",
    "acos",
    "acosh",
    "add",
    "all",
    "append",
    "asin",
    "asinh",
    "atan",
    "atanh",
    "back_trace",
    "bits",
    "bytes",
    "call",
    "ceiling",
    "chars",
    "chop",
    "contains",
    "cos",
    "cosh",
    "crop",
    "curry",
    "dedup",
    "divide",
    "drain",
    "ends_with",
    "exp",
    "extract",
    "fill_with",
    "filter",
    "find",
    "find_map",
    "floor",
    "Fn",
    "for_each",
    "fraction",
    "get",
    "get_bits",
    "get_chars",
    "get_fn_metadata_list",
    "hypot",
    "index_of",
    "insert",
    "int",
    "is_anonymous",
    "is_def_fn",
    "is_def_var",
    "is_empty",
    "is_even",
    "is_exclusive",
    "is_finite",
    "is_inclusive",
    "is_infinite",
    "is_nan",
    "is_odd",
    "is_shared",
    "is_zero",
    "keys",
    "len",
    "ln",
    "log",
    "make_lower",
    "make_upper",
    "map",
    "max",
    "min",
    "mixin",
    "modulo",
    "multiply",
    "order",
    "order_by",
    "order_desc",
    "pad",
    "parse_float",
    "parse_int",
    "parse_json",
    "pop",
    "power",
    "push",
    "range",
    "reduce",
    "reduce_rev",
    "remove",
    "replace",
    "retain",
    "reverse",
    "round",
    "set",
    "set_tag",
    "shift",
    "sign",
    "sin",
    "sinh",
    "some",
    "sort",
    "sort_by",
    "sort_desc",
    "splice",
    "split",
    "split_rev",
    "sqrt",
    "starts_with",
    "sub_string",
    "subtract",
    "tag",
    "take",
    "tan",
    "tanh",
    "to_binary",
    "to_chars",
    "to_debug",
    "to_degrees",
    "to_float",
    "to_hex",
    "to_int",
    "to_json",
    "to_lower",
    "to_octal",
    "to_radians",
    "to_string",
    "to_upper",
    "trim",
    "truncate",
    "type_of",
    "values",
    "zip",
];

/// Records every call of a function that the sandbox leaves out; whether there is any.
pub fn forbidden(text: &Text, state: &mut State) -> bool {
    let known = state.faults.len();
    for (name, instead) in FORBIDDEN {
        for place in text.calls_of(name) {
            let fault = Fault::new(format!("`{name}` is not a word of a part script"));
            state.fault(fault.at(text.span(&place)).hint(*instead));
        }
    }
    state.faults.len() > known
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
        // A call with a map of keys is meant as a word, even where the engine has a function of that name.
        let keyed = arguments.last().is_some_and(|a| a.is_map());
        let unknown = !method && record(&mut lock(&shared), name, keyed, &context);
        Ok(unknown.then(|| Dynamic::from(Broken)))
    });
}

/// The type name of a broken value, by which errors that come of one are told.
pub const BROKEN: &str = "a broken value";

/// Records the faults of an unknown word; whether it is one.
fn record(state: &mut State, name: &str, keyed: bool, context: &EvalContext) -> bool {
    let is_name = name.starts_with(|c: char| c.is_alphabetic());
    let word = word_list().iter().any(|w| w.name == name);
    if !is_name || word || (ENGINE.contains(&name) && !keyed) {
        return false;
    }
    let file = context.source().unwrap_or_default();
    let Some(text) = state.text(file) else {
        return false;
    };
    let own = own_functions(&text);
    if own.iter().any(|f| f == name) {
        return false;
    }
    let said = text.calls_of(name);
    if said.is_empty() {
        return false;
    }
    if !state.unknown.insert((file.to_string(), name.to_string())) {
        return true;
    }
    let words = word_list()
        .iter()
        .map(|w| w.name)
        .chain(own.iter().map(String::as_str));
    let hints = did_you_mean(name, words);
    // The engine doesn't say which call is running; with only one in the text there is no doubt.
    let frames = context.debugger().map_or(&[][..], |d| d.call_stack());
    let calls = if said.len() == 1 {
        places::chain(state, frames)
    } else {
        Vec::new()
    };
    for place in said {
        let mut fault = Fault::new(format!("there is no word `{name}`")).at(text.span(&place));
        fault.calls.clone_from(&calls);
        fault.hints.clone_from(&hints);
        if hints.is_empty() {
            fault
                .hints
                .push("`foamwright words` lists all words".into());
        }
        state.fault(fault);
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
