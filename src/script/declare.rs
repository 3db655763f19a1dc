//! One declaration a word. From it come its binding, the check of its keys, its page in the word list
//! and the test that reads its example.

use crate::script::call::{Answer, Call};

/// A word of the language.
pub struct Word {
    /// Its name, as a script writes it.
    pub name: &'static str,
    /// Where it stands in the word list.
    pub group: Group,
    /// What it is said of.
    pub of: Of,
    /// What it does, in a line or two.
    pub does: &'static str,
    /// Its arguments in order; those that may be left out come last.
    pub takes: &'static [Key],
    /// A whole script that uses it and can be built as it is.
    pub example: &'static str,
    /// What it does when everything that it takes was found good.
    pub(crate) run: fn(&mut Call) -> Answer,
}

/// What a word is said of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// Nothing: `slab(…)`.
    Nothing,
    /// An outline: `outline.corners(…)`.
    Outline,
    /// A list of points: `points.moved(…)`.
    Points,
    /// A feature, as a call: `feature.side(…)`.
    Feature,
    /// A feature, as a value: `feature.top`.
    FeatureValue,
}

/// The parts of the word list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// What is said of the part as a whole.
    Opening,
    /// Flat shapes.
    Outlines,
    /// Lists of points.
    Points,
    /// Numbers and sizes.
    Sizes,
    /// What adds or removes metal.
    Features,
    /// Where other features stand, are cut into, or end.
    Faces,
    /// What carries metal to the pattern, and what the pour has to fit.
    Gating,
}

impl Group {
    /// All groups in the order of the word list.
    pub const ALL: [Group; 7] = [
        Group::Opening,
        Group::Outlines,
        Group::Points,
        Group::Sizes,
        Group::Features,
        Group::Faces,
        Group::Gating,
    ];

    /// The heading of the group in the word list.
    pub const fn heading(self) -> &'static str {
        match self {
            Group::Opening => "The part as a whole",
            Group::Outlines => "Outlines: flat shapes",
            Group::Points => "Lists of points",
            Group::Sizes => "Sizes and numbers",
            Group::Features => "Features: what adds and removes metal",
            Group::Faces => "Faces and other values of a feature",
            Group::Gating => "Gating and the pour",
        }
    }
}

/// An argument of a word, or a key of its map.
#[derive(Debug, Clone, Copy)]
pub struct Key {
    /// Its name.
    pub name: &'static str,
    /// What it takes.
    pub kind: Kind,
    /// Whether it may be left out.
    pub need: Need,
    /// What it says, in one line.
    pub help: &'static str,
}

/// Whether something may be left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// It must be there.
    Must,
    /// It may be left out.
    May,
}

/// A key that must be there.
pub const fn must(name: &'static str, kind: Kind, help: &'static str) -> Key {
    Key {
        name,
        kind,
        need: Need::Must,
        help,
    }
}

/// A key that may be left out.
pub const fn may(name: &'static str, kind: Kind, help: &'static str) -> Key {
    Key {
        name,
        kind,
        need: Need::May,
        help,
    }
}

/// Which sizes are taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Range {
    /// Any finite one.
    Any,
    /// Zero, which means none, or more.
    OrZero,
    /// Over zero.
    Positive,
}

/// What an argument or key takes.
#[derive(Debug, Clone, Copy)]
pub enum Kind {
    /// A length in the script's unit, or a text such as `"2-3/8"`.
    Length(Range),
    /// A number without a unit.
    Number(Range),
    /// A number, or a text such as `"2-3/8"`.
    Fraction,
    /// An angle in degrees, at least the first and at most the second.
    Degrees(f64, f64),
    /// A whole number of at least this.
    Count(i64),
    /// `true` or `false`.
    Flag,
    /// A text.
    Text,
    /// A text that names something; never empty.
    Name,
    /// One of these texts.
    Choice(&'static [&'static str]),
    /// A number, a text, `true` or `false`.
    Scalar,
    /// A flat shape.
    Outline,
    /// A diameter or a flat shape.
    Section,
    /// One face of one feature, or a free one.
    Face,
    /// A face, of several instances too, or a list of them.
    Faces,
    /// A face, or an opening by its handle.
    FaceOrOpening,
    /// A feature, also one of several instances.
    Group,
    /// A face of a feature, also of one of several instances.
    GroupFace,
    /// A list of features.
    Features,
    /// Features by handle or name, one or a list.
    Names,
    /// `true`, or `"all"`.
    Through,
    /// A point `[x, y]`.
    Point,
    /// A list of at least so many points `[x, y]`.
    Points(usize),
    /// A point `[x, y]` or a list of them.
    Places,
    /// A point `[x, y, z]` or a list of them.
    SpacePlaces,
    /// A place in space `[x, y, z]`.
    SpacePoint,
    /// A direction `[x, y, z]`: plain numbers, not all zero.
    Direction,
    /// A list of circles `[x, y, dia]`.
    Circles,
    /// The steps of an outline of lines and arcs.
    ArcPath,
    /// The profile of a turned body.
    Profile,
    /// A point of a tunnel's way: `[x, y, z]`, or `#{ on: face, at: [u, v] }`.
    WayPoint,
    /// A list of two or more of them.
    Way,
    /// A list of points, or an outline.
    Line,
    /// A length, or a list of two: at the start and at the end.
    Heights,
    /// A length, or a list of two lengths over 0, which are as this says.
    Pair(&'static str),
    /// A list of them.
    Pairs(&'static str),
    /// One piece of the gating by what its word gave, or by name.
    GatingPiece,
    /// A list of them.
    GatingPieces,
    /// A direction or a face.
    Up,
    /// A percentage, or a list of three for x, y, z.
    Percents,
    /// `"front"`, `"back"`, `"left"`, `"right"` or degrees.
    Side,
    /// A map with these keys.
    Map(&'static Keys),
    /// A name, or a map with these keys.
    NameOrMap(&'static Keys),
    /// Yes or no, or a map with these keys, which is a yes.
    FlagOrMap(&'static Keys),
}

/// The keys of a map, and what holds between them.
#[derive(Debug)]
pub struct Keys {
    /// All keys, in the order of the word's page.
    pub keys: &'static [&'static [Key]],
    /// What holds between them.
    pub rules: &'static [Rule],
}

/// What holds between keys.
#[derive(Debug, Clone, Copy)]
pub enum Rule {
    /// Exactly one of these.
    One(&'static [&'static str]),
    /// One or more of these.
    Some(&'static [&'static str]),
    /// At most one of these.
    AtMostOne(&'static [&'static str]),
    /// The first can't be without the second.
    Needs(&'static str, &'static str),
}

impl Keys {
    /// Every key, in order.
    pub fn all(&self) -> impl Iterator<Item = &'static Key> {
        self.keys.iter().flat_map(|part| part.iter())
    }

    /// The key with this name.
    pub fn key(&self, name: &str) -> Option<&'static Key> {
        self.all().find(|k| k.name == name)
    }
}

impl Word {
    /// The name in the word list: `.side` for a word that is said of a value.
    pub fn title(&self) -> String {
        match self.of {
            Of::Nothing => self.name.to_string(),
            _ => format!(".{}", self.name),
        }
    }

    /// The keys of its map, where it takes one.
    pub fn keys(&self) -> Option<&'static Keys> {
        self.takes.iter().find_map(|k| match k.kind {
            Kind::Map(keys) | Kind::NameOrMap(keys) => Some(keys),
            _ => None,
        })
    }
}

impl Range {
    const fn size(self) -> &'static str {
        match self {
            Range::Any => "",
            Range::OrZero => ", 0 or more",
            Range::Positive => " over 0",
        }
    }
}

impl Kind {
    /// What it takes, in words that complete "takes …".
    pub fn accepts(&self) -> String {
        match self {
            Kind::Length(range) => format!("a length{}", range.size()),
            Kind::Number(range) => format!("a number{}", range.size()),
            Kind::Degrees(least, most) if least.is_finite() && most.is_finite() => {
                format!("degrees from {least} to {most}")
            }
            Kind::Degrees(..) => "degrees".into(),
            Kind::Count(least) => format!("a whole number, {least} or more"),
            Kind::Choice(words) => words
                .iter()
                .map(|w| format!("\"{w}\""))
                .collect::<Vec<_>>()
                .join(" or "),
            Kind::Points(least) => format!("a list of at least {least} points [x, y]"),
            Kind::Map(keys) => format!("#{{ {} }}", names(keys)),
            Kind::NameOrMap(keys) => format!("a name, or #{{ {} }}", names(keys)),
            Kind::FlagOrMap(keys) => format!("true, false, or #{{ {} }}", names(keys)),
            Kind::Pair(two) => format!("a length over 0, or a list of two: {two}"),
            Kind::Pairs(two) => format!("a list, each a length over 0 or a list of two: {two}"),
            other => other.fixed().into(),
        }
    }

    const fn fixed(&self) -> &'static str {
        match self {
            Kind::Flag => "true or false",
            Kind::Fraction => "a number, or a text such as \"2-3/8\"",
            Kind::Text => "a text in quotes",
            Kind::Name => "a name in quotes",
            Kind::Scalar => "a number, a text, true or false",
            Kind::Outline => "an outline, such as rect(60, 40)",
            Kind::Section => "a diameter over 0, or an outline",
            Kind::Face | Kind::GroupFace => "a face, such as plate.top",
            Kind::Faces => "a face, such as plate.top, or a list of faces",
            Kind::FaceOrOpening => "a face, such as plate.bottom, or an opening",
            Kind::Group => "a feature: what a feature word gave",
            Kind::Features => "a list of features: what feature words gave",
            Kind::Names => "a feature or its name in quotes, or a list of them",
            Kind::Through => "true, or \"all\"",
            Kind::Point => "a point [x, y]",
            Kind::Places => "a point [x, y], or a list of points",
            Kind::SpacePlaces => "a point [x, y, z], or a list of points",
            Kind::SpacePoint => "a point [x, y, z]",
            Kind::Direction => "a direction [x, y, z], such as [0, 0, 1]",
            Kind::Circles => "a list of circles [x, y, dia]",
            Kind::ArcPath => {
                "a list of points [x, y] and arcs #{ to: [x, y], radius: r } or #{ to: [x, y], through: [x, y] }"
            }
            Kind::Profile => {
                "a list of points [r, z] or [r, z, \"name\"] and arcs #{ to: [r, z], radius: r } or #{ to: [r, z], through: [r, z] }"
            }
            Kind::WayPoint => "a point [x, y, z], or #{ on: face, at: [u, v] }",
            Kind::Way => {
                "a list of at least two points [x, y, z]; an end may be #{ on: face, at: [u, v] }"
            }
            Kind::Line => "a list of at least two points [x, y], or an outline",
            Kind::Heights => "a length over 0, or a list of two: [at the start, at the end]",
            Kind::GatingPiece => "a piece of the gating or its name in quotes",
            Kind::GatingPieces => "a list of gates or their names in quotes",
            Kind::Up => "a direction [x, y, z], or a face, such as plate.top",
            Kind::Percents => "a percentage, or a list of three for x, y and z",
            Kind::Side => "\"front\", \"back\", \"left\", \"right\" or degrees",
            _ => "",
        }
    }
}

fn names(keys: &Keys) -> String {
    keys.all().map(|k| k.name).collect::<Vec<_>>().join(", ")
}
