//! The server of `watch` as a page meets it, and as others do.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Instant;

use foamwright::preview::{Editor, EditorFault, Preview, PreviewWish};
use foamwright::shop::Wish;
use foamwright::shop::watch::WatchWish;
use serde_json::json;

use crate::served::{PATIENCE, Page, ask, block, length_mm, raw, token};

pub struct Served {
    pub dir: tempfile::TempDir,
    pub script: PathBuf,
    preview: Preview,
}

fn serve_with(name: &str, text: &str, editor: Option<Editor>) -> Served {
    serve_as(name, text, Wish::default(), editor)
}

pub fn serve_as(name: &str, text: &str, wish: Wish, editor: Option<Editor>) -> Served {
    let dir = tempfile::tempdir().unwrap();
    let script = dir.path().join(name);
    fs::write(&script, text).unwrap();
    let wish = PreviewWish {
        watch: WatchWish {
            script: script.clone(),
            wish,
            out: dir.path().join("out"),
        },
        port: 0,
        editor,
    };
    let preview = Preview::start(wish, |_| {}).unwrap();
    Served {
        dir,
        script,
        preview,
    }
}

pub fn serve(text: &str) -> Served {
    serve_with("block.rhai", text, None)
}

impl Served {
    pub fn port(&self) -> u16 {
        self.preview.port()
    }

    pub fn page(&self) -> Page {
        Page::load(self.port())
    }
}

#[test]
fn a_page_gets_its_state_meshes_and_files() {
    let served = serve(&block(40.0));
    let mut page = served.page();
    let state = page.until(|s| s["build"] == 1);
    assert_eq!(state["stale"], false);
    assert_eq!(state["errors"], json!([]));
    assert_eq!(
        (&state["part"], &state["script"]),
        (&json!("block"), &json!("block.rhai"))
    );
    assert_eq!(
        (&state["unit"], &state["metal"]),
        (&json!("mm"), &json!("A356"))
    );
    assert_eq!(state["size_mm"], json!([40.0, 30.0, 10.0]));
    let names: Vec<&str> = state["stages"]
        .as_array()
        .unwrap()
        .iter()
        .map(|s| s["name"].as_str().unwrap())
        .collect();
    assert_eq!(names, ["finished", "casting", "pattern"]);
    let feature = &state["features"][1];
    assert_eq!(
        feature["sizes"],
        json!([["dia", "10 mm"], ["depth", "through"]])
    );
    assert_eq!(
        (&feature["file"], &feature["line"]),
        (&json!("block.rhai"), &json!(5))
    );
    for stage in names {
        let mesh = page.get(&format!("/mesh/1/{stage}"));
        assert_eq!(mesh.status, 200);
        assert_eq!(&mesh.body[..4], b"FWM1");
    }
    // The files are those on disk, to the byte, and as long as the state says.
    for file in state["files"].as_array().unwrap() {
        let name = file["name"].as_str().unwrap();
        let got = page.get(file["url"].as_str().unwrap());
        assert_eq!(got.status, 200, "{name}");
        if let Some(bytes) = file["bytes"].as_u64() {
            assert_eq!(got.body.len() as u64, bytes, "{name}");
        }
        assert!(got.head.contains("attachment"), "{}", got.head);
        let end = Instant::now() + PATIENCE;
        let path = served.dir.path().join("out").join(name);
        while !path.exists() && Instant::now() < end {
            std::thread::yield_now();
        }
        assert!(fs::read(&path).unwrap() == got.body, "{name}");
    }
}

#[test]
fn every_answer_carries_the_policy() {
    let served = serve(&block(40.0));
    for target in ["/", "/page.js", "/page.css", "/mesh/1/finished", "/nothing"] {
        let got = ask(served.port(), "GET", target, &[], "");
        for line in [
            "content-security-policy: default-src 'none'; script-src 'self'; style-src 'self';",
            "x-content-type-options: nosniff",
            "x-frame-options: DENY",
        ] {
            assert!(got.head.contains(line), "{target}: {}", got.head);
        }
        assert!(!got.head.to_lowercase().contains("access-control-allow"));
    }
}

#[test]
fn a_foreign_host_or_origin_is_refused() {
    let served = serve(&block(40.0));
    let port = served.port();
    let get = |head: &str| {
        raw(
            port,
            format!("GET / HTTP/1.1\r\nConnection: close\r\n{head}\r\n").as_bytes(),
        )
        .status
    };
    for good in [
        format!("Host: 127.0.0.1:{port}\r\n"),
        format!("Host: localhost:{port}\r\n"),
        format!("Host: [::1]:{port}\r\n"),
        format!("Host: localhost:{port}\r\nOrigin: http://localhost:{port}\r\n"),
    ] {
        assert_eq!(get(&good), 200, "{good}");
    }
    for foreign in [
        String::new(),
        "Host: example.org\r\n".to_string(),
        format!("Host: example.org:{port}\r\n"),
        "Host: 127.0.0.1\r\n".to_string(),
        format!("Host: 127.0.0.1:{}\r\n", port ^ 1),
        format!("Host: 127.0.0.1.example.org:{port}\r\n"),
        format!("Host: localhost:{port}\r\nHost: example.org\r\n"),
        format!("Host: localhost:{port}\r\nOrigin: http://example.org\r\n"),
        format!("Host: localhost:{port}\r\nOrigin: https://localhost:{port}\r\n"),
        format!("Host: localhost:{port}\r\nOrigin: null\r\n"),
    ] {
        assert!([400, 403].contains(&get(&foreign)), "{foreign}");
    }
}

#[test]
fn nothing_is_told_or_done_without_a_token() {
    let served = serve(&block(40.0));
    let mut page = served.page();
    page.until(|s| s["build"] == 1);
    let port = served.port();
    for target in [
        "/events",
        "/mesh/1/finished",
        "/change/1/finished/added",
        "/file/1/finished.stl",
    ] {
        for query in ["", "?s=", "?s=0123456789abcdef0123456789abcdef", "?t=1"] {
            let got = ask(port, "GET", &format!("{target}{query}"), &[], "");
            assert_eq!(got.status, 403, "{target}{query}");
        }
    }
    let body = json!({ "settings": { "length": "99" } }).to_string();
    for head in [&[][..], &["X-Token: wrong"], &["X-Token: "]] {
        assert_eq!(ask(port, "POST", "/set", head, &body).status, 403);
    }
    // A token in the address, as a link or a form could send it, is no token for what acts.
    let in_address = format!("/set?s={}", page.token);
    assert_eq!(ask(port, "POST", &in_address, &[], &body).status, 403);
    // Every page load has its own.
    assert_ne!(token(port), token(port));
}

#[test]
fn no_path_leads_out() {
    let served = serve(&block(40.0));
    fs::write(served.dir.path().join("secret.txt"), "secret").unwrap();
    let mut page = served.page();
    page.until(|s| s["build"] == 1);
    for target in [
        "/file/1/..%2f..%2fsecret.txt",
        "/file/1/../../secret.txt",
        "/file/1/%2e%2e/secret.txt",
        "/file/1//etc/passwd",
        "/file/1/%00",
        "/file/1/%zz",
        "/file/1/%",
        "/file/1/finished.stl/x",
        "/file/1/block.rhai",
        "/file/2/finished.stl",
        "/file/-1/finished.stl",
        "/file/99999999999999999999999/finished.stl",
        "/file/1",
        "/mesh/1/gated",
        "/mesh/0/finished",
        "/mesh/1",
        "/mesh",
        "/change/1/finished/added",
        "/events/1",
    ] {
        assert_eq!(page.get(target).status, 404, "{target}");
    }
    let port = served.port();
    for target in [
        "/../Cargo.toml",
        "/page/../index.html",
        "/index.html",
        "//page.js/",
        "/%2e%2e/secret.txt",
        "/page.js%00",
    ] {
        assert_eq!(ask(port, "GET", target, &[], "").status, 404, "{target}");
    }
    for method in ["PUT", "DELETE", "OPTIONS", "POST", "TRACE"] {
        assert_eq!(ask(port, method, "/", &[], "").status, 405, "{method}");
    }
}

#[test]
fn what_is_too_large_or_no_json_is_refused() {
    let served = serve(&block(40.0));
    let mut page = served.page();
    page.until(|s| s["build"] == 1);
    let token = format!("X-Token: {}", page.token);
    let post = |body: &str| ask(served.port(), "POST", "/set", &[&token], body).status;
    assert_eq!(post("{"), 400);
    assert_eq!(post("[]"), 400);
    assert_eq!(post("{\"settings\": {\"length\": [1]}}"), 400);
    let long = format!("{{\"settings\": {{\"length\": \"{}\"}}}}", "1".repeat(2000));
    assert_eq!(post(&long), 400);
    assert_eq!(post(&" ".repeat(100_000)), 413);
    let head = format!("X-Long: {}", "x".repeat(100_000));
    let got = ask(served.port(), "GET", "/", &[&head], "").status;
    assert!([0, 400, 431].contains(&got), "{got}");
    // It is still there.
    assert_eq!(ask(served.port(), "GET", "/", &[], "").status, 200);
}

#[test]
fn idle_callers_leave_room_for_the_page() {
    let served = serve(&block(40.0));
    let port = served.port();
    let idle: Vec<_> = (0..200)
        .filter_map(|_| std::net::TcpStream::connect(("127.0.0.1", port)).ok())
        .collect();
    drop(idle);
    let end = Instant::now() + PATIENCE;
    while ask(port, "GET", "/", &[], "").status != 200 {
        assert!(Instant::now() < end, "the server never came back");
    }
}

/// No more than 64 connections are held at a time (the server's own limit): what comes over is closed unanswered, a page
/// that listens already goes on, and there is room again once some of them go.
#[test]
fn connections_over_the_limit_are_closed() {
    const MOST: usize = 64;
    let served = serve(&block(40.0));
    let port = served.port();
    let mut page = served.page();
    page.until(|s| s["build"] == 1);
    // One is the page's own stream of events.
    let mut held: Vec<_> = (1..MOST)
        .map(|_| std::net::TcpStream::connect(("127.0.0.1", port)).unwrap())
        .collect();
    let end = Instant::now() + PATIENCE;
    // The system takes a connection before the server does.
    while ask(port, "GET", "/", &[], "").status != 0 {
        assert!(Instant::now() < end, "the limit never holds");
    }
    fs::write(&served.script, block(50.0)).unwrap();
    page.until(|s| length_mm(s) > 49.0);
    held.truncate(MOST / 2);
    while ask(port, "GET", "/", &[], "").status != 200 {
        assert!(Instant::now() < end, "the server never came back");
    }
}

#[test]
fn a_setting_is_for_one_page_alone() {
    let served = serve(&block(40.0));
    let (mut one, mut other) = (served.page(), served.page());
    one.until(|s| s["build"] == 1);
    other.until(|s| s["build"] == 1);
    let on_disk = || fs::read(served.dir.path().join("out/report.json")).ok();
    let end = Instant::now() + PATIENCE;
    while on_disk().is_none() && Instant::now() < end {
        std::thread::yield_now();
    }
    let before = on_disk().unwrap();
    // The last of several wishes holds.
    for length in ["50", "60", "2-1/2 in"] {
        assert_eq!(
            one.post("/set", &json!({ "settings": { "length": length } }))
                .status,
            204
        );
    }
    let state = one.until(|s| length_mm(s) == 63.5);
    assert_eq!(state["settings"][0]["value"], "63.5");
    assert_eq!(state["settings"][0]["default"], "40");
    assert_eq!(
        state["settings"][0]["write"],
        "let l = setting(\"length\", 63.5);"
    );
    let number = state["build"].as_u64().unwrap();
    assert_eq!(one.get(&format!("/mesh/{number}/finished")).status, 200);
    assert_eq!(other.get(&format!("/mesh/{number}/finished")).status, 404);
    assert!(other.came().iter().all(|s| length_mm(s) == 40.0));
    assert!(
        on_disk().unwrap() == before,
        "a page's own settings are not written to disk"
    );
    // A save reaches both: one with its own length still.
    fs::write(
        &served.script,
        block(40.0).replace("height: 10", "height: 12"),
    )
    .unwrap();
    let high = |s: &serde_json::Value| s["size_mm"][2].as_f64() == Some(12.0);
    assert_eq!(length_mm(&other.until(high)), 40.0);
    assert_eq!(length_mm(&one.until(high)), 63.5);
    // A wrong value leaves the picture, and says what is wrong.
    one.post("/set", &json!({ "settings": { "length": "wide" } }));
    let state = one.until(|s| s["stale"] == true);
    assert!(
        state["errors"][0]["text"]
            .as_str()
            .unwrap()
            .contains("length"),
        "{state}"
    );
    assert_eq!(length_mm(&state), 63.5);
    // And back to the script's.
    one.post("/set", &json!({ "settings": {} }));
    let state = one.until(|s| s["stale"] == false);
    assert_eq!(length_mm(&state), 40.0);
}

#[test]
fn a_broken_save_leaves_the_picture_and_shows_the_line() {
    let served = serve(&block(40.0));
    let mut page = served.page();
    page.until(|s| s["build"] == 1);
    let broken = block(40.0).replace("height: 10", "heigth: 10");
    fs::write(&served.script, &broken).unwrap();
    let state = page.until(|s| s["stale"] == true);
    let error = &state["errors"][0];
    assert_eq!(
        (&error["file"], &error["line"]),
        (&json!("block.rhai"), &json!(4))
    );
    assert_eq!(error["source"], broken.lines().nth(3).unwrap());
    // The caret is under the very word.
    let (column, length) = (
        error["column"].as_u64().unwrap() as usize,
        error["length"].as_u64().unwrap() as usize,
    );
    let under: String = broken
        .lines()
        .nth(3)
        .unwrap()
        .chars()
        .skip(column - 1)
        .take(length)
        .collect();
    assert_eq!(under, "heigth");
    assert_eq!((&state["build"], length_mm(&state)), (&json!(1), 40.0));
    assert_eq!(page.get("/mesh/1/pattern").status, 200);
    fs::write(&served.script, block(41.0)).unwrap();
    let state = page.until(|s| s["stale"] == false);
    assert_eq!((&state["build"], length_mm(&state)), (&json!(2), 41.0));
    assert_eq!(state["errors"], json!([]));
}

#[test]
fn a_script_broken_from_the_start_is_shown_as_such() {
    let served = serve("part(\"x\");\nslab(");
    let mut page = served.page();
    let state = page.until(|s| s["stale"] == true);
    assert_eq!((&state["build"], &state["stages"]), (&json!(0), &json!([])));
    assert_eq!(state["script"], "block.rhai");
    fs::write(&served.script, block(40.0)).unwrap();
    assert_eq!(length_mm(&page.until(|s| s["build"] == 1)), 40.0);
}

/// Volumes of blocks: exact.
#[test]
fn what_changed_is_told_with_its_volume() {
    let served = serve(&block(40.0).replace("setting(\"bore\", 10)", "5"));
    let mut page = served.page();
    page.until(|s| s["build"] == 1);
    fs::write(
        &served.script,
        block(44.0).replace("setting(\"bore\", 10)", "5"),
    )
    .unwrap();
    let change = page.until_event("change", |c| c["build"] == 2);
    // Two millimetres at each end of a section of 30 x 10.
    let near = |value: &serde_json::Value, want: f64| (value.as_f64().unwrap() - want).abs() < 0.01;
    assert!(near(&change["added_mm3"], 4.0 * 30.0 * 10.0), "{change}");
    assert!(near(&change["removed_mm3"], 0.0), "{change}");
    assert_eq!(
        change["stages"]["finished"],
        json!({
            "added": true, "removed": false,
            "added_mm3": change["added_mm3"], "removed_mm3": change["removed_mm3"],
        })
    );
    let mesh = page.get("/change/2/finished/added");
    assert_eq!((mesh.status, &mesh.body[..4]), (200, &b"FWM1"[..]));
    assert_eq!(page.get("/change/2/finished/removed").status, 404);
    assert_eq!(page.get("/change/1/finished/added").status, 204, "gone");
    // The pattern is the casting grown by the shrink.
    let grown = change["stages"]["pattern"]["added_mm3"].as_f64().unwrap()
        / change["stages"]["casting"]["added_mm3"].as_f64().unwrap();
    assert!((grown - 1.013_f64.powi(3)).abs() < 1e-6, "{grown}");
}

#[test]
fn page_loads_are_bounded() {
    let served = serve(&block(40.0));
    let mut page = served.page();
    page.until(|s| s["build"] == 1);
    let idle = token(served.port());
    for _ in 0..40 {
        token(served.port());
    }
    // The one that listens has stayed; of those that don't, the oldest went.
    assert_eq!(page.get("/mesh/1/finished").status, 200);
    assert_eq!(
        ask(
            served.port(),
            "GET",
            &format!("/mesh/1/finished?s={idle}"),
            &[],
            ""
        )
        .status,
        403
    );
}

#[test]
fn an_editor_command_is_a_list_of_arguments() {
    let parsed = |command: &str| Editor::parse(command).map(|e| e.arguments("/a b/$x;\"'.rhai", 7));
    let file = "/a b/$x;\"'.rhai".to_string();
    assert_eq!(
        parsed("code --goto {file}:{line}").unwrap(),
        ["--goto".to_string(), format!("{file}:7")]
    );
    assert_eq!(
        parsed("'my editor' \"+{line}\" {file}").unwrap(),
        ["+7".to_string(), file.clone()]
    );
    assert_eq!(
        parsed("e  ''  'a b'c {file}").unwrap(),
        [String::new(), "a bc".to_string(), file]
    );
    // A name that looks like a place holder stays a name.
    let odd = Editor::parse("e {file} {line}")
        .unwrap()
        .arguments("/{line}/{file}", 3);
    assert_eq!(odd, ["/{line}/{file}", "3"]);
    assert_eq!(parsed(" "), Err(EditorFault::Empty));
    assert_eq!(parsed("e 'x {file}"), Err(EditorFault::OpenQuote));
    assert_eq!(parsed("e {line}"), Err(EditorFault::NoFile));
    assert_eq!(parsed("{file}"), Err(EditorFault::NoFile));
}

/// A program that writes down its arguments, one a line.
#[cfg(unix)]
fn notebook(folder: &Path) -> PathBuf {
    use std::os::unix::fs::PermissionsExt;
    let program = folder.join("note it.sh");
    let text = format!(
        "#!/bin/sh\nfor a in \"$@\"; do printf '%s\\n' \"$a\"; done > '{0}/part'\nmv '{0}/part' '{0}/noted'\n",
        folder.display()
    );
    fs::write(&program, text).unwrap();
    fs::set_permissions(&program, fs::Permissions::from_mode(0o755)).unwrap();
    program
}

#[cfg(unix)]
#[test]
fn the_editor_is_run_without_a_shell() {
    let tools = tempfile::tempdir().unwrap();
    let command = format!(
        "'{}' --at {{line}} {{file}}",
        notebook(tools.path()).display()
    );
    let name = "a b'\"$(touch x);&.rhai";
    let served = serve_with(name, &block(40.0), Some(Editor::parse(&command).unwrap()));
    let mut page = served.page();
    let state = page.until(|s| s["build"] == 1);
    assert_eq!(state["editor"], true);
    let file = state["features"][0]["file"].clone();
    assert_eq!(file, name);
    assert_eq!(
        page.post("/open", &json!({ "file": file, "line": 12 }))
            .status,
        204
    );
    let noted = tools.path().join("noted");
    let end = Instant::now() + PATIENCE;
    while !noted.exists() {
        assert!(Instant::now() < end, "the editor was never run");
        std::thread::yield_now();
    }
    let lines = fs::read_to_string(&noted).unwrap();
    assert_eq!(lines, format!("--at\n12\n{}\n", served.script.display()));
    for other in [
        "/etc/passwd",
        "../x.rhai",
        "",
        "library bosses",
        "out/report.json",
    ] {
        assert_eq!(
            page.post("/open", &json!({ "file": other, "line": 1 }))
                .status,
            404,
            "{other}"
        );
    }
    let without = serve(&block(40.0));
    let mut page = without.page();
    assert_eq!(page.until(|s| s["build"] == 1)["editor"], false);
    assert_eq!(
        page.post("/open", &json!({ "file": "block.rhai", "line": 1 }))
            .status,
        404
    );
}
