//! A body ready for the booleans.

use std::sync::Arc;

use crate::drawing::body::Act;
use crate::drawing::given::FeatureId;
use crate::measure::Bounds;
use crate::solid::Shell;

/// A closed shell with what it is for.
#[derive(Debug, Clone)]
pub struct Ready {
    /// Whose it is.
    pub feature: FeatureId,
    /// Adds or removes.
    pub act: Act,
    /// The mesh.
    pub shell: Arc<Shell>,
    /// The box round it.
    pub bounds: Bounds,
    /// Hash of its content: act, points and triangles.
    pub key: u128,
}

impl Ready {
    /// A shell made ready.
    pub fn new(feature: FeatureId, act: Act, shell: Arc<Shell>) -> Ready {
        let key = content_key(act, &shell);
        let bounds = shell.bounds();
        Ready {
            feature,
            act,
            shell,
            bounds,
            key,
        }
    }
}

/// Two independent 64-bit mixes of everything that a boolean sees of the shell.
pub(super) fn content_key(act: Act, shell: &Shell) -> u128 {
    let mut lanes = [
        0x9E37_79B9_7F4A_7C15u64 ^ act as u64,
        0xC2B2_AE3D_27D4_EB4Fu64,
    ];
    let mut put = |word: u64| {
        lanes[0] = (lanes[0] ^ word)
            .wrapping_mul(0xFF51_AFD7_ED55_8CCD)
            .rotate_left(29);
        lanes[1] = (lanes[1].rotate_left(31) ^ word).wrapping_mul(0x9FB2_1C65_1E98_DF25);
    };
    for p in &shell.points {
        p.to_array().iter().for_each(|x| put(x.to_bits()));
    }
    for (t, skin) in shell.triangles.iter().zip(&shell.skins) {
        put(u64::from(t[0]) << 32 | u64::from(t[1]));
        put(u64::from(t[2]) << 8 | *skin as u64);
    }
    u128::from(lanes[0]) << 64 | u128::from(lanes[1])
}
