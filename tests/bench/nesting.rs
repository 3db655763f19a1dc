//! How densely pieces are laid: the five published instances of `tests/data/nesting` (see ORIGIN.md there) at two
//! budgets, beside the best known, and a shop's case on boards. Run: `cargo bench --bench nesting [quick|usual|long]…`.

use std::fs;
use std::time::Instant;

use foamwright::pieces::nesting::{Board, Effort, Layout, Piece, Rules, Turns, check, lay_out};

#[path = "../nesting_cases.rs"]
mod nesting_cases;

use nesting_cases::{area, shop, strip};

/// Best densities known (%), from ORIGIN.md.
const RECORDS: &[(&str, f64)] = &[
    ("albano", 89.82),
    ("shapes1", 76.72),
    ("shirts", 90.92),
    ("swim", 79.83),
    ("trousers", 92.61),
];

fn main() {
    let asked: Vec<String> = std::env::args()
        .skip(1)
        .filter(|a| !a.starts_with("--"))
        .collect();
    let efforts = [
        ("quick", Effort::Quick),
        ("usual", Effort::Usual),
        ("long", Effort::Long),
    ];
    for (name, effort) in efforts {
        if asked.iter().any(|a| a == name) || asked.is_empty() && name != "quick" {
            println!("{name}");
            instances(effort);
            shop_case(effort);
        }
    }
}

fn instances(effort: Effort) {
    let (mut ours, mut best, mut time) = (0.0, 0.0, 0.0);
    for &(name, record) in RECORDS {
        let path = format!(
            "{}/tests/data/nesting/{name}.json",
            env!("CARGO_MANIFEST_DIR")
        );
        let text = fs::read_to_string(path).expect("the instance is in the repository");
        let (pieces, board) = strip(&text);
        let start = Instant::now();
        let layout = laid(&pieces, &[board], 0.0, effort);
        let seconds = start.elapsed().as_secs_f64();
        let length = layout.boards[0].used_length_mm;
        let density = 100.0 * area(&pieces) / (length * board.width_mm);
        println!(
            "  {name:10} {density:6.2} %  (best known {record:.2})  length {length:.3}  {seconds:.2} s"
        );
        ours += density / RECORDS.len() as f64;
        best += record / RECORDS.len() as f64;
        time += seconds / RECORDS.len() as f64;
    }
    println!("  mean       {ours:6.2} %  (best known {best:.2})  {time:.2} s");
}

fn shop_case(effort: Effort) {
    for turns in [Turns::Quarter, Turns::Free] {
        let pieces = shop(turns);
        let board = Board {
            length_mm: 1220.0,
            width_mm: 610.0,
            margin_mm: 10.0,
            count: None,
        };
        let start = Instant::now();
        let layout = laid(&pieces, &[board], 8.0, effort);
        let seconds = start.elapsed().as_secs_f64();
        let used: Vec<f64> = layout.boards.iter().map(|b| b.used_length_mm).collect();
        println!("  shop, {turns:?}: lengths used {used:.1?} mm  {seconds:.2} s");
    }
}

fn laid(pieces: &[Piece], boards: &[Board], spacing_mm: f64, effort: Effort) -> Layout {
    let rules = Rules { spacing_mm };
    let layout = lay_out(pieces, boards, &rules, effort, 1).expect("sound input");
    assert_eq!(check(pieces, boards, &rules, &layout), Ok(()));
    assert!(layout.unplaced.is_empty());
    layout
}
