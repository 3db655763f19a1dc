//! Reads faces and features: by handle, by name, one or several.

use rhai::{Array, Dynamic, ImmutableString};

use crate::drawing::gating::GatingHandle;
use crate::drawing::given::{FaceRef, Handle};
use crate::script::declare::Kind;
use crate::script::find_key::Step;
use crate::script::given::Given;
use crate::script::reader::{Caret, Reader};
use crate::script::say::describe;

impl Reader<'_> {
    /// Reads a face, a feature, or a list of them.
    pub(super) fn reference(&mut self, kind: &Kind, value: &Dynamic) -> Option<Given> {
        match kind {
            Kind::Face => self.face(kind, value).map(Given::Face),
            Kind::Faces => self.faces(kind, value).map(Given::Faces),
            Kind::FaceOrOpening => match value.clone().try_cast::<Handle>() {
                Some(handle) => self.one(handle).map(Given::Feature),
                None => self.face(kind, value).map(Given::Face),
            },
            Kind::Group => self.handle(kind, value).map(Given::Feature),
            Kind::GroupFace => self.any_face(kind, value).map(Given::Face),
            Kind::Features => self.features(kind, value).map(Given::Features),
            Kind::GatingPiece => self.gating(kind, value).map(|n| Given::Names(vec![n])),
            Kind::GatingPieces => self.gating_pieces(kind, value).map(Given::Names),
            _ => self.names(kind, value).map(Given::Names),
        }
    }

    fn handle(&mut self, kind: &Kind, value: &Dynamic) -> Option<Handle> {
        let handle = value.clone().try_cast::<Handle>();
        if handle.is_none() {
            self.wrong(kind, value);
        }
        handle
    }

    /// A face of one feature.
    fn face(&mut self, kind: &Kind, value: &Dynamic) -> Option<FaceRef> {
        let face = self.any_face(kind, value)?;
        if let FaceRef::Of(handle, _) = &face {
            self.one(handle.clone())?;
        }
        Some(face)
    }

    /// A face of a feature of any number of instances.
    fn any_face(&mut self, kind: &Kind, value: &Dynamic) -> Option<FaceRef> {
        let Some(face) = value.clone().try_cast::<FaceRef>() else {
            let mut hints = Vec::new();
            if let Some(handle) = value.read_lock::<Handle>() {
                hints.push(format!(
                    "say which face of \"{}\", such as .top",
                    handle.name
                ));
            }
            let text = format!(
                "{} takes {}, not {}",
                self.label(),
                kind.accepts(),
                describe(value)
            );
            self.fault(Caret::Value, text, hints);
            return None;
        };
        Some(face)
    }

    /// A handle of one instance.
    fn one(&mut self, handle: Handle) -> Option<Handle> {
        if handle.ids.len() == 1 {
            return Some(handle);
        }
        let count = handle.ids.len();
        let text = format!(
            "{} needs one feature, and \"{}\" is {count}",
            self.label(),
            handle.name
        );
        let hint =
            "take one of them, such as .each[0], or go through them: for one in holes.each { … }";
        self.fault(Caret::Value, text, vec![hint.into()]);
        None
    }

    /// One face an instance, from a face or a list of faces.
    fn faces(&mut self, kind: &Kind, value: &Dynamic) -> Option<Vec<FaceRef>> {
        let Some(list) = value.clone().try_cast::<Array>() else {
            return match value.clone().try_cast::<FaceRef>() {
                Some(face) => Some(self.split(face)),
                None => {
                    self.face(kind, value);
                    None
                }
            };
        };
        let mut faces = Vec::new();
        for (n, item) in list.iter().enumerate() {
            let found = self.within(Step::Item(n), |r| r.read(&Kind::Faces, item))?;
            if let Given::Faces(found) = found {
                faces.extend(found);
            }
        }
        if faces.is_empty() {
            let text = format!("{} is an empty list", self.label());
            self.fault(Caret::Value, text, Vec::new());
            return None;
        }
        Some(faces)
    }

    /// The same face of each instance.
    fn split(&self, face: FaceRef) -> Vec<FaceRef> {
        match face {
            FaceRef::Of(handle, key) if handle.ids.len() > 1 => {
                let each = self.state.each(&handle);
                each.into_iter()
                    .map(|one| FaceRef::Of(one, key.clone()))
                    .collect()
            }
            face => vec![face],
        }
    }

    fn features(&mut self, kind: &Kind, value: &Dynamic) -> Option<Vec<Handle>> {
        if let Some(handle) = value.clone().try_cast::<Handle>() {
            return Some(vec![handle]);
        }
        let list = self.list(value, kind)?;
        let mut handles = Vec::new();
        for (n, item) in list.iter().enumerate() {
            let read = |r: &mut Self| {
                if r.any_broken(item) {
                    None
                } else {
                    r.handle(&Kind::Group, item)
                }
            };
            handles.push(self.within(Step::Item(n), read)?);
        }
        if handles.is_empty() {
            let text = format!("{} is an empty list", self.label());
            self.fault(Caret::Value, text, Vec::new());
            return None;
        }
        Some(handles)
    }

    /// A piece of the gating by handle or name.
    fn gating(&mut self, kind: &Kind, value: &Dynamic) -> Option<String> {
        if let Some(handle) = value.read_lock::<GatingHandle>() {
            return Some(handle.name.clone());
        }
        if let Some(text) = value.read_lock::<ImmutableString>() {
            return Some(text.to_string());
        }
        self.wrong(kind, value);
        None
    }

    fn gating_pieces(&mut self, kind: &Kind, value: &Dynamic) -> Option<Vec<String>> {
        if !value.is_array() {
            return self.gating(kind, value).map(|name| vec![name]);
        }
        let list = self.list(value, kind)?;
        let mut names = Vec::new();
        for (n, item) in list.iter().enumerate() {
            if self.any_broken(item) {
                return None;
            }
            names.push(self.within(Step::Item(n), |r| r.gating(kind, item))?);
        }
        Some(names)
    }

    fn names(&mut self, kind: &Kind, value: &Dynamic) -> Option<Vec<String>> {
        if let Some(handle) = value.read_lock::<GatingHandle>() {
            return Some(vec![handle.name.clone()]);
        }
        if let Some(handle) = value.read_lock::<Handle>() {
            return Some(vec![handle.name.clone()]);
        }
        if let Some(text) = value.read_lock::<ImmutableString>() {
            return Some(vec![text.to_string()]);
        }
        let list = self.list(value, kind)?;
        let mut names = Vec::new();
        for (n, item) in list.iter().enumerate() {
            if item.is_array() {
                self.within(Step::Item(n), |r| r.wrong(kind, item));
                return None;
            }
            match self.within(Step::Item(n), |r| r.read(&Kind::Names, item))? {
                Given::Names(found) => names.extend(found),
                _ => return None,
            }
        }
        Some(names)
    }
}
