//! Every tolerance of the program, each with the reason for its value.

/// Two points closer than this are the same point (mm): far under what any router resolves,
/// far over the rounding of f64 at 2 m.
pub const SAME_POINT_MM: f64 = 1e-6;

/// Faces whose planes agree to this are flush (mm): what two independent sums of shop
/// dimensions can differ by after unit conversion, and no more.
pub const FLUSH_MM: f64 = 1e-5;

/// Two directions whose unit vectors differ by less than this are parallel.
pub const PARALLEL: f64 = 1e-9;

/// How far a foot reaches into the face that it stands on (mm). Flush contact is unsafe in the
/// boolean kernel; this is deep enough to be a clean crossing and too shallow to come out of a wall.
pub const SINK_MM: f64 = 0.2;

/// How far a cut goes beyond the face where it opens (mm), for the same reason.
pub const OVERSHOOT_MM: f64 = 0.5;

/// A volume under this is a crumb of the boolean, not metal (mm³).
pub const CRUMB_MM3: f64 = 1e-3;

/// A volume under this is not worth a finding (mm³): a cube of a millimetre.
pub const TRIFLE_MM3: f64 = 1.0;

/// A patch hidden from the cutter over less than this in plan is not worth a finding (mm²).
pub const TRIFLE_MM2: f64 = 1.0;

/// A strip of foam narrower than this in plan under an overhang counts as reached (mm): a cutter bends by as much. It
/// is more than twice a facet, as a bore of facets at an odd turn overhangs by its sag.
pub const LIP_MM: f64 = 0.05;

/// How far a facet may stand off the true curve when a script does not say (mm).
pub const FACET_MM: f64 = 0.02;

/// The pitch of extra vertices on large flat faces and along long runs (mm): close enough that no sliver
/// crosses a whole face to meet every feature on it, wide enough to add few triangles.
pub const GRID_MM: f64 = 30.0;

/// A face or run gets extra vertices once it is longer than this (mm).
pub const GRID_FROM_MM: f64 = 40.0;

/// An extra vertex stays this far from the rim of its face (mm), so that it makes no sliver there.
pub const GRID_CLEAR_MM: f64 = 6.0;

/// How far a sloping wall goes on past the plane of its foot or end before it turns straight (mm), where it is
/// extended: the wall then crosses that plane cleanly instead of having a ring of vertices in it.
pub const EASE_MM: f64 = 0.01;

/// Arcs whose centres agree to this are sampled at the same angles (mm): offsets of one arc differ by rounding
/// only, and a near miss would leave slivers.
pub const ARC_CENTRE_MM: f64 = 1e-4;
