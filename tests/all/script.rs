//! Reading scripts in tests: a metals table of two, modules from memory.

use std::collections::BTreeMap;
use std::sync::Arc;

use foamwright::drawing::Metal;
use foamwright::fault::{Faults, render_all};
use foamwright::script::{Loaded, ModuleFault, Modules, NoModules, Read, Reading, Unread, read};

/// Module files kept in memory: the script's folder, with its `library/`.
#[derive(Default)]
pub struct Folder(pub BTreeMap<&'static str, &'static str>);

impl Modules for Folder {
    fn load(&self, name: &str) -> Result<Loaded, ModuleFault> {
        if name.contains("..") || name.starts_with('/') {
            return Err(ModuleFault::ClimbsOut);
        }
        let places = [format!("{name}.rhai"), format!("library/{name}.rhai")];
        let found = places
            .into_iter()
            .find_map(|p| Some((self.0.get(p.as_str())?, p.clone())));
        let (source, file) = found.ok_or(ModuleFault::NotThere)?;
        Ok(Loaded {
            id: file.clone(),
            file: file.clone(),
            source: (*source).to_string(),
            path: Some(file.into()),
        })
    }

    fn names(&self) -> Vec<String> {
        let name = |n: &&str| {
            n.trim_start_matches("library/")
                .trim_end_matches(".rhai")
                .to_string()
        };
        self.0.keys().map(name).collect()
    }
}

/// Metals for tests: figures of no account.
pub fn metals(name: &str) -> Option<Metal> {
    let metal = |density| Metal {
        name: name.into(),
        shrink_percent: [1.3; 3],
        density_kg_m3: density,
        least_wall_mm: None,
    };
    match name {
        "A356" => Some(metal(2685.0)),
        "grey iron" => Some(metal(7150.0)),
        _ => None,
    }
}

/// A script read with everything given.
pub fn read_with(
    source: &str,
    modules: Arc<dyn Modules>,
    library: &[(&str, &str)],
    overrides: &[(&str, &str)],
) -> Result<Read, Unread> {
    let overrides: Vec<(String, String)> = overrides
        .iter()
        .map(|(n, v)| (n.to_string(), v.to_string()))
        .collect();
    read(
        source,
        &Reading {
            file_name: "part.rhai",
            modules,
            metals: &metals,
            metal_names: &["A356".into(), "grey iron".into()],
            overrides: &overrides,
            library,
            facet_mm: None,
        },
    )
}

/// A script read alone.
pub fn read_alone(source: &str) -> Result<Read, Unread> {
    read_with(source, Arc::new(NoModules), &[], &[])
}

/// The faults of a script as a person sees them.
pub fn shown(unread: &Unread) -> String {
    render_all(&unread.faults, &|file| unread.texts.get(file).cloned())
}

/// The faults of a script that must not be readable.
pub fn faults(source: &str) -> Faults {
    match read_alone(source) {
        Ok(_) => panic!("this script can be read:\n{source}"),
        Err(unread) => unread.faults,
    }
}

/// The part of a script that must be readable.
pub fn part(source: &str) -> foamwright::drawing::Part {
    match read_alone(source) {
        Ok(read) => read.part,
        Err(unread) => panic!("{source}\n{}", shown(&unread)),
    }
}
