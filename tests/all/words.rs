//! Every word: its example reads, its page is whole, its keys are all checked.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::script::{faults, read_alone, shown};
use foamwright::fault::{Level, render_all};
use foamwright::pattern::Stage;
use foamwright::script::{
    Key, Kind, Need, NoModules, Of, Word, library_page, nearest_word, word_list, word_listing,
    word_page,
};
use foamwright::shop::{Bench, Wish};

/// The keys of a word's map, with those of maps within it.
fn all_keys(word: &Word) -> Vec<&'static Key> {
    let mut found = Vec::new();
    let mut open: Vec<&'static Key> = word.takes.iter().collect();
    while let Some(key) = open.pop() {
        found.push(key);
        if let Kind::Map(keys) | Kind::NameOrMap(keys) | Kind::FlagOrMap(keys) = key.kind {
            open.extend(keys.all());
        }
    }
    found
}

#[test]
fn every_example_can_be_read() {
    for word in word_list() {
        if let Err(unread) = read_alone(word.example) {
            panic!(
                "the example of {}:\n{}\n{}",
                word.title(),
                word.example,
                shown(&unread)
            );
        }
        let said = match word.of {
            Of::Nothing => format!("{}(", word.name),
            Of::FeatureValue => format!(".{}", word.name),
            _ => format!(".{}(", word.name),
        };
        assert!(
            word.example.contains(&said),
            "the example of {} doesn't say {said}",
            word.title()
        );
    }
}

#[test]
fn every_example_can_be_built() {
    let wish = Wish::default();
    let mut wrong = Vec::new();
    for word in word_list() {
        // One bench for each: no example may lean on what another left behind.
        let built = Bench::new().build_text(
            word.example,
            "example.rhai",
            Arc::new(NoModules),
            &wish,
            &|_| {},
        );
        let told = match &built {
            Err(failure) => render_all(&failure.faults, &|file| failure.texts.get(file).cloned()),
            // An example that a practitioner would have to look at twice is no example; but what goes in from a side is
            // out of reach by its nature.
            Ok(build)
                if build
                    .findings
                    .iter()
                    .any(|f| f.level != Level::Note && f.code != "out-of-reach") =>
            {
                format!("{:?}", build.findings)
            }
            Ok(build) => match build.stage(Stage::Pattern) {
                Some(pattern) if pattern.figures.volume_mm3 > 0.0 => continue,
                _ => "the pattern is empty".into(),
            },
        };
        wrong.push(format!("{}:\n{}\n{told}", word.title(), word.example));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

#[test]
fn every_page_tells_every_key() {
    for word in word_list() {
        let page = word_page(&word.title()).unwrap_or_default();
        assert!(page.starts_with(&word.title()), "{page}");
        for key in all_keys(word).iter().filter(|k| k.name != "keys") {
            assert!(
                page.contains(&format!("{}:", key.name)),
                "{} is not on the page of {}",
                key.name,
                word.title()
            );
            assert!(page.contains(key.help), "{}", key.help);
            assert!(
                !key.kind.accepts().is_empty(),
                "{} says nothing of what it takes",
                key.name
            );
        }
        assert!(
            page.contains(word.example.lines().next().unwrap_or("?")),
            "{page}"
        );
    }
}

#[test]
fn titles_are_unique_and_listed() {
    let titles: BTreeSet<String> = word_list().iter().map(|w| w.title()).collect();
    assert_eq!(titles.len(), word_list().len());
    let listing = word_listing(&[]);
    for title in titles {
        assert!(
            listing
                .lines()
                .any(|l| l.split_whitespace().next() == Some(&title)),
            "{title}"
        );
    }
}

#[test]
fn every_word_refuses_an_unknown_key() {
    for word in word_list().iter().filter(|w| w.keys().is_some()) {
        let named = word.takes.len() > 1;
        let call = format!(
            "{}({}#{{ zzzz: 1 }});",
            word.name,
            if named { "\"n\", " } else { "" }
        );
        let faults = faults(&format!("part(\"p\");\n{call}"));
        let told = faults.0.iter().find(|f| f.text.contains("`zzzz`"));
        let span = told
            .and_then(|f| f.span.clone())
            .unwrap_or_else(|| panic!("{call}: {faults:?}"));
        assert_eq!(
            (span.line, span.column),
            (2, call.find("zzzz").unwrap_or(0) + 1),
            "{call}"
        );
        for key in word
            .keys()
            .into_iter()
            .flat_map(|k| k.all())
            .filter(|k| k.need == Need::Must)
        {
            let missing = faults
                .0
                .iter()
                .any(|f| f.text.contains(&format!("needs `{}`", key.name)));
            assert!(missing, "{} doesn't miss `{}`", word.name, key.name);
        }
    }
}

#[test]
fn every_word_refuses_arguments_that_make_no_sense() {
    for word in word_list().iter().filter(|w| w.of == Of::Nothing) {
        for arguments in [
            "",
            "Fn(\"x\")",
            "Fn(\"x\"), Fn(\"x\")",
            "1, 2, 3, 4, 5, 6, 7",
        ] {
            if arguments.is_empty() && word.takes.is_empty() {
                continue;
            }
            let read = read_alone(&format!("part(\"p\");\n{}({arguments});", word.name));
            let unread = read
                .err()
                .unwrap_or_else(|| panic!("{}({arguments}) is taken", word.name));
            let first = &unread.faults.0[0];
            assert_eq!(
                first.span.as_ref().map(|s| s.line),
                Some(2),
                "{}",
                shown(&unread)
            );
        }
    }
}

#[test]
fn pages_by_any_name() {
    assert!(word_page("corners").is_some_and(|p| p == word_page(".corners").unwrap_or_default()));
    let both = word_page("mirrored").unwrap_or_default();
    assert!(
        both.contains("mirrored(\"name\"") && both.contains("outline.mirrored(axis)"),
        "{both}"
    );
    assert!(word_page("nothing like it").is_none());
    assert_eq!(nearest_word("boos"), Some("boss"));
    assert_eq!(nearest_word("fillts"), Some("fillets"));
    assert_eq!(nearest_word("elephant"), None);
}

const BOSSES: &str = "// Bosses for screws.
// Sizes from nowhere.

// A boss with a tapped hole. It stands on `face`.
//
//   bosses::tapped(\"m8\", plate.top, [0, 0]);
fn tapped(name, face, at) {
    // not this
    boss(name, #{});
}

fn bare() { }

// Not for others.
private fn hidden() { }
";

#[test]
fn library_functions_have_pages() {
    let library = [("bosses", BOSSES)];
    let page = library_page("bosses::tapped", &library).unwrap_or_default();
    assert_eq!(
        page,
        "bosses::tapped(name, face, at)\n  A boss with a tapped hole. It stands on `face`.\n\n    bosses::tapped(\"m8\", plate.top, [0, 0]);\n"
    );
    assert_eq!(
        library_page("bosses::bare", &library).unwrap_or_default(),
        "bosses::bare()\n"
    );
    assert!(library_page("bosses::hidden", &library).is_none());
    assert!(library_page("bosses::none", &library).is_none());
    assert!(library_page("none", &library).is_none());
    let module = library_page("bosses", &library).unwrap_or_default();
    assert!(
        module.starts_with("Bosses for screws.\nSizes from nowhere.\n\nbosses::tapped("),
        "{module}"
    );
    assert!(module.contains("bosses::bare()"));
    let listing = word_listing(&library);
    assert!(
        listing.contains("bosses::tapped             A boss with a tapped hole\n"),
        "{listing}"
    );
}
