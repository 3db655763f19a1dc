//! What a person reads in the terminal: faults, progress, the summary of a build.

use std::cell::RefCell;
use std::fmt::Write as _;
use std::io::{IsTerminal, Write};
use std::time::{Duration, Instant};

use crate::cli::End;
use crate::fault::{Fault, Finding, harmless, render_all};
use crate::shop::{Build, Failure, Stage, Written, foam_kg_m3, foam_name};

/// Prints to standard output; a closed pipe is no error.
pub fn say(text: &str) {
    let _ = std::io::stdout().write_all(text.as_bytes());
}

/// Prints faults to standard error.
pub fn failed(failure: &Failure) -> End {
    let text = render_all(&failure.faults, &|file| failure.texts.get(file).cloned());
    let _ = std::io::stderr().write_all(text.as_bytes());
    End::Failed
}

/// Prints one fault that has no place.
pub fn fault(fault: Fault) -> End {
    failed(&Failure {
        faults: fault.into(),
        ..Failure::default()
    })
}

/// Says what goes on, where that takes over half a second and a person watches.
pub struct Progress {
    watched: bool,
    begun: Instant,
    said: RefCell<bool>,
}

impl Progress {
    /// Begins now.
    pub fn new() -> Progress {
        Progress {
            watched: std::io::stderr().is_terminal(),
            begun: Instant::now(),
            said: RefCell::new(false),
        }
    }

    /// A step begins.
    pub fn step(&self, what: &str) {
        if self.watched
            && (self.begun.elapsed() > Duration::from_millis(500) || *self.said.borrow())
        {
            *self.said.borrow_mut() = true;
            let _ = writeln!(std::io::stderr(), "  {what} …");
        }
    }
}

/// A line a file that was written.
pub fn wrote(written: &[Written]) -> String {
    let mut out = String::new();
    for file in written {
        let _ = writeln!(
            out,
            "  wrote {} ({})",
            file.path.display(),
            size_text(file.bytes)
        );
    }
    out
}

/// The short, plain summary at the end of `make` and `prove`.
pub fn summary(build: &Build, written: &[Written], timings: bool) -> String {
    let part = &build.part;
    let mut out = String::new();
    let _ = writeln!(out, "{}", harmless(&part.name));
    for built in &build.stages {
        let size = (built.figures.high_mm - built.figures.low_mm)
            .to_array()
            .map(|mm| part.unit.number(mm));
        let grams = |density: f64| built.figures.volume_mm3 * 1e-6 * density;
        let weight = match built.stage {
            Stage::Pattern | Stage::Gated => format!(
                "{:.0} g of {} foam at {:.0} kg/m³",
                grams(foam_kg_m3()),
                foam_name(),
                foam_kg_m3()
            ),
            _ => format!(
                "{:.3} kg of {}",
                grams(part.metal.density_kg_m3) * 1e-3,
                harmless(&part.metal.name)
            ),
        };
        let _ = writeln!(
            out,
            "  {:<9} {} x {} x {} {}, {weight}",
            built.stage.name(),
            size[0],
            size[1],
            size[2],
            part.unit.symbol()
        );
    }
    for note in &part.notes {
        let _ = writeln!(out, "  note: {}", harmless(note));
    }
    out.push_str(&findings(&build.findings));
    out.push_str(&wrote(written));
    if timings {
        let s = build.seconds;
        let _ = writeln!(
            out,
            "  script {:.3} s, solids {:.3} s, checks {:.3} s, boards {:.3} s",
            s.script, s.solids, s.checks, s.boards
        );
    }
    out
}

/// Every finding with its place and what to do; those in a row that want the same done say it once.
pub(super) fn findings(findings: &[Finding]) -> String {
    let mut out = String::new();
    if findings.is_empty() {
        out.push_str("  no findings\n");
    }
    for (i, finding) in findings.iter().enumerate() {
        let at = finding
            .features
            .first()
            .map_or_else(String::new, |(_, span)| format!("{span}: "));
        let _ = writeln!(
            out,
            "  {} {}: {at}{}",
            finding.level.word(),
            finding.code,
            harmless(&finding.text)
        );
        let alike = |next: &Finding| {
            next.code == finding.code && next.level == finding.level && then(next) == then(finding)
        };
        if !findings.get(i + 1).is_some_and(alike) {
            let _ = writeln!(out, "       {}", then(finding));
        }
    }
    out
}

/// What is to be done, or why nothing is.
fn then(finding: &Finding) -> String {
    match &finding.allowed {
        Some(reason) => format!("allowed: {}", harmless(reason)),
        None => harmless(&finding.remedy),
    }
}

fn size_text(bytes: u64) -> String {
    match bytes {
        0..10_000 => format!("{bytes} bytes"),
        10_000..1_000_000 => format!("{} kB", bytes / 1000),
        _ => format!("{:.1} MB", bytes as f64 / 1e6),
    }
}
