//! Pictures: what is seen from where, how large, in colours that a colour-blind eye tells apart.

use std::io::Cursor;

use foamwright::measure::Vec3;
use foamwright::picture::{Picture, Sheet, View, draw};
use foamwright::solid::Solid;

/// A block with its middle at `middle`; its faces belong to these features: -z, +z, -y, +y, -x, +x.
fn block(middle: Vec3, size: Vec3, features: [usize; 6]) -> Solid {
    let corner = |i: u32| Vec3::new(f64::from(i & 1), f64::from(i >> 1 & 1), f64::from(i >> 2));
    let quads = [
        [0, 2, 3, 1],
        [4, 5, 7, 6],
        [0, 1, 5, 4],
        [2, 6, 7, 3],
        [0, 4, 6, 2],
        [1, 3, 7, 5],
    ];
    Solid {
        points: (0..8).map(|i| middle + (corner(i) - 0.5) * size).collect(),
        triangles: quads
            .iter()
            .flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]])
            .collect(),
        features: features.iter().flat_map(|&f| [f, f]).collect(),
    }
}

fn both(a: &Solid, b: &Solid) -> Solid {
    let shift = a.points.len() as u32;
    Solid {
        points: [a.points.clone(), b.points.clone()].concat(),
        triangles: a
            .triangles
            .iter()
            .copied()
            .chain(b.triangles.iter().map(|t| t.map(|i| i + shift)))
            .collect(),
        features: [a.features.clone(), b.features.clone()].concat(),
    }
}

fn one(solid: &Solid, view: View) -> Picture {
    draw(
        solid,
        &Sheet {
            views: vec![view],
            width_px: 160,
            height_px: 120,
        },
    )
}

fn pixel(picture: &Picture, x: usize, y: usize) -> [u8; 3] {
    let at = 3 * (y * picture.width + x);
    picture.rgb[at..at + 3].try_into().unwrap()
}

fn middle(picture: &Picture) -> [u8; 3] {
    pixel(picture, picture.width / 2, picture.height / 2)
}

/// Width and height in pixels of what isn't paper.
fn extent(picture: &Picture) -> (usize, usize) {
    let paper = pixel(picture, 0, 0);
    let inked: Vec<(usize, usize)> = (0..picture.height)
        .flat_map(|y| (0..picture.width).map(move |x| (x, y)))
        .filter(|&(x, y)| pixel(picture, x, y) != paper)
        .collect();
    let span = |of: fn(&(usize, usize)) -> usize| {
        1 + inked.iter().map(of).max().unwrap() - inked.iter().map(of).min().unwrap()
    };
    (span(|p| p.0), span(|p| p.1))
}

const SIX: [(View, usize); 6] = [
    (View::Bottom, 0),
    (View::Top, 1),
    (View::Front, 2),
    (View::Back, 3),
    (View::Left, 4),
    (View::Right, 5),
];

/// Sides as on a drawing: the front looks to -y, the left to -x.
#[test]
fn each_view_shows_its_own_side_and_no_other() {
    let plain = block(Vec3::ZERO, Vec3::new(30.0, 20.0, 10.0), [0; 6]);
    for (view, side) in SIX {
        let mut features = [0; 6];
        features[side] = 1;
        let marked = block(Vec3::ZERO, Vec3::new(30.0, 20.0, 10.0), features);
        for (other, _) in SIX {
            let changed = one(&plain, other) != one(&marked, other);
            assert_eq!(changed, other == view, "side {side} from {other:?}");
        }
    }
}

/// Proportion of the picture: a parallel view of a block is a rectangle of its own sizes.
#[test]
fn extents_are_those_of_the_part() {
    let solid = block(
        Vec3::new(100.0, -50.0, 7.0),
        Vec3::new(40.0, 20.0, 10.0),
        [0; 6],
    );
    for (view, across, up) in [
        (View::Front, 40.0, 10.0),
        (View::Right, 20.0, 10.0),
        (View::Top, 40.0, 20.0),
    ] {
        let (w, h) = extent(&one(&solid, view));
        let pitch = w as f64 / across;
        // An edge's ink is at most a pixel to each side.
        assert!(
            (h as f64 - up * pitch).abs() <= 2.0 + 2.0 * up / across,
            "{view:?}: {w} x {h}"
        );
    }
}

/// Views side by side can be compared: 40 mm is as long in the one as in the other.
#[test]
fn views_of_a_sheet_share_one_scale() {
    let solid = block(Vec3::ZERO, Vec3::new(40.0, 20.0, 10.0), [0; 6]);
    let sheet = draw(
        &solid,
        &Sheet {
            views: vec![View::Front, View::Right],
            width_px: 160,
            height_px: 120,
        },
    );
    assert_eq!(
        (sheet.width, sheet.height, sheet.rgb.len()),
        (320, 120, 320 * 120 * 3)
    );
    let half = |from: usize| {
        let rows = (0..120).flat_map(|y| (from..from + 160).flat_map(move |x| [(x, y)]));
        Picture {
            width: 160,
            height: 120,
            rgb: rows.flat_map(|(x, y)| pixel(&sheet, x, y)).collect(),
        }
    };
    let ((w1, h1), (w2, h2)) = (extent(&half(0)), extent(&half(160)));
    assert!(h1.abs_diff(h2) <= 1, "{h1} {h2}");
    assert!((w1 as f64 / w2 as f64 - 2.0).abs() < 0.1, "{w1} {w2}");
}

/// What is nearer hides what is behind, in whatever order the triangles come.
#[test]
fn the_nearer_surface_is_seen() {
    let near = block(Vec3::new(0.0, -30.0, 0.0), Vec3::splat(20.0), [1; 6]);
    let far = block(Vec3::new(0.0, 30.0, 0.0), Vec3::splat(20.0), [4; 6]);
    let alone = |solid: &Solid, view| middle(&one(solid, view));
    for pair in [both(&near, &far), both(&far, &near)] {
        assert_eq!(middle(&one(&pair, View::Front)), alone(&near, View::Front));
        assert_eq!(middle(&one(&pair, View::Back)), alone(&far, View::Back));
    }
    assert_ne!(alone(&near, View::Front), alone(&far, View::Front));
}

/// A crease is drawn; a face without one is even.
#[test]
fn creases_have_a_line() {
    let picture = one(&block(Vec3::ZERO, Vec3::splat(20.0), [0; 6]), View::Iso);
    let light = |x, y| {
        pixel(&picture, x, y)
            .iter()
            .map(|&c| u32::from(c))
            .sum::<u32>()
    };
    let darkest = (0..picture.height)
        .flat_map(|y| (0..picture.width).map(move |x| (x, y)))
        .map(|(x, y)| light(x, y))
        .min()
        .unwrap();
    let front = one(&block(Vec3::ZERO, Vec3::splat(20.0), [0; 6]), View::Front);
    let face = (50..70).map(|y| pixel(&front, 80, y)).collect::<Vec<_>>();
    assert!(face.iter().all(|p| *p == face[0]), "{face:?}");
    assert!(
        darkest < face[0].iter().map(|&c| u32::from(c)).sum::<u32>() / 2,
        "{darkest}"
    );
}

/// A PNG library reads back the very pixels; two runs give the same bytes.
#[test]
fn the_file_holds_the_picture() {
    let picture = one(
        &block(Vec3::ZERO, Vec3::new(30.0, 20.0, 10.0), [0, 1, 2, 3, 4, 5]),
        View::Iso,
    );
    let bytes = || {
        let mut out = Vec::new();
        picture.write_png(&mut out).unwrap();
        out
    };
    let file = bytes();
    assert!(file == bytes());
    let mut reader = png::Decoder::new(Cursor::new(&file)).read_info().unwrap();
    let mut rgb = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut rgb).unwrap();
    assert_eq!((info.width, info.height), (160, 120));
    assert!(rgb == picture.rgb);
}

#[test]
fn views_are_known_by_name() {
    for (name, view) in [
        ("front", View::Front),
        ("iso", View::Iso),
        (" top ", View::Top),
    ] {
        assert_eq!(name.parse::<View>().unwrap(), view);
    }
    let said = "frnt".parse::<View>().unwrap_err().to_string();
    assert!(
        said.contains("\"frnt\"") && said.contains("front"),
        "{said}"
    );
}

/// A view's directions are a right-handed set of unit vectors, so that nothing is mirrored.
#[test]
fn no_view_mirrors_the_part() {
    for view in SIX
        .map(|(v, _)| v)
        .into_iter()
        .chain([View::Iso, View::IsoBack, View::IsoBelow])
    {
        let [right, up, towards] = view.axes();
        assert!((right.cross(up) - towards).length() < 1e-12, "{view:?}");
        assert!((right.length() - 1.0).abs() < 1e-12, "{view:?}");
    }
}

/// sRGB to linear light (from memory: IEC 61966-2-1).
fn linear(c: u8) -> f64 {
    let c = f64::from(c) / 255.0;
    if c <= 0.04045 {
        c / 12.92
    } else {
        ((c + 0.055) / 1.055).powf(2.4)
    }
}

/// CIE L*a*b* of linear sRGB, white D65 (from memory: CIE 15; IEC 61966-2-1).
fn lab([r, g, b]: [f64; 3]) -> [f64; 3] {
    let f = |t: f64| {
        if t > 0.008_856 {
            t.cbrt()
        } else {
            7.787 * t + 16.0 / 116.0
        }
    };
    let x = f((0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505);
    let y = f(0.2126 * r + 0.7152 * g + 0.0722 * b);
    let z = f((0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089);
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

/// What an eye without red, or without green, receptors sees (from memory: Viénot, Brettel, Mollon 1999).
fn seen(kind: &str, [r, g, b]: [f64; 3]) -> [f64; 3] {
    match kind {
        "protan" => {
            let rg = 0.11238 * r + 0.88762 * g;
            [rg, rg, 0.00401 * (r - g) + b]
        }
        "deutan" => {
            let rg = 0.29275 * r + 0.70725 * g;
            [rg, rg, -0.02234 * (r - g) + b]
        }
        _ => [r, g, b],
    }
}

/// Any two colours are told apart by any eye: over twice the just noticeable difference of 2.3 (from memory: Mahy et
/// al. 1994). There are nine; then they come again.
#[test]
fn colours_are_told_apart_by_any_eye() {
    let colour = |f: usize| {
        middle(&one(
            &block(Vec3::ZERO, Vec3::splat(20.0), [f; 6]),
            View::Front,
        ))
        .map(linear)
    };
    let colours: Vec<_> = (0..10).map(colour).collect();
    assert_eq!(colours[9], colours[0]);
    for kind in ["usual", "protan", "deutan"] {
        for (a, b) in (0..9).flat_map(|a| (0..a).map(move |b| (a, b))) {
            let [p, q] = [a, b].map(|f| lab(seen(kind, colours[f])));
            let far = (0..3).map(|i| (p[i] - q[i]).powi(2)).sum::<f64>().sqrt();
            assert!(far > 2.0 * 2.3, "{kind}: colours {b} and {a}: {far:.1}");
        }
    }
}
