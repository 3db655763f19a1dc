//! Castings of random parts with finish marks at random: true to their definition, with the finished part inside.
//! And the examples: no metal of the finished part outside the casting.

use super::built::{built, built_file, figures};
use super::examples::{EXAMPLES, path_of};
use super::openings::{Inside, boxes, differences, metal, points, staged};
use super::random_part::RandomPart;
use super::seeded::Seeded;
use foamwright::shop::{Build, Stage, Wish};
use foamwright::solid::{Shell, Skin, Solid, minus, shell_volume};

#[test]
fn random_castings_are_metal_where_the_definition_says() {
    let mut g = Seeded(15);
    let mut report = Vec::new();
    for seed in 300..315 {
        let script = RandomPart::new(seed).marked_script();
        let build = built(&script);
        let casting = staged(&build, Stage::Casting);
        let (judged, wrong) = differences(&build, Stage::Casting, &casting, &mut g);
        assert!(judged > 1600, "seed {seed}: only {judged} points judged");
        if !wrong.is_empty() {
            let count = wrong.len();
            report.push(format!(
                "seed {seed}: {count} of {judged}: {}\n{script}",
                wrong[0]
            ));
        }
    }
    assert!(report.is_empty(), "{}\n{}", report.len(), report.join("\n"));
}

#[test]
fn the_finished_part_lies_inside_its_casting() {
    let mut g = Seeded(16);
    let mut report = Vec::new();
    for seed in 400..420 {
        let script = RandomPart::new(seed).marked_script();
        let build = built(&script);
        let finished = staged(&build, Stage::Finished);
        let (boxes, solid) = (
            boxes(&finished),
            &build.stage(Stage::Casting).expect("built").solid,
        );
        let inside = Inside::new(solid);
        let bare = points(&finished, &solid.bounds(), 2500, &mut g)
            .into_iter()
            .find(|&p| metal(&finished, &boxes, p) == Some(true) && !inside.holds(p));
        if let Some(p) = bare {
            let names: Vec<&str> = finished
                .members
                .iter()
                .filter(|m| m.body.holds(p, 0.05) != Some(false))
                .map(|m| build.part.features[m.body.feature].name.as_str())
                .collect();
            report.push(format!(
                "seed {seed}: {p:.3} of {names:?} is missing\n{script}"
            ));
        }
    }
    assert!(report.is_empty(), "{}\n{}", report.len(), report.join("\n"));
}

fn shell(solid: &Solid) -> Shell {
    Shell {
        points: solid.points.clone(),
        triangles: solid.triangles.clone(),
        skins: vec![Skin::Side; solid.triangles.len()],
    }
}

/// Volume of the finished part outside its casting (mm³).
pub fn outside_mm3(build: &Build) -> f64 {
    let [finished, casting] =
        [Stage::Finished, Stage::Casting].map(|s| shell(&build.stage(s).expect("built").solid));
    shell_volume(&minus(&finished, &casting).expect("a boolean"))
}

#[test]
fn no_metal_of_the_examples_is_outside_their_castings() {
    for name in EXAMPLES {
        let build = built_file(&path_of(name), &Wish::default());
        let outside = outside_mm3(&build);
        // Where both stages have the same round face their facets may differ: by less than a facet over all faces
        // whose ends moved. A hundredth of that is the bound.
        let area = figures(&build, Stage::Finished).area_mm2;
        assert!(
            outside < area * 0.02 * 0.01,
            "{name}: {outside} mm³ of {area} mm²"
        );
    }
}
