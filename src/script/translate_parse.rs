//! Why the engine can't read a script, in plain words and with its place.

use rhai::{LexError, ParseError, ParseErrorType};

use crate::fault::Fault;
use crate::script::limits;
use crate::script::text::Text;

/// The fault of a script that the engine can't read.
pub fn parse_fault(text: &Text, error: &ParseError) -> Fault {
    let (said, hint) = parse_words(error.err_type());
    let position = error.position();
    let span = match (position.line(), position.position()) {
        (Some(line), Some(column)) if ends_before(error) => text.span_behind(line, column),
        (Some(line), Some(column)) => text.span_at(line, column.max(1)),
        (Some(line), None) => text.span_at(line, 1),
        _ => {
            let end = text.chars().len();
            text.span(&(end.saturating_sub(1)..end))
        }
    };
    let fault = Fault::new(said).at(span);
    hint.or_else(|| keys_hint(text, error))
        .into_iter()
        .fold(fault, Fault::hint)
}

/// What is often meant where a map's signs are mistyped.
fn keys_hint(text: &Text, error: &ParseError) -> Option<String> {
    let position = error.position();
    let at = text.index(position.line()?, position.position()?);
    let here = text.chars().get(at)?;
    let ParseErrorType::MissingToken(token, what) = error.err_type() else {
        return None;
    };
    match (token.as_str(), here) {
        (";", ':') => Some("a map of keys is written #{ key: value }, with a #".into()),
        (":", '=') => Some("a key is followed by a colon: key: value".into()),
        (",", _) if what.contains("map") => Some("keys are separated by commas".into()),
        _ => None,
    }
}

/// Whether the engine's place is that of what comes after the missing thing.
fn ends_before(error: &ParseError) -> bool {
    matches!(error.err_type(), ParseErrorType::MissingToken(token, _) if token == ";")
}

fn parse_words(error: &ParseErrorType) -> (String, Option<String>) {
    use ParseErrorType as P;
    let plain = |s: String| (s, None);
    match error {
        P::UnexpectedEOF => (
            "the script ends in the middle of something".into(),
            Some("is a bracket or a quote left open?".into()),
        ),
        P::MissingToken(token, what) => {
            plain(format!("`{token}` is missing here, {}", softened(what)))
        }
        P::MissingSymbol(what) => plain(format!("something is missing here: {}", softened(what))),
        P::BadInput(LexError::UnterminatedString) => {
            ("this text has no closing quote".into(), None)
        }
        P::BadInput(lex) => plain(format!(
            "this can't be read: {}",
            softened(&lex.to_string())
        )),
        P::UnknownOperator(sign) => plain(format!("`{sign}` is not a sign that a script knows")),
        P::DuplicatedProperty(key) => plain(format!("the key `{key}` is given twice")),
        P::VariableExpected => (
            "a name is missing here".into(),
            Some("write let plate = …".into()),
        ),
        P::PropertyExpected => (
            "a key, or the name of a value, is missing here".into(),
            Some("a map is written #{ key: value, key: value }".into()),
        ),
        P::Reserved(word) => plain(format!(
            "`{word}` can't be used here: the script language keeps it for itself"
        )),
        P::FnDuplicatedDefinition(name, _) => {
            plain(format!("the function `{name}` is defined twice"))
        }
        P::WrongFnDefinition => {
            plain("a function must be defined at the outermost level, not inside a block".into())
        }
        P::AssignmentToConstant(name) => plain(format!("`{name}` is a const and can't be changed")),
        P::AssignmentToInvalidLHS(_) => (
            "nothing can be assigned to this".into(),
            Some("to compare, write ==".into()),
        ),
        P::MismatchedType(wanted, got) => plain(format!("this must be {wanted}, not {got}")),
        P::ExprExpected(what) => plain(format!("a value is missing here ({what})")),
        P::ExprTooDeep => plain("brackets or operators are nested too deep here".into()),
        P::LiteralTooLarge(what, most) => plain(format!(
            "this is too large: {} of a script may be at most {most}",
            softened(what)
        )),
        P::TooManyFunctions => plain(format!(
            "more than {} functions in one file",
            limits::MOST_FUNCTIONS
        )),
        other => plain(softened(&other.to_string())),
    }
}

/// The engine's own words with a small first letter, in the language's own terms.
pub(super) fn softened(text: &str) -> String {
    const TERMS: [(&str, &str); 5] = [
        ("object map literal", "map"),
        ("the property", "the key"),
        ("function call", "call of"),
        ("properties", "keys"),
        ("array literal", "list"),
    ];
    let mut letters = text.chars();
    let first = letters.next().into_iter().flat_map(char::to_lowercase);
    let small: String = first.chain(letters).collect();
    TERMS
        .iter()
        .fold(small, |text, (theirs, ours)| text.replace(theirs, ours))
}
