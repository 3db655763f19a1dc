//! One call of a word: its arguments are checked against the declaration, then the word runs, and a
//! refusal of the drawing becomes a fault at the key that it names.

use std::panic::AssertUnwindSafe;

use rhai::{Dynamic, EvalAltResult, NativeCallContext, Position};

use crate::drawing::Refusal;
use crate::fault::{Fault, Site};
use crate::script::declare::{Need, Of, Word};
use crate::script::find_key::{self, Step};
use crate::script::given::{KEYS, Values};
use crate::script::places;
use crate::script::reader::{Caret, Reader};
use crate::script::say::{is_broken, listed};
use crate::script::state::{Broken, MOST_FAULTS, Shared, State, lock};

/// What to do where the program itself failed.
pub const REPORT: &str =
    "other sizes, or another way to draw the same, may work; please report the script";

/// What a word gives.
pub type Answer = Result<Dynamic, Stop>;

/// Why a word gives nothing.
#[derive(Debug)]
pub enum Stop {
    /// The drawing, or the word itself, refuses what it was given.
    Refused(Refusal),
    /// Whole faults of its own.
    Faults(Vec<Fault>),
    /// A value was broken by an earlier fault.
    Silent,
}

impl From<Refusal> for Stop {
    fn from(refusal: Refusal) -> Stop {
        Stop::Refused(refusal)
    }
}

/// What a running word has.
pub struct Call<'a> {
    /// What words share.
    pub state: &'a mut State,
    /// Where the call stands.
    pub site: Site,
    /// Its checked arguments and keys.
    pub values: Values,
    /// What it is said of.
    pub of: Dynamic,
    /// Itself.
    pub word: &'static Word,
}

impl Call<'_> {
    /// The value of an argument that the check has found to be there.
    ///
    /// # Errors
    /// [`Stop::Silent`] where it is not, which only a wrong declaration can cause.
    pub fn must<T>(&self, value: Option<T>) -> Result<T, Stop> {
        debug_assert!(
            value.is_some(),
            "`{}` reads a key as another kind than it declares",
            self.word.name
        );
        value.ok_or(Stop::Silent)
    }
}

/// Runs a word. A faulty call gives [`Broken`] and lets the script go on.
///
/// # Errors
/// Only where so many faults were found that reading on is no use.
pub fn run(
    shared: &Shared,
    word: &'static Word,
    context: &NativeCallContext,
    arguments: &mut [&mut Dynamic],
) -> Result<Dynamic, Box<EvalAltResult>> {
    let mut state = lock(shared);
    let site = places::site(context, &state);
    let mut values: Vec<Dynamic> = arguments.iter().map(|a| a.flatten_clone()).collect();
    let of = if word.of == Of::Nothing {
        Dynamic::UNIT
    } else {
        values.remove(0)
    };
    // A panic below, in a kernel say, must not take the program down, nor hide what else is wrong.
    let guarded = AssertUnwindSafe(|| checked(&mut state, word, site.clone(), of, &values));
    let answer = std::panic::catch_unwind(guarded).unwrap_or_else(|_| {
        let said = format!(
            "this program failed at `{}`; that is no fault of the script",
            word.title()
        );
        Err(vec![Fault::new(said).from_site(&site).hint(REPORT)])
    });
    match answer {
        Ok(value) => Ok(value),
        Err(faults) => {
            faults.into_iter().for_each(|f| state.fault(f));
            enough(&state, context.call_position())?;
            Ok(Dynamic::from(Broken))
        }
    }
}

/// Stops a script that has too many faults.
fn enough(state: &State, position: Position) -> Result<(), Box<EvalAltResult>> {
    if state.faults.len() < MOST_FAULTS {
        return Ok(());
    }
    Err(EvalAltResult::ErrorTerminated(Dynamic::UNIT, position).into())
}

fn checked(
    state: &mut State,
    word: &'static Word,
    site: Site,
    of: Dynamic,
    arguments: &[Dynamic],
) -> Result<Dynamic, Vec<Fault>> {
    let title = word.title();
    let mut reader = Reader::new(state, &site, &title);
    count_arguments(&mut reader, word, arguments);
    let values = reader.arguments(word.takes, arguments);
    let broken = reader.broken || is_broken(&of) || arguments.iter().any(is_broken);
    let mut faults = std::mem::take(&mut reader.faults);
    if broken || !faults.is_empty() {
        faults.sort_by_key(|f| f.span.as_ref().map(|s| (s.line, s.column)));
        return Err(faults);
    }
    let mut call = Call {
        state,
        site: site.clone(),
        values,
        of,
        word,
    };
    match (word.run)(&mut call) {
        Ok(value) => Ok(value),
        Err(Stop::Silent) => Err(Vec::new()),
        Err(Stop::Faults(faults)) => Err(faults),
        Err(Stop::Refused(refusal)) => Err(vec![refused(state, word, &site, refusal)]),
    }
}

fn count_arguments(reader: &mut Reader, word: &Word, arguments: &[Dynamic]) {
    let needed = word.takes.iter().filter(|k| k.need == Need::Must).count();
    if (needed..=word.takes.len()).contains(&arguments.len()) {
        return;
    }
    let hint = format!("write {}", form(word));
    if arguments.len() > word.takes.len() {
        let extra = Step::Arg(word.takes.len());
        let text = format!(
            "`{}` takes {} here, not {}",
            word.title(),
            counted(word),
            arguments.len()
        );
        reader.within(extra, |r| r.fault(Caret::Value, text, vec![hint]));
        return;
    }
    let missing = word.takes[arguments.len()..]
        .iter()
        .filter(|k| k.need == Need::Must);
    let text = format!(
        "`{}` needs {}",
        word.title(),
        listed(missing.map(|k| k.name))
    );
    reader.fault(Caret::Word, text, vec![hint]);
}

fn counted(word: &Word) -> String {
    match word.takes.len() {
        0 => "nothing".into(),
        1 => "one value".into(),
        n => format!("{n} values"),
    }
}

/// How a word is written: `rect(l, w)`, `slab("name", #{ … })`.
pub fn form(word: &Word) -> String {
    let argument = |k: &crate::script::declare::Key| match k.name {
        KEYS => "#{ … }".to_string(),
        "name" => "\"name\"".to_string(),
        name if k.need == Need::May => format!("[{name}]"),
        name => name.to_string(),
    };
    let of = match word.of {
        Of::Nothing => "",
        Of::Outline => "outline.",
        Of::Points => "points.",
        Of::Feature | Of::FeatureValue => "feature.",
    };
    let arguments: Vec<String> = word.takes.iter().map(argument).collect();
    match word.of {
        Of::FeatureValue => format!("{of}{}", word.name),
        _ => format!("{of}{}({})", word.name, arguments.join(", ")),
    }
}

/// A refusal as a fault at the key or argument that it names.
fn refused(state: &mut State, word: &Word, site: &Site, refusal: Refusal) -> Fault {
    let mut reader = Reader::new(state, site, word.name);
    let path = refusal
        .key
        .map(|key| path_to(word, key))
        .unwrap_or_default();
    let span = span_of(&mut reader, &path);
    Fault {
        span: Some(span),
        text: refusal.text,
        hints: refusal.hints,
        calls: site.calls.clone(),
    }
}

/// The steps to an argument, a key, or a key of a key (`counterbore.dia`).
fn path_to(word: &Word, key: &str) -> Vec<Step> {
    if let Some(n) = word.takes.iter().position(|k| k.name == key) {
        return vec![Step::Arg(n)];
    }
    let map = word.takes.iter().position(|k| {
        matches!(
            k.kind,
            crate::script::declare::Kind::Map(_) | crate::script::declare::Kind::NameOrMap(_)
        )
    });
    let mut path = vec![Step::Arg(map.unwrap_or(0))];
    path.extend(key.split('.').map(|k| Step::Key(k.into())));
    path
}

/// The place of a value, or the word where the text doesn't hold all of the path.
fn span_of(reader: &mut Reader, path: &[Step]) -> crate::fault::Span {
    let text = reader.state.text(&reader.site.span.file);
    let word = reader.site.span.clone();
    let Some(text) = text.filter(|_| !path.is_empty()) else {
        return word;
    };
    let at = text.index(word.line, word.column);
    let found = find_key::find(&text, at, path);
    if found.whole {
        text.span(&found.value)
    } else {
        word
    }
}
