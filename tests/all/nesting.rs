//! Pieces laid on boards. What is checked: `check`, which shares nothing with the search, and formulas beside each test.

use foamwright::measure::Vec2;
use foamwright::pieces::nesting::{
    Board, Effort, Flaw, Layout, NestingFault, Piece, Placed, Rules, Turns, Unplaced, Why, check,
    lay_out, lay_out_on,
};

#[path = "../nesting_cases.rs"]
mod nesting_cases;

use nesting_cases::{area, circle, shop, strip};

const BOARD: Board = Board {
    length_mm: 1220.0,
    width_mm: 610.0,
    margin_mm: 10.0,
    count: None,
};

fn rectangle(l: f64, w: f64) -> Vec<Vec<Vec2>> {
    let corners = [[0.0, 0.0], [l, 0.0], [l, w], [0.0, w]];
    vec![corners.map(Vec2::from_array).to_vec()]
}

fn piece(outline: Vec<Vec<Vec2>>, count: usize, turns: Turns) -> Piece {
    Piece {
        outline,
        count,
        turns,
    }
}

fn board(length_mm: f64, width_mm: f64, margin_mm: f64, count: Option<usize>) -> Board {
    Board {
        length_mm,
        width_mm,
        margin_mm,
        count,
    }
}

/// Lays out and checks.
fn sound(pieces: &[Piece], boards: &[Board], spacing_mm: f64, effort: Effort) -> Layout {
    let rules = Rules { spacing_mm };
    let layout = lay_out(pieces, boards, &rules, effort, 1).unwrap();
    assert_eq!(
        check(pieces, boards, &rules, &layout),
        Ok(()),
        "{layout:#?}"
    );
    layout
}

#[test]
fn rectangles_that_tile_a_board_fit_on_it() {
    // n × m rectangles of l × w, spacing s, margin e: the board is n l + (n - 1) s + 2 e by m w + (m - 1) s + 2 e.
    for (n, m, l, w, s, e) in [
        (4usize, 3usize, 200.0, 150.0, 0.0, 0.0),
        (5, 2, 123.4, 77.7, 8.0, 10.0),
        (3, 3, 100.1, 33.3, 6.35, 0.0),
        (1, 7, 300.0, 20.0, 3.0, 5.0),
    ] {
        let along = |n: usize, l: f64| n as f64 * l + (n - 1) as f64 * s + 2.0 * e;
        let boards = [board(along(n, l), along(m, w), e, None)];
        for turns in [Turns::Fixed, Turns::Quarter] {
            let pieces = [piece(rectangle(l, w), n * m, turns)];
            let layout = sound(&pieces, &boards, s, Effort::Quick);
            assert_eq!(layout.boards.len(), 1, "{n} by {m} of {l} × {w}");
            assert_eq!(layout.boards[0].placed.len(), n * m);
            assert_eq!(layout.boards[0].offcut, None);
        }
    }
}

#[test]
fn two_sizes_that_tile_a_board_fit_on_it() {
    // Two of 300 × 200 and four of 150 × 100 cover 600 × 200 + 600 × 100 = 600 × 300.
    let pieces = [
        piece(rectangle(300.0, 200.0), 2, Turns::Quarter),
        piece(rectangle(150.0, 100.0), 4, Turns::Quarter),
    ];
    let layout = sound(
        &pieces,
        &[board(600.0, 300.0, 0.0, None)],
        0.0,
        Effort::Usual,
    );
    assert_eq!(layout.boards.len(), 1);
}

#[test]
fn one_piece_lies_in_the_corner_by_its_shorter_side() {
    // Used length: the shorter side and both margins; what is left: the rest at full width.
    let pieces = [piece(rectangle(400.0, 250.0), 1, Turns::Quarter)];
    let layout = sound(&pieces, &[BOARD], 8.0, Effort::Long);
    let only = &layout.boards[0];
    assert!((only.used_length_mm - 270.0).abs() < 1e-6);
    let left = only.offcut.unwrap();
    assert!((left.length_mm - 950.0).abs() < 1e-6 && left.width_mm == 610.0);
    // Turned about its own origin, its box begins at the margin.
    let Placed { x, y, turn_deg, .. } = only.placed[0];
    let corner = match turn_deg {
        90.0 => Vec2::new(x - 250.0, y),
        270.0 => Vec2::new(x, y - 400.0),
        other => panic!("turned by {other}"),
    };
    assert!(corner.distance(Vec2::new(10.0, 10.0)) < 1e-6, "{corner}");
}

#[test]
fn a_small_piece_goes_into_the_hole_of_a_large_one() {
    // A ring as wide as the board allows: nothing else fits beside it on a board of its own length.
    let ring = vec![
        circle(Vec2::ZERO, 290.0, 90),
        circle(Vec2::ZERO, -200.0, 90),
    ];
    let pieces = [
        piece(ring, 1, Turns::Quarter),
        piece(
            vec![circle(Vec2::new(50.0, 9.0), 120.0, 40)],
            1,
            Turns::Quarter,
        ),
        piece(rectangle(60.0, 30.0), 2, Turns::Free),
    ];
    let layout = sound(
        &pieces,
        &[board(600.0, 600.0, 10.0, None)],
        8.0,
        Effort::Quick,
    );
    assert_eq!(layout.boards.len(), 1);
    assert_eq!(layout.boards[0].placed.len(), 4);
}

#[test]
fn a_piece_that_fits_no_board_is_told_and_the_others_are_laid() {
    let pieces = [
        piece(rectangle(1300.0, 100.0), 2, Turns::Quarter),
        piece(rectangle(100.0, 100.0), 3, Turns::Quarter),
        piece(rectangle(100.0, 800.0), 1, Turns::Fixed),
        piece(rectangle(100.0, 800.0), 1, Turns::Quarter),
        // Larger than a board less its margins by a hundredth.
        piece(rectangle(1200.01, 100.0), 1, Turns::Fixed),
        // As large as that: it fits.
        piece(rectangle(1200.0, 590.0), 1, Turns::Fixed),
    ];
    let layout = sound(&pieces, &[BOARD], 8.0, Effort::Quick);
    let told = |piece, copy| Unplaced {
        piece,
        copy,
        why: Why::FitsNoBoard,
    };
    assert_eq!(
        layout.unplaced,
        [told(0, 0), told(0, 1), told(2, 0), told(4, 0)]
    );
}

#[test]
fn boards_on_hand_are_used_first_and_what_is_beyond_them_is_told() {
    // Each board takes one piece: two squares of 300 do not fit side by side on 500 × 500.
    let pieces = [piece(rectangle(300.0, 300.0), 4, Turns::Quarter)];
    let scrap = board(400.0, 400.0, 10.0, Some(1));
    let whole = board(500.0, 500.0, 10.0, Some(2));
    let layout = sound(&pieces, &[scrap, whole], 5.0, Effort::Quick);
    let sizes: Vec<usize> = layout.boards.iter().map(|b| b.board).collect();
    assert_eq!(sizes, [0, 1, 1]);
    assert_eq!(layout.unplaced.len(), 1);
    assert_eq!(layout.unplaced[0].why, Why::NoBoardLeft);
    // A piece that fits only the second size opens it at once.
    let pieces = [
        piece(rectangle(450.0, 450.0), 1, Turns::Quarter),
        piece(rectangle(300.0, 300.0), 1, Turns::Quarter),
    ];
    let layout = sound(&pieces, &[scrap, whole], 5.0, Effort::Quick);
    assert_eq!(layout.boards.len(), 2);
    assert!(layout.unplaced.is_empty());
    assert!(sound(&pieces, &[], 5.0, Effort::Quick).boards.is_empty());
    assert!(sound(&[], &[whole], 5.0, Effort::Quick).boards.is_empty());
}

#[test]
fn the_shop_order_keeps_spacing_and_margin_in_quarter_and_free_turns() {
    for turns in [Turns::Quarter, Turns::Free] {
        let pieces = shop(turns);
        let layout = sound(&pieces, &[BOARD], 8.0, Effort::Units(100_000));
        assert!(layout.unplaced.is_empty());
        // Area alone needs more than one board; a ring and what goes into it, a flange and an angle less than two.
        assert_eq!(layout.boards.len(), 2, "{turns:?}");
        assert!(area(&pieces) < 2.0 * 1220.0 * 610.0);
    }
}

#[test]
fn the_same_input_gives_the_same_layout_on_any_number_of_threads() {
    for turns in [Turns::Quarter, Turns::Free] {
        let pieces = shop(turns);
        let rules = Rules { spacing_mm: 8.0 };
        let on = |threads, seed| {
            lay_out_on(
                &pieces,
                &[BOARD],
                &rules,
                Effort::Units(60_000),
                seed,
                threads,
            )
            .unwrap()
        };
        let once = on(1, 7);
        for threads in [1, 2, 3] {
            assert_eq!(on(threads, 7), once, "{threads} threads");
        }
        assert_ne!(on(2, 8), once, "another seed goes another way");
    }
}

#[test]
fn published_pieces_are_laid_without_overlap_and_more_work_lays_them_closer() {
    let file = |name: &str| {
        std::fs::read_to_string(format!(
            "{}/tests/data/nesting/{name}.json",
            env!("CARGO_MANIFEST_DIR")
        ))
        .unwrap()
    };
    for (name, best_known) in [("albano", 89.82), ("shapes1", 76.72), ("trousers", 92.61)] {
        let (pieces, board) = strip(&file(name));
        let lengths: Vec<f64> = [1_000, 300_000]
            .into_iter()
            .map(|n| sound(&pieces, &[board], 0.0, Effort::Units(n)).boards[0].used_length_mm)
            .collect();
        assert!(lengths[1] < lengths[0], "{name}: {lengths:?}");
        // Nobody has laid them closer (densities in ORIGIN.md, %).
        let density = 100.0 * area(&pieces) / (lengths[1] * board.width_mm);
        assert!(
            density < best_known && density > 0.8 * best_known,
            "{name}: {density}"
        );
    }
}

#[test]
fn input_that_is_no_outline_board_or_spacing_is_refused() {
    let good = piece(rectangle(10.0, 10.0), 1, Turns::Fixed);
    let line = piece(
        vec![vec![Vec2::ZERO, Vec2::X, Vec2::X * 2.0]],
        1,
        Turns::Fixed,
    );
    let wild = piece(
        vec![vec![Vec2::ZERO, Vec2::X, Vec2::new(0.0, f64::NAN)]],
        1,
        Turns::Fixed,
    );
    let rules = Rules { spacing_mm: 1.0 };
    for bad in [line, wild, piece(vec![], 1, Turns::Free)] {
        let fault = lay_out(&[good.clone(), bad], &[BOARD], &rules, Effort::Quick, 1);
        assert_eq!(fault, Err(NestingFault::Outline { piece: 1 }));
    }
    let boards = [BOARD, board(f64::NAN, 1.0, 0.0, None)];
    let fault = lay_out(
        std::slice::from_ref(&good),
        &boards,
        &rules,
        Effort::Quick,
        1,
    );
    assert_eq!(fault, Err(NestingFault::Board { board: 1 }));
    let rules = Rules { spacing_mm: -1.0 };
    let fault = lay_out(&[good], &[BOARD], &rules, Effort::Quick, 1);
    assert_eq!(fault, Err(NestingFault::Spacing { spacing_mm: -1.0 }));
}

#[test]
fn the_check_finds_each_flaw() {
    let rules = Rules { spacing_mm: 8.0 };
    let pieces = [piece(rectangle(200.0, 100.0), 2, Turns::Fixed)];
    let boards = [board(500.0, 300.0, 10.0, Some(1))];
    let right = sound(&pieces, &boards, 8.0, Effort::Quick);
    let flaws = |change: &dyn Fn(&mut Layout)| {
        let mut wrong = right.clone();
        change(&mut wrong);
        check(&pieces, &boards, &rules, &wrong).unwrap_err()
    };
    let place = |l: &mut Layout, at: [(f64, f64); 2]| {
        for (p, (x, y)) in l.boards[0].placed.iter_mut().zip(at) {
            (p.x, p.y) = (x, y);
        }
        l.boards[0].used_length_mm = at[0].0.max(at[1].0) + 210.0;
        l.boards[0].offcut.as_mut().unwrap().length_mm = 290.0 - at[0].0.max(at[1].0);
    };
    let gap = |at| match flaws(&|l| place(l, at))[..] {
        [Flaw::Spacing { gap_mm, .. }] => gap_mm,
        ref other => panic!("{other:?}"),
    };
    // Side by side 2e-6 too near; corner to corner 3-4-5; one half over the other; both on one spot (depth: half the width).
    assert!((gap([(10.0, 10.0), (10.0, 118.0 - 2e-6)]) - (8.0 - 2e-6)).abs() < 1e-9);
    assert!((gap([(10.0, 10.0), (213.0, 114.0)]) - 5.0).abs() < 1e-9);
    assert!(gap([(10.0, 10.0), (10.0, 60.0)]) < -40.0);
    assert!(gap([(10.0, 10.0), (10.0, 10.0)]) < -40.0);
    let edge = flaws(&|l| place(l, [(10.0 - 2e-6, 10.0), (10.0, 150.0)]));
    assert!(matches!(edge[..], [Flaw::Margin { .. }]), "{edge:?}");
    let count = flaws(&|l| l.boards[0].placed.truncate(1));
    assert!(count.contains(&Flaw::Count {
        piece: 0,
        wanted: 2,
        found: 1
    }));
    let stock = flaws(&|l| l.boards.push(l.boards[0].clone()));
    assert!(stock.contains(&Flaw::Stock { board: 0, used: 2 }));
    let length = flaws(&|l| l.boards[0].used_length_mm += 1.0);
    assert!(matches!(length[..], [Flaw::Length { .. }]));
    let index = flaws(&|l| l.boards[0].board = 3);
    assert!(index.contains(&Flaw::Index { on: 0 }));
}
