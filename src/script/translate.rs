//! What the engine says, in plain words and with its place.

use rhai::{EvalAltResult, Position};

use crate::fault::{Fault, Span};
use crate::script::find_key;
use crate::script::limits;
use crate::script::pages;
use crate::script::places;
use crate::script::say::{did_you_mean, listed};
use crate::script::state::State;
use crate::script::text::Text;
use crate::script::translate_parse::softened;
use crate::script::unknown::BROKEN;
use crate::script::words::word_list;

/// The fault of a script that stopped while running; `None` where its fault is kept already, or comes of
/// a broken value.
pub fn fault(error: &EvalAltResult, main: &str, state: &State) -> Option<Fault> {
    let mut file = main.to_string();
    let mut calls: Vec<Span> = Vec::new();
    let mut inner = error;
    loop {
        match inner {
            EvalAltResult::ErrorInFunctionCall(_, source, error, position) => {
                if !position.is_none() {
                    calls.insert(0, places::span(state, &file, *position));
                }
                if !source.is_empty() {
                    file.clone_from(source);
                }
                inner = error;
            }
            EvalAltResult::ErrorInModule(_, error, _) => inner = error,
            _ => break,
        }
    }
    let text = inner.to_string();
    if (text.contains(BROKEN) || text.contains("::Broken")) && !state.faults.is_empty() {
        return None;
    }
    let span = place(state, &file, inner.position());
    let (said, hints) = words(inner, &span, !calls.is_empty(), state)?;
    Some(Fault {
        span: Some(span),
        text: said,
        hints,
        calls,
    })
}

fn place(state: &State, file: &str, position: Position) -> Span {
    places::span(state, file, position)
}

type Said = (String, Vec<String>);

fn words(error: &EvalAltResult, span: &Span, in_function: bool, state: &State) -> Option<Said> {
    use EvalAltResult as E;
    let plain = |s: String| Some((s, Vec::new()));
    let file: &str = &span.file;
    match error {
        E::ErrorTerminated(..) | E::Exit(..) | E::Return(..) => None,
        E::ErrorVariableNotFound(name, _) => Some(variable(name, file, in_function, state)),
        E::ErrorFunctionNotFound(signature, _) => Some(function(signature, span, state)),
        E::ErrorModuleNotFound(name, _) => Some(module(name, file, state)),
        E::ErrorPropertyNotFound(name, _) => plain(format!("this map has no key `{name}`")),
        E::ErrorDotExpr(what, _) => Some(dot(what)),
        E::ErrorArrayBounds(length, index, _) => Some((
            format!("there is no item {index} in this list of {length}"),
            vec!["the first item is [0]".into()],
        )),
        E::ErrorStringBounds(length, index, _) => plain(format!(
            "there is no letter {index} in this text of {length}"
        )),
        E::ErrorIndexingType(..) => plain("only a list, a text or a map has items in [ ]".into()),
        E::ErrorFor(_) => {
            plain("`for` goes through a list or a range such as 0..5, not through this".into())
        }
        E::ErrorMismatchDataType(wanted, got, _) => plain(format!(
            "this must be {}, not {}",
            typed(wanted),
            typed(got)
        )),
        E::ErrorArithmetic(what, _) => plain(softened(what)),
        E::ErrorTooManyOperations(_) => Some((
            format!(
                "the script took {} steps without coming to its end",
                limits::MOST_STEPS
            ),
            vec!["a loop here may never end: look at its condition".into()],
        )),
        E::ErrorStackOverflow(_) => Some((
            format!("calls go more than {} deep here", limits::MOST_CALLS),
            vec!["does a function call itself without an end?".into()],
        )),
        E::ErrorDataTooLarge(what, _) => Some(too_large(what)),
        E::ErrorTooManyVariables(_) => plain(format!(
            "more than {} values at one time",
            limits::MOST_VARIABLES
        )),
        E::ErrorTooManyModules(_) => plain(format!("more than {} imports", limits::MOST_MODULES)),
        E::ErrorAssignmentToConstant(name, _) => {
            plain(format!("`{name}` is a const and can't be changed"))
        }
        E::ErrorRuntime(thrown, _) => plain(format!("the script stopped itself: {thrown}")),
        other => plain(softened(&unplaced(other))),
    }
}

/// The engine's words without the place that it adds in brackets.
fn unplaced(error: &EvalAltResult) -> String {
    let text = error.to_string();
    text.rsplit_once(" (line ")
        .map_or(text.clone(), |(head, _)| head.to_string())
}

fn too_large(what: &str) -> Said {
    let lower = what.to_lowercase();
    let (kind, most) = match () {
        () if lower.contains("array") => ("list", limits::MOST_ITEMS),
        () if lower.contains("map") => ("map", limits::MOST_KEYS),
        () => ("text", limits::MOST_TEXT),
    };
    (
        format!("this {kind} grows over {most}, the most that a script may hold"),
        Vec::new(),
    )
}

fn variable(name: &str, file: &str, in_function: bool, state: &State) -> Said {
    let said = format!("nothing is called `{name}` here");
    let Some(text) = state.text(file) else {
        return (said, Vec::new());
    };
    let given = text.names_given();
    if given.iter().any(|g| g == name) {
        let constant = 0..text.chars().len();
        let hint = if in_function && text.find(&constant, &format!("const {name}")).is_some() {
            format!("a fn sees only its arguments: hand it `{name}`, or write global::{name}")
        } else if in_function {
            format!("a fn sees only its arguments: hand it `{name}`")
        } else {
            format!("`{name}` must be made before it is used, in the same block or outside of it")
        };
        return (said, vec![hint]);
    }
    if word_list().iter().any(|w| w.name == name) {
        return (said, vec![format!("`{name}` is a word: write {name}(…)")]);
    }
    let part = &state.part;
    let mut made = part.features.iter().map(|f| &f.name);
    if made.any(|n| n == name) || part.gating.pieces.iter().any(|p| p.name == name) {
        let hint = format!("\"{name}\" is made but not kept: put `let {name} =` before its word");
        return (said, vec![hint]);
    }
    (said, did_you_mean(name, given.iter().map(String::as_str)))
}

/// A function that is missing, or that takes other values.
fn function(signature: &str, span: &Span, state: &State) -> Said {
    let file: &str = &span.file;
    let (name, arguments) = signature.split_once('(').unwrap_or((signature, ""));
    let (name, arguments) = (name.trim(), arguments.trim_end_matches(')'));
    let types: Vec<String> = arguments
        .split(", ")
        .filter(|t| !t.is_empty())
        .map(typed)
        .collect();
    if let Some((module, name)) = name.rsplit_once("::") {
        return qualified(module.trim(), name.trim(), types.len(), file, state);
    }
    let is_name = name.starts_with(|c: char| c.is_alphabetic() || c == '_');
    match &types[..] {
        [left, right] if !is_name => (
            format!("`{name}` doesn't go between {left} and {right}"),
            Vec::new(),
        ),
        _ => unqualified(name, &types, span, state),
    }
}

fn unqualified(name: &str, types: &[String], span: &Span, state: &State) -> Said {
    let file: &str = &span.file;
    let given = if types.is_empty() {
        "nothing".into()
    } else {
        types.join(", ")
    };
    let own = state
        .text(file)
        .map(|t| pages::functions(&t))
        .unwrap_or_default();
    if let Some(function) = own.iter().find(|f| f.name == name) {
        let hint = format!(
            "it is written fn {}({})",
            function.name,
            function.parameters.join(", ")
        );
        return (
            format!(
                "`{name}` takes {} values, not {}",
                function.parameters.len(),
                types.len()
            ),
            vec![hint],
        );
    }
    let text = state.text(file);
    let method = text.is_some_and(|t| find_key::is_method(&t, t.index(span.line, span.column)));
    let methods = word_list()
        .iter()
        .filter(|w| w.of != crate::script::declare::Of::Nothing);
    let said = match (types, method) {
        ([of], true) => format!("{of} has no `.{name}()`"),
        ([of, with @ ..], true) => format!("{of} has no `.{name}` that takes {}", with.join(", ")),
        _ => format!("`{name}` doesn't take {given}"),
    };
    let mut hints = did_you_mean(name, methods.map(|w| w.name));
    if let Some(word) = word_list().iter().find(|w| w.name == name) {
        hints = vec![format!("write {}", crate::script::call::form(word))];
    }
    (said, hints)
}

fn qualified(module: &str, name: &str, count: usize, file: &str, state: &State) -> Said {
    let functions = imported(module, file, state)
        .map(|t| pages::functions(&t))
        .unwrap_or_default();
    if let Some(function) = functions.iter().find(|f| f.name == name) {
        let hint = format!(
            "it is written {module}::{name}({})",
            function.parameters.join(", ")
        );
        let takes = function.parameters.len();
        return (
            format!("`{module}::{name}` takes {takes} values, not {count}"),
            vec![hint],
        );
    }
    let names: Vec<&str> = functions.iter().map(|f| f.name.as_str()).collect();
    let mut hints = did_you_mean(name, names.iter().copied());
    if !names.is_empty() {
        hints.push(format!("`{module}` has {}", listed(names.iter().copied())));
    }
    (
        format!("the module `{module}` has no function `{name}`"),
        hints,
    )
}

/// The text of the module that a file imports under a name.
fn imported(alias: &str, file: &str, state: &State) -> Option<std::sync::Arc<Text>> {
    let text = state.text(file)?;
    let (_, module) = pages::imports(&text)
        .into_iter()
        .find(|(a, _)| a == alias)?;
    let wanted = [format!("library {module}"), format!("{module}.rhai")];
    let found = state.texts.iter().find(|(f, _)| {
        wanted
            .iter()
            .any(|w| *f == w || f.ends_with(&format!("/{w}")))
    });
    found.map(|(_, text)| text.clone())
}

fn module(name: &str, file: &str, state: &State) -> Said {
    let aliases: Vec<String> = state
        .text(file)
        .map(|t| pages::imports(&t).into_iter().map(|(a, _)| a).collect())
        .unwrap_or_default();
    let mut hints = did_you_mean(name, aliases.iter().map(String::as_str));
    if aliases.iter().any(|a| a == name) {
        hints = vec![format!("`import … as {name};` must come before it is used")];
    } else if hints.is_empty() {
        hints.push(format!("write import \"{name}\" as {name}; first"));
    }
    (format!("no module is imported as `{name}`"), hints)
}

/// `Unknown property 'x' - a getter is not registered for type 'T'` and the like.
fn dot(what: &str) -> Said {
    let quoted: Vec<&str> = what.split('\'').skip(1).step_by(2).collect();
    match quoted[..] {
        [name, of, ..] if what.starts_with("Unknown property") => (
            format!("`.{name}` is not a value of {}", typed(of)),
            Vec::new(),
        ),
        [name, of, ..] => (
            format!("`.{name}` of {} can't be set", typed(of)),
            Vec::new(),
        ),
        _ => (softened(what), Vec::new()),
    }
}

/// The engine's type names in plain words.
fn typed(name: &str) -> String {
    let plain = match name.trim() {
        "i64" | "f64" | "int" | "float" | "number" => "a number",
        "&str | ImmutableString | String" | "string" | "ImmutableString" | "&str" => "a text",
        "array" => "a list",
        "map" => "a map",
        "bool" => "true or false",
        "()" => "nothing",
        other if other.ends_with("::Outline") => "an outline",
        other if other.ends_with("::FaceRef") => "a face",
        other if other.ends_with("::Handle") => "a feature",
        other if other.ends_with("::Broken") => BROKEN,
        "char" => "a letter",
        "range" | "range=" => "a range",
        "Fn" => "a function",
        other => other,
    };
    plain.to_string()
}
