//! The part: what the opening words set, the features in script order, and the marks on their faces.

use crate::drawing::feature::Feature;
use crate::drawing::foam::{Aid, Blank, Board, Dowels, Split};
use crate::drawing::gating::Gating;
use crate::drawing::given::{FaceRef, FeatureId, Handle};
use crate::fault::{Finding, Site};
use crate::measure::{FACET_MM, Unit, Vec3};

/// Why a feature, face or mark can't be drawn: which key is at fault, what is wrong, what would help.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Refusal {
    /// The key at fault, as the script writes it; `None` where it is the whole word.
    pub key: Option<&'static str>,
    /// What is wrong.
    pub text: String,
    /// What is accepted, or what to change.
    pub hints: Vec<String>,
}

impl Refusal {
    /// A refusal that lies at `key`.
    pub fn at(key: &'static str, text: impl Into<String>) -> Refusal {
        Refusal {
            key: Some(key),
            text: text.into(),
            hints: Vec::new(),
        }
    }

    /// A refusal of the whole word.
    pub fn whole(text: impl Into<String>) -> Refusal {
        Refusal {
            key: None,
            text: text.into(),
            hints: Vec::new(),
        }
    }

    /// The same with one more hint.
    pub fn hint(mut self, hint: impl Into<String>) -> Refusal {
        self.hints.push(hint.into());
        self
    }
}

/// How machining stock is found where a mark gives none.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum StockRule {
    /// No default was given: a mark without an amount is refused.
    #[default]
    None,
    /// This much on every marked face (mm).
    Flat(f64),
    /// From ISO 8062: `foundry` resolves it once the part's size is known.
    Grade {
        /// Required machining allowance grade, A to K.
        rma: char,
        /// Casting tolerance grade, 1 to 16.
        ct: u8,
    },
}

/// The metal as a script gives it; `foundry` holds the table that names are looked up in.
#[derive(Debug, Clone, PartialEq)]
pub struct Metal {
    /// Its name.
    pub name: String,
    /// Linear shrink in percent, x, y, z.
    pub shrink_percent: [f64; 3],
    /// Density of the solid (kg/m³).
    pub density_kg_m3: f64,
    /// The least wall that can be relied on to run (mm), where the table or the script gives one.
    pub least_wall_mm: Option<f64>,
}

impl Metal {
    /// What the casting is multiplied by to give the pattern, along each axis.
    pub fn growth(&self) -> Vec3 {
        Vec3::from_array(self.shrink_percent.map(|s| 1.0 + s / 100.0))
    }
}

/// A cutter of the router, as given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cutter {
    /// Diameter (mm).
    pub dia_mm: f64,
    /// How deep it goes before its holder does (mm).
    pub reach_mm: f64,
    /// Diameter of its holder (mm), where given.
    pub holder_dia_mm: Option<f64>,
}

/// A finish mark as given.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// The marked face; a level marks every face in that plane.
    pub face: FaceRef,
    /// Stock (mm); `None` takes the part's rule.
    pub stock_mm: Option<f64>,
    /// Where the mark stands.
    pub site: Site,
}

/// A judgement on record: findings of this code on these features are notes.
#[derive(Debug, Clone, PartialEq)]
pub struct Allow {
    /// The finding's code.
    pub code: String,
    /// Feature names (instances included).
    pub features: Vec<String>,
    /// Why.
    pub reason: String,
    /// Where.
    pub site: Site,
}

/// A value that the command line may override.
#[derive(Debug, Clone, PartialEq)]
pub struct Setting {
    /// Its name.
    pub name: String,
    /// Its value in this build, as the script sees it: a number or a text.
    pub value: SettingValue,
    /// The script's own value, which holds where nothing comes from outside.
    pub default: SettingValue,
    /// Where.
    pub site: Site,
}

/// A setting's value.
#[derive(Debug, Clone, PartialEq)]
pub enum SettingValue {
    /// A number in the script's unit.
    Number(f64),
    /// A text, such as `"M8"`.
    Text(String),
    /// A yes or no.
    Flag(bool),
}

/// A hole that its thread or purpose names: for the shop sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// The part's name; empty until `part(...)` is said.
    pub name: String,
    /// The script's unit.
    pub unit: Unit,
    /// The metal; A356 where the script names none.
    pub metal: Metal,
    /// Where the script names it, if it does.
    pub metal_site: Option<Site>,
    /// Machining stock.
    pub stock: StockRule,
    /// Openings narrower than this, as cast, are left solid (mm); 0 cores all.
    pub min_cored_mm: f64,
    /// Least wall of the casting as the script says it (mm); 0 looks at no wall. See [`Part::min_wall_mm`].
    pub least_wall_mm: Option<f64>,
    /// Least wall after machining as the script says it (mm). See [`Part::min_wall_finished_mm`].
    pub least_wall_finished_mm: Option<f64>,
    /// Foot fillet of every feature that names none and stands on another (mm); 0 is none.
    pub fillets_mm: f64,
    /// How far a facet may stand off the true curve (mm).
    pub facet_mm: f64,
    /// Cutters of the router, in the order given.
    pub cutters: Vec<Cutter>,
    /// Foam boards on hand, in the order given.
    pub boards: Vec<Board>,
    /// The thinnest foam that can be handled (mm), where given.
    pub min_foam_mm: Option<f64>,
    /// Where the pattern is parted, in the order given.
    pub splits: Vec<Split>,
    /// Where splits for the boards were asked for, if they were.
    pub auto_split: Option<Site>,
    /// Pegs across the splits, where given.
    pub dowels: Option<Dowels>,
    /// Feet and handles of foam, in the order given.
    pub aids: Vec<Aid>,
    /// The blank that pieces are cut from, where given.
    pub blank: Option<Blank>,
    /// How many patterns are asked for; see [`Part::patterns`].
    pub copies: usize,
    /// What carries the metal to the pattern, and what the pour has to fit.
    pub gating: Gating,
    /// Settings in the order met.
    pub settings: Vec<Setting>,
    /// Lines for the shop sheet.
    pub notes: Vec<String>,
    /// Judgements on record.
    pub allows: Vec<Allow>,
    /// Finish marks.
    pub marks: Vec<Mark>,
    /// Features in script order.
    pub features: Vec<Feature>,
    /// What reading the script itself found (`dash-fraction`).
    pub findings: Vec<Finding>,
}

impl Part {
    /// An unnamed part with nothing in it.
    pub fn new(metal: Metal) -> Part {
        Part {
            name: String::new(),
            unit: Unit::Mm,
            metal,
            metal_site: None,
            stock: StockRule::None,
            min_cored_mm: 0.0,
            least_wall_mm: None,
            least_wall_finished_mm: None,
            fillets_mm: 0.0,
            facet_mm: FACET_MM,
            cutters: Vec::new(),
            boards: Vec::new(),
            min_foam_mm: None,
            splits: Vec::new(),
            auto_split: None,
            dowels: None,
            aids: Vec::new(),
            blank: None,
            copies: 1,
            gating: Gating::default(),
            settings: Vec::new(),
            notes: Vec::new(),
            allows: Vec::new(),
            marks: Vec::new(),
            features: Vec::new(),
            findings: Vec::new(),
        }
    }

    /// The least wall of the casting (mm): the script's, else the metal's; `None` where neither gives one.
    pub fn min_wall_mm(&self) -> Option<f64> {
        self.least_wall_mm.or(self.metal.least_wall_mm)
    }

    /// The least wall after machining (mm): the script's, else that of the casting.
    pub fn min_wall_finished_mm(&self) -> Option<f64> {
        self.least_wall_finished_mm.or(self.min_wall_mm())
    }

    /// How many patterns are made: as many as asked for, and no fewer than a tree carries.
    pub fn patterns(&self) -> usize {
        self.copies.max(self.to_a_pour())
    }

    /// How many patterns one pour takes.
    pub fn to_a_pour(&self) -> usize {
        self.gating.tree.as_ref().map_or(1, |t| t.copies.max(1))
    }

    /// How many pours all patterns take.
    pub fn pours(&self) -> usize {
        self.patterns().div_ceil(self.to_a_pour())
    }

    /// The feature with this exact name (instance names included).
    pub fn find(&self, name: &str) -> Option<FeatureId> {
        self.features.iter().position(|f| f.name == name)
    }

    /// All instances that a name stands for: `holes` is `holes.1`, `holes.2`, …
    pub fn named(&self, name: &str) -> Vec<FeatureId> {
        (0..self.features.len())
            .filter(|&i| self.features[i].name == name || self.features[i].group == name)
            .collect()
    }

    /// A handle on every instance of a name.
    pub fn handle(&self, name: &str) -> Option<Handle> {
        let ids = self.named(name);
        (!ids.is_empty()).then(|| Handle {
            name: name.to_string(),
            ids,
        })
    }
}
