//! The command `watch` itself: its lines, its end, and that it doesn't grow.

#![cfg(target_os = "linux")]

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::thread::sleep;
use std::time::{Duration, Instant};

use crate::served::{PATIENCE, Page, block, length_mm};

struct Running {
    child: Child,
    port: u16,
    lines: Arc<Mutex<Vec<String>>>,
}

fn run(folder: &Path, arguments: &[&str]) -> Running {
    let mut child = Command::new(env!("CARGO_BIN_EXE_foamwright"))
        .args(["watch", "block.rhai"])
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let lines: Arc<Mutex<Vec<String>>> = Arc::default();
    let streams: [Box<dyn std::io::Read + Send>; 2] = [
        Box::new(child.stdout.take().unwrap()),
        Box::new(child.stderr.take().unwrap()),
    ];
    for stream in streams {
        let keeps = Arc::clone(&lines);
        std::thread::spawn(move || {
            for line in BufReader::new(stream).lines().map_while(Result::ok) {
                keeps.lock().unwrap().push(line);
            }
        });
    }
    let mut running = Running {
        child,
        port: 0,
        lines,
    };
    let address = running.until_line("http://127.0.0.1:");
    let port = address
        .trim_start_matches("http://127.0.0.1:")
        .trim_end_matches('/');
    running.port = port.parse().unwrap();
    running
}

impl Running {
    fn until_line(&self, part: &str) -> String {
        let end = Instant::now() + PATIENCE;
        loop {
            let lines = self.lines.lock().unwrap().clone();
            if let Some(line) = lines.iter().find(|l| l.contains(part)) {
                return line.clone();
            }
            assert!(
                Instant::now() < end,
                "{part} never came in\n{}",
                lines.join("\n")
            );
            sleep(Duration::from_millis(5));
        }
    }

    fn open_files(&self) -> usize {
        fs::read_dir(format!("/proc/{}/fd", self.child.id()))
            .unwrap()
            .count()
    }

    /// Resident memory (MB).
    fn memory_mb(&self) -> f64 {
        let status = fs::read_to_string(format!("/proc/{}/status", self.child.id())).unwrap();
        let line = status.lines().find(|l| l.starts_with("VmRSS:")).unwrap();
        let kb: f64 = line.split_whitespace().nth(1).unwrap().parse().unwrap();
        kb / 1024.0
    }

    fn interrupt(mut self) -> Option<i32> {
        let sent = Command::new("kill")
            .args(["-INT", &self.child.id().to_string()])
            .status();
        assert!(sent.unwrap().success());
        let end = Instant::now() + PATIENCE;
        while Instant::now() < end {
            if let Some(status) = self.child.try_wait().unwrap() {
                return status.code();
            }
            sleep(Duration::from_millis(5));
        }
        let _ = self.child.kill();
        panic!("it doesn't end");
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn it_says_one_line_a_build_and_ends_cleanly() {
    let dir = tempfile::tempdir().unwrap();
    let script = dir.path().join("block.rhai");
    fs::write(&script, block(40.0)).unwrap();
    let running = run(dir.path(), &["--set", "bore=3/8"]);
    running.until_line("begun: built, no findings");
    assert!(dir.path().join("out").read_dir().unwrap().count() == 1);
    fs::write(&script, "part(").unwrap();
    running.until_line("block.rhai saved: not built");
    running.until_line("--> block.rhai:1");
    fs::write(&script, block(41.0)).unwrap();
    running.until_line("block.rhai saved: built, no findings");
    let mut page = Page::load(running.port);
    assert_eq!(length_mm(&page.until(|s| s["build"] == 2)), 41.0);
    assert_eq!(running.interrupt(), Some(0));
}

#[test]
fn arguments_that_cannot_be_met_end_it_with_two() {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("block.rhai"), block(40.0)).unwrap();
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    for (arguments, said) in [
        (vec!["nowhere.rhai"], "nowhere.rhai"),
        (vec!["block.rhai", "--port", &port], "can't be listened on"),
        (vec!["block.rhai", "--editor", "vi"], "{file}"),
    ] {
        let ran = Command::new(env!("CARGO_BIN_EXE_foamwright"))
            .arg("watch")
            .args(&arguments)
            .current_dir(dir.path())
            .output()
            .unwrap();
        assert_eq!(ran.status.code(), Some(2), "{arguments:?}");
        let err = String::from_utf8_lossy(&ran.stderr).into_owned();
        assert!(err.contains(said), "{err}");
    }
}

/// Two hundred saves in a row, in two manners: none makes the last one be missed, and neither open files nor memory grow.
#[test]
fn two_hundred_saves() {
    let dir = tempfile::tempdir().unwrap();
    let script = dir.path().join("block.rhai");
    fs::write(&script, block(40.0)).unwrap();
    let running = run(dir.path(), &[]);
    let mut page = Page::load(running.port);
    page.until(|s| s["build"] == 1);
    let mut early = (0, 0.0);
    for i in 1..=200_u32 {
        let length = 40.0 + f64::from(i);
        if i % 2 == 0 {
            fs::write(&script, block(length)).unwrap();
        } else {
            let beside = dir.path().join("beside");
            fs::write(&beside, block(length)).unwrap();
            fs::rename(&beside, &script).unwrap();
        }
        if i % 5 == 0 {
            let state = page.until(|s| length_mm(s) == length);
            let build = &state["build"];
            assert_eq!(page.get(&format!("/mesh/{build}/pattern")).status, 200);
        } else {
            sleep(Duration::from_millis(u64::from(i % 7) * 3));
        }
        if i == 60 {
            early = (running.open_files(), running.memory_mb());
        }
    }
    assert_eq!(length_mm(&page.state), 240.0);
    let late = (running.open_files(), running.memory_mb());
    println!("open files, memory: {early:?}, then {late:?}");
    // A request may be ending as they are counted.
    assert!(
        late.0 <= early.0 + 2,
        "open files: {early:?}, then {late:?}"
    );
    // Blocks take next to nothing; a build that is kept for good would show by far.
    assert!(late.1 <= early.1 + 24.0, "memory: {early:?}, then {late:?}");
    assert_eq!(running.interrupt(), Some(0));
}
