//! The shop sheet: what it says, and that no text of a script becomes markup. `witness_sheet` reads it as XML.

use std::path::Path;

use foamwright::shop::sheet_of;

use crate::built::{built, built_whole};

/// A script whose texts try to be markup.
pub const HOSTILE: &str = "\
    units(\"mm\"); board(#{ thickness: 50, length: 600, width: 300 });\
    note(\"</li><script>alert(1)</script> & <img src=x onerror=alert(1)>\");\
    let s = slab(\"a\\\"><b onclick='x'>\", #{ outline: rect(40, 30), height: 20 });\
    boss(\"<script>\", #{ on: s.top, dia: 12, height: 6, loose: true });\
    bore(\"]]>&nbsp;<!--\", #{ into: s.top, at: [12, 0], dia: 5, through: true, cored: false });";

fn sheet(source: &str) -> String {
    sheet_of(&built_whole(source), Path::new("some/t.rhai"))
}

/// The texts of a table's rows that hold `key`, tags taken out.
pub fn rows(sheet: &str, key: &str) -> Vec<String> {
    let bare = |row: &str| {
        let mut out = String::new();
        let mut tag = false;
        for c in row.chars() {
            match c {
                '<' => tag = true,
                '>' => {
                    tag = false;
                    out.push(' ');
                }
                c if !tag => out.push(c),
                _ => {}
            }
        }
        out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let rows = sheet.split("<tr").skip(1);
    let rows = rows.map(|r| bare(&format!("<tr{}", r.split("</tr>").next().unwrap_or(r))));
    rows.filter(|r| r.contains(key)).collect()
}

#[test]
fn no_text_of_a_script_is_markup() {
    let sheet = sheet(HOSTILE);
    for tag in [
        "<script",
        "<b onclick",
        "<img src=x",
        "<!--",
        "</li><script",
    ] {
        assert!(!sheet.contains(tag), "{tag}");
    }
    for text in [
        "&lt;script&gt;alert(1)",
        "a&quot;&gt;&lt;b onclick=&#39;x&#39;&gt;",
        "]]&gt;&amp;nbsp;&lt;!--",
    ] {
        assert!(sheet.contains(text), "{text}");
    }
    assert!(!sheet.contains("http:") && !sheet.contains("https:"));
}

/// Worked by hand: A356 shrinks by 1.3 %, so a boss of 30 is cut 30.39 wide; 20 high with 2 of stock on top is 22 x 1.013.
#[test]
fn the_caliper_card_counts_shrink_and_stock() {
    let sheet = sheet(
        "metal(\"A356\"); stock(2); min_cored(8);\
         let p = slab(\"p\", #{ outline: rect(100, 80), height: 10 });\
         let b = boss(\"hub\", #{ on: p.top, dia: 30, height: 20 });\
         let c = bore(\"hole\", #{ into: b.top, dia: 16, through: true });\
         bore(\"drilled\", #{ into: p.top, at: [40, 30], dia: 6.8, depth: 8 });\
         finish([b.top, p.bottom, c.wall]);",
    );
    let caliper = sheet.split("id=\"caliper\"").nth(1).unwrap();
    let caliper = caliper.split("</section>").next().unwrap();
    assert!(rows(caliper, "hub, dia")[0].starts_with("hub, dia 30.39"));
    assert!(rows(caliper, "hub, height")[0].starts_with("hub, height 22.29"));
    // (16 - 2 x 2) x 1.013, and 100 x 1.013; (10 + 20 + 2 + 2) x 1.013.
    assert!(rows(caliper, "hole, bore")[0].starts_with("hole, bore 12.16"));
    assert!(rows(caliper, "over all, length")[0].contains("101.3"));
    assert!(rows(caliper, "over all, height")[0].contains("34.44"));
    assert!(rows(caliper, "drilled").is_empty());
}

/// The same part on the machine: the foot is faced first, the hub's top stands 30 over it.
#[test]
fn the_machining_card_names_work_place_and_datum() {
    let sheet = sheet(
        "metal(\"A356\"); stock(2); min_cored(8);\
         let p = slab(\"p\", #{ outline: rect(100, 80), height: 10 });\
         let b = boss(\"hub\", #{ on: p.top, dia: 30, height: 20 });\
         let c = bore(\"hole\", #{ into: b.top, dia: 16, through: true });\
         bore(\"drilled\", #{ into: p.top, at: [40, 30], dia: tap(\"M8\"), depth: 8 });\
         finish([b.top, p.bottom, c.wall]);",
    );
    let card = sheet.split("id=\"machining\"").nth(1).unwrap();
    let row = |key: &str| rows(card, key).first().cloned().unwrap_or_default();
    assert!(
        row("p.bottom (datum A, first)").contains(" 2 10 p.top, as cast"),
        "{}",
        row("datum A, first")
    );
    assert!(
        row("hub.top").contains("hub.top 2 30 datum A, p.bottom"),
        "{}",
        row("hub.top")
    );
    assert!(
        row("hole.wall").contains("2 dia 16"),
        "{}",
        row("hole.wall")
    );
    assert!(
        row("hole, bore").contains("bore out from 12 16 through"),
        "{}",
        row("hole, bore")
    );
    let drilled = row("drilled, bore");
    assert!(
        drilled.contains("drill, tap 6.8 8 M8, 4 long down from [40, 30, 10]"),
        "{drilled}"
    );
}

#[test]
fn every_sheet_cautions_and_defers() {
    let sheet = sheet("slab(\"p\", #{ outline: rect(40, 30), height: 8 });");
    assert!(sheet.contains("Local codes and licensed practice come first"));
    assert!(sheet.contains("Water under metal explodes"));
    assert!(sheet.contains("The script doesn&#39;t gate the pattern."));
    // The density of A356 is from memory, and says so where it is read.
    let density = sheet.lines().find(|l| l.starts_with("<p>Density")).unwrap();
    assert!(density.contains("from memory") && density.contains("check before use"));
}

#[test]
fn the_same_build_gives_the_same_sheet() {
    let once = || sheet_of(&built(HOSTILE), Path::new("t.rhai"));
    assert!(once() == once());
}
