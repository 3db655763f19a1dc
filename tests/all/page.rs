//! The preview's page in a real browser, served by the real program: `tests/page/check_page.py` drives it.
//!
//! Without Python, its `playwright`, or a Chromium, the checks are skipped, loudly; with `CI` set that is a
//! failure. `FOAMWRIGHT_PYTHON` and `FOAMWRIGHT_CHROMIUM` name the ones to use.

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::Command;

/// What the checks need of Python.
const NEEDS: &str = "numpy, PIL, playwright";

/// Names that Chromium goes by.
const BROWSERS: [&str; 3] = ["chromium", "chromium-browser", "chrome"];

/// The most that the whole page may weigh (bytes).
const MOST_BYTES: u64 = 150_000;

fn folder() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

#[test]
fn the_page_does_in_a_browser_what_it_should() {
    let script = folder().join("tests/page/check_page.py");
    let (Some(python), Some(browser)) = (python(), browser()) else {
        let text = fs::read_to_string(&script).expect("the checks are there");
        let lists = text.split("CHECKS = [").skip(1);
        let count: usize = lists
            .map(|l| l.split(']').next().map_or(0, |l| l.matches(',').count()))
            .sum();
        let text = format!(
            "SKIPPED: {count} checks of the page, for want of Chromium or of a Python with {NEEDS} \
             (pip install -r tests/page/requirements.txt; FOAMWRIGHT_PYTHON and FOAMWRIGHT_CHROMIUM name the ones to use)"
        );
        // Written past the test harness, which would keep it to itself.
        let _ = writeln!(std::io::stderr(), "\n{text}\n");
        let ci = std::env::var("CI").is_ok_and(|v| v == "true");
        assert!(!ci, "{text}");
        return;
    };
    let program = env!("CARGO_BIN_EXE_foamwright");
    let done = Command::new(python)
        .arg("-B")
        .arg(script)
        .args([program, &browser])
        .output();
    let done = done.expect("Python starts");
    let said = String::from_utf8_lossy(&done.stdout);
    let _ = writeln!(
        std::io::stderr(),
        "\npage: {}",
        said.lines().last().unwrap_or("none")
    );
    let wrong = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{said}\n{wrong}");
}

#[test]
fn the_page_is_light_and_asks_nobody_else() {
    let mut bytes = 0;
    for entry in fs::read_dir(folder().join("src/preview/page")).expect("the page's folder") {
        let path = entry.expect("a file of the page").path();
        let text = fs::read_to_string(&path).expect("text");
        bytes += text.len() as u64;
        for scheme in ["http:", "https:", "//cdn", "@import", "eval("] {
            assert!(!text.contains(scheme), "{} has {scheme}", path.display());
        }
    }
    assert!(bytes < MOST_BYTES, "{bytes} bytes");
}

/// A Python that has what the checks need.
fn python() -> Option<String> {
    let named = std::env::var("FOAMWRIGHT_PYTHON").ok();
    let candidates = named.map_or_else(|| vec!["python3".into(), "python".into()], |p| vec![p]);
    candidates.into_iter().find(|python| {
        let asked = Command::new(python)
            .args(["-c", &format!("import {NEEDS}")])
            .output();
        asked.is_ok_and(|out| out.status.success())
    })
}

/// A Chromium, by its whole path.
fn browser() -> Option<String> {
    if let Ok(named) = std::env::var("FOAMWRIGHT_CHROMIUM") {
        return Some(named);
    }
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path)
        .flat_map(|folder| BROWSERS.map(|name| folder.join(name)))
        .find(|file| file.is_file())
        .map(|file| file.to_string_lossy().into_owned())
}
