//! The script layer: a Rhai script in, a [`Part`] out. The only user of the script engine.
//!
//! Every word is declared once ([`declare::Word`]); its binding, key check, page and test come from that.
//! Reading is a function of its input: no files are read here (modules come through [`Modules`]), and no
//! clock. Faults carry the very characters at fault and the chain of calls; independent ones come out
//! together, because a faulty word gives a broken value over which the script goes on.

mod call;
mod dash;
mod declare;
mod engine;
mod find_key;
mod given;
mod hole_tag;
mod limits;
mod loader;
mod names;
mod nearest;
mod numbers;
mod pages;
mod places;
mod read_map;
mod read_profile;
mod read_references;
mod read_shapes;
mod reader;
mod same_names;
mod say;
mod state;
mod text;
mod translate;
mod translate_parse;
mod unknown;
mod words;

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::sync::{Arc, Mutex};

use crate::drawing::{Metal, Part};
use crate::fault::{Fault, Faults, Span};

use loader::Loader;
use same_names::Functions;
use state::{Shared, State, lock};
use text::Text;

pub use declare::{Group, Key, Keys, Kind, Need, Of, Rule, Word};
pub use loader::{Loaded, ModuleFault, Modules, NoModules};
pub use pages::{library_page, nearest_word, word_listing, word_page};
pub use words::word_list;

/// What a script is read with.
pub struct Reading<'a> {
    /// The script's file as the person named it.
    pub file_name: &'a str,
    /// Where modules come from.
    pub modules: Arc<dyn Modules>,
    /// The metals table.
    pub metals: &'a dyn Fn(&str) -> Option<Metal>,
    /// The names in it.
    pub metal_names: &'a [String],
    /// Settings from outside: name and value; a value may be written `3/4`.
    pub overrides: &'a [(String, String)],
    /// Built-in modules: name and text.
    pub library: &'a [(&'a str, &'a str)],
    /// How far a facet may stand off the true curve (mm), in place of what the script says.
    pub facet_mm: Option<f64>,
}

/// What reading a script gives.
#[derive(Debug, Clone)]
pub struct Read {
    /// The part.
    pub part: Part,
    /// Every module file that was read.
    pub files: Vec<PathBuf>,
}

/// What reading a script gives where it fails.
#[derive(Debug, Clone)]
pub struct Unread {
    /// What is wrong, in the order of the script.
    pub faults: Faults,
    /// Every module file that was read, so that a change to one is seen.
    pub files: Vec<PathBuf>,
    /// Each file's text by the name that spans carry, for the faults' own lines.
    pub texts: BTreeMap<String, String>,
}

/// A stack that holds the deepest nesting that the limits allow.
const STACK_BYTES: usize = 64 << 20;

/// Reads a script.
///
/// # Errors
/// Every fault found, with the texts that its places lie in.
pub fn read(source: &str, reading: &Reading) -> Result<Read, Unread> {
    // Some editors put a mark before the text; it is no part of it.
    let source = source.strip_prefix('\u{feff}').unwrap_or(source);
    let shared = start(source, reading);
    let modules = Arc::clone(&reading.modules);
    let loader = Loader::new(shared.clone(), modules, reading.library, reading.file_name);
    let facet_mm = reading.facet_mm;
    let work = || {
        run(source, &shared, loader);
        finish(&mut lock(&shared), facet_mm);
    };
    std::thread::scope(|scope| {
        let thread = std::thread::Builder::new()
            .stack_size(STACK_BYTES)
            .spawn_scoped(scope, work);
        if thread.map_or(Ok(()), |t| t.join()).is_err() {
            lock(&shared).fault(
                Fault::new("this program failed while it read the script").hint(call::REPORT),
            );
        }
    });
    let mut state = lock(&shared);
    let files = std::mem::take(&mut state.files);
    if state.faults.is_empty() {
        let metal = state.part.metal.clone();
        return Ok(Read {
            part: std::mem::replace(&mut state.part, Part::new(metal)),
            files,
        });
    }
    let mut faults = std::mem::take(&mut state.faults);
    let main = state.main.clone();
    faults.sort_by_key(|f| order(f, &main));
    let text = |(file, text): (&String, &Arc<Text>)| (file.clone(), text.chars().iter().collect());
    Err(Unread {
        faults: Faults(faults),
        files,
        texts: state.texts.iter().map(text).collect(),
    })
}

/// Faults come in the order of the script's own lines.
fn order(fault: &Fault, main: &str) -> (bool, usize, usize) {
    let outermost = fault.calls.last().or(fault.span.as_ref());
    outermost.map_or((true, 0, 0), |s| {
        (&*s.file != main || s.line == 0, s.line, s.column)
    })
}

fn start(source: &str, reading: &Reading) -> Shared {
    let text = Arc::new(Text::new(reading.file_name, source));
    let table = reading
        .metal_names
        .iter()
        .filter_map(|n| Some((n.clone(), (reading.metals)(n)?)));
    let mut part =
        Part::new((reading.metals)(words::DEFAULT_METAL).unwrap_or_else(words::default_metal));
    part.findings = dash::dash_fractions(&text);
    Arc::new(Mutex::new(State {
        part,
        faults: Vec::new(),
        main: reading.file_name.to_string(),
        texts: BTreeMap::from([(reading.file_name.to_string(), text)]),
        files: Vec::new(),
        functions: Vec::new(),
        imports: Vec::new(),
        metals: table.collect(),
        overrides: reading.overrides.to_vec(),
        asked: BTreeSet::new(),
        length_at: None,
        said: Vec::new(),
        shrink_percent: None,
        unknown: BTreeSet::new(),
        stopped: false,
    }))
}

fn run(source: &str, shared: &Shared, loader: Loader) {
    let main = lock(shared).main.clone();
    let Some(text) = lock(shared).text(&main) else {
        return;
    };
    if text.chars().len() > limits::MOST_SCRIPT {
        let said = format!(
            "a script may be at most {} characters long",
            limits::MOST_SCRIPT
        );
        let mut state = lock(shared);
        state.stopped = true;
        return state.fault(Fault::new(said).at(text.span(&(0..1))));
    }
    let engine = engine::engine(shared, loader);
    let mut ast = match engine.compile(source) {
        Ok(ast) => ast,
        Err(error) => {
            let mut state = lock(shared);
            state.stopped = true;
            return state.fault(translate_parse::parse_fault(&text, &error));
        }
    };
    ast.set_source(main.as_str());
    if unknown::forbidden(&text, &mut lock(shared)) {
        lock(shared).stopped = true;
        return;
    }
    lock(shared).functions.push(Functions::of(&main, &text));
    if let Err(error) = engine.run_ast(&ast) {
        let mut state = lock(shared);
        if let Some(fault) = translate::fault(&error, &main, &state) {
            state.fault(fault);
        }
        // The rest of the script was not read, so nothing can be said of what it leaves out.
        state.stopped = true;
    }
}

/// What only the end of a script can tell.
fn finish(state: &mut State, facet_mm: Option<f64>) {
    if let Some(percent) = state.shrink_percent {
        state.part.metal.shrink_percent = percent;
    }
    if let Some(facet_mm) = facet_mm {
        state.part.facet_mm = facet_mm;
    }
    if state.stopped {
        return;
    }
    if state.said_at("part").is_none() {
        let span = Span {
            file: state.main.as_str().into(),
            line: 0,
            column: 0,
            length: 1,
        };
        let fault = Fault::new("the script never says which part it describes").at(span);
        state.fault(fault.hint("begin it with part(\"raw-water pump cover\");"));
    }
    unasked(state);
    if state.faults.is_empty() {
        let late = state.part.settle();
        late.into_iter().for_each(|f| state.fault(f));
    }
}

/// Settings from outside that the script doesn't have.
fn unasked(state: &mut State) {
    let known: Vec<String> = state.part.settings.iter().map(|s| s.name.clone()).collect();
    for (name, _) in state.overrides.clone() {
        if state.asked.contains(&name) {
            continue;
        }
        let fault = Fault::new(format!("the script has no setting \"{name}\""));
        let hints = say::did_you_mean(&name, known.iter().map(String::as_str));
        let fault = hints.into_iter().fold(fault, Fault::hint);
        state.fault(match known.is_empty() {
            true => fault.hint("it has no settings at all; one is made with setting(\"wall\", 5)"),
            false => fault.hint(format!("its settings: {}", known.join(", "))),
        });
    }
}
