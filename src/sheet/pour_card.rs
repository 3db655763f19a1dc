//! The pour as the shop sheet prints it: figures with their method, steps from dip to shake-out in this part's numbers,
//! and cautions. Every figure is an estimate, and the card says so.

use crate::drawing::Part;
use crate::drawing::gating::GatingForm;
use crate::fault::harmless;
use crate::foundry::flasks::{SAND_OVER_MM, SAND_ROUND_MM};
use crate::foundry::freezing::{MOULD_S_CM2, bar_modulus_mm, freezing_s};
use crate::foundry::gating::{CRITICAL_M_S, FRONT_MM_S};
use crate::foundry::metal_row;
use crate::measure::Unit;
use crate::pour::Pour;
use crate::pour::fields::Outlook;
use crate::sheet::outlook::outlook_figures;

/// A figure of the pour.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PourFigure {
    /// What it is.
    pub name: &'static str,
    /// Its value or range, with its unit.
    pub value: String,
    /// How it is found, and where its constants are from.
    pub how: String,
}

/// A caution.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Caution {
    /// What it says.
    pub text: &'static str,
    /// Where it is from.
    pub source: &'static str,
}

/// What the sheet says of a pour.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PourCard {
    /// Figures in the order of the sheet.
    pub figures: Vec<PourFigure>,
    /// Steps in the order of the work.
    pub steps: Vec<String>,
    /// Printed with every pour.
    pub cautions: Vec<Caution>,
    /// The line that closes it.
    pub close: &'static str,
}

/// Printed under every pour.
pub const CLOSE: &str = "Local codes and licensed practice come first. All figures are estimates.";

/// A bag of sand (kg): 25 kg, or 50 lb.
const BAG_KG: [f64; 2] = [25.0, 22.68];

/// A foam pattern is dried no hotter than this (°C): common practice.
const DRY_C: f64 = 50.0;

const CAUTIONS: &[Caution] = &[
    Caution {
        text: "Dry sand gives off respirable silica: 50 µg/m³ over a shift at most, action from 25. Wear a respirator when filling and shaking out; wet the floor, not the mould.",
        source: "OSHA 29 CFR 1910.1053",
    },
    Caution {
        text: "Hot-wire cutting of polystyrene releases its flame retardant: HBCD over 50 µg/m³ was measured in the breathing zone. Cut with extraction.",
        source: "a study of HBCD from thermal cutting of foam",
    },
    Caution {
        text: "Foam in the mould gives styrene, carbon monoxide, soot, benzene and toluene: pour outdoors or under extraction.",
        source: "a review of polystyrene pyrolysis",
    },
    Caution {
        text: "Wear a face shield over eyewear of ANSI/ISEA Z87.1, wool, leather or aluminised clothing, boots without laces; no synthetics.",
        source: "from memory: foundry safety practice",
    },
    Caution {
        text: "Water under metal explodes. Preheat tools, charge and ingot moulds; never pour over bare, wet or frozen concrete; stand the flask on a bed of dry sand.",
        source: "from memory: foundry safety practice",
    },
    Caution {
        text: "Expect a flame at the cup and at vents, and metal that blows back: stand clear of the line of the sprue.",
        source: "from memory: lost-foam practice",
    },
];

/// The cautions of any sheet, with those of the part's metal.
pub fn cautions(part: &Part) -> Vec<Caution> {
    let mut cautions = CAUTIONS.to_vec();
    if let Ok(row) = metal_row(&part.metal.name) {
        cautions.extend(row.warnings.iter().map(|text| Caution {
            text,
            source: "the metals table",
        }));
    }
    cautions
}

/// The card of a pour, with its outlook where that is known. `foam_g` is what one bare pattern weighs.
pub fn pour_card(part: &Part, pour: &Pour, outlook: Option<&Outlook>, foam_g: f64) -> PourCard {
    let mut all = figures(part, pour);
    all.extend(outlook.iter().flat_map(|o| outlook_figures(part, o)));
    PourCard {
        figures: all,
        steps: steps(part, pour, outlook, foam_g),
        cautions: cautions(part),
        close: CLOSE,
    }
}

/// A range with its unit: one number where both ends read alike.
pub(super) fn range([low, high]: [f64; 2], decimals: usize, unit: &str) -> String {
    let (a, b) = (format!("{low:.decimals$}"), format!("{high:.decimals$}"));
    if a == b {
        format!("{a} {unit}")
    } else {
        format!("{a} to {b} {unit}")
    }
}

fn figures(part: &Part, pour: &Pour) -> Vec<PourFigure> {
    let (w, m, lift) = (&pour.weights, &pour.melt, &pour.lift);
    let show = |mm: f64| part.unit.show(mm);
    let mut out: Vec<PourFigure> = Vec::new();
    let mut put = |name, value: String, how: String| out.push(PourFigure { name, value, how });
    let kg = |x: f64| format!("{x:.3} kg");
    put(
        "casting",
        kg(w.casting_kg),
        format!("volume of the mesh × {} kg/m³", part.metal.density_kg_m3),
    );
    if pour.copies > 1 {
        put(
            "all castings",
            kg(w.castings_kg),
            format!("{} on one tree", pour.copies),
        );
    }
    let pours = part.pours();
    if pours > 1 {
        put(
            "pours of the batch",
            format!("{pours}, {:.2} kg in all", w.poured_kg * pours as f64),
            format!("{} patterns, {} to a pour", part.patterns(), pour.copies),
        );
    }
    put(
        "gating",
        kg(w.gating_kg),
        "what gates, runners, sprue and ties add outside the pattern, shrunk".into(),
    );
    if w.feeders_kg > 0.0 {
        put(
            "feeders",
            kg(w.feeders_kg),
            "the same of the feeders".into(),
        );
    }
    if w.cup_kg > 0.0 {
        put(
            "left in the cup",
            kg(w.cup_kg),
            "a cylinder of the cup's size, as the script gives it".into(),
        );
    }
    put("poured", kg(w.poured_kg), "the sum".into());
    put(
        "yield",
        format!("{:.0} %", w.yield_share * 100.0),
        "castings over poured; 50 to 80 % is usual in lost foam".into(),
    );
    put(
        "charge",
        range(m.charge_kg, 2, "kg"),
        format!(
            "poured × (1 + spare) / (1 - loss) × (1 + heel): spare {} , loss {}, heel {} ({}; {})",
            percent(m.spare.low, m.spare.high),
            percent(m.loss.low, m.loss.high),
            percent(m.heel.low, m.heel.high),
            m.spare.source,
            m.loss.source
        ),
    );
    put(
        "melt",
        range(m.litres, 2, "l"),
        format!(
            "charge over the melt's density, {} kg/m³ ({}); a crucible of {} to the brim, worked {} full",
            m.liquid_kg_m3.text(),
            m.liquid_kg_m3.source,
            range(m.crucible_litres, 1, "l"),
            percent(0.75, 0.85)
        ),
    );
    if let Some(fit) = &m.crucible {
        let level = fit.level.map_or(String::new(), |l| {
            format!(", filled to {:.0} % at most", l * 100.0)
        });
        put(
            "crucible",
            format!("takes {}{level}", range(fit.takes_kg, 2, "kg")),
            "as declared".into(),
        );
    }
    let f = &pour.flask;
    put(
        "flask",
        match (&f.name, &f.flask_mm[..]) {
            (Some(name), _) => harmless(name),
            (None, []) => f.smallest.map_or_else(
                || "none of the table takes it".to_string(),
                |name| format!("a {name} is the smallest of the table that takes it"),
            ),
            (None, size) => size
                .iter()
                .map(|x| show(*x))
                .collect::<Vec<_>>()
                .join(" × "),
        },
        format!(
            "a round one needs {} across and {} high inside: {} of sand at the sides and below, {} over the castings (common practice)",
            show(f.need_mm[0]),
            show(f.need_mm[1]),
            show(SAND_ROUND_MM.low),
            show(SAND_OVER_MM.low)
        ),
    );
    if let Some(sand) = f.sand_kg {
        put(
            "sand",
            format!("{}, {}", range(sand, 0, "kg"), bags(part.unit, sand)),
            format!(
                "flask less gated pattern × {} kg/m³ vibrated ({})",
                f.sand_kg_m3.text(),
                f.sand_kg_m3.source
            ),
        );
    }
    put(
        "floats in the coating with",
        range(lift.hold_down_kg, 2, "kg"),
        format!(
            "Archimedes: coating {} kg/m³, less the foam's weight; weigh a litre of your own",
            lift.coating_kg_m3.text()
        ),
    );
    put(
        "metal lifts the sand with",
        format!("{:.1} kg", lift.metal_lifts_kg),
        format!(
            "head times plan over all upward faces; the sand over them weighs {:.1} kg",
            lift.sand_over_kg
        ),
    );
    if let Some(s) = &pour.sprue {
        put(
            "sprue over the castings",
            show(s.over_mm),
            "150 to 200 mm is common practice".into(),
        );
        put(
            "choke",
            format!("{}, {:.0} mm²", s.choke.text(), s.choke_mm2),
            format!(
                "as an open channel under {} of head: {:.2} m/s by √(2gh), {:.0} cm³/s, {:.1} s. Foam slows this: the front goes {} mm/s ({})",
                show(s.head_mm),
                s.choke_m_s,
                s.flow_cm3_s,
                s.open_s,
                FRONT_MM_S.text(),
                FRONT_MM_S.source
            ),
        );
        if let Some(speed) = s.gate_m_s {
            put(
                "speed at the gates, no foam",
                format!("{speed:.2} m/s"),
                format!(
                    "the choke's flow over all gates; over {} m/s a free surface folds ({})",
                    CRITICAL_M_S.text(),
                    CRITICAL_M_S.source
                ),
            );
        }
        if let Some(foot) = s.foot_mm {
            put(
                "foot by taper",
                show(foot),
                "top × fourth root of h1 / h2, heads over top and foot under a full cup".into(),
            );
        }
    }
    out
}

fn percent(low: f64, high: f64) -> String {
    range([low * 100.0, high * 100.0], 0, "%")
}

fn bags(unit: Unit, sand: [f64; 2]) -> String {
    let (bag, name) = match unit {
        Unit::Mm => (BAG_KG[0], "25 kg"),
        Unit::Inch => (BAG_KG[1], "50 lb"),
    };
    format!("{:.0} bags of {name}", (sand[1] / bag).ceil())
}

/// The steps of this pour.
fn steps(part: &Part, pour: &Pour, outlook: Option<&Outlook>, foam_g: f64) -> Vec<String> {
    let show = |mm: f64| part.unit.show(mm);
    let named = |words: &[&str]| -> Vec<String> {
        part.gating
            .pieces
            .iter()
            .filter(|p| words.contains(&p.word))
            .map(|p| harmless(&p.name))
            .collect()
    };
    let many = if pour.copies > 1 {
        format!("each of the {} patterns", pour.copies)
    } else {
        "the pattern".to_string()
    };
    let mut out = vec![
        format!(
            "Coat {many}: dip, drain, look for bare places. It floats with {}: hold it under.",
            range(pour.lift.hold_down_kg, 2, "kg")
        ),
        format!(
            "Dry at no more than {DRY_C:.0} °C to constant weight: bare it weighs {foam_g:.0} g; two weighings an hour apart must agree."
        ),
    ];
    if !part.aids.is_empty() {
        let aids: Vec<String> = part.aids.iter().map(|a| harmless(&a.name)).collect();
        out.push(format!(
            "Cut off {} and coat where they stood.",
            aids.join(", ")
        ));
    }
    let stubs = named(&["gate", "feeder", "tie"]);
    let bars = named(&["runner", "sprue"]);
    let glue: Vec<String> = stubs.iter().chain(&bars).cloned().collect();
    if !glue.is_empty() {
        out.push(format!(
            "Glue on after coating, with thin films: {}. Coat the joints again and dry.",
            glue.join(", ")
        ));
    }
    let f = &pour.flask;
    let flask = f.name.as_deref().or(f.smallest).unwrap_or("flask");
    let turn = f.turn_deg.filter(|t| *t != 0.0);
    let turn = turn.map_or(String::new(), |t| format!(", turned by {t:.0}° in plan"));
    let up = part.gating.up();
    let up = match up.to_array() {
        [0.0, 0.0, 1.0] => "as drawn".to_string(),
        d => {
            let [x, y, z] = d.map(|c| format!("{:.3}", c + 0.0));
            format!("with [{x}, {y}, {z}] of the drawing up")
        }
    };
    out.push(format!(
        "Lay {} of dry sand in the {flask}; set the pattern on it {up}{turn}.",
        show(f.sand_mm[0])
    ));
    if let Some(sand) = f.sand_kg {
        out.push(format!(
            "Fill with {} of dry sand ({}) in layers and vibrate each; keep {} over the castings and the sprue's top free.",
            range(sand, 0, "kg"),
            bags(part.unit, sand),
            show(f.sand_mm[1])
        ));
    }
    out.push(if pour.lift.weigh_down_kg > 0.05 {
        format!(
            "Weigh down: the metal lifts with {:.1} kg more than the loose sand over it weighs; put at least {:.0} kg on a plate round the sprue.",
            pour.lift.weigh_down_kg,
            (2.0 * pour.lift.weigh_down_kg).ceil()
        )
    } else {
        "Weigh down with a plate round the sprue: the sand alone outweighs the metal's lift.".into()
    });
    let pours = metal_row(&part.metal.name)
        .ok()
        .and_then(|row| row.pour_foam_c.or(row.pour_c));
    let at = pours.map_or(String::new(), |c| {
        format!(" at {} °C ({})", c.text(), c.source)
    });
    out.push(format!(
        "Melt {} and pour {:.2} kg{at} without a stop: keep the cup full until nothing more goes down.",
        range(pour.melt.charge_kg, 2, "kg"),
        pour.weights.poured_kg
    ));
    let slowest = outlook.and_then(|o| o.spots.first()).map(|s| s.modulus_mm);
    let slowest = thickest(part).into_iter().chain(slowest);
    if let Some(modulus) = slowest.reduce(f64::max) {
        let wait = [MOULD_S_CM2.low, MOULD_S_CM2.high].map(|b| freezing_s(b, modulus) / 60.0);
        out.push(format!(
            "Wait. What freezes last does so in about {} by Chvorinov's rule (B {} s/cm²); leave the mould several times as long.",
            range(wait, 1, "min"),
            MOULD_S_CM2.text()
        ));
    }
    out.push("Shake out with a respirator on; let the casting cool in air, not in water.".into());
    for pass in &pour.passes {
        let names: Vec<String> = pass
            .pieces
            .iter()
            .map(|&p| harmless(&part.gating.pieces[p].name))
            .collect();
        let fence = pass.ride.map_or(String::new(), |r| {
            let face = harmless(&part.features[r.feature].name);
            format!(" with {face} on the fence, {} away", show(r.distance_mm))
        });
        out.push(format!(
            "Saw off {} in one pass{fence}; {} stays to grind.",
            names.join(", "),
            show(pass.grind_mm)
        ));
    }
    out
}

/// The largest modulus of what the script's gating is made of, as long bars (mm).
fn thickest(part: &Part) -> Option<f64> {
    let modulus = |form: &GatingForm| match form {
        GatingForm::Gate { section, .. } | GatingForm::Tie { section, .. } => {
            bar_modulus_mm(section.area_mm2(), section.perimeter_mm())
        }
        GatingForm::Runner { sections, .. } => {
            let all = sections
                .iter()
                .map(|s| bar_modulus_mm(s.area_mm2(), s.perimeter_mm()));
            all.fold(0.0, f64::max)
        }
        GatingForm::Sprue { top, foot, .. } => top.max(*foot) / 4.0,
        GatingForm::Feeder { dia, .. } => dia / 4.0,
    };
    let all = part.gating.pieces.iter().map(|p| modulus(&p.form));
    all.reduce(f64::max)
}
