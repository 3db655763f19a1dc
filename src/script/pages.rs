//! The word list and the page of each word, made from its declaration; and the pages of library
//! functions, made from the comment that stands above each in the module's text.

use std::fmt::Write;

use crate::script::call::form;
use crate::script::declare::{Group, Key, Keys, Kind, Need, Rule, Word};
use crate::script::given::KEYS;
use crate::script::names::Said;
use crate::script::nearest::nearest;
use crate::script::say::{either, listed};
use crate::script::text::Text;
use crate::script::words::word_list;

/// A function of a module, as its text has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Function {
    /// Its name.
    pub name: String,
    /// Its parameters.
    pub parameters: Vec<String>,
    /// The comment above it, without its slashes.
    pub about: Vec<String>,
}

/// The page of a word: what it does, how it is written, what it takes, an example. A word that is said of
/// a value may be asked for with or without its point.
pub fn word_page(name: &str) -> Option<String> {
    let bare = name.strip_prefix('.').unwrap_or(name);
    let words = || word_list().iter().filter(|w| w.title() == name);
    let found: Vec<_> = words()
        .chain(word_list().iter().filter(|w| w.name == bare))
        .collect();
    let mut pages: Vec<String> = Vec::new();
    for word in found {
        let page = page(word);
        if !pages.contains(&page) {
            pages.push(page);
        }
    }
    (!pages.is_empty()).then(|| pages.join("\n"))
}

/// The word nearest to one that isn't known.
pub fn nearest_word(name: &str) -> Option<&'static str> {
    nearest(name, word_list().iter().map(|w| w.name))
}

fn page(word: &Word) -> String {
    let mut out = format!("{}\n  {}\n\n{}\n", word.title(), form(word), word.does);
    let plain: Vec<&Key> = word.takes.iter().filter(|k| k.name != KEYS).collect();
    if !plain.is_empty() {
        out.push_str("\nTakes\n");
        plain.iter().for_each(|k| entry(&mut out, k, "  "));
    }
    if let Some(keys) = word.keys() {
        out.push_str("\nKeys\n");
        map(&mut out, keys, "  ");
    }
    let _ = write!(out, "\nExample\n{}", indented(word.example));
    out
}

fn entry(out: &mut String, key: &Key, indent: &str) {
    let need = if key.need == Need::Must {
        " (needed)"
    } else {
        ""
    };
    let name = format!("{}:", key.name);
    let accepts = match key.kind {
        Kind::Map(_) => "a map of the keys below".to_string(),
        kind => kind.accepts(),
    };
    let _ = writeln!(out, "{indent}{name:<14} {}{need}", key.help);
    let _ = writeln!(out, "{indent}{:<14} takes {accepts}", "");
    if let Kind::Map(keys) | Kind::FlagOrMap(keys) = key.kind {
        map(out, keys, &format!("{indent}    "));
    }
}

fn map(out: &mut String, keys: &Keys, indent: &str) {
    keys.all().for_each(|k| entry(out, k, indent));
    for rule in keys.rules {
        let text = match rule {
            Rule::One(names) => format!("one of {}", either(names)),
            Rule::Some(names) => format!("{}, or more than one", either(names)),
            Rule::AtMostOne(names) => format!("at most one of {}", listed(names.iter().copied())),
            Rule::Needs(a, b) => format!("`{a}` needs `{b}` beside it"),
        };
        let _ = writeln!(out, "{indent}- {text}");
    }
}

fn indented(script: &str) -> String {
    script
        .trim()
        .lines()
        .map(|l| format!("  {l}").trim_end().to_string() + "\n")
        .collect()
}

/// The list of all words, by group, one line each; `library` holds the built-in modules (name, text).
pub fn word_listing(library: &[(&str, &str)]) -> String {
    let mut out = String::new();
    for group in Group::ALL {
        let _ = writeln!(out, "{}", group.heading());
        for word in word_list().iter().filter(|w| w.group == group) {
            let _ = writeln!(out, "  {:<16} {}", word.title(), first_sentence(word.does));
        }
        out.push('\n');
    }
    out.push_str("Library modules (import \"bosses\" as bosses;)\n");
    for (module, source) in library {
        for function in functions(&Text::new(module, source)) {
            let title = format!("{module}::{}", function.name);
            let about = function.about.first().map_or("", |l| first_sentence(l));
            let _ = writeln!(out, "  {title:<26} {about}");
        }
    }
    out
}

fn first_sentence(text: &str) -> &str {
    text.split_inclusive(". ")
        .next()
        .unwrap_or(text)
        .trim_end()
        .trim_end_matches('.')
}

/// The page of a library module, or of one function of it (`bosses::tapped`).
pub fn library_page(name: &str, library: &[(&str, &str)]) -> Option<String> {
    let (module, wanted) = name
        .split_once("::")
        .map_or((name, None), |(m, f)| (m, Some(f)));
    let (_, source) = library.iter().find(|(m, _)| *m == module)?;
    let text = Text::new(module, source);
    let of_module = functions(&text);
    let of_module = of_module
        .iter()
        .filter(|f| wanted.is_none_or(|w| w == f.name));
    let pages: Vec<String> = of_module.map(|f| function_page(module, f)).collect();
    if pages.is_empty() {
        return None;
    }
    let head = if wanted.is_none() {
        head_comment(source)
    } else {
        String::new()
    };
    Some(format!("{head}{}", pages.join("\n")))
}

fn function_page(module: &str, function: &Function) -> String {
    let about: String = function
        .about
        .iter()
        .map(|l| format!("  {l}").trim_end().to_string() + "\n")
        .collect();
    format!(
        "{module}::{}({})\n{about}",
        function.name,
        function.parameters.join(", ")
    )
}

/// The comment at the head of a module, up to the first line that isn't one.
fn head_comment(source: &str) -> String {
    let lines = source.lines().take_while(|l| l.starts_with("//"));
    let text: String = lines.map(|l| uncommented(l) + "\n").collect();
    if text.is_empty() { text } else { text + "\n" }
}

fn uncommented(line: &str) -> String {
    let bare = line.trim_start().trim_start_matches('/');
    bare.strip_prefix(' ')
        .unwrap_or(bare)
        .trim_end()
        .to_string()
}

/// The functions that others may call, in the order of the text.
pub fn functions(text: &Text) -> Vec<Function> {
    let words = text.words().into_iter();
    let public = words.filter(|s| s.last == "fn" && s.before_last != "private");
    let function = |s: Said| Function {
        parameters: text
            .items(text.skip_blank(s.range.end))
            .iter()
            .map(|r| text.slice(r))
            .collect(),
        about: comment_above(text, s.range.start),
        name: s.word,
    };
    public.map(function).collect()
}

/// The lines of `//` right above the line that holds `at`.
fn comment_above(text: &Text, at: usize) -> Vec<String> {
    let before: String = text.chars()[..at].iter().collect();
    let mut lines: Vec<&str> = before.lines().collect();
    lines.pop();
    let above = lines
        .iter()
        .rev()
        .take_while(|l| l.trim_start().starts_with("//"));
    let mut about: Vec<String> = above.map(|l| uncommented(l)).collect();
    about.reverse();
    about
}

/// The imports of a file: the name that it uses, and the module.
pub fn imports(text: &Text) -> Vec<(String, String)> {
    let whole = 0..text.chars().len();
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(at) = text.find(&(from..whole.end), "import") {
        from = at + "import".len();
        let open = text.skip_blank(from);
        let Some(end) = text.past_opaque(open) else {
            continue;
        };
        let module = text.slice(&(open + 1..end.saturating_sub(1).max(open + 1)));
        let next = text.skip_blank(end);
        if text.slice(&(next..text.word_end(next))) == "as" {
            let name = text.skip_blank(next + 2);
            found.push((text.slice(&(name..text.word_end(name))), module));
        }
        from = end;
    }
    found
}
