//! "Openings stay open" by its definition: a point is metal when some body holds it that no opening holding the point
//! may take. Whether a body holds a point is worked out from its numbers alone, never from a mesh.

use foamwright::drawing::body::{Act, Body};
use foamwright::drawing::outline::Outline;
use foamwright::measure::{Frame, Vec3};
use foamwright::solid::{
    Claim, Memo, Ready, Solid, Step, evaluate, evaluate_levels, evaluate_whole, in_order,
};

use super::plates::{FACET, bar, ready, upright};
use super::seeded::Seeded;

/// A body known by its numbers.
#[derive(Clone, Copy)]
enum Known {
    /// A block in a frame: half its size.
    Block(Frame, Vec3),
    /// A round bar: middle, unit direction, half its length, radius.
    Bar(Vec3, Vec3, f64, f64),
}

impl Known {
    fn random(g: &mut Seeded) -> Known {
        let at = Vec3::new(
            g.between(0.0, 60.0),
            g.between(0.0, 60.0),
            g.between(0.0, 20.0),
        );
        let lean = Vec3::new(
            g.between(-1.0, 1.0),
            g.between(-1.0, 1.0),
            g.between(0.1, 1.0),
        )
        .normalize();
        if g.chance(0.5) {
            let half = Vec3::new(
                g.between(4.0, 25.0),
                g.between(4.0, 15.0),
                g.between(3.0, 15.0),
            );
            Known::Block(Frame::facing(at, lean, None), half)
        } else {
            Known::Bar(at, lean, g.between(8.0, 30.0), g.between(3.0, 12.0))
        }
    }

    fn body(&self, act: Act) -> Body {
        match *self {
            Known::Block(frame, half) => {
                let outline = Outline::rect(2.0 * half.x, 2.0 * half.y);
                upright(act, frame, outline, -half.z, half.z)
            }
            Known::Bar(at, lean, half, radius) => {
                bar(act, at - lean * half, at + lean * half, 2.0 * radius)
            }
        }
    }

    /// How far a point is outside (mm): negative inside; not a distance outside, but zero on the surface alone.
    fn outside(&self, p: Vec3) -> f64 {
        match *self {
            Known::Block(frame, half) => (frame.local(p).abs() - half).max_element(),
            Known::Bar(at, lean, half, radius) => {
                let along = (p - at).dot(lean);
                let off = (p - at - lean * along).length();
                (along.abs() - half).max(off - radius)
            }
        }
    }
}

/// A part, what each of its cuts may do to each of its adds, and the bodies' numbers.
struct Puzzle {
    known: Vec<Known>,
    ready: Vec<Ready>,
    claims: Vec<Vec<Claim>>,
}

impl Puzzle {
    /// A heap of bodies; each cut spares each add with the chance `spares`.
    fn heap(count: usize, spares: f64, g: &mut Seeded) -> Puzzle {
        let mut bodies = Vec::new();
        let mut known = Vec::new();
        for _ in 0..count {
            let act = if g.chance(0.5) { Act::Add } else { Act::Cut };
            let body = Known::random(g);
            bodies.push(body.body(act));
            known.push(body);
        }
        let claim = |g: &mut Seeded| {
            if g.chance(spares) {
                Claim::Spares
            } else {
                Claim::Takes
            }
        };
        let claims = (0..count)
            .map(|_| (0..count).map(|_| claim(g)).collect())
            .collect();
        Puzzle {
            known,
            ready: ready(&bodies),
            claims,
        }
    }

    fn steps(&self) -> Vec<Step> {
        in_order(&self.ready, &|cut, add| self.claims[cut][add])
    }

    fn of_act(&self, act: Act) -> impl Iterator<Item = usize> + '_ {
        (0..self.ready.len()).filter(move |&i| self.ready[i].act == act)
    }

    /// The definition; `None` too near some surface to say.
    fn metal(&self, p: Vec3) -> Option<bool> {
        let outside: Vec<f64> = self.known.iter().map(|k| k.outside(p)).collect();
        // No facet stands off its curve by more than the facet.
        if outside.iter().any(|d| d.abs() < 1.5 * FACET) {
            return None;
        }
        let holds = |&i: &usize| outside[i] < 0.0;
        let kept = |add: usize| {
            !self
                .of_act(Act::Cut)
                .filter(holds)
                .any(|cut| self.claims[cut][add] == Claim::Takes)
        };
        Some(self.of_act(Act::Add).filter(holds).any(kept))
    }

    /// Holds a solid to the definition at random points; gives how many were metal and how many void within a body.
    fn check(&self, solid: &Solid, g: &mut Seeded, what: &str) -> (usize, usize) {
        let mut told = (0, 0);
        for _ in 0..150 {
            // Half of the points lie in some body, so that few are in the air.
            let p = match self.known[g.below(self.known.len())] {
                Known::Block(frame, half) if g.chance(0.8) => {
                    let mut along = || g.between(-1.0, 1.0);
                    frame.point(half * Vec3::new(along(), along(), along()))
                }
                Known::Bar(at, lean, half, radius) if g.chance(0.8) => {
                    let mut along = |reach: f64| g.between(-reach, reach);
                    let side = Vec3::new(along(radius), along(radius), along(radius));
                    at + lean * along(half) + side
                }
                _ => Vec3::new(
                    g.between(-20.0, 80.0),
                    g.between(-20.0, 80.0),
                    g.between(-20.0, 40.0),
                ),
            };
            let Some(want) = self.metal(p) else { continue };
            assert_eq!(solid.holds(p), want, "{what}: at {p:?}");
            if want {
                told.0 += 1;
            } else if self.known.iter().any(|k| k.outside(p) < 0.0) {
                told.1 += 1;
            }
        }
        told
    }
}

/// Local, by levels and one by one, all hold to the definition and agree with each other.
#[test]
fn openings_stay_open_by_definition() {
    let (mut metal, mut void, mut trimmed) = (0, 0, 0);
    for seed in 0..40 {
        let g = &mut Seeded(1000 + seed);
        let spares = [0.1, 0.3, 0.6, 0.9][seed as usize % 4];
        let puzzle = Puzzle::heap(6 + seed as usize % 9, spares, g);
        let steps = puzzle.steps();
        trimmed += steps.iter().filter(|s| !s.less.is_empty()).count();
        let local = evaluate(&puzzle.ready, &steps, &mut Memo::default()).expect("a solid");
        let what = format!("heap {seed}");
        let told = puzzle.check(&local.solid, g, &what);
        metal += told.0;
        void += told.1;
        let whole = evaluate_whole(&puzzle.ready, &steps).expect("a solid").0;
        let levels = evaluate_levels(&puzzle.ready, &steps).expect("a solid");
        for (other, by) in [(&whole, "one by one"), (&levels, "levels")] {
            let (a, b) = (local.solid.volume_mm3(), other.volume_mm3());
            assert!((a - b).abs() <= 1e-9 * b + 1e-6, "{what}: {a} but {b} {by}");
        }
    }
    println!("{metal} metal, {void} void, {trimmed} bodies trimmed beforehand");
    assert!(metal > 500 && void > 500 && trimmed > 10);
}

/// Every constraint holds in the sequence: who takes comes after, who spares before, or has been taken out beforehand.
#[test]
fn sequences_obey_the_claims() {
    for seed in 0..60 {
        let g = &mut Seeded(5000 + seed);
        let puzzle = Puzzle::heap(12, 0.5, g);
        let steps = puzzle.steps();
        let mut seen: Vec<usize> = steps.iter().map(|s| s.body).collect();
        let place = |body: usize| steps.iter().position(|s| s.body == body).expect("in it");
        for add in puzzle.of_act(Act::Add) {
            for cut in puzzle.of_act(Act::Cut) {
                let less = &steps[place(add)].less;
                let (a, b) = (puzzle.ready[add].bounds, puzzle.ready[cut].bounds);
                if !a.meets(&b) {
                    assert!(!less.contains(&cut));
                    continue;
                }
                match puzzle.claims[cut][add] {
                    Claim::Takes => assert!(place(add) < place(cut) || less.contains(&cut)),
                    _ => assert!(place(cut) < place(add) && !less.contains(&cut)),
                }
            }
        }
        seen.sort_unstable();
        assert_eq!(seen, (0..12).collect::<Vec<_>>());
    }
}

/// Without a reason to change it the script's order stands, and bodies that don't meet never wait for each other.
#[test]
fn the_scripts_order_is_kept() {
    let block = |act, x: f64| {
        upright(
            act,
            Frame::PART,
            Outline::rect(10.0, 10.0).at(x, 0.0),
            0.0,
            10.0,
        )
    };
    use Act::{Add, Cut};
    let bodies = ready(&[
        block(Cut, 0.0),
        block(Add, 100.0),
        block(Cut, 5.0),
        block(Add, 2.0),
    ]);
    let order = |claim: &dyn Fn(usize, usize) -> Claim| -> Vec<usize> {
        let steps = in_order(&bodies, claim);
        assert!(steps.iter().all(|s| s.less.is_empty()));
        steps.iter().map(|s| s.body).collect()
    };
    assert_eq!(order(&|_, _| Claim::Either), [0, 1, 2, 3]);
    assert_eq!(order(&|_, _| Claim::Spares), [0, 1, 2, 3]);
    assert_eq!(order(&|_, _| Claim::Takes), [1, 3, 0, 2]);
    let takes_first = |cut, _| {
        if cut == 0 {
            Claim::Takes
        } else {
            Claim::Spares
        }
    };
    assert_eq!(order(&takes_first), [1, 2, 3, 0]);
}

/// Two bosses, each standing in the opening that cuts the other: only one of them is trimmed beforehand, and each
/// opening is free of the other's metal. The bodies are blocks, so the volume is exact.
#[test]
fn a_cycle_is_trimmed_once() {
    let block = |act, x: f64, l: f64, z1: f64| {
        upright(act, Frame::PART, Outline::rect(l, 10.0).at(x, 0.0), 0.0, z1)
    };
    use Act::{Add, Cut};
    // Two adds 0..20 and 10..30; cut 2 at 10..15 takes add 0, cut 3 at 15..20 takes add 1; each spares the other.
    let bodies = ready(&[
        block(Add, 10.0, 20.0, 10.0),
        block(Add, 20.0, 20.0, 8.0),
        block(Cut, 12.5, 5.0, 20.0),
        block(Cut, 17.5, 5.0, 20.0),
    ]);
    let claim = |cut: usize, add: usize| {
        if cut - 2 == add {
            Claim::Takes
        } else {
            Claim::Spares
        }
    };
    let steps = in_order(&bodies, &claim);
    assert_eq!(steps.iter().map(|s| s.less.len()).sum::<usize>(), 1);
    let done = evaluate(&bodies, &steps, &mut Memo::default()).expect("a solid");
    // Add 0 keeps 0..10 and 15..20 at height 10; add 1 keeps 10..15 and 20..30 at height 8.
    let want = 10.0 * (15.0 * 10.0 + 15.0 * 8.0);
    let got = done.solid.volume_mm3();
    assert!((got - want).abs() < 1e-6, "{got} for {want}");
}
