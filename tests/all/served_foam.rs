//! Foam pieces, glue-up and boards as a page gets them.

use std::fs;
use std::path::Path;

use foamwright::shop::{Effort, Wish};
use serde_json::{Value, json};

use crate::preview::{Served, serve, serve_as};
use crate::served::Page;

/// A block of 120 x 80 x 50 in two halves of which each fills a board, and a post glued on.
fn bearing_block() -> String {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/page/foam.rhai");
    fs::read_to_string(file).unwrap()
}

fn serve_laid(text: &str) -> Served {
    let wish = Wish {
        effort: Some(Effort::Quick),
        ..Wish::default()
    };
    serve_as("block.rhai", text, wish, None)
}

fn laid(page: &mut Page, build: u64) -> Value {
    page.until(|s| s["build"] == build && s["foam"]["boards"].is_array())
}

fn names(rows: &Value) -> Vec<&str> {
    let rows = rows.as_array().unwrap().iter();
    rows.map(|r| r["name"].as_str().unwrap()).collect()
}

#[test]
fn the_page_gets_what_the_bill_says() {
    let served = serve_laid(&bearing_block());
    let mut page = served.page();
    let state = laid(&mut page, 1);
    let foam = &state["foam"];
    assert_eq!(names(&foam["pieces"]), ["lower", "upper", "post"]);
    let bill: Value = serde_json::from_slice(&page.get("/file/1/bill.json").body).unwrap();
    for list in ["pieces", "steps"] {
        let (told, billed) = (&foam[list], bill[list].as_array().unwrap());
        assert_eq!(told.as_array().unwrap().len(), billed.len());
        for (told, billed) in told.as_array().unwrap().iter().zip(billed) {
            for (key, value) in billed.as_object().unwrap() {
                assert_eq!(&told[key], value, "{list}, {key}");
            }
        }
    }
    assert_eq!(foam["boards"], bill["boards"]);
    // The lower half and the post stand in lines of their own.
    assert_eq!(
        (&foam["pieces"][0]["file"], &foam["pieces"][0]["line"]),
        (&json!("block.rhai"), &json!(9))
    );
    assert_eq!(
        (&foam["pieces"][2]["file"], &foam["pieces"][2]["line"]),
        (&json!("block.rhai"), &json!(8))
    );
    assert_eq!(foam["pieces"][2]["features"][0], 1);
    // Two halves of 120 in 240 mm between the margins, 8 mm apart: two boards.
    assert_eq!(foam["boards"].as_array().unwrap().len(), 2);
    for board in 1..=2 {
        let name = format!("boards/board-{board}.svg");
        let got = page.get(&format!("/file/1/boards%2Fboard-{board}.svg"));
        assert_eq!(got.status, 200);
        assert!(
            got.head.contains("content-type: image/svg+xml"),
            "{}",
            got.head
        );
        assert!(
            got.text().contains("viewBox=\"0 0 260 100\""),
            "{}",
            got.text()
        );
        let files = state["files"].as_array().unwrap();
        let listed = files.iter().find(|f| f["name"] == name.as_str());
        assert_eq!(
            page.get(listed.unwrap()["url"].as_str().unwrap()).body,
            got.body
        );
    }
}

/// The view's bodies: volume of each by the divergence theorem, and its lowest and highest point in z.
fn bodies(bytes: &[u8]) -> Vec<(f64, [f64; 2])> {
    assert_eq!(&bytes[..4], b"FWM1");
    let u32_at = |at: usize| u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap()) as usize;
    let [nv, nt, ne] = [4, 8, 12].map(u32_at);
    let f = |at: usize| f64::from(f32::from_le_bytes(bytes[at..at + 4].try_into().unwrap()));
    let point = |v: usize| [0, 4, 8].map(|k| f(16 + 20 * v + k));
    let tail = 16 + 20 * nv + 12 * nt + 8 * ne;
    let counts: Vec<usize> = (tail..bytes.len()).step_by(4).map(u32_at).collect();
    assert_eq!(counts.iter().sum::<usize>(), nv);
    let mut first = 0;
    let mut out = Vec::new();
    for count in counts {
        let own = first..first + count;
        let mut volume = 0.0;
        for t in 0..nt {
            let corners = [0, 4, 8].map(|k| u32_at(16 + 20 * nv + 12 * t + k));
            if !own.contains(&corners[0]) {
                continue;
            }
            assert!(
                corners.iter().all(|c| own.contains(c)),
                "a triangle of two bodies"
            );
            let [a, b, c] = corners.map(point);
            volume += a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0])
                + a[2] * (b[0] * c[1] - b[1] * c[0]);
        }
        let heights = own.clone().map(|v| point(v)[2]);
        let ends = heights.fold([f64::INFINITY, f64::NEG_INFINITY], |[l, h], z| {
            [l.min(z), h.max(z)]
        });
        out.push((volume / 6.0, ends));
        first += count;
    }
    out
}

#[test]
fn pieces_come_as_bodies_in_the_patterns_place() {
    let served = serve(&bearing_block().replace("dowels(", "// dowels("));
    let mut page = served.page();
    let state = page.until(|s| s["build"] == 1 && s["foam"].is_object());
    let mesh = page.get("/mesh/1/pieces");
    assert_eq!(mesh.status, 200);
    let bodies = bodies(&mesh.body);
    // Three pieces, and the wax at the post's foot.
    assert_eq!(bodies.len(), 4);
    for (piece, (volume, ends)) in [(240_000.0, [0.0, 25.0]), (240_000.0, [25.0, 50.0])]
        .iter()
        .zip(&bodies)
    {
        assert!((volume - piece.0).abs() < 1e-3 * piece.0, "{volume}");
        assert!(
            (ends[0] - piece.1[0]).abs() < 1e-4 && (ends[1] - piece.1[1]).abs() < 1e-4,
            "{ends:?}"
        );
    }
    assert!((bodies[2].1[0] - 50.0).abs() < 1e-4 && (bodies[2].1[1] - 70.0).abs() < 1e-4);
    let pattern = state["stages"][2]["volume_mm3"].as_f64().unwrap();
    let sum: f64 = bodies.iter().map(|b| b.0).sum();
    assert!((sum - pattern).abs() < 1e-6 * pattern, "{sum} of {pattern}");
    // Boards were not asked for.
    assert_eq!(state["foam"]["boards"], Value::Null);
}

#[test]
fn a_script_that_says_nothing_of_foam_has_no_pieces() {
    let served = serve(&crate::served::block(40.0));
    let mut page = served.page();
    let state = page.until(|s| s["build"] == 1 && s["proved"] == true);
    assert_eq!(state["foam"], Value::Null);
    assert_eq!(page.get("/mesh/1/pieces").status, 404);
}

#[test]
fn an_undo_brings_its_pieces_back_and_a_broken_save_leaves_them() {
    let text = bearing_block();
    let served = serve(&text);
    let mut page = served.page();
    page.until(|s| s["build"] == 1 && s["foam"].is_object());
    fs::write(&served.script, text.replace("height: 20", "hight: 20")).unwrap();
    let state = page.until(|s| s["stale"] == true);
    assert_eq!(names(&state["foam"]["pieces"]), ["lower", "upper", "post"]);
    assert_eq!(page.get("/mesh/1/pieces").status, 200);
    let other = text
        .replace("split(", "// split(")
        .replace("thickness: 30", "thickness: 60");
    fs::write(&served.script, other).unwrap();
    let state = page.until(|s| s["build"] == 2 && s["foam"].is_object());
    assert_eq!(state["foam"]["pieces"].as_array().unwrap().len(), 2);
    fs::write(&served.script, &text).unwrap();
    let state = page.until(|s| s["build"] == 3);
    // It is built already, pieces and all.
    assert_eq!(names(&state["foam"]["pieces"]), ["lower", "upper", "post"]);
    assert_eq!(
        page.get("/mesh/3/pieces").body,
        page.get("/mesh/1/pieces").body
    );
}

/// The sheet and the package are listed once the boards are laid, and are downloads under the page's own policy.
#[test]
fn the_sheet_and_the_package_are_downloads() {
    let served = serve_laid(&bearing_block());
    let mut page = served.page();
    let state = page.until(|s| {
        let files = s["files"].as_array();
        files.is_some_and(|f| f.iter().any(|f| f["name"] == "sheet.html"))
    });
    assert!(state["foam"]["boards"].is_array());
    for (name, kind, begins) in [
        (
            "sheet.html",
            "text/html; charset=utf-8",
            &b"<!DOCTYPE html>"[..],
        ),
        // A package is a ZIP archive: APPNOTE 4.3.7, the local file header's signature.
        ("pattern.3mf", "model/3mf", &b"PK\x03\x04"[..]),
    ] {
        let files = state["files"].as_array().unwrap();
        let listed = files.iter().find(|f| f["name"] == name).unwrap();
        assert_eq!(listed["size"], "made when asked for");
        let got = page.get(listed["url"].as_str().unwrap());
        assert_eq!(got.status, 200, "{name}");
        assert!(got.body.starts_with(begins), "{name}");
        for line in [
            &format!("content-type: {kind}"),
            "content-disposition: attachment; filename*=UTF-8''",
            "content-security-policy: default-src 'none';",
            "x-content-type-options: nosniff",
        ] {
            assert!(got.head.contains(line), "{name}, {line}: {}", got.head);
        }
        // The same bytes as in the folder, once they are there.
        let path = served.dir.path().join("out").join(name);
        let end = std::time::Instant::now() + std::time::Duration::from_secs(60);
        while !path.exists() && std::time::Instant::now() < end {
            std::thread::sleep(std::time::Duration::from_millis(20));
        }
        assert!(fs::read(&path).unwrap() == got.body, "{name}");
    }
}
