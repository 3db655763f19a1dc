//! A 3MF package (core specification 1.3): millimetres, an object a solid with its name, all of them placed by one
//! assembly, which is what is built. Points are rounded to f32; the same solids give the same bytes.

use std::fmt::Write as _;
use std::io::{self, Write};

use crate::export::zip::{self, Entry};
use crate::fault::no_markup;
use crate::measure::Frame;
use crate::solid::Solid;

/// A solid of the package.
#[derive(Debug, Clone, Copy)]
pub struct Member<'a> {
    /// Its name.
    pub name: &'a str,
    /// The solid in its own place (mm).
    pub solid: &'a Solid,
    /// Where that lies in the assembly.
    pub lay: Frame,
}

const TYPES: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<Types xmlns=\"http://schemas.openxmlformats.org/package/2006/content-types\"><Default Extension=\"rels\" ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/><Default Extension=\"model\" ContentType=\"application/vnd.ms-package.3dmanufacturing-3dmodel+xml\"/></Types>\n";
const RELATIONS: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\"><Relationship Target=\"/3D/3dmodel.model\" Id=\"rel0\" Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/></Relationships>\n";

/// Writes solids as one package; `title` names the assembly.
///
/// # Errors
/// What the writer says; more bytes than the container can hold.
pub fn write(members: &[Member], title: &str, to: &mut dyn Write) -> io::Result<()> {
    let model = model(members, title);
    let entries = [
        ("[Content_Types].xml", TYPES),
        ("_rels/.rels", RELATIONS),
        ("3D/3dmodel.model", &model),
    ];
    let entries = entries.map(|(name, text)| Entry {
        name,
        bytes: text.as_bytes(),
    });
    zip::write(&entries, to)
}

fn model(members: &[Member], title: &str) -> String {
    let title = no_markup(title);
    let mut out = String::from(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<model unit=\"millimeter\" xml:lang=\"en\" xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\n",
    );
    let version = env!("CARGO_PKG_VERSION");
    let _ = writeln!(out, "<metadata name=\"Title\">{title}</metadata>");
    let _ = writeln!(
        out,
        "<metadata name=\"Application\">foamwright {version}</metadata>\n<resources>"
    );
    for (i, member) in members.iter().enumerate() {
        object(&mut out, i + 1, member);
    }
    let whole = members.len() + 1;
    let _ = writeln!(
        out,
        "<object id=\"{whole}\" type=\"model\" name=\"{title}\"><components>"
    );
    for (i, member) in members.iter().enumerate() {
        let place = place(&member.lay);
        let _ = writeln!(
            out,
            "<component objectid=\"{}\" transform=\"{place}\"/>",
            i + 1
        );
    }
    let _ = writeln!(
        out,
        "</components></object>\n</resources>\n<build><item objectid=\"{whole}\"/></build>\n</model>"
    );
    out
}

/// A mesh with its name; a point is written as the shortest text that reads back as the same f32.
fn object(out: &mut String, id: usize, member: &Member) {
    let name = no_markup(member.name);
    let _ = writeln!(
        out,
        "<object id=\"{id}\" type=\"model\" name=\"{name}\"><mesh><vertices>"
    );
    for p in &member.solid.points {
        let [x, y, z] = p.to_array().map(|c| c as f32 + 0.0);
        let _ = writeln!(out, "<vertex x=\"{x}\" y=\"{y}\" z=\"{z}\"/>");
    }
    out.push_str("</vertices><triangles>\n");
    for [a, b, c] in &member.solid.triangles {
        let _ = writeln!(out, "<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>");
    }
    out.push_str("</triangles></mesh></object>\n");
}

/// A frame as the format's 4 x 3 matrix: where x, y and z go, a row each, then the origin.
fn place(lay: &Frame) -> String {
    let rows = [lay.x, lay.y, lay.z, lay.origin];
    let numbers = rows.iter().flat_map(|v| v.to_array());
    let texts: Vec<String> = numbers.map(|c| format!("{}", c + 0.0)).collect();
    texts.join(" ")
}
