//! `watch`.

use std::io::Write;

use crate::cli::End;
use crate::cli::arguments::WatchArguments;
use crate::cli::show::{failed, fault, say};
use crate::fault::{Fault, Level, harmless};
use crate::preview::{Editor, Preview, PreviewWish};
use crate::shop::watch::{Good, Outcome, Round, Told, WatchWish};
use crate::shop::{Wish, out_folder};

/// `foamwright watch`.
pub fn watch(wish: &WatchArguments) -> End {
    let script = &wish.common.script;
    if let Err(error) = std::fs::metadata(script) {
        return fault(Fault::new(format!("{}: {error}", script.display())));
    }
    let editor = match wish.editor.as_deref().map(Editor::parse).transpose() {
        Ok(editor) => editor,
        Err(error) => {
            return fault(
                Fault::new(error.to_string())
                    .hint("write it as --editor 'code --goto {file}:{line}'"),
            );
        }
    };
    let asked = PreviewWish {
        watch: WatchWish {
            script: script.clone(),
            wish: Wish {
                overrides: wish.common.set.clone(),
                facet_mm: wish.common.facet,
                effort: Some(wish.effort.into()),
                ..Wish::default()
            },
            out: wish
                .out
                .clone()
                .unwrap_or_else(|| out_folder(script, &wish.common.set)),
        },
        port: wish.port,
        editor,
    };
    let preview = match Preview::start(asked, told) {
        Ok(preview) => preview,
        Err(trouble) => return fault(trouble),
    };
    say(&format!(
        "{}\nwatching {}; Ctrl-C ends\n",
        preview.url(),
        script.display()
    ));
    let _ = std::io::stdout().flush();
    if wish.open
        && let Err(trouble) = preview.open_page()
    {
        fault(trouble);
    }
    match preview.until_interrupted() {
        Ok(()) => End::Good,
        Err(trouble) => fault(trouble),
    }
}

fn told(told: &Told) {
    match told {
        Told::Round(round) => ended(round),
        Told::Slow(why) => say(&format!(
            "the system tells of no saves ({}); looking every second instead\n",
            harmless(why)
        )),
        Told::Step(..) | Told::Shown(_) | Told::Changed(_) => {}
    }
}

/// One line a build, and the errors below it where it failed.
fn ended(round: &Round) {
    let why = match (&round.file, round.desk) {
        (Some(file), _) => format!("{} saved", harmless(file)),
        (None, None) => "begun".to_string(),
        (None, Some(_)) => {
            let settings = round.overrides.iter();
            let settings: Vec<String> = settings.map(|(n, v)| format!("{n}={v}")).collect();
            format!("a page set {}", harmless(&settings.join(" ")))
        }
    };
    let (what, seconds) = match &round.outcome {
        Outcome::Good(good) => (sum(good), good.seconds),
        Outcome::Broken(broken) => ("not built".to_string(), broken.seconds),
    };
    say(&format!("{why}: {what}, {seconds:.2} s\n"));
    let _ = std::io::stdout().flush();
    if let Outcome::Broken(broken) = &round.outcome {
        failed(&broken.failure);
    }
    if let Some(trouble) = &round.trouble {
        fault(trouble.clone());
    }
}

/// What came of a good build.
fn sum(good: &Good) -> String {
    let counted: Vec<String> = [Level::Stop, Level::Look, Level::Note]
        .into_iter()
        .map(|level| {
            (
                level,
                good.build
                    .findings
                    .iter()
                    .filter(|f| f.level == level)
                    .count(),
            )
        })
        .filter(|(_, count)| *count > 0)
        .map(|(level, count)| format!("{count} {}", level.word()))
        .collect();
    if counted.is_empty() {
        "built, no findings".to_string()
    } else {
        format!("built, {}", counted.join(", "))
    }
}
