//! `crucible-small`, `flask-small`, `sprue-low`, `cool-metal`, `saw-plane`, and gates that nothing feeds.

use crate::drawing::gating::{FlaskForm, GatingForm};
use crate::fault::{Finding, Level};
use crate::foundry::gating::SPRUE_OVER_MM;
use crate::foundry::metal_row;
use crate::measure::Unit;
use crate::pour::saw::{self, SawPass};
use crate::pour::{Pour, Subject, named};

/// What foam needs to clear (°C): a foam maker's advice on lost foam, 1000 °F.
const CLEARS_C: f64 = 538.0;

pub(super) fn findings(subject: &Subject, pour: &Pour) -> Vec<Finding> {
    let mut found = Vec::new();
    found.extend(unfed(subject, pour));
    found.extend(crucible(subject, pour));
    found.extend(flask(subject, pour));
    found.extend(sprue(subject, pour));
    found.extend(cool(subject));
    found.extend(saw::findings(subject, &pour.passes));
    for finding in &mut found {
        finding.stage = Some("gated");
    }
    found
}

/// Gates whose end meets neither runner nor sprue.
fn unfed(subject: &Subject, pour: &Pour) -> Vec<Finding> {
    let part = subject.part;
    let alone = pour.gates.iter().filter(|g| g.meets.is_none());
    let sprue_on = |piece: usize| {
        let name = &part.gating.pieces[piece].name;
        part.gating.pieces.iter().any(|p| match &p.form {
            GatingForm::Sprue { on, .. } => part.gating.named(on) == vec![piece] || on == name,
            _ => false,
        })
    };
    alone
        .filter(|g| !sprue_on(g.piece))
        .map(|g| {
            let (name, span) = named(part, g.piece);
            let mut finding = Finding::new(
                "no-effect",
                Level::Look,
                format!("{name} ends in the open: no runner or sprue meets its end"),
                "name it in a runner's `joins`, lead a runner's `path` along its end, or stand a sprue on it",
            );
            finding.features.push((name, span));
            finding
        })
        .collect()
}

fn crucible(subject: &Subject, pour: &Pour) -> Option<Finding> {
    let fit = pour.melt.crucible?;
    let site = &subject.part.gating.crucible.as_ref()?.site;
    if fit.tight_kg <= 0.0 {
        return None;
    }
    let [least, most] = pour.melt.charge_kg;
    let [_, takes] = fit.takes_kg;
    let (level, text) = if fit.short_kg > 0.0 {
        let text = format!(
            "the crucible takes {takes:.2} kg, and this pour wants {least:.2} to {most:.2} kg: {:.2} kg too little",
            fit.short_kg
        );
        (Level::Stop, text)
    } else {
        let [low, _] = fit.takes_kg;
        let range = match low < takes {
            true => format!("{low:.2} to {takes:.2} kg"),
            false => format!("{takes:.2} kg"),
        };
        let text = format!(
            "the crucible just takes this pour: {range}, and the charge is {least:.2} to {most:.2} kg"
        );
        (Level::Look, text)
    };
    let [small, large] = pour.melt.crucible_litres;
    let remedy = format!(
        "take a crucible of {small:.2} to {large:.2} litres to the brim, or gate with less metal"
    );
    let mut finding = Finding::new("crucible-small", level, text, remedy);
    finding
        .features
        .push(("crucible".into(), site.script().clone()));
    finding.value = Some(takes);
    finding.limit = Some(least);
    Some(finding)
}

fn flask(subject: &Subject, pour: &Pour) -> Option<Finding> {
    let part = subject.part;
    let flask = part.gating.flask.as_ref()?;
    let fit = &pour.flask;
    let show = |mm: f64| part.unit.show(mm);
    let [plan, height] = fit.short_mm;
    if plan <= 0.0 && height <= 0.0 {
        return None;
    }
    let mut short = Vec::new();
    if plan > 0.0 {
        let what = match flask.form {
            FlaskForm::Box { .. } => "across, however it is turned",
            _ => "in diameter",
        };
        short.push(format!("{} {what}", show(plan)));
    }
    if height > 0.0 {
        short.push(format!("{} in height", show(height)));
    }
    let text = format!(
        "the flask is too small by {}: with {} of sand at the sides and below and {} over the castings this pour wants a round one {} across, {} high",
        short.join(" and "),
        show(fit.sand_mm[0]),
        show(fit.sand_mm[1]),
        show(fit.need_mm[0]),
        show(fit.need_mm[1])
    );
    let remedy = match fit.smallest {
        Some(name) => format!("the smallest container of the table that takes it is a {name}"),
        None => "no container of the table takes it: turn it with `pour_up`, lower the sprue, or take a box".into(),
    };
    let remedy = match fit.other_up {
        Some(up) => format!(
            "{remedy}; with `pour_up([{}, {}, {}])` the castings themselves fit this one, and want gates to suit",
            up.x, up.y, up.z
        ),
        None => remedy,
    };
    let mut finding = Finding::new("flask-small", Level::Stop, text, remedy);
    finding
        .features
        .push(("flask".into(), flask.site.script().clone()));
    finding.value = Some(-plan.max(height));
    finding.limit = Some(0.0);
    Some(finding)
}

fn sprue(subject: &Subject, pour: &Pour) -> Option<Finding> {
    let part = subject.part;
    let sprue = pour.sprue.as_ref()?;
    let least = SPRUE_OVER_MM.low;
    if sprue.over_mm >= least - 0.5 {
        return None;
    }
    let (name, span) = named(part, sprue.piece);
    let stands = if sprue.over_mm < 0.0 {
        format!("ends {} under", part.unit.show(-sprue.over_mm))
    } else {
        format!("stands {} over", part.unit.show(sprue.over_mm))
    };
    let text = format!(
        "the top of {name} {stands} the castings' highest point; {} or more is common practice",
        part.unit.show(least)
    );
    let remedy = format!("make it {} higher", part.unit.show(least - sprue.over_mm));
    let mut finding = Finding::new("sprue-low", Level::Look, text, remedy);
    finding.features.push((name, span));
    finding.value = Some(sprue.over_mm);
    finding.limit = Some(least);
    Some(finding)
}

/// A metal that is poured too cool to clear foam.
fn cool(subject: &Subject) -> Option<Finding> {
    let name = &subject.part.metal.name;
    let row = metal_row(name).ok()?;
    let pours = row.pour_foam_c.or(row.pour_c)?;
    if pours.low >= CLEARS_C {
        return None;
    }
    let text = format!(
        "{name} is poured at {:.0} to {:.0} °C, and foam needs about {CLEARS_C:.0} °C to clear: expect folds and misruns",
        pours.low, pours.high
    );
    let remedy = "pour at the hot end, into a warm vented mould, or take another metal";
    let mut finding = Finding::new("cool-metal", Level::Look, text, remedy);
    let site = subject.part.metal_site.as_ref();
    finding
        .features
        .extend(site.map(|site| ("metal".into(), site.script().clone())));
    finding.value = Some(pours.low);
    finding.limit = Some(CLEARS_C);
    Some(finding)
}

/// What to do about a pass of the saw. Lengths of a gate are as cut, larger than the casting's by the shrink.
fn sawing(unit: Unit, pass: &SawPass) -> String {
    let show = |mm: f64| unit.show(mm);
    let past = pass.clashes.first().map_or(0.0, |(_, past)| *past);
    let by_hand = match pass.pieces.len() {
        1 => "cut it off by hand",
        _ => "saw stub by stub",
    };
    if past <= 0.0 && pass.room_mm >= 0.0 {
        "kerf of a band saw counted; mark the cut on the casting".into()
    } else if past <= pass.room_mm {
        format!(
            "cut {} farther out, so that {} stays to grind, or {by_hand}",
            show(past),
            show(pass.grind_mm + past)
        )
    } else {
        let more = show(unit.upward((past - pass.room_mm) * pass.cut_over_cold));
        match pass.clashes.is_empty() {
            true => format!("make it longer by {more}, or grind it off"),
            // Over what stands there, most of the stub stays on.
            false => format!(
                "{by_hand}; made longer by {more}, {} would stay to grind",
                show(pass.grind_mm + past)
            ),
        }
    }
}

/// A pass of the saw.
pub(super) fn saw(subject: &Subject, pass: &SawPass) -> Finding {
    let part = subject.part;
    let show = |mm: f64| part.unit.show(mm);
    let names: Vec<String> = pass.pieces.iter().map(|&p| named(part, p).0).collect();
    let names = match names.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
        None => String::new(),
    };
    let one = pass.pieces.len() == 1;
    let mut text = if pass.room_mm < 0.0 {
        format!(
            "no blade goes between {names} and the casting: it is shorter than {} of kerf and {} to grind",
            show(saw::KERF_MM),
            show(saw::CLEAR_MM)
        )
    } else if one {
        format!("{names} takes a pass of the saw of its own")
    } else {
        format!("{names} come off in one pass of the saw")
    };
    match &pass.ride {
        Some(ride) => text.push_str(&format!(
            ", {} from the face of {} that rides on the fence",
            show(ride.distance_mm),
            part.features[ride.feature].name
        )),
        None if pass.toward.abs().max_element() < 1.0 - 1e-6 => {
            text.push_str("; it lies oblique, with no flat face square to it to ride on");
        }
        None => text.push_str("; no flat face lies opposite to ride on"),
    }
    text.push_str(&format!("; {} stays to grind", show(pass.grind_mm)));
    let mut about: Vec<_> = pass.pieces.iter().map(|&p| named(part, p)).collect();
    if let Some((first, past)) = pass.clashes.first() {
        let feature = &part.features[*first];
        text.push_str(&format!(
            ", but {} stands {} past the cut: a straight pass runs into it",
            feature.name,
            show(*past)
        ));
        about.push((feature.name.clone(), feature.site.script().clone()));
    }
    let mut finding = Finding::new("saw-plane", Level::Note, text, sawing(part.unit, pass));
    finding.features = about;
    finding.at_mm = Some(pass.at_mm.to_array());
    finding.value = pass.ride.map(|r| r.distance_mm);
    finding
}
