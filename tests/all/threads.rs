//! Thread sizes against the standards' own formulas.

use foamwright::drawing::threads::{ALL, find};

#[test]
fn tapping_drills_lie_between_the_minor_diameter_and_sixty_percent_of_thread() {
    for t in ALL {
        // Basic minor diameter of an internal thread, D1 = D - 1.082532 P (ISO 68-1 and ASME B1.1: 5/4 H,
        // H = P √3/2); a drill may lie a little under it only by its rounding to a stock size.
        let minor = t.major_mm - 1.082532 * t.pitch_mm;
        assert!(
            t.tap_mm > minor - 0.03,
            "{} drill {} under {minor}",
            t.name,
            t.tap_mm
        );
        // Percent of full thread = (D - drill) / (1.299 P) (from memory: Machinery's Handbook).
        let percent = (t.major_mm - t.tap_mm) / (1.299 * t.pitch_mm) * 100.0;
        assert!(
            (60.0..85.0).contains(&percent),
            "{} is cut {percent} percent deep",
            t.name
        );
    }
}

#[test]
fn metric_drills_are_diameter_less_pitch() {
    // ISO 2306 takes D - P, rounded to a drill that can be bought.
    for t in ALL.iter().filter(|t| t.name.starts_with('M')) {
        let nominal = t.major_mm - t.pitch_mm;
        assert!(
            (t.tap_mm - nominal).abs() <= 0.051,
            "{}: {} for {nominal}",
            t.name,
            t.tap_mm
        );
    }
}

#[test]
fn clearance_holes_clear() {
    for t in ALL {
        let room = t.clear_mm - t.major_mm;
        assert!(
            room >= 0.35 && room <= 0.12 * t.major_mm + 0.5,
            "{} has {room} mm of room",
            t.name
        );
    }
}

#[test]
fn names_are_found_as_written_in_the_shop() {
    for (name, major) in [
        ("M8", 8.0),
        ("m8", 8.0),
        ("M10 x 1.25", 10.0),
        ("M10×1.25", 10.0),
        ("1/4-20", 6.35),
    ] {
        assert_eq!(find(name).map(|t| t.major_mm), Some(major), "{name}");
    }
    assert!(find("M9").is_none() && find("1/4").is_none());
    let mut names: Vec<&str> = ALL.iter().map(|t| t.name).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), ALL.len());
}
