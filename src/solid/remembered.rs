//! Shell algebra that is remembered by what goes in, beside the steps of evaluations.

use crate::drawing::body::Act;
use crate::measure::Plane;
use crate::solid::memo::ContentHash;
use crate::solid::ready::content_key;
use crate::solid::{Memo, Shell, SolidFault, joined, minus, trimmed};

/// What a key is for: no step's is.
const JOINED: u64 = 101;
const MINUS: u64 = 102;
const TRIMMED: u64 = 103;

impl Memo {
    /// As [`joined()`].
    ///
    /// # Errors
    /// As that.
    pub fn joined(&mut self, a: &Shell, b: &Shell) -> Result<Shell, SolidFault> {
        self.of_two(JOINED, a, b, joined)
    }

    /// As [`minus()`].
    ///
    /// # Errors
    /// As that.
    pub fn minus(&mut self, a: &Shell, b: &Shell) -> Result<Shell, SolidFault> {
        self.of_two(MINUS, a, b, minus)
    }

    /// As [`trimmed()`].
    ///
    /// # Errors
    /// As that.
    pub fn trimmed(&mut self, shell: &Shell, plane: &Plane) -> Result<Shell, SolidFault> {
        let mut key = ContentHash::new(content_key(Act::Add, shell), TRIMMED);
        let [x, y, z] = plane.normal.to_array();
        for number in [x, y, z, plane.offset] {
            key.put_f64(number);
        }
        self.shell(key.value(), || trimmed(shell, plane))
    }

    fn of_two(
        &mut self,
        purpose: u64,
        a: &Shell,
        b: &Shell,
        make: impl FnOnce(&Shell, &Shell) -> Result<Shell, SolidFault>,
    ) -> Result<Shell, SolidFault> {
        let other = content_key(Act::Add, b);
        let mut key = ContentHash::new(content_key(Act::Add, a), purpose);
        key.put((other >> 64) as u64);
        key.put(other as u64);
        self.shell(key.value(), || make(a, b))
    }
}
