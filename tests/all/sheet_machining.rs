//! The machining card: each hole is told as the script means it, not by what thread its diameter would fit.

use std::path::Path;

use foamwright::shop::sheet_of;

use crate::built::built_whole;
use crate::sheet::rows;

fn card(source: &str) -> String {
    let sheet = sheet_of(&built_whole(source), Path::new("t.rhai"));
    sheet.split("id=\"machining\"").nth(1).unwrap().to_string()
}

#[track_caller]
fn told(card: &str, key: &str, words: &str) {
    let row = rows(card, key).first().cloned().unwrap_or_default();
    assert!(row.contains(words), "{key}: {row}, not {words}");
}

/// From memory: ISO 2306:1972, tapping drills of metric coarse threads; the drilled depth is 30, so that the thread is two
/// diameters long where 2.5 diameters are not deeper than that.
#[test]
fn a_tapped_hole_has_the_drill_of_the_table_and_a_thread() {
    for (name, drill, long) in [
        ("M4", "3.3", "8"),
        ("M6", "5", "12"),
        ("M8", "6.8", "16"),
        ("M10", "8.5", "20"),
        ("M12", "10.2", "24"),
        ("M16", "14", "22"),
    ] {
        let card = card(&format!(
            "min_cored(40); let p = slab(\"p\", #{{ outline: rect(80, 60), height: 40 }});
             let size = [tap(\"{name}\")];
             fn hole(face, dia) {{ bore(\"hole\", #{{ into: face, dia: dia, depth: 30 }}) }}
             hole(p.top, size[0]);"
        ));
        told(
            &card,
            "hole, bore",
            &format!("drill, tap {drill} 30 {name}, {long} long"),
        );
    }
}

/// 5/16 in is the tapping drill of 3/8-16 (from memory: Machinery's Handbook) and 9 mm that of M10x1; neither is tapped here.
#[test]
fn what_isnt_tapped_isnt_called_so() {
    let card = card(
        "min_cored(12); let p = slab(\"p\", #{ outline: rect(120, 60), height: 20 });
         let pin = bore(\"pin\", #{ into: p.top, at: [-40, 0], dia: inch(5/16), through: true });
         finish(pin.wall, 0.1);
         bore(\"plain\", #{ into: p.top, at: [-20, 0], dia: inch(5/16), through: true });
         bore(\"drain\", #{ into: p.top, at: [0, 0], dia: tap(\"3/8-16\"), through: true });
         bore(\"more\", #{ into: p.top, at: [20, 0], dia: tap(\"3/8-16\") + 1, through: true });
         bore(\"screw\", #{ into: p.top, at: [40, 0], dia: clear(\"M8\"), through: true });
         let seat = bore(\"seat\", #{ into: p.top, at: [0, 15], dia: 20, depth: 8 });
         finish(seat.wall, 1.5);
         boss(\"post\", #{ on: p.top, at: [-50, 20], dia: 14, height: 20, bore: tap(\"M6\"), bore_depth: 15 });",
    );
    told(
        &card,
        "pin, bore",
        "drill under size, ream 7.94 through down from",
    );
    told(&card, "plain, bore", "drill 7.94 through down from");
    told(
        &card,
        "drain, bore",
        "drill, tap 7.94 through 3/8-16, through down from",
    );
    told(&card, "more, bore", "drill 8.94 through down from");
    told(&card, "screw, bore", "drill 9 through clears M8 down from");
    told(&card, "seat, bore", "bore out from 17 20 8 down from");
    told(
        &card,
        "post, bore",
        "drill, tap 5 15 M6, 12 long down from [-50, 20, 40]",
    );
    // A hole that is drilled leaves no stock to take off.
    assert!(rows(&card, "pin.wall").is_empty());
    told(&card, "seat.wall", "1.5 dia 20");
}

/// From memory: ISO 228-1, G1/8 is drilled 8.8, which is also the drill of M10x1.25.
#[test]
fn a_pipe_thread_is_told_by_its_own_name() {
    let card = card(
        "min_cored(15); import \"bosses\" as bosses; stock(1);
         let p = slab(\"p\", #{ outline: rect(80, 60), height: 30 });
         let room = pocket(\"room\", #{ into: p.bottom, outline: rect(60, 40), depth: 20 });
         bosses::pipe(\"plug\", p.top, [0, 0], \"G1/8\", 8, room);",
    );
    told(&card, "plug hole, bore", "drill, tap 8.8 ");
    told(
        &card,
        "plug hole, bore",
        " G1/8, through down from [0, 0, 38]",
    );
}

#[test]
fn copies_share_a_row() {
    let card = card(
        "min_cored(12); let p = slab(\"p\", #{ outline: rect(120, 60), height: 20 });
         for x in [-30, 0, 30] { bore(\"bolt \" + x, #{ into: p.top, at: [x, 0], dia: clear(\"M6\"), through: true }); }
         bore(\"deep\", #{ into: p.top, at: [0, 20], dia: clear(\"M6\"), depth: 9 });",
    );
    // The minus of "bolt -30" is no number: it has a row of its own.
    told(
        &card,
        "bolt 0 … bolt 30, bore × 2",
        "[0, 0, 20]; [30, 0, 20]",
    );
    assert_eq!(rows(&card, "clears M6").len(), 3);
}
