//! The stages, and the walk over the features that lists their bodies.

use crate::drawing::Part;
use crate::drawing::feature::{Form, Host};
use crate::drawing::given::FeatureId;
use crate::drawing::marks::Slot;
use crate::fault::{Fault, Faults};
use crate::measure::Bounds;
use crate::pattern::member::Staged;
use crate::pattern::stock::Stocks;
use crate::pattern::{adds, cuts};

/// A stage of the way from part to pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Stage {
    /// The part as machined.
    Finished,
    /// With stock, small openings left solid.
    Casting,
    /// The casting grown by the metal's shrink.
    Pattern,
    /// The pattern with gates, runners, feeders and sprue; only where the script gates it.
    Gated,
}

impl Stage {
    /// Its name in files and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Stage::Finished => "finished",
            Stage::Casting => "casting",
            Stage::Pattern => "pattern",
            Stage::Gated => "gated",
        }
    }

    /// All of them, in order.
    pub const ALL: [Stage; 4] = [
        Stage::Finished,
        Stage::Casting,
        Stage::Pattern,
        Stage::Gated,
    ];
}

/// What the makers of bodies share.
pub(crate) struct Stager<'a> {
    pub part: &'a Part,
    pub stocks: &'a Stocks,
    /// The casting: stock is on, small openings are solid.
    pub casting: bool,
    /// The box round the whole part, stock included.
    pub reach: Bounds,
    pub out: Staged,
    pub faults: Vec<Fault>,
}

impl Stager<'_> {
    /// Stock on a surface in this stage (mm).
    pub fn stock(&self, id: FeatureId, slot: Slot) -> f64 {
        if self.casting {
            self.stocks.get(&(id, slot)).copied().unwrap_or(0.0)
        } else {
            0.0
        }
    }

    /// The most stock on any surface of a feature in this stage (mm).
    pub fn most_stock(&self, id: FeatureId) -> f64 {
        let of = self.stocks.iter().filter(|((owner, _), _)| *owner == id);
        let most = of.map(|(_, mm)| *mm).fold(0.0, f64::max);
        if self.casting { most } else { 0.0 }
    }

    /// Stock on the face that a feature stands on or goes into (mm).
    pub fn host_stock(&self, host: Option<&Host>) -> f64 {
        let Some(Host {
            feature: Some(id),
            key,
            ..
        }) = host
        else {
            return 0.0;
        };
        self.part
            .slot(*id, key)
            .map_or(0.0, |slot| self.stock(*id, slot))
    }

    /// Records a fault at a feature.
    pub fn fault(&mut self, id: FeatureId, fault: Fault) {
        self.faults
            .push(fault.from_site(&self.part.features[id].site));
    }
}

/// The bodies of the finished part, or of the casting (the pattern is the casting, scaled).
///
/// # Errors
/// An opening that was to be cored and of which stock leaves nothing; an outline that stock closes.
pub fn members(part: &Part, stage: Stage, stocks: &Stocks) -> Result<Staged, Faults> {
    let most = stocks.values().copied().fold(0.0, f64::max);
    let mut stager = Stager {
        part,
        stocks,
        casting: stage != Stage::Finished,
        reach: part.bounds().grown(most + 5.0),
        out: Staged::new(part),
        faults: Vec::new(),
    };
    // Openings first: a foot fillet is made apart from its core where an opening's mouth lies under it.
    for id in 0..part.features.len() {
        cuts::openings(&mut stager, id);
    }
    let openings = std::mem::take(&mut stager.out.members);
    for (id, feature) in part.features.iter().enumerate() {
        match &feature.form {
            Form::Raised(r) => adds::raised(&mut stager, id, r),
            Form::Flange(f) => adds::flange(&mut stager, id, f),
            Form::Rib(r) => adds::rib(&mut stager, id, r),
            Form::Tunnel(t) => adds::tunnel(&mut stager, id, t),
            Form::Turned(t) if t.adds => adds::turned(&mut stager, id, t),
            _ => {}
        }
    }
    stager.out.members.extend(openings);
    stager.out.finish();
    stager.out.members.sort_by_key(|m| m.body.feature);
    if stager.faults.is_empty() {
        Ok(stager.out)
    } else {
        Err(Faults(stager.faults))
    }
}
