//! A good build with everything that a page can ask of it; whatever is costly is made once, when asked for.

use std::path::Path;
use std::sync::{Arc, OnceLock};

use crate::export::{pour_map, surface_map, view};
use crate::fault::Span;
use crate::inspect::walls::Surface;
use crate::measure::{LIP_MM, Vec3};
use crate::pattern::Stage;
use crate::sheet::card::{
    FeatureCard, FindingCard, SettingCard, feature_cards, finding_cards, setting_cards,
};
use crate::sheet::foam_card::{FoamCard, foam_card};
use crate::sheet::report::Report;
use crate::shop::boards::lacks_boards;
use crate::shop::late::late_files;
use crate::shop::make::{bare, build_files, foam_kg_m3, report_of};
use crate::shop::pipeline::{Build, Built};
use crate::shop::watch::inputs::Inputs;
use crate::solid::Solid;

/// A file that a build gives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GoodFile {
    /// Its name, without folders.
    pub name: String,
    /// Its size in bytes; `None` of one that is made only when it is asked for.
    pub bytes: Option<u64>,
}

/// What a page can colour a stage's surface by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Map {
    /// How thick the metal is behind each place (mm).
    Walls,
    /// 1 where a cutter can come from above or below, 0 where it can't.
    Reach,
    /// How long the metal stays hot; only of a gated part, once that has been looked at.
    Heat,
    /// The largest ball inside the metal; as [`Map::Heat`].
    Ball,
    /// How far the metal has come through the foam; as [`Map::Heat`].
    Travel,
}

impl Map {
    /// All of them.
    pub const ALL: [Map; 5] = [Map::Walls, Map::Reach, Map::Heat, Map::Ball, Map::Travel];

    /// The map of that name.
    pub fn named(name: &str) -> Option<Map> {
        match name {
            "walls" => Some(Map::Walls),
            "reach" => Some(Map::Reach),
            "heat" => Some(Map::Heat),
            "ball" => Some(Map::Ball),
            "travel" => Some(Map::Travel),
            _ => None,
        }
    }
}

/// The bytes of each stage's view, once they were asked for.
type Views = [OnceLock<Arc<Vec<u8>>>; Stage::ALL.len()];

/// What a page calls the stage of the foam pieces.
const PIECES: &str = "pieces";

/// What a build gave, new or from a build of before.
#[derive(Debug)]
pub struct Made {
    build: Build,
    overrides: Vec<(String, String)>,
    views: Views,
    maps: [Views; Map::ALL.len()],
    in_pieces: OnceLock<Arc<Vec<u8>>>,
    proved: bool,
}

impl Made {
    /// Newly built, the longer checks not done yet.
    pub fn new(build: Build, overrides: Vec<(String, String)>) -> Made {
        Made {
            proved: false,
            build,
            overrides,
            views: Views::default(),
            maps: Default::default(),
            in_pieces: OnceLock::new(),
        }
    }
}

/// See the module.
#[derive(Debug)]
pub struct Good {
    /// Counts good builds, from 1.
    pub number: u64,
    /// The build.
    pub build: Build,
    /// Its report.
    pub report: Report,
    /// From reading the script to the findings (s).
    pub seconds: f64,
    /// Its files, in the order that they are written in; those that tell of the boards once all is done.
    pub files: Vec<GoodFile>,
    /// One a feature.
    pub features: Vec<FeatureCard>,
    /// One a setting.
    pub settings: Vec<SettingCard>,
    /// One a finding.
    pub findings: Vec<FindingCard>,
    /// The foam pieces, once they are cut: with the proof.
    pub foam: Option<FoamCard>,
    /// Whether all checks are done: until then some findings are missing.
    pub proved: bool,
    /// The settings that it was built with beside those of the command line.
    pub overrides: Vec<(String, String)>,
    inputs: Inputs,
    views: Views,
    maps: [Views; Map::ALL.len()],
    in_pieces: OnceLock<Arc<Vec<u8>>>,
}

impl Good {
    /// All that follows from a build.
    pub fn new(number: u64, made: Made, inputs: Inputs, script: &Path, seconds: f64) -> Good {
        let Made {
            build,
            overrides,
            views,
            maps,
            in_pieces,
            proved,
        } = made;
        let report = report_of(&build, script, false);
        let made = build_files(&build, &report).into_iter();
        let made = made.map(|(output, bytes)| (output.name, Some(bytes)));
        let whole = proved && !lacks_boards(&build);
        let late = late_files(&build, &report).into_iter().filter(|_| whole);
        let files = made
            .chain(late.map(|output| (output.name, None)))
            .map(|(name, bytes)| GoodFile { name, bytes })
            .collect();
        let shown = |file: &str| beside(script, file);
        let line_of = |span: &Span| {
            let text = inputs.text_of(&span.file)?;
            let line = text.lines().nth(span.line.checked_sub(1)?)?;
            Some(line.strip_prefix('\u{feff}').unwrap_or(line).to_string())
        };
        Good {
            number,
            report,
            seconds,
            files,
            features: feature_cards(&build.part, &build.changes, &shown),
            settings: setting_cards(&build.part, &shown, &line_of),
            findings: finding_cards(&build.part, &build.findings, &shown),
            foam: foam_of(&build, &shown),
            proved,
            build,
            overrides,
            inputs,
            views,
            maps,
            in_pieces,
        }
    }

    /// The same once more, for another number: what was costly is not made again.
    pub fn again(&self) -> Made {
        Made {
            build: self.build.clone(),
            overrides: self.overrides.clone(),
            views: self.views.clone(),
            maps: self.maps.clone(),
            in_pieces: self.in_pieces.clone(),
            proved: self.proved,
        }
    }

    /// The same with something done to it, if that was done; `proved` where nothing but boards is missing then.
    pub fn changed_by(
        &self,
        change: impl FnOnce(Build) -> Option<Build>,
        proved: bool,
    ) -> Option<Made> {
        let mut made = self.again();
        made.build = change(made.build)?;
        made.proved = proved;
        Some(made)
    }

    /// What was read for it.
    pub fn inputs(&self) -> &Inputs {
        &self.inputs
    }

    /// The bytes of a stage's view by the stage's name, as `export::view` lays them out.
    pub fn view(&self, stage: &str) -> Option<Arc<Vec<u8>>> {
        if stage == PIECES {
            return self.view_in_pieces();
        }
        self.once(&self.views, stage, |built, bytes| {
            view::write(&built.solid, bytes)
        })
    }

    /// The foam pieces in the pattern's place, each a body, and after them the wax.
    fn view_in_pieces(&self) -> Option<Arc<Vec<u8>>> {
        let pieces = self.build.pieces.as_ref()?;
        let bytes = self.in_pieces.get_or_init(|| {
            let wax = pieces.wax.iter().map(|w| Solid::clone(&w.solid));
            let bodies: Vec<Solid> = pieces
                .pieces
                .iter()
                .map(|p| p.placed())
                .chain(wax)
                .collect();
            let mut bytes = Vec::new();
            // As below.
            let _ = view::write_bodies(&bodies, &mut bytes);
            Arc::new(bytes)
        });
        Some(Arc::clone(bytes))
    }

    /// The bytes of a map of a stage by the stage's name, as `export::surface_map` lays them out; nothing of the pour's
    /// before that is known.
    pub fn map(&self, map: Map, stage: &str) -> Option<Arc<Vec<u8>>> {
        let poured = match map {
            Map::Walls | Map::Reach => None,
            Map::Heat | Map::Ball | Map::Travel => {
                Some((self.build.outlook.as_deref()?, self.build.gated.as_deref()?))
            }
        };
        self.once(&self.maps[map as usize], stage, |built, bytes| {
            let solid = &built.solid;
            if let Some((outlook, gated)) = poured {
                let subject = pour_map::Subject {
                    part: &self.build.part,
                    outlook,
                    gated,
                    stage: built.stage,
                };
                return match map {
                    Map::Heat => pour_map::heat(&subject, solid, bytes),
                    Map::Ball => pour_map::ball(&subject, solid, bytes),
                    _ => pour_map::travel(&subject, solid, bytes),
                };
            }
            let surface = Surface::new(&solid.points, &solid.triangles, &solid.features);
            let value = |place: Vec3, inward: Vec3| match map {
                Map::Reach => [f64::from(surface.seen_upright(place, inward, LIP_MM))],
                _ => [surface.through(place, inward)],
            };
            surface_map::write(solid, &value, "", bytes)
        })
    }

    /// What was made of a stage before, or is made of it now.
    fn once(
        &self,
        made: &Views,
        stage: &str,
        make: impl Fn(&Built, &mut Vec<u8>) -> std::io::Result<()>,
    ) -> Option<Arc<Vec<u8>>> {
        let stages = &self.build.stages;
        let at = stages.iter().position(|b| b.stage.name() == stage)?;
        let bytes = made.get(at)?.get_or_init(|| {
            let mut bytes = Vec::new();
            // Writing to memory fails only for a mesh too large to count; it then stays empty.
            let _ = make(&stages[at], &mut bytes);
            Arc::new(bytes)
        });
        Some(Arc::clone(bytes))
    }

    /// The bytes of a file by its name.
    pub fn file(&self, name: &str) -> Option<Vec<u8>> {
        let listed = self.files.iter().find(|f| f.name == name)?;
        let output = match listed.bytes {
            Some(_) => bare(build_files(&self.build, &self.report)),
            None => late_files(&self.build, &self.report),
        };
        let output = output.into_iter().find(|o| o.name == name)?;
        let mut bytes = Vec::new();
        (output.contents)(&mut bytes).ok()?;
        Some(bytes)
    }
}

/// The cards of a build's foam; where nothing is to be laid on boards, there are no boards, which is known.
fn foam_of(build: &Build, shown: &dyn Fn(&str) -> String) -> Option<FoamCard> {
    let pieces = build.pieces.as_deref()?;
    let mut foam = foam_card(
        &build.part,
        pieces,
        build.boards.as_deref(),
        foam_kg_m3(),
        shown,
    );
    if foam.boards.is_none() && !lacks_boards(build) {
        foam.boards = Some(Vec::new());
    }
    Some(foam)
}

/// A file as a page shows it: from the script's own folder.
pub fn beside(script: &Path, file: &str) -> String {
    let folder = script.parent().unwrap_or(Path::new(""));
    let inner = Path::new(file).strip_prefix(folder);
    inner.map_or_else(
        |_| file.to_string(),
        |p| p.to_string_lossy().replace('\\', "/"),
    )
}
