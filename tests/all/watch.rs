//! Saves in every way that editors have, broken and mended scripts, and what must not end the watch.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::sleep;
use std::time::{Duration, Instant};

use foamwright::fault::render_all;
use foamwright::shop::watch::{DeskId, Good, Outcome, Round, Shown, Told, Watch, WatchWish};
use foamwright::shop::{Bench, Stage, Wish, build_files, report_of};

use crate::served::{PATIENCE, block};

/// A page that has no settings of its own.
const ANY: u64 = 0;

struct Watched {
    dir: tempfile::TempDir,
    script: PathBuf,
    rounds: Arc<Mutex<Vec<Round>>>,
    watch: Watch,
}

fn watch_in(dir: tempfile::TempDir, script: PathBuf) -> Watched {
    let rounds: Arc<Mutex<Vec<Round>>> = Arc::default();
    let keeps = Arc::clone(&rounds);
    let wish = WatchWish {
        script: script.clone(),
        wish: Wish::default(),
        out: dir.path().join("out"),
    };
    let watch = Watch::start(wish, move |told| {
        if let Told::Round(round) = told {
            keeps.lock().unwrap().push((*round).clone());
        }
    });
    Watched {
        dir,
        script,
        rounds,
        watch: watch.unwrap(),
    }
}

fn watch(text: &str) -> Watched {
    let dir = tempfile::tempdir().unwrap();
    let script = dir.path().join("block.rhai");
    fs::write(&script, text).unwrap();
    watch_in(dir, script)
}

fn length(shown: &Shown) -> f64 {
    shown.good.as_deref().map_or(0.0, length_of)
}

fn length_of(good: &Good) -> f64 {
    good.build
        .stage(Stage::Finished)
        .map_or(0.0, |b| b.figures.high_mm.x - b.figures.low_mm.x)
}

impl Watched {
    #[track_caller]
    fn until(&self, what: &str, fits: impl Fn(&Shown) -> bool) -> Shown {
        self.until_at(ANY, what, fits)
    }

    /// The same of what one page sees.
    #[track_caller]
    fn until_at(&self, desk: DeskId, what: &str, fits: impl Fn(&Shown) -> bool) -> Shown {
        let end = Instant::now() + PATIENCE;
        loop {
            let shown = self.watch.shown(desk);
            if fits(&shown) {
                return shown;
            }
            assert!(
                Instant::now() < end,
                "{what} never came; length {}",
                length(&shown)
            );
            sleep(Duration::from_millis(3));
        }
    }

    #[track_caller]
    fn until_length(&self, want: f64) {
        self.until(&format!("a length of {want}"), |s| {
            length(s) == want && s.broken.is_none()
        });
    }

    /// Waits until so many builds have ended, files and all.
    #[track_caller]
    fn until_rounds(&self, count: usize) {
        self.until(&format!("round {count}"), |_| self.rounds() >= count);
    }

    /// Waits until a build of this length has ended as the last one. What is shown is not yet proved, and a save in
    /// between goes before the proof: the round of the older build then never ends.
    #[track_caller]
    fn until_ended(&self, want: f64) -> Round {
        let last = || self.rounds.lock().unwrap().last().cloned();
        let is = |r: &Round| matches!(&r.outcome, Outcome::Good(good) if length_of(good) == want);
        self.until(&format!("a round of length {want}"), |_| {
            last().as_ref().is_some_and(is)
        });
        last().unwrap()
    }

    fn rounds(&self) -> usize {
        self.rounds.lock().unwrap().len()
    }
}

fn faults(shown: &Shown) -> String {
    shown.broken.as_ref().map_or_else(String::new, |b| {
        render_all(&b.failure.faults, &|f| b.failure.texts.get(f).cloned())
    })
}

/// A way to save.
type Save = fn(&Path, &str);

fn beside_and_renamed(path: &Path, text: &str) {
    let beside = path.with_extension("tmp~");
    fs::write(&beside, text).unwrap();
    fs::rename(&beside, path).unwrap();
}

fn truncated_and_written_twice(path: &Path, text: &str) {
    fs::write(path, "").unwrap();
    sleep(Duration::from_millis(60));
    fs::write(path, &text[..text.len() / 2]).unwrap();
    fs::write(path, text).unwrap();
}

fn deleted_and_restored(path: &Path, text: &str) {
    fs::remove_file(path).unwrap();
    sleep(Duration::from_millis(60));
    fs::write(path, text).unwrap();
}

fn old_one_moved_away(path: &Path, text: &str) {
    fs::rename(path, path.with_extension("bak")).unwrap();
    fs::write(path, text).unwrap();
    fs::remove_file(path.with_extension("bak")).unwrap();
}

const SAVES: [(&str, Save); 5] = [
    ("written over", |path, text| fs::write(path, text).unwrap()),
    ("beside and renamed", beside_and_renamed),
    ("truncated and written twice", truncated_and_written_twice),
    ("deleted and restored", deleted_and_restored),
    ("old one moved away", old_one_moved_away),
];

#[test]
fn each_way_that_editors_save_is_seen() {
    let watched = watch(&block(40.0));
    watched.until_ended(40.0);
    let mut length = 40.0;
    for round in 0..2 {
        for (way, save) in SAVES {
            length += 1.0;
            save(&watched.script, &block(length));
            watched.until(&format!("{way}, round {round}"), |s| {
                self::length(s) == length
            });
        }
    }
    watched.until_ended(length);
    assert!(
        watched.rounds.lock().unwrap()[1..]
            .iter()
            .all(|r| r.file.is_some())
    );
}

/// A file that is empty or away for a moment is not taken for the script.
#[test]
fn half_a_save_is_not_built() {
    let watched = watch(&block(40.0));
    watched.until_rounds(1);
    for (i, (_, save)) in SAVES.into_iter().enumerate() {
        save(&watched.script, &block(50.0 + i as f64));
        watched.until_length(50.0 + i as f64);
        watched.until_rounds(i + 2);
    }
    let rounds = watched.rounds.lock().unwrap();
    let broken: Vec<_> = rounds
        .iter()
        .filter(|r| matches!(r.outcome, Outcome::Broken(_)))
        .collect();
    assert!(broken.is_empty(), "{broken:?}");
}

#[test]
fn a_burst_of_saves_is_few_builds_and_the_last_one_counts() {
    let watched = watch(&block(40.0));
    watched.until_rounds(1);
    for i in 0..50 {
        fs::write(&watched.script, block(100.0 + f64::from(i))).unwrap();
    }
    watched.until_length(149.0);
    assert!(
        watched.rounds() < 25,
        "{} builds for 50 saves at once",
        watched.rounds()
    );
}

#[test]
fn a_save_that_changes_nothing_builds_nothing() {
    let watched = watch(&block(40.0));
    watched.until_rounds(1);
    for _ in 0..5 {
        beside_and_renamed(&watched.script, &block(40.0));
        sleep(Duration::from_millis(50));
    }
    fs::write(&watched.script, block(41.0)).unwrap();
    watched.until_length(41.0);
    watched.until_rounds(2);
    assert_eq!(watched.rounds(), 2);
}

const WITH_MODULE: &str = "part(\"block\");\nimport \"sizes\" as sizes;\n\
    slab(\"body\", #{ outline: rect(sizes::length(), 30), height: 10 });\n";

fn sizes(length: u32) -> String {
    format!("fn length() {{ {length} }}\n")
}

#[test]
fn modules_are_watched_too() {
    let dir = tempfile::tempdir().unwrap();
    let script = dir.path().join("block.rhai");
    fs::write(&script, WITH_MODULE).unwrap();
    let watched = watch_in(dir, script);
    let folder = watched.dir.path();
    // It isn't there yet; then it comes, in a folder that isn't there yet either.
    let shown = watched.until("the missing module", |s| s.broken.is_some());
    assert!(faults(&shown).contains("sizes"), "{}", faults(&shown));
    fs::create_dir(folder.join("library")).unwrap();
    fs::write(folder.join("library/sizes.rhai"), sizes(40)).unwrap();
    watched.until_length(40.0);
    beside_and_renamed(&folder.join("library/sizes.rhai"), &sizes(41));
    watched.until_length(41.0);
    // One beside the script comes before the one in the library folder.
    fs::write(folder.join("sizes.rhai"), sizes(42)).unwrap();
    watched.until_length(42.0);
    fs::remove_file(folder.join("sizes.rhai")).unwrap();
    watched.until_length(41.0);
    let last = watched.until_ended(41.0);
    assert!(last.file.is_some_and(|f| f.contains("sizes")));
}

#[cfg(unix)]
#[test]
fn a_link_is_followed_and_may_be_turned() {
    use std::os::unix::fs::symlink;
    let dir = tempfile::tempdir().unwrap();
    let (here, there) = (dir.path().join("here"), dir.path().join("there"));
    fs::create_dir(&here).unwrap();
    fs::create_dir(&there).unwrap();
    fs::write(there.join("a.rhai"), block(40.0)).unwrap();
    fs::write(there.join("b.rhai"), block(50.0)).unwrap();
    let script = here.join("block.rhai");
    symlink(there.join("a.rhai"), &script).unwrap();
    let watched = watch_in(dir, script.clone());
    watched.until_length(40.0);
    beside_and_renamed(&there.join("a.rhai"), &block(41.0));
    watched.until_length(41.0);
    // Turned by a rename, as tools do that want no moment without it.
    symlink(there.join("b.rhai"), here.join("next")).unwrap();
    fs::rename(here.join("next"), &script).unwrap();
    watched.until_length(50.0);
    fs::write(there.join("b.rhai"), block(51.0)).unwrap();
    watched.until_length(51.0);
    fs::remove_file(&script).unwrap();
    symlink(there.join("a.rhai"), &script).unwrap();
    watched.until_length(41.0);
}

#[test]
fn a_folder_may_vanish_and_come_back() {
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("parts");
    fs::create_dir(&folder).unwrap();
    let script = folder.join("block.rhai");
    fs::write(&script, block(40.0)).unwrap();
    let watched = watch_in(dir, script.clone());
    watched.until_length(40.0);
    fs::remove_dir_all(&folder).unwrap();
    let shown = watched.until("the loss", |s| s.broken.is_some());
    assert!(
        faults(&shown).contains("no such file"),
        "{}",
        faults(&shown)
    );
    assert_eq!(length(&shown), 40.0);
    fs::create_dir(&folder).unwrap();
    fs::write(&script, block(41.0)).unwrap();
    watched.until_length(41.0);
    // And the new folder is watched as the old one was.
    for i in 0..3 {
        fs::rename(&folder, watched.dir.path().join("away")).unwrap();
        fs::create_dir(&folder).unwrap();
        fs::write(&script, block(50.0 + f64::from(i))).unwrap();
        watched.until_length(50.0 + f64::from(i));
        fs::remove_dir_all(watched.dir.path().join("away")).unwrap();
    }
}

#[test]
fn broken_then_mended() {
    let watched = watch(&block(40.0));
    watched.until_rounds(1);
    let files = || fs::read(watched.dir.path().join("out/pattern.stl")).unwrap();
    let good = files();
    for (i, broken) in [
        "",
        "part(",
        "part(\"x\");",
        "slab(\"a\", #{});\u{0}",
        "\u{feff}",
    ]
    .into_iter()
    .enumerate()
    {
        fs::write(&watched.script, broken).unwrap();
        let shown = watched.until(broken, |s| s.broken.is_some());
        assert_eq!(length(&shown), 40.0 + i as f64, "the last good one stays");
        if i == 0 {
            assert!(files() == good, "the files stay");
        }
        fs::write(&watched.script, block(41.0 + i as f64)).unwrap();
        watched.until_length(41.0 + i as f64);
    }
    fs::write(&watched.script, [0xff, 0xfe, 0x00]).unwrap();
    let shown = watched.until("no text", |s| s.broken.is_some());
    assert!(
        faults(&shown).contains("isn't a text file"),
        "{}",
        faults(&shown)
    );
}

#[test]
fn an_out_folder_that_cannot_be_written_is_told_and_tried_again() {
    let watched = watch(&block(40.0));
    watched.until_rounds(1);
    let out = watched.dir.path().join("out");
    fs::remove_dir_all(&out).unwrap();
    fs::write(&out, "in the way").unwrap();
    fs::write(&watched.script, block(41.0)).unwrap();
    let shown = watched.until("the trouble", |s| s.trouble.is_some());
    assert_eq!(length(&shown), 41.0, "the page has it all the same");
    assert!(
        shown
            .trouble
            .unwrap()
            .text
            .contains("a file stands where a folder is needed")
    );
    watched.until_rounds(2);
    assert!(watched.rounds.lock().unwrap()[1].trouble.is_some());
    fs::remove_file(&out).unwrap();
    fs::write(&watched.script, block(42.0)).unwrap();
    watched.until_rounds(3);
    assert!(watched.watch.shown(ANY).trouble.is_none());
    assert!(out.join("pattern.stl").is_file());
    // A folder that vanished is simply made again.
    fs::remove_dir_all(&out).unwrap();
    fs::write(&watched.script, block(43.0)).unwrap();
    watched.until_rounds(4);
    assert!(out.join("pattern.stl").is_file());
}

/// What was built a moment ago isn't built again: the very same meshes are shown.
#[test]
fn an_undo_is_free() {
    let watched = watch(&block(40.0));
    watched.until_length(40.0);
    let solid = |shown: &Shown| {
        let good = shown.good.as_ref().unwrap();
        Arc::clone(&good.build.stage(Stage::Pattern).unwrap().solid)
    };
    // A build is kept whole only once it is proved; and a save before it has ended would take its round away.
    watched.until_ended(40.0);
    let first = solid(&watched.watch.shown(ANY));
    fs::write(&watched.script, block(41.0)).unwrap();
    // Saved sooner, the next text would go before the proof of this one, and its round would never end.
    watched.until_rounds(2);
    fs::write(&watched.script, block(40.0)).unwrap();
    watched.until_length(40.0);
    let shown = watched.watch.shown(ANY);
    assert!(Arc::ptr_eq(&first, &solid(&shown)));
    assert_eq!(shown.good.unwrap().number, 3);
    // And the files are those of the first build again.
    watched.until_rounds(3);
    let built = Bench::new()
        .build(&watched.script, &Wish::default(), &|_| {})
        .unwrap();
    let report = report_of(&built, &watched.script, false);
    for (output, _) in build_files(&built, &report) {
        let mut bytes = Vec::new();
        (output.contents)(&mut bytes).unwrap();
        assert!(fs::read(watched.dir.path().join("out").join(&output.name)).unwrap() == bytes);
    }
}

/// A panic in the middle of a build, as the kernel could have one.
#[test]
fn a_panic_is_an_error_of_one_build() {
    let dir = tempfile::tempdir().unwrap();
    let script = dir.path().join("block.rhai");
    fs::write(&script, block(40.0)).unwrap();
    let panics = Arc::new(AtomicBool::new(true));
    let strikes = Arc::clone(&panics);
    let wish = WatchWish {
        script: script.clone(),
        wish: Wish::default(),
        out: dir.path().join("out"),
    };
    let watch = Watch::start(wish, move |told| {
        if let Told::Step(_, Some("joining them")) = told {
            assert!(!strikes.load(Ordering::SeqCst), "struck on purpose");
        }
    });
    let watched = Watched {
        dir,
        script,
        rounds: Arc::default(),
        watch: watch.unwrap(),
    };
    let shown = watched.until("the failure", |s| s.broken.is_some());
    assert!(
        faults(&shown).contains("struck on purpose"),
        "{}",
        faults(&shown)
    );
    panics.store(false, Ordering::SeqCst);
    fs::write(&watched.script, block(41.0)).unwrap();
    watched.until_length(41.0);
}

#[test]
fn a_save_during_a_build_drops_what_is_stale() {
    let dir = tempfile::tempdir().unwrap();
    let script = dir.path().join("block.rhai");
    fs::write(&script, block(40.0)).unwrap();
    let (saves, shows) = (
        Arc::new(AtomicUsize::new(0)),
        Arc::new(Mutex::new(Vec::new())),
    );
    let (counts, notes, saved) = (Arc::clone(&saves), Arc::clone(&shows), script.clone());
    let wish = WatchWish {
        script: script.clone(),
        wish: Wish::default(),
        out: dir.path().join("out"),
    };
    let watch = Watch::start(wish, move |told| match told {
        // Twice, a save comes while the build before is joining its bodies.
        Told::Step(_, Some("joining them")) => {
            let n = counts.fetch_add(1, Ordering::SeqCst);
            if n < 2 {
                fs::write(&saved, block(50.0 + n as f64)).unwrap();
            }
        }
        Told::Round(round) => notes.lock().unwrap().push((*round).clone()),
        _ => {}
    });
    let watched = Watched {
        dir,
        script,
        rounds: shows,
        watch: watch.unwrap(),
    };
    watched.until_length(51.0);
    watched.until_rounds(1);
    assert_eq!(watched.rounds(), 1, "what came out stale is not shown");
    assert_eq!(watched.watch.shown(ANY).good.unwrap().number, 1);
    assert_eq!(saves.load(Ordering::SeqCst), 3);
}

/// A watch on a block of 40 in which something happens as its proof begins, late enough to be looked for; with what was
/// told since, in words.
fn with_proof_struck(
    strike: impl Fn(&Path) + Send + Sync + 'static,
) -> (Watched, Arc<Mutex<Vec<String>>>) {
    let dir = tempfile::tempdir().unwrap();
    let script = dir.path().join("block.rhai");
    fs::write(&script, block(40.0)).unwrap();
    let told_so_far: Arc<Mutex<Vec<String>>> = Arc::default();
    let rounds: Arc<Mutex<Vec<Round>>> = Arc::default();
    let (notes, ended, path) = (
        Arc::clone(&told_so_far),
        Arc::clone(&rounds),
        script.clone(),
    );
    let wish = WatchWish {
        script: script.clone(),
        wish: Wish::default(),
        out: dir.path().join("out"),
    };
    let struck = AtomicBool::new(false);
    let watch = Watch::start(wish, move |told| match told {
        Told::Step(None, Some("proving walls and reach"))
            if !struck.swap(true, Ordering::SeqCst) =>
        {
            strike(&path);
            sleep(Duration::from_millis(150));
        }
        Told::Shown(desk) => notes.lock().unwrap().push(format!("shown {desk:?}")),
        Told::Round(round) => {
            notes
                .lock()
                .unwrap()
                .push(format!("round {:?}", round.desk));
            ended.lock().unwrap().push((*round).clone());
        }
        _ => {}
    });
    let watched = Watched {
        dir,
        script,
        rounds,
        watch: watch.unwrap(),
    };
    (watched, told_so_far)
}

#[test]
fn a_save_during_the_proof_goes_before_it() {
    let (watched, _) = with_proof_struck(|script| fs::write(script, block(41.0)).unwrap());
    watched.until_ended(41.0);
    assert_eq!(watched.rounds(), 1, "the first build was never proved");
}

/// The last good build is still proved, and its line is not told after that of the broken script.
#[test]
fn a_broken_save_during_the_proof_leaves_it_to_end() {
    let (watched, _) = with_proof_struck(|script| fs::write(script, "slab(").unwrap());
    watched.until("the failure", |s| s.broken.is_some());
    let shown = watched.until("proved", |s| s.good.as_ref().is_some_and(|g| g.proved));
    assert_eq!(length(&shown), 40.0);
    let proved_after = watched.rounds.lock().unwrap().clone();
    assert_eq!(proved_after.len(), 1);
    assert!(matches!(proved_after[0].outcome, Outcome::Broken(_)));
}

#[test]
fn a_wish_of_a_page_goes_before_the_proof() {
    let (asks, asked) = std::sync::mpsc::channel();
    let asks = Mutex::new(asks);
    let (go, gone) = std::sync::mpsc::channel::<()>();
    let gone = Mutex::new(gone);
    let (watched, told) = with_proof_struck(move |_| {
        asks.lock().unwrap().send(()).unwrap();
        gone.lock().unwrap().recv().unwrap();
    });
    asked.recv().unwrap();
    watched
        .watch
        .set(7, vec![("length".to_string(), "55".to_string())]);
    go.send(()).unwrap();
    watched.until_rounds(2);
    let told = told.lock().unwrap();
    let first = |what: &str| told.iter().position(|t| t == what).unwrap();
    assert!(first("shown Some(7)") < first("round None"), "{told:?}");
    // And the script's own proof is done after it.
    assert_eq!(
        watched.watch.shown(7).good.as_deref().map(length_of),
        Some(55.0)
    );
    assert!(watched.watch.shown(ANY).good.unwrap().proved);
}

/// A page's wish that can't be built leaves it what it saw, and the proof of that.
#[test]
fn a_broken_wish_leaves_the_proof_of_the_last_good_one() {
    let watched = watch(&block(40.0));
    watched.until("proved", |s| s.good.as_ref().is_some_and(|g| g.proved));
    let wish = |length: &str| {
        let all = vec![("length".to_string(), length.to_string())];
        watched.watch.set(7, all);
    };
    wish("55");
    watched.until_at(7, "the wish", |s| length(s) == 55.0);
    wish("none");
    watched.until_at(7, "the failure", |s| s.broken.is_some());
    let shown = watched.until_at(7, "its proof", |s| {
        s.good.as_ref().is_some_and(|g| g.proved)
    });
    assert_eq!(length(&shown), 55.0);
    assert!(shown.broken.is_some());
}

/// The proof has the processor only when no other program wants it (19 is the least priority of a Linux thread, its
/// `nice` the 19th field of `/proc/PID/stat`: from memory, proc(5)).
#[cfg(target_os = "linux")]
#[test]
fn the_proof_gives_way_to_all_others() {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("scripts/pump-cover.rhai");
    let watched = watch(&fs::read_to_string(script).unwrap());
    let gives_way = || {
        fs::read_dir("/proc/self/task")
            .unwrap()
            .filter_map(|task| fs::read_to_string(task.ok()?.path().join("stat")).ok())
            .any(|stat| {
                // The name is the second field, and may have spaces.
                stat.rsplit_once(')').is_some_and(|(name, fields)| {
                    let nice = fields.split_whitespace().nth(19 - 3);
                    name.ends_with("(prover") && nice == Some("19")
                })
            })
    };
    watched.until("a proof of the least priority", |_| gives_way());
}

/// Edits in a chain with one bench, an undo among them: every file has the bytes of a cold build's.
#[test]
fn a_chain_of_edits_gives_the_files_of_a_cold_build() {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("scripts/pump-cover.rhai");
    let text = fs::read_to_string(&script).unwrap();
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("pump-cover.rhai");
    let edits = [
        ("", ""),
        ("setting(\"wall\", 6)", "setting(\"wall\", 7)"),
        ("setting(\"wall\", 6)", "setting(\"wall\", 6)"),
        ("dia: 16, height: 3", "dia: 17, height: 3"),
        ("disc(150)", "disc(152)"),
        ("", ""),
    ];
    let bytes = |bench: &mut Bench| {
        let build = bench.build(&path, &Wish::default(), &|_| {}).unwrap();
        let report = report_of(&build, &path, false);
        let mut all = Vec::new();
        for (output, size) in build_files(&build, &report) {
            let mut bytes = Vec::new();
            (output.contents)(&mut bytes).unwrap();
            assert_eq!(bytes.len() as u64, size, "{}", output.name);
            all.push((output.name, bytes));
        }
        all
    };
    let mut warm = Bench::new();
    for (i, (from, to)) in edits.into_iter().enumerate() {
        assert!(text.contains(from), "{from}");
        fs::write(&path, text.replacen(from, to, 1)).unwrap();
        assert!(bytes(&mut warm) == bytes(&mut Bench::new()), "edit {i}");
    }
}
