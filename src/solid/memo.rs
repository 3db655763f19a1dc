//! What the local evaluation remembers: results by content, so that an edit costs only what it touches.
//!
//! A record is a pure function of its key's content; what is remembered can change how long a build takes, never
//! what comes out.

use rustc_hash::FxHashMap;
use std::fmt;
use std::sync::Arc;

use manifold_rust::impl_mesh::ManifoldImpl;

use crate::solid::local::Outcome;
use crate::solid::{Shell, SolidFault};

/// How many runs an unused record is kept.
const RUNS_KEPT: u64 = 3;

/// So many runs given up in a row count as one that ended.
const MOST_GIVEN_UP: u64 = 8;

/// Records by content, kept over a few runs.
#[derive(Default)]
pub struct Memo {
    outcomes: FxHashMap<u128, (Arc<Outcome>, u64)>,
    meshes: FxHashMap<u128, (Arc<ManifoldImpl>, u64)>,
    shells: FxHashMap<u128, (Shell, u64)>,
    run: u64,
    /// Runs given up since one ended.
    given_up: u64,
}

impl Memo {
    /// Ends a run: what the last three did not use is dropped.
    pub fn end_run(&mut self) {
        self.given_up = 0;
        self.run += 1;
        let run = self.run;
        self.outcomes
            .retain(|_, (_, used)| run - *used <= RUNS_KEPT);
        self.meshes.retain(|_, (_, used)| run - *used <= RUNS_KEPT);
        self.shells.retain(|_, (_, used)| run - *used <= RUNS_KEPT);
    }

    /// Ends a run that was given up: what it didn't come to is kept, until many in a row were given up.
    pub fn give_up_run(&mut self) {
        self.given_up += 1;
        if self.given_up >= MOST_GIVEN_UP {
            self.end_run();
        }
    }

    /// How many results it holds.
    pub fn len(&self) -> usize {
        self.outcomes.len()
    }

    /// Whether it holds no result.
    pub fn is_empty(&self) -> bool {
        self.outcomes.is_empty()
    }

    /// How many remembered steps could not be done locally.
    pub fn unfit(&self) -> usize {
        let unfit = |o: &&(Arc<Outcome>, u64)| matches!(*o.0, Outcome::Unfit);
        self.outcomes.values().filter(unfit).count()
    }

    pub(super) fn outcome(&mut self, key: u128) -> Option<Arc<Outcome>> {
        let (outcome, used) = self.outcomes.get_mut(&key)?;
        *used = self.run;
        Some(Arc::clone(outcome))
    }

    pub(super) fn keep_outcome(&mut self, key: u128, outcome: Outcome) -> Arc<Outcome> {
        let outcome = Arc::new(outcome);
        self.outcomes.insert(key, (Arc::clone(&outcome), self.run));
        outcome
    }

    /// What was made for a key before, or is made now.
    pub(super) fn shell(
        &mut self,
        key: u128,
        make: impl FnOnce() -> Result<Shell, SolidFault>,
    ) -> Result<Shell, SolidFault> {
        if let Some((shell, used)) = self.shells.get_mut(&key) {
            *used = self.run;
            return Ok(shell.clone());
        }
        let shell = make()?;
        self.shells.insert(key, (shell.clone(), self.run));
        Ok(shell)
    }

    pub(super) fn mesh(&mut self, key: u128) -> Option<Arc<ManifoldImpl>> {
        let (mesh, used) = self.meshes.get_mut(&key)?;
        *used = self.run;
        Some(Arc::clone(mesh))
    }

    pub(super) fn keep_mesh(&mut self, key: u128, mesh: ManifoldImpl) -> Arc<ManifoldImpl> {
        let mesh = Arc::new(mesh);
        self.meshes.insert(key, (Arc::clone(&mesh), self.run));
        mesh
    }
}

impl fmt::Debug for Memo {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Memo")
            .field("outcomes", &self.outcomes.len())
            .field("meshes", &self.meshes.len())
            .field("run", &self.run)
            .finish()
    }
}

/// A 128-bit content hash: two 64-bit lanes, mixed differently.
#[derive(Debug, Clone, Copy)]
pub(super) struct ContentHash([u64; 2]);

impl ContentHash {
    /// A hash that begins with some key and what it is for.
    pub(super) fn new(key: u128, purpose: u64) -> ContentHash {
        let mut hash = ContentHash([0x9E37_79B9_7F4A_7C15, 0xC2B2_AE3D_27D4_EB4F]);
        hash.put(purpose);
        hash.put((key >> 64) as u64);
        hash.put(key as u64);
        hash
    }

    /// Takes in a word.
    pub(super) fn put(&mut self, word: u64) {
        let mix = |lane: u64, turn: u32, by: u64| {
            let z = lane.rotate_left(turn) ^ word.wrapping_mul(0x9E37_79B9_7F4A_7C15);
            (z ^ (z >> 29)).wrapping_mul(by)
        };
        self.0 = [
            mix(self.0[0], 23, 0xBF58_476D_1CE4_E5B9),
            mix(self.0[1], 31, 0x94D0_49BB_1331_11EB),
        ];
    }

    /// Takes in a number, bit for bit.
    pub(super) fn put_f64(&mut self, x: f64) {
        self.put(x.to_bits());
    }

    /// The hash so far.
    pub(super) fn value(self) -> u128 {
        let end = |z: u64| {
            let z = (z ^ (z >> 32)).wrapping_mul(0xFF51_AFD7_ED55_8CCD);
            z ^ (z >> 33)
        };
        u128::from(end(self.0[0])) << 64 | u128::from(end(self.0[1]))
    }
}
