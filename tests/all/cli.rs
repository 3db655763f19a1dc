//! The command itself: what it prints where, what it writes, and its exit status (0 good, 1 built with a finding at
//! level stop, 2 can't be built).

use std::fs;
use std::io::Read;
use std::path::Path;
use std::process::{Command, Stdio};

/// What a run gave.
/// What a run of the command gave.
pub struct Ran {
    pub status: i32,
    pub out: String,
    pub err: String,
}

/// Runs the command in a folder.
pub fn run(folder: &Path, arguments: &[&str]) -> Ran {
    let output = Command::new(env!("CARGO_BIN_EXE_foamwright"))
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()
        .unwrap();
    Ran {
        status: output.status.code().expect("it ends by itself"),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

const BLOCK: &str = "part(\"block\");\nlet l = setting(\"length\", 40);\nlet bore = setting(\"bore\", 10);\n\
    let b = slab(\"body\", #{ outline: rect(l, 30), height: 10 });\n\
    bore(\"hole\", #{ into: b.top, dia: bore, through: true });\nmin_wall(0);\n";

fn folder_with(files: &[(&str, &str)]) -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    for (name, text) in files {
        fs::write(dir.path().join(name), text).unwrap();
    }
    dir
}

/// Names in a folder, in order.
fn names(folder: &Path) -> Vec<String> {
    let mut all: Vec<String> = fs::read_dir(folder)
        .unwrap_or_else(|e| panic!("{}: {e}", folder.display()))
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    all.sort();
    all
}

fn length_mm(report: &Path) -> f64 {
    let report: serde_json::Value = serde_json::from_slice(&fs::read(report).unwrap()).unwrap();
    let at = |key: &str| report["stages"]["finished"][key][0].as_f64().unwrap();
    at("high_mm") - at("low_mm")
}

#[test]
fn make_writes_its_files_and_sums_up() {
    let dir = folder_with(&[("block.rhai", BLOCK)]);
    let ran = run(dir.path(), &["make", "block.rhai"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{}", ran.out);
    let out = dir.path().join("out/block");
    assert_eq!(
        names(&out),
        [
            "casting.stl",
            "finished.stl",
            "pattern.3mf",
            "pattern.stl",
            "report.json",
            "sheet.html"
        ]
    );
    for piece in [
        "block",
        "40 x 30 x 10 mm",
        "kg of A356",
        "XPS type IV foam at 25 kg/m³",
        "no findings",
        "pattern.stl",
    ] {
        assert!(ran.out.contains(piece), "{piece} in\n{}", ran.out);
    }
}

#[test]
fn two_runs_write_the_same_bytes() {
    let dir = folder_with(&[("block.rhai", BLOCK)]);
    for out in ["one", "two"] {
        assert_eq!(
            run(dir.path(), &["make", "block.rhai", "--out", out]).status,
            0
        );
    }
    for name in names(&dir.path().join("one")) {
        let read = |out: &str| fs::read(dir.path().join(out).join(&name)).unwrap();
        assert!(read("one") == read("two"), "{name}");
    }
}

#[test]
fn settings_are_overridden_and_name_the_folder() {
    let dir = folder_with(&[("block.rhai", BLOCK)]);
    let ran = run(
        dir.path(),
        &[
            "make",
            "block.rhai",
            "--set",
            "length=3/4",
            "--set",
            "bore=1/8",
        ],
    );
    assert_eq!(ran.status, 0, "{}", ran.err);
    let made = names(&dir.path().join("out"));
    assert_eq!(made.len(), 1);
    assert!(made[0].starts_with("block-length-3"), "{made:?}");
    assert_eq!(
        length_mm(&dir.path().join("out").join(&made[0]).join("report.json")),
        0.75
    );
    let ran = run(dir.path(), &["make", "block.rhai", "--set", "lenght=4"]);
    assert_eq!(ran.status, 2);
    assert!(
        ran.err.contains("lenght") && ran.err.contains("length"),
        "{}",
        ran.err
    );
}

#[test]
fn each_row_of_a_table_is_a_build() {
    let table = "\u{feff}length, bore\n50, 10\n60, 3/8\n50, 10\n";
    let dir = folder_with(&[
        ("block.rhai", BLOCK),
        ("sizes.csv", table),
        ("empty.csv", "length\n"),
        ("odd.csv", "a,b\n1\n"),
    ]);
    let ran = run(dir.path(), &["make", "block.rhai", "--each", "sizes.csv"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let made = names(&dir.path().join("out"));
    assert_eq!(made.len(), 3, "{made:?}");
    let mut lengths: Vec<f64> = made
        .iter()
        .map(|n| length_mm(&dir.path().join("out").join(n).join("report.json")))
        .collect();
    lengths.sort_by(f64::total_cmp);
    assert_eq!(lengths, [50.0, 50.0, 60.0]);
    for bad in ["empty.csv", "odd.csv", "missing.csv"] {
        let ran = run(dir.path(), &["make", "block.rhai", "--each", bad]);
        assert!(
            ran.status == 2 && ran.err.contains(bad),
            "{bad}: {} {}",
            ran.status,
            ran.err
        );
    }
}

#[test]
fn prove_writes_nothing_and_json_is_the_report_alone() {
    let dir = folder_with(&[("block.rhai", BLOCK)]);
    let ran = run(dir.path(), &["prove", "block.rhai", "--json"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let report: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(report["part"], "block");
    assert_eq!(names(dir.path()), ["block.rhai"]);
    let made = run(
        dir.path(),
        &["make", "block.rhai", "--json", "--facet", "0.01"],
    );
    assert_eq!(made.out, ran.out);
    assert_eq!(
        fs::read_to_string(dir.path().join("out/block/report.json")).unwrap(),
        ran.out
    );
}

#[test]
fn a_finding_at_level_stop_ends_with_one() {
    let script =
        format!("{BLOCK}slab(\"lump\", #{{ outline: rect(5, 5).at(100, 0), height: 5 }});\n");
    let dir = folder_with(&[("lumps.rhai", &script)]);
    let ran = run(dir.path(), &["make", "lumps.rhai"]);
    assert_eq!(ran.status, 1, "{}", ran.err);
    assert!(ran.out.contains("stop loose-lump"), "{}", ran.out);
    assert!(
        dir.path().join("out/lumps/pattern.stl").is_file(),
        "it is built all the same"
    );
    assert_eq!(run(dir.path(), &["prove", "lumps.rhai"]).status, 1);
}

#[test]
fn faults_go_to_standard_error_and_end_with_two() {
    let dir = folder_with(&[(
        "bad.rhai",
        "part(\"x\");\nslab(\"a\", #{ outline: rect(1, 1), hight: 3 });\n",
    )]);
    fs::write(dir.path().join("bytes.rhai"), [0xff, 0xfe, 0x00]).unwrap();
    let ran = run(dir.path(), &["make", "bad.rhai"]);
    assert_eq!((ran.status, ran.out.as_str()), (2, ""));
    assert!(
        ran.err.contains("bad.rhai:2") && ran.err.contains("did you mean `height`"),
        "{}",
        ran.err
    );
    assert!(ran.err.contains('^'), "{}", ran.err);
    for (script, said) in [
        ("none.rhai", "no such file"),
        ("bytes.rhai", "isn't a text file"),
    ] {
        let ran = run(dir.path(), &["prove", script]);
        assert!(
            ran.status == 2 && ran.out.is_empty() && ran.err.contains(said),
            "{script}: {}",
            ran.err
        );
    }
    assert!(!dir.path().join("out").exists());
}

#[test]
fn a_script_that_fails_leaves_the_last_good_files() {
    let dir = folder_with(&[("block.rhai", BLOCK)]);
    assert_eq!(run(dir.path(), &["make", "block.rhai"]).status, 0);
    let file = dir.path().join("out/block/pattern.stl");
    let good = fs::read(&file).unwrap();
    fs::write(dir.path().join("block.rhai"), format!("{BLOCK}boss(\"torn")).unwrap();
    assert_eq!(run(dir.path(), &["make", "block.rhai"]).status, 2);
    assert!(fs::read(&file).unwrap() == good);
}

#[test]
fn an_out_folder_that_cannot_be_written_is_said() {
    let dir = folder_with(&[("block.rhai", BLOCK), ("taken", "a file")]);
    let ran = run(dir.path(), &["make", "block.rhai", "--out", "taken"]);
    assert_eq!((ran.status, ran.out.as_str()), (2, ""));
    assert!(
        ran.err.contains("taken") && ran.err.contains("--out"),
        "{}",
        ran.err
    );
}

#[test]
fn arguments_that_are_wrong_end_with_two() {
    let dir = folder_with(&[("block.rhai", BLOCK)]);
    let wrong: &[&[&str]] = &[
        &[],
        &["mkae"],
        &["make"],
        &["make", "block.rhai", "--set", "length"],
        &["make", "block.rhai", "--facet", "0"],
        &["make", "block.rhai", "--facet", "nan"],
        &["make", "block.rhai", "--port", "80"],
        &["watch", "nowhere.rhai"],
    ];
    for arguments in wrong {
        let ran = run(dir.path(), arguments);
        assert!(
            ran.status == 2 && ran.out.is_empty() && !ran.err.is_empty(),
            "{arguments:?}: {}",
            ran.status
        );
    }
    assert_eq!(run(dir.path(), &["--help"]).status, 0);
    assert_eq!(
        run(dir.path(), &["--version"]).out.trim(),
        concat!("foamwright ", env!("CARGO_PKG_VERSION"))
    );
}

#[test]
fn start_writes_a_script_that_builds_and_never_writes_over_one() {
    let dir = tempfile::tempdir().unwrap();
    assert_eq!(run(dir.path(), &["start", "my lever"]).status, 0);
    let made = names(dir.path());
    assert_eq!(made.len(), 1);
    let text = fs::read_to_string(dir.path().join(&made[0])).unwrap();
    assert!(
        text.contains("part(\"my lever\")") && text.contains("//"),
        "{text}"
    );
    let ran = run(dir.path(), &["make", &made[0]]);
    assert_eq!(ran.status, 0, "{}{}", ran.out, ran.err);
    fs::write(dir.path().join(&made[0]), "mine").unwrap();
    assert_eq!(run(dir.path(), &["start", "my lever"]).status, 2);
    assert_eq!(
        fs::read_to_string(dir.path().join(&made[0])).unwrap(),
        "mine"
    );
    assert_eq!(run(dir.path(), &["start", "../outside"]).status, 0);
    assert!(!dir.path().parent().unwrap().join("outside.rhai").exists());
}

#[test]
fn words_and_metals_answer_and_point_to_the_nearest() {
    let dir = tempfile::tempdir().unwrap();
    for (arguments, said) in [
        (vec!["words"], "slab"),
        (vec!["words", "boss"], "height"),
        (vec!["words", "bosses::tapped"], "tapped"),
        (vec!["metals"], "A356"),
        (vec!["metals", "356"], "2685"),
    ] {
        let ran = run(dir.path(), &arguments);
        assert!(
            ran.status == 0 && ran.err.is_empty() && ran.out.contains(said),
            "{arguments:?}: {}",
            ran.out
        );
    }
    for (arguments, said) in [(["words", "bos"], "boss"), (["metals", "A365"], "A356")] {
        let ran = run(dir.path(), &arguments);
        assert!(
            ran.status == 2 && ran.out.is_empty() && ran.err.contains(said),
            "{arguments:?}: {}",
            ran.err
        );
    }
}

/// `foamwright words | head -1`: the reader goes away, which is no error and no panic.
#[test]
fn a_broken_pipe_is_quiet() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_foamwright"))
        .arg("words")
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let mut said = String::new();
    child
        .stderr
        .take()
        .unwrap()
        .read_to_string(&mut said)
        .unwrap();
    assert_eq!((child.wait().unwrap().code(), said.as_str()), (Some(0), ""));
}

#[test]
fn picture_draws_views_side_by_side() {
    let dir = folder_with(&[("block.rhai", BLOCK)]);
    let size = |name: &str| {
        let file = fs::File::open(dir.path().join(name)).unwrap();
        let reader = png::Decoder::new(std::io::BufReader::new(file))
            .read_info()
            .unwrap();
        (reader.info().width, reader.info().height)
    };
    let ran = run(
        dir.path(),
        &["picture", "block.rhai", "--stage", "finished"],
    );
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let (width, height) = size("block.png");
    let ran = run(
        dir.path(),
        &[
            "picture",
            "block.rhai",
            "--view",
            "front,right,top",
            "--out",
            "three.png",
        ],
    );
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert_eq!(size("three.png"), (3 * width, height));
    for (option, value) in [("--view", "frnt"), ("--stage", "gated"), ("--view", "")] {
        let ran = run(
            dir.path(),
            &["picture", "block.rhai", option, value, "--out", "no.png"],
        );
        assert!(
            ran.status == 2 && ran.out.is_empty() && !ran.err.is_empty(),
            "{option} {value}"
        );
    }
    assert_eq!(names(dir.path()), ["block.png", "block.rhai", "three.png"]);
}
