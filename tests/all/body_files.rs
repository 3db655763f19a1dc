//! Feature bodies and their order as other libraries read them.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use foamwright::drawing::Part;
use foamwright::drawing::body::Act;
use foamwright::pattern::{Stage, Stocks, members};
use foamwright::solid::{Ready, Step, in_order, shell_of_body};

/// The bodies of a stage, and their order.
pub fn bodies_of(part: &Part, stage: Stage, stocks: &Stocks) -> (Vec<Ready>, Vec<Step>) {
    let staged = members(part, stage, stocks).expect("the build listed them too");
    let ready: Vec<Ready> = staged
        .members
        .iter()
        .map(|m| {
            let shell = shell_of_body(&m.body, part.facet_mm).expect("the build made them too");
            Ready::new(m.body.feature, m.body.act, Arc::new(shell))
        })
        .collect();
    let steps = in_order(&ready, &|cut, add| staged.claim(cut, add));
    (ready, steps)
}

/// Writes bodies into one file: counts, then points as f64 and triangles as u32, little-endian.
pub fn write_bodies(path: &Path, ready: &[Ready]) {
    let mut bytes = Vec::new();
    for body in ready {
        let shell = &body.shell;
        let counts = [shell.points.len() as u32, shell.triangles.len() as u32];
        counts.iter().for_each(|n| bytes.extend(n.to_le_bytes()));
        let numbers = shell.points.iter().flat_map(|p| p.to_array());
        numbers.for_each(|x| bytes.extend(x.to_le_bytes()));
        let corners = shell.triangles.iter().flatten();
        corners.for_each(|i| bytes.extend(i.to_le_bytes()));
    }
    fs::write(path, bytes).expect("the file can be written");
}

/// The order as JSON.
pub fn told_steps(ready: &[Ready], steps: &[Step]) -> serde_json::Value {
    let told = steps.iter().map(|step| {
        let adds = ready[step.body].act == Act::Add;
        serde_json::json!({ "body": step.body, "adds": adds, "less": step.less })
    });
    told.collect()
}
