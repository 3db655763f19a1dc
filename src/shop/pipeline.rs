//! The stages in order: script text → drawing → bodies → solids → findings. The only place that orders them.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::time::Instant;

use crate::drawing::Part;
use crate::drawing::body::{Act, Body};
use crate::fault::{Fault, Faults, Finding, Level};
use crate::foundry;
use crate::inspect::{self, Bodies, Change, Subject};
use crate::pattern::{self, Gated, LeftSolid, Stage, Staged, Stocks};
use crate::pieces::nesting::Effort;
use crate::pieces::{Boards, Pieces};
use crate::pour::fields::Outlook;
use crate::pour::{self, Pour};
use crate::script::{self, Reading};
use crate::shop::boards::laid;
use crate::shop::library::LIBRARY;
use crate::shop::make::foam_kg_m3;
use crate::shop::modules::FolderModules;
use crate::shop::proof::{Unproved, prove_all};
use crate::solid::{
    BodyFault, Evaluated, Figures, Memo, Ready, Settled, Shell, ShellStore, Solid, evaluate,
    in_order,
};

/// What a person asks for beside the script.
#[derive(Debug, Clone, Default)]
pub struct Wish {
    /// `--set`: name and value as written.
    pub overrides: Vec<(String, String)>,
    /// `--facet`, mm.
    pub facet_mm: Option<f64>,
    /// The coarsest facet to build with, whatever the script or `facet_mm` says (mm): checks want a fine mesh.
    pub facet_at_most_mm: Option<f64>,
    /// `--effort`: how long to look for a layout of the pieces on boards; they are laid on none where it isn't given.
    pub effort: Option<Effort>,
}

/// One stage, built.
#[derive(Debug, Clone)]
pub struct Built {
    /// Which.
    pub stage: Stage,
    /// Its mesh, sound also when rounded to f32.
    pub solid: Arc<Solid>,
    /// What it measures.
    pub figures: Figures,
}

/// How long each part of a build took (s).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Seconds {
    /// Reading the script.
    pub script: f64,
    /// Bodies, booleans and meshes of all stages, with the checks that go on beside them.
    pub solids: f64,
    /// The findings, found while the meshes are settled.
    pub checks: f64,
    /// Laying the pieces on boards.
    pub boards: f64,
}

/// A finished build; nothing in it changes any more.
#[derive(Debug, Clone)]
pub struct Build {
    /// The drawing.
    pub part: Part,
    /// Finished, casting, pattern; gated where the script gates it.
    pub stages: Vec<Built>,
    /// What each feature added and removed in the finished part; one a feature.
    pub changes: Vec<Change>,
    /// Stock on each marked surface (mm).
    pub stocks: Arc<Stocks>,
    /// Openings that the casting leaves solid.
    pub left_solid: Arc<Vec<LeftSolid>>,
    /// The pattern's foam pieces, where the script says something of boards or splits; [`prove_all`] makes them.
    pub pieces: Option<Arc<Pieces>>,
    /// The boards with those pieces on them; `None` until they are laid.
    pub boards: Option<Arc<Boards>>,
    /// How the gating lies, where the script gates the pattern.
    pub gated: Option<Arc<Gated>>,
    /// Weights, melt, flask and saw, where the script gates the pattern.
    pub pour: Option<Arc<Pour>>,
    /// How it is expected to fill and freeze, where the script gates the pattern; [`prove_all`] estimates it.
    pub outlook: Option<Arc<Outlook>>,
    /// In the order of reports.
    pub findings: Vec<Finding>,
    /// Every file that was read.
    pub files: Vec<PathBuf>,
    /// How long it took.
    pub seconds: Seconds,
}

impl Build {
    /// A stage of the build.
    pub fn stage(&self, stage: Stage) -> Option<&Built> {
        self.stages.iter().find(|b| b.stage == stage)
    }

    /// Whether any finding is at level `stop`.
    pub fn stops(&self) -> bool {
        self.findings.iter().any(|f| f.level == Level::Stop)
    }
}

/// Why there is no build, with what is needed to show it and to try again on a change.
#[derive(Debug, Clone, Default)]
pub struct Failure {
    /// What is wrong.
    pub faults: Faults,
    /// The texts that the faults' places lie in, by file name.
    pub texts: BTreeMap<String, String>,
    /// Every file that was read.
    pub files: Vec<PathBuf>,
}

/// What is remembered from build to build, so that an edit costs what it touches.
#[derive(Debug, Default)]
pub struct Bench {
    shells: ShellStore,
    /// One for the finished part, one for the casting: they are evaluated side by side.
    memos: [Memo; 2],
    /// For the gating on the pattern, which is made while the checks go on.
    gating: (ShellStore, Memo),
    /// For pieces cut out of the pattern, which the proof does.
    cuts: Arc<Mutex<Memo>>,
}

/// One a member of a stage.
type Shells = Vec<Arc<Shell>>;

/// Called when a step begins, with its name.
pub type Progress<'a> = &'a dyn Fn(&str);

impl Bench {
    /// An empty one.
    pub fn new() -> Bench {
        Bench::default()
    }

    /// Builds a script from disk.
    ///
    /// # Errors
    /// The file can't be read or isn't text; the script has faults; a body can't be made.
    pub fn build(
        &mut self,
        script: &Path,
        wish: &Wish,
        progress: Progress,
    ) -> Result<Build, Box<Failure>> {
        from_disk(script, &mut |source, shown, modules| {
            self.build_text(source, shown, modules, wish, progress)
        })
    }

    /// Builds the stages of a script from disk, without the checks that take longest, and without pieces and boards.
    ///
    /// # Errors
    /// As [`Bench::build`].
    pub fn shape(
        &mut self,
        script: &Path,
        wish: &Wish,
        progress: Progress,
    ) -> Result<Build, Box<Failure>> {
        from_disk(script, &mut |source, shown, modules| {
            let (build, _) = self.shape_text(source, shown, modules, wish, progress)?;
            Ok(build)
        })
    }

    /// Builds a script from its text.
    ///
    /// # Errors
    /// As [`Bench::build`].
    pub fn build_text(
        &mut self,
        source: &str,
        file_name: &str,
        modules: Arc<dyn script::Modules>,
        wish: &Wish,
        progress: Progress,
    ) -> Result<Build, Box<Failure>> {
        let (build, unproved) = self.shape_text(source, file_name, modules, wish, progress)?;
        progress("proving walls and reach");
        let build = prove_all(build, &unproved);
        let Some(effort) = wish.effort else {
            return Ok(build);
        };
        progress("laying the pieces on boards");
        Ok(laid(build, effort, &|| true))
    }

    /// The same, without the checks that take longest: see [`prove_all`].
    ///
    /// # Errors
    /// As [`Bench::build`].
    pub fn shape_text(
        &mut self,
        source: &str,
        file_name: &str,
        modules: Arc<dyn script::Modules>,
        wish: &Wish,
        progress: Progress,
    ) -> Result<(Build, Unproved), Box<Failure>> {
        progress("reading the script");
        let clock = Instant::now();
        let names: Vec<String> = foundry::metal_names()
            .into_iter()
            .map(String::from)
            .collect();
        let reading = Reading {
            file_name,
            modules,
            metals: &|name| foundry::metal(name).ok(),
            metal_names: &names,
            overrides: &wish.overrides,
            library: LIBRARY,
            facet_mm: wish.facet_mm,
        };
        let read = script::read(source, &reading).map_err(|unread| {
            Box::new(Failure {
                faults: unread.faults,
                texts: unread.texts,
                files: unread.files,
            })
        })?;
        let script_seconds = clock.elapsed().as_secs_f64();
        let texts = BTreeMap::from([(file_name.to_string(), source.to_string())]);
        let files = read.files;
        let mut part = read.part;
        if let Some(most) = wish.facet_at_most_mm {
            part.facet_mm = part.facet_mm.min(most);
        }
        match self.shape_part(part, script_seconds, progress) {
            Ok((mut build, unproved)) => {
                build.files = files;
                Ok((build, unproved))
            }
            Err(faults) => Err(Box::new(Failure {
                faults,
                texts,
                files,
            })),
        }
    }

    /// Builds a drawing, without the checks that take longest.
    ///
    /// # Errors
    /// A body that can't be made, stock that doesn't fit, a kernel failure; each at its feature.
    fn shape_part(
        &mut self,
        part: Part,
        script_seconds: f64,
        progress: Progress,
    ) -> Result<(Build, Unproved), Faults> {
        let clock = Instant::now();
        let stocks = settle(&part)?;
        progress("making the bodies");
        let (finished, casting) = std::thread::scope(|scope| {
            let casting = scope.spawn(|| pattern::members(&part, Stage::Casting, &stocks));
            let finished = pattern::members(&part, Stage::Finished, &Stocks::new());
            (finished, joined(casting))
        });
        let (finished, casting) = (finished?, casting?);
        let [finished_shells, casting_shells] = self.shells(&part, &finished, &casting)?;
        progress("joining them");
        let [memo, casting_memo] = &mut self.memos;
        let (done, cast) = std::thread::scope(|scope| {
            let cast = scope.spawn(|| combined(&part, &casting, &casting_shells, casting_memo));
            let done = combined(&part, &finished, &finished_shells, memo);
            (done, joined(cast))
        });
        let (done, cast) = (done?, cast?);
        progress("checking");
        let changes = changes(&part, &finished, &done.changes_mm3);
        let finished = Bodies::new(finished, finished_shells);
        let casting = Bodies::new(casting, casting_shells);
        let (store, gating) = (&mut self.shells, &mut self.gating);
        let (solids, (mut findings, checks_seconds)) = std::thread::scope(|scope| {
            let checks = scope.spawn(|| {
                let clock = Instant::now();
                let store = RefCell::new(store);
                let findings = inspect::inspect(&Subject {
                    part: &part,
                    stocks: &stocks,
                    finished: &finished.staged,
                    shells: &finished.shells,
                    boxes: &finished.boxes,
                    shell_of: &|body| store.borrow_mut().shell(body, part.facet_mm).ok(),
                    casting: &casting.staged,
                    changes: &changes,
                });
                (findings, clock.elapsed().as_secs_f64())
            });
            let solids = stages(&part, &stocks, [&done.solid, &cast.solid], gating);
            (solids, joined(checks))
        });
        let Solids {
            stages,
            gated,
            pour,
        } = solids?;
        let lumps: Vec<(&'static str, usize)> = stages
            .iter()
            .map(|b| (b.stage.name(), b.figures.bodies))
            .filter(|(name, _)| *name != "pattern")
            .collect();
        findings.extend(inspect::loose_lump(&lumps));
        findings.extend(pour.iter().flat_map(|p| p.findings.iter().cloned()));
        let findings = inspect::settled(findings, &part);
        self.shells.end_run();
        self.memos.iter_mut().for_each(Memo::end_run);
        self.gating.0.end_run();
        self.gating.1.end_run();
        let seconds = Seconds {
            script: script_seconds,
            solids: clock.elapsed().as_secs_f64(),
            checks: checks_seconds,
            boards: 0.0,
        };
        let build = Build {
            part,
            stages,
            changes,
            stocks: Arc::new(stocks),
            left_solid: Arc::new(casting.staged.left_solid.clone()),
            pieces: None,
            boards: None,
            gated,
            pour,
            outlook: None,
            findings,
            files: Vec::new(),
            seconds,
        };
        let solids = [done.solid, cast.solid];
        Ok((
            build,
            Unproved::new([finished, casting], solids, Arc::clone(&self.cuts)),
        ))
    }

    /// The shells of all members of two stages.
    fn shells(
        &mut self,
        part: &Part,
        finished: &Staged,
        casting: &Staged,
    ) -> Result<[Shells; 2], Faults> {
        let members = finished.members.iter().chain(&casting.members);
        let bodies: Vec<&Body> = members.map(|m| &m.body).collect();
        let mut faults = Vec::new();
        let mut shells = Vec::new();
        for (made, body) in self
            .shells
            .shells(&bodies, part.facet_mm)
            .into_iter()
            .zip(bodies)
        {
            match made {
                Ok(shell) => shells.push(shell),
                Err(fault) => faults.push(body_fault(part, body.feature, &fault)),
            }
        }
        faults.dedup();
        if !faults.is_empty() {
            return Err(Faults(faults));
        }
        let of_casting = shells.split_off(finished.members.len());
        Ok([shells, of_casting])
    }
}

/// How a script's text, its name and its modules become a build.
type Maker<'a> =
    &'a mut dyn FnMut(&str, &str, Arc<dyn script::Modules>) -> Result<Build, Box<Failure>>;

/// What is made of a script on disk.
fn from_disk(script: &Path, make: Maker) -> Result<Build, Box<Failure>> {
    let shown = script.display().to_string();
    let plain = |fault: Fault| {
        Box::new(Failure {
            faults: fault.into(),
            files: vec![script.to_path_buf()],
            ..Failure::default()
        })
    };
    let source = script_text(script).map_err(plain)?;
    let modules = FolderModules::beside(script).map_err(|e| plain(unreadable(&shown, &e)))?;
    let mut built = make(&source, &shown, Arc::new(modules));
    let files = match &mut built {
        Ok(build) => &mut build.files,
        Err(failure) => &mut failure.files,
    };
    files.insert(0, script.to_path_buf());
    built
}

/// What a thread gives; its panic goes on here.
pub(super) fn joined<T>(thread: std::thread::ScopedJoinHandle<T>) -> T {
    thread
        .join()
        .unwrap_or_else(|panic| std::panic::resume_unwind(panic))
}

/// The solid that a stage's shells make.
fn combined(
    part: &Part,
    staged: &Staged,
    shells: &[Arc<Shell>],
    memo: &mut Memo,
) -> Result<Evaluated, Faults> {
    let ready: Vec<Ready> = staged
        .members
        .iter()
        .zip(shells)
        .map(|(m, shell)| Ready::new(m.body.feature, m.body.act, Arc::clone(shell)))
        .collect();
    let steps = in_order(&ready, &|cut, add| staged.claim(cut, add));
    evaluate(&ready, &steps, memo).map_err(|fault| match fault.body() {
        Some(body) => {
            let feature = &part.features[ready[body].feature];
            Fault::new(format!("{}: {}", feature.name, fault.text()))
                .from_site(&feature.site)
                .into()
        }
        None => Fault::new(fault.text()).into(),
    })
}

/// The stock of every mark, from the drawing's own extents.
fn settle(part: &Part) -> Result<Stocks, Faults> {
    let size = part.bounds().size();
    pattern::settle_stock(part, size.max_element(), &|rma, ct, largest| {
        foundry::stock_of_grade(rma, ct, largest)
            .map(|stock| (stock.flat_mm, stock.round_side_mm))
            .map_err(|e| e.to_string())
    })
}

/// The stages with what the pattern is gated with, and what that says of the pour.
struct Solids {
    stages: Vec<Built>,
    gated: Option<Arc<Gated>>,
    pour: Option<Arc<Pour>>,
}

/// The stages of the two solids, finished and casting, each sound when rounded to f32.
fn stages(
    part: &Part,
    stocks: &Stocks,
    [finished, casting]: [&Solid; 2],
    gating: &mut (ShellStore, Memo),
) -> Result<Solids, Faults> {
    let grow = part.metal.growth().to_array();
    // Settled points are f32 values and welded, so these are what a mesh file's reader finds.
    let (plain, gated) = std::thread::scope(|scope| {
        // The gating goes on from the pattern, which takes longest.
        let gated = scope.spawn(move || {
            let pattern = sound(Stage::Pattern, casting.scaled(grow).settled())?;
            let gated = gated(part, stocks, &pattern, gating)?;
            Ok::<_, Faults>((pattern, gated))
        });
        let plain = [(Stage::Finished, finished), (Stage::Casting, casting)]
            .map(|(stage, solid)| sound(stage, solid.settled()));
        (plain, joined(gated))
    });
    let [finished, casting] = plain;
    let (finished, casting) = (finished?, casting?);
    let (pattern, gated) = gated?;
    let pour = match &gated {
        Some((whole, gated)) => Some(Arc::new(pour::pour(&pour::Subject {
            part,
            gated,
            casting: &casting.figures,
            pattern: &pattern.solid,
            pattern_figures: &pattern.figures,
            whole: &whole.solid,
            whole_figures: &whole.figures,
            foam_kg_m3: foam_kg_m3(),
        })?)),
        None => None,
    };
    let (whole, gated) = gated.unzip();
    Ok(Solids {
        stages: [finished, casting, pattern]
            .into_iter()
            .chain(whole)
            .collect(),
        gated: gated.map(Arc::new),
        pour,
    })
}

/// The gated stage, where the script gates the pattern.
fn gated(
    part: &Part,
    stocks: &Stocks,
    pattern: &Built,
    (store, memo): &mut (ShellStore, Memo),
) -> Result<Option<(Built, Gated)>, Faults> {
    let made = pattern::gated(part, stocks, &pattern.solid, store, memo)?;
    made.map(|(solid, gated)| Ok((sound(Stage::Gated, solid.settled())?, gated)))
        .transpose()
}

/// A stage, if there is something of it and its mesh is sound.
fn sound(stage: Stage, settled: Settled) -> Result<Built, Faults> {
    let Settled {
        solid,
        figures,
        bad_edges: bad,
    } = settled;
    if solid.triangles.is_empty() {
        return Err(
            Fault::new(format!("nothing is left of the {} part", stage.name()))
                .hint("a part needs at least one slab, boss or turned body that no opening takes away")
                .into(),
        );
    }
    if bad > 0 {
        return Err(Fault::new(format!(
            "the mesh of the {} part has {bad} bad edges",
            stage.name()
        ))
        .hint("please keep this script and report it: the program should have built it")
        .into());
    }
    Ok(Built {
        stage,
        solid: Arc::new(solid),
        figures,
    })
}

/// What each feature added and removed, from what each member changed.
fn changes(part: &Part, staged: &Staged, by_member: &[f64]) -> Vec<Change> {
    let mut out = vec![Change::default(); part.features.len()];
    for (member, change) in staged.members.iter().zip(by_member) {
        let of = &mut out[member.body.feature];
        match member.body.act {
            Act::Add => of.added_mm3 += change.max(0.0),
            Act::Cut => of.removed_mm3 += (-change).max(0.0),
        }
    }
    out
}

fn body_fault(part: &Part, feature: usize, fault: &BodyFault) -> Fault {
    let (text, hints) = match fault {
        BodyFault::Shape(shape) => (shape.text(part.unit), shape.hints(part.unit)),
        BodyFault::Solid(solid) => (solid.text(), Vec::new()),
    };
    let feature = &part.features[feature];
    let fault = Fault::new(format!("{}: {text}", feature.name)).from_site(&feature.site);
    hints.into_iter().fold(fault, Fault::hint)
}

/// The text of a script on disk.
///
/// # Errors
/// The file can't be read, isn't a file, or isn't text.
pub(super) fn script_text(script: &Path) -> Result<String, Fault> {
    let shown = script.display().to_string();
    let about = std::fs::metadata(script).map_err(|e| unreadable(&shown, &e))?;
    if !about.is_file() {
        return Err(Fault::new(format!("{shown}: it is not a file")));
    }
    let bytes = std::fs::read(script).map_err(|e| unreadable(&shown, &e))?;
    String::from_utf8(bytes).map_err(|_| {
        Fault::new(format!("{shown} isn't a text file")).hint("a part script is plain UTF-8 text")
    })
}

fn unreadable(shown: &str, error: &std::io::Error) -> Fault {
    let why = match error.kind() {
        std::io::ErrorKind::NotFound => "there is no such file".to_string(),
        std::io::ErrorKind::PermissionDenied => "it may not be read".to_string(),
        _ => error.to_string(),
    };
    Fault::new(format!("{shown}: {why}"))
}
