//! File names and the writing of files: what a failed or killed build leaves behind.

use std::fs;
use std::io::{self, Write};
use std::path::Path;

use foamwright::shop::{
    FileNames, Output, file_name, first_script, folder_names, out_folder, write_all,
};

fn plain(name: &str, text: &'static str) -> Output<'static> {
    Output {
        name: name.into(),
        contents: Box::new(move |to: &mut dyn Write| to.write_all(text.as_bytes())),
    }
}

/// Half of the bytes, then a full disk.
fn breaks(name: &str) -> Output<'static> {
    Output {
        name: name.into(),
        contents: Box::new(|to: &mut dyn Write| {
            to.write_all(b"half")?;
            Err(io::ErrorKind::StorageFull.into())
        }),
    }
}

fn listing(folder: &Path) -> Vec<(String, String)> {
    let mut all: Vec<(String, String)> = fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .map(|p| {
            (
                p.file_name().unwrap().to_string_lossy().into(),
                fs::read_to_string(&p).unwrap(),
            )
        })
        .collect();
    all.sort();
    all
}

fn pairs(all: &[(&str, &str)]) -> Vec<(String, String)> {
    all.iter()
        .map(|(n, t)| (n.to_string(), t.to_string()))
        .collect()
}

#[test]
fn files_are_written_and_written_over() {
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("deep/er");
    let written = write_all(&folder, &[plain("a", "one"), plain("b", "three")]).unwrap();
    assert_eq!(written.iter().map(|w| w.bytes).collect::<Vec<_>>(), [3, 5]);
    write_all(&folder, &[plain("a", "new")]).unwrap();
    assert_eq!(listing(&folder), pairs(&[("a", "new"), ("b", "three")]));
}

#[test]
fn a_build_that_fails_at_any_file_leaves_the_last_good_ones() {
    for bad in 0..3 {
        let dir = tempfile::tempdir().unwrap();
        let names = ["a", "b", "c"];
        let good: Vec<Output> = names.iter().map(|n| plain(n, "old")).collect();
        write_all(dir.path(), &good).unwrap();
        let next: Vec<Output> = (0..3)
            .map(|i| {
                if i == bad {
                    breaks(names[i])
                } else {
                    plain(names[i], "new")
                }
            })
            .collect();
        let fault = write_all(dir.path(), &next).unwrap_err();
        assert!(fault.text.contains("the disk is full"), "{}", fault.text);
        assert_eq!(
            listing(dir.path()),
            pairs(&[("a", "old"), ("b", "old"), ("c", "old")]),
            "file {bad}"
        );
    }
}

/// What a kill leaves is what lies on the disk while a file is being written: seen from inside the nth file.
#[test]
fn a_build_killed_half_way_leaves_the_last_good_files() {
    let dir = tempfile::tempdir().unwrap();
    let names = ["a", "b", "c"];
    let old: Vec<Output> = names.iter().map(|n| plain(n, "old")).collect();
    write_all(dir.path(), &old).unwrap();
    let looks = |name: &'static str| {
        let folder = dir.path().to_path_buf();
        Output {
            name: name.into(),
            contents: Box::new(move |to: &mut dyn Write| {
                to.write_all(b"new")?;
                for n in names {
                    assert_eq!(
                        fs::read_to_string(folder.join(n))?,
                        "old",
                        "{n} while {name} is written"
                    );
                }
                Ok(())
            }),
        }
    };
    let next: Vec<Output> = names.iter().map(|n| looks(n)).collect();
    write_all(dir.path(), &next).unwrap();
    assert_eq!(
        listing(dir.path()),
        pairs(&[("a", "new"), ("b", "new"), ("c", "new")])
    );
}

#[test]
fn leftovers_of_a_killed_build_are_no_hindrance() {
    let dir = tempfile::tempdir().unwrap();
    fs::write(
        dir.path().join("a.unfinished"),
        "a torn file that is longer than the new one",
    )
    .unwrap();
    write_all(dir.path(), &[plain("a", "new")]).unwrap();
    assert_eq!(listing(dir.path()), pairs(&[("a", "new")]));
}

#[test]
fn a_folder_that_cannot_be_made_is_said() {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("taken"), "a file").unwrap();
    for folder in ["taken", "taken/below"] {
        let fault = write_all(&dir.path().join(folder), &[plain("a", "x")]).unwrap_err();
        assert!(
            fault
                .text
                .contains("a file stands where a folder is needed"),
            "{}",
            fault.text
        );
        assert!(fault.hints[0].contains("--out"));
    }
    assert_eq!(
        fs::read_to_string(dir.path().join("taken")).unwrap(),
        "a file"
    );
}

/// A folder stands where a file must go: the move fails, and nothing is left lying about.
#[test]
fn a_file_that_cannot_be_moved_is_said() {
    let dir = tempfile::tempdir().unwrap();
    fs::create_dir(dir.path().join("b")).unwrap();
    assert!(write_all(dir.path(), &[plain("a", "x"), plain("b", "y")]).is_err());
    let left: Vec<_> = fs::read_dir(dir.path())
        .unwrap()
        .map(|e| e.unwrap().file_name())
        .collect();
    assert!(
        left.iter()
            .all(|n| !n.to_string_lossy().contains("unfinished")),
        "{left:?}"
    );
}

#[test]
fn names_stay_inside_their_folder() {
    let odd = [
        "../../etc/passwd",
        "..",
        ".",
        "",
        "/",
        "a/b",
        "a\\b",
        "c:\\x",
        ".hidden",
        "a\0b",
        "\u{202e}txt",
        "x\ny",
        "\"quoted\"",
        "<b>",
        "....//....",
        "-rf",
        "~",
        "$(x)",
        &"long".repeat(100),
    ];
    for name in odd {
        let made = file_name(name);
        let one = Path::new(&made).components().count() == 1;
        let plain = made
            .chars()
            .all(|c| c.is_alphanumeric() || ".-_".contains(c));
        assert!(
            one && plain && !made.starts_with(['.', '-']) && !made.contains(".."),
            "{name:?}: {made:?}"
        );
        assert!(made.len() <= 255, "{made}");
    }
    assert_eq!(file_name("pump-cover_2.1"), "pump-cover_2.1");
}

#[test]
fn clashes_are_numbered() {
    let mut names = FileNames::default();
    let made: Vec<String> = ["a b", "a/b", "A-B", "a-b-2", "c"]
        .iter()
        .map(|n| names.next(n))
        .collect();
    let mut apart: Vec<String> = made.iter().map(|n| n.to_lowercase()).collect();
    apart.sort();
    apart.dedup();
    assert_eq!(apart.len(), 5, "{made:?}");
    assert_eq!((made[0].as_str(), made[4].as_str()), ("a-b", "c"));
    assert_eq!(
        folder_names(&["x".into(), "x".into(), "x".into()]),
        ["x", "x-2", "x-3"]
    );
}

#[test]
fn folders_are_called_after_script_and_settings() {
    let folder = |sets: &[(&str, &str)]| {
        let sets: Vec<_> = sets
            .iter()
            .map(|(n, v)| (n.to_string(), v.to_string()))
            .collect();
        out_folder("scripts/lever.rhai".as_ref(), &sets)
    };
    assert_eq!(folder(&[]), Path::new("out/lever"));
    assert_eq!(folder(&[("bore", "20")]), Path::new("out/lever-bore-20"));
    assert_eq!(
        folder(&[("bore", "20"), ("arm", "1.5")]),
        Path::new("out/lever-bore-20-arm-1.5")
    );
    let climbing = folder(&[("bore", "../../3/4")]);
    assert_eq!(climbing.components().count(), 2, "{climbing:?}");
}

#[test]
fn the_first_script_takes_any_name() {
    for name in [
        "lever",
        "he said \"no\"",
        "back\\slash",
        "line\nfeed",
        "${x}",
        "`tick`",
    ] {
        let script = first_script(name);
        let build = foamwright::shop::Bench::new().build_text(
            &script,
            "first.rhai",
            std::sync::Arc::new(foamwright::script::NoModules),
            &foamwright::shop::Wish::default(),
            &|_| {},
        );
        let build = build.unwrap_or_else(|f| panic!("{name:?}: {:?}", f.faults));
        assert!(build.findings.is_empty(), "{name:?}: {:?}", build.findings);
    }
}
