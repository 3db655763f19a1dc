//! STL files: read back by a general-purpose STL library, and byte by byte against the format's layout
//! (from memory: the binary STL layout, 80 bytes of text, a count, fifty bytes a triangle, little-endian).

use std::collections::BTreeMap;
use std::io::{self, Cursor, Write};

use foamwright::export::stl;
use foamwright::measure::Vec3;
use foamwright::shop::{Bench, Wish};
use foamwright::solid::Solid;

/// A block, corner at the origin; twelve triangles.
fn block(size: Vec3) -> Solid {
    let corner =
        |i: u32| Vec3::new(f64::from(i & 1), f64::from(i >> 1 & 1), f64::from(i >> 2)) * size;
    let quads = [
        [0, 2, 3, 1],
        [4, 5, 7, 6],
        [0, 1, 5, 4],
        [2, 6, 7, 3],
        [0, 4, 6, 2],
        [1, 3, 7, 5],
    ];
    Solid {
        points: (0..8).map(corner).collect(),
        triangles: quads
            .iter()
            .flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]])
            .collect(),
        features: vec![0; 12],
    }
}

fn bytes(solid: &Solid, title: &str) -> Vec<u8> {
    let mut out = Vec::new();
    stl::write(solid, title, &mut out).unwrap();
    out
}

/// Edges of a file's mesh that are not met by exactly one edge the other way.
fn bad_edges(file: &[u8]) -> usize {
    let mesh = stl_io::read_stl(&mut Cursor::new(file)).unwrap();
    let mut met: BTreeMap<(usize, usize), i32> = BTreeMap::new();
    for face in &mesh.faces {
        for i in 0..3 {
            *met.entry((face.vertices[i], face.vertices[(i + 1) % 3]))
                .or_default() += 1;
        }
    }
    met.iter()
        .filter(|((a, b), n)| **n != 1 || met.get(&(*b, *a)) != Some(&1))
        .count()
}

fn volume(file: &[u8]) -> f64 {
    let mesh = stl_io::read_stl(&mut Cursor::new(file)).unwrap();
    let point = |i: usize| Vec3::from_array([0, 1, 2].map(|k| f64::from(mesh.vertices[i][k])));
    mesh.faces
        .iter()
        .map(|f| f.vertices.map(point))
        .map(|[a, b, c]| a.dot(b.cross(c)) / 6.0)
        .sum()
}

#[test]
fn a_block_comes_back_whole() {
    let file = bytes(&block(Vec3::new(30.0, 20.0, 10.0)), "block finished");
    assert_eq!(file.len(), 80 + 4 + 12 * 50);
    assert_eq!(u32::from_le_bytes(file[80..84].try_into().unwrap()), 12);
    assert_eq!(bad_edges(&file), 0);
    assert!((volume(&file) - 6000.0).abs() < 1e-9);
}

/// A reader that finds `solid` at the start takes the file for the text form.
#[test]
fn the_head_says_what_it_is_and_never_begins_with_solid() {
    for title in [
        "solid lever pattern",
        "Gehäuse\n\u{202e} finished",
        &"x".repeat(300),
    ] {
        let file = bytes(&block(Vec3::ONE), title);
        assert!(file.starts_with(b"foamwright"), "{title}");
        assert!(
            file[..80].iter().all(|b| (0x20..0x7f).contains(b)),
            "{title}"
        );
        assert_eq!(file.len(), 80 + 4 + 12 * 50);
    }
    assert!(bytes(&block(Vec3::ONE), "lever pattern").starts_with(b"foamwright: lever pattern"));
}

/// By definition: the normal is the unit vector of (b - a) × (c - a) of the points in the file.
#[test]
fn normals_are_those_of_the_points_in_the_file() {
    let mut solid = block(Vec3::new(31.7, 0.013, 977.3));
    solid.points[7] += Vec3::new(0.3, 0.007, -0.1);
    let file = bytes(&solid, "t");
    for row in file[84..].chunks(50) {
        let x: Vec<f64> = row[..48]
            .chunks(4)
            .map(|b| f64::from(f32::from_le_bytes(b.try_into().unwrap())))
            .collect();
        let [n, a, b, c] = [0, 3, 6, 9].map(|i| Vec3::new(x[i], x[i + 1], x[i + 2]));
        // A unit vector's parts rounded to f32 are off by at most 2^-25 each.
        assert!(
            (n - (b - a).cross(c - a).normalize()).length() < 6e-8,
            "{n}"
        );
        assert_eq!(&row[48..], [0, 0]);
    }
}

#[test]
fn the_same_solid_gives_the_same_bytes() {
    let solid = block(Vec3::new(1.0, 2.0, 3.0));
    assert_eq!(bytes(&solid, "t"), bytes(&solid, "t"));
    // A minus zero is written as zero, so that equal points have equal bytes.
    let mut minus = solid.clone();
    for p in &mut minus.points {
        *p = p.map(|x| if x == 0.0 { -0.0 } else { x });
    }
    assert_eq!(bytes(&solid, "t"), bytes(&minus, "t"));
}

/// A writer that fails after so many bytes.
struct Full(usize);

impl Write for Full {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0 = self
            .0
            .checked_sub(bytes.len())
            .ok_or(io::ErrorKind::StorageFull)?;
        Ok(bytes.len())
    }
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_full_disk_is_an_error() {
    let solid = block(Vec3::ONE);
    for room in [0, 79, 83, 84, 684 - 1] {
        let error = stl::write(&solid, "t", &mut Full(room)).unwrap_err();
        assert_eq!(error.kind(), io::ErrorKind::StorageFull, "{room}");
    }
    stl::write(&solid, "t", &mut Full(684)).unwrap();
}

/// Every stage of a part with a drafted boss, fillets, a bore and stock: closed after rounding, and of the volume
/// that the build reports. Bound: half an ulp of f32 at 128 mm on every point, over the whole area.
#[test]
fn stages_of_a_part_come_back_closed() {
    let script = "part(\"stub\"); metal(\"A356\"); stock(2); fillets(3);\
        let plate = slab(\"plate\", #{ outline: rect(80, 60).corners(8), height: 9.7 });\
        let hub = boss(\"hub\", #{ on: plate.top, dia: 30, height: 21.3, draft: 3, bore: 12 });\
        finish(hub.top); finish(plate.bottom);";
    let build = Bench::new()
        .build_text(
            script,
            "stub.rhai",
            std::sync::Arc::new(foamwright::script::NoModules),
            &Wish::default(),
            &|_| {},
        )
        .unwrap();
    assert_eq!(build.stages.len(), 3);
    for built in &build.stages {
        let stage = built.stage;
        let file = bytes(&built.solid, "stub");
        assert_eq!(bad_edges(&file), 0, "{}", stage.name());
        let bound = built.figures.area_mm2 * 128.0 * f64::from(f32::EPSILON);
        let off = (volume(&file) - built.figures.volume_mm3).abs();
        assert!(off < bound, "{}: {off} over {bound}", stage.name());
    }
}
