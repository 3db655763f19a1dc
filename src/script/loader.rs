//! `import`: the script's folder, its `library/`, then the built-in library. Files are read by whoever
//! calls, through [`Modules`]; here they are compiled, run once and kept.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};

use rhai::{
    Engine, EvalAltResult, GlobalRuntimeState, Module, ModuleResolver, Position, Scope,
    Shared as RhaiShared,
};

use crate::fault::{Fault, Site, Span};
use crate::script::state::{Import, Shared, State, lock};
use crate::script::text::Text;
use crate::script::{dash, places, same_names, say, translate, translate_parse, unknown};

/// A module's text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Loaded {
    /// What the module is told apart by, whatever name it was asked for by: its real path.
    pub id: String,
    /// The file as faults name it.
    pub file: String,
    /// Its text.
    pub source: String,
    /// Its path, to be watched.
    pub path: Option<PathBuf>,
}

/// Why a module can't be had.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ModuleFault {
    /// No such file in the script's folder or its `library/`.
    NotThere,
    /// The name leads out of the script's folder: `..`, an absolute path, or a link.
    ClimbsOut,
    /// The file isn't text.
    NotText {
        /// The file as the person would name it.
        file: String,
    },
    /// It is there and can't be read.
    Unreadable {
        /// The file as the person would name it.
        file: String,
        /// What the system says.
        why: String,
    },
}

/// Where module files come from.
pub trait Modules: Send + Sync {
    /// Looks a name up in the script's folder, then in its `library/`; the name has no ending.
    ///
    /// # Errors
    /// [`ModuleFault::NotThere`] where neither holds it; the built-in library is then asked.
    fn load(&self, name: &str) -> Result<Loaded, ModuleFault>;

    /// The names that `load` would find, for "did you mean".
    fn names(&self) -> Vec<String> {
        Vec::new()
    }

    /// The script's own `id`, so that a module that imports it is seen to go in a circle.
    fn script_id(&self) -> Option<String> {
        None
    }
}

/// No module files: only the built-in library.
#[derive(Debug, Clone, Copy, Default)]
pub struct NoModules;

impl Modules for NoModules {
    fn load(&self, _: &str) -> Result<Loaded, ModuleFault> {
        Err(ModuleFault::NotThere)
    }
}

/// The engine's resolver.
pub struct Loader {
    shared: Shared,
    modules: Arc<dyn Modules>,
    /// Built-in modules: name and text.
    library: Vec<(String, String)>,
    done: Mutex<BTreeMap<String, RhaiShared<Module>>>,
    /// Modules being loaded, outermost first: id and the name that they were asked for by.
    open: Mutex<Vec<(String, String)>>,
}

impl Loader {
    /// A loader over files and the built-in library.
    pub fn new(
        shared: Shared,
        modules: Arc<dyn Modules>,
        library: &[(&str, &str)],
        main: &str,
    ) -> Loader {
        let library = library
            .iter()
            .map(|(n, t)| ((*n).to_string(), (*t).to_string()))
            .collect();
        let own = modules
            .script_id()
            .unwrap_or_else(|| format!("script {main}"));
        let open = Mutex::new(vec![(own, main.to_string())]);
        Loader {
            shared,
            modules,
            library,
            done: Mutex::default(),
            open,
        }
    }

    fn find(&self, name: &str) -> Result<Loaded, ModuleFault> {
        let name = name.strip_suffix(".rhai").unwrap_or(name);
        match self.modules.load(name) {
            Err(ModuleFault::NotThere) => {}
            found => return found,
        }
        let built_in = self.library.iter().find(|(n, _)| n == name);
        let file = format!("library {name}");
        let loaded = |(_, source): &(String, String)| Loaded {
            id: file.clone(),
            file: file.clone(),
            source: source.clone(),
            path: None,
        };
        built_in.map(loaded).ok_or(ModuleFault::NotThere)
    }

    /// The fault of a module that can't be had.
    fn refuse(&self, name: &str, why: &ModuleFault) -> Fault {
        match why {
            ModuleFault::NotThere => {
                let mut known = self.modules.names();
                known.extend(self.library.iter().map(|(n, _)| n.clone()));
                known.sort();
                known.dedup();
                let hints = say::did_you_mean(name, known.iter().map(String::as_str));
                let fault = Fault::new(format!("there is no module \"{name}\""));
                let fault = hints.into_iter().fold(fault, Fault::hint).hint(
                    "it is looked for in the script's folder, in its library folder, and in the built-in library",
                );
                let built_in: Vec<&str> = self.library.iter().map(|(n, _)| n.as_str()).collect();
                match built_in[..] {
                    [] => fault,
                    _ => fault.hint(format!("the built-in library has {}", built_in.join(", "))),
                }
            }
            ModuleFault::ClimbsOut => {
                Fault::new(format!("the module \"{name}\" lies outside the script's folder"))
                    .hint("an import reaches the script's folder, its library folder and the built-in library, nothing else")
            }
            ModuleFault::NotText { file } => Fault::new(format!("the module file {file} isn't text")),
            ModuleFault::Unreadable { file, why } => {
                Fault::new(format!("the module file {file} can't be read: {why}"))
            }
        }
    }

    /// The circle that importing `id` would close, in words.
    fn circle(&self, id: &str, name: &str) -> Option<String> {
        let open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        let start = open.iter().position(|(i, _)| i == id)?;
        let names = open[start..].iter().map(|(_, n)| n.as_str());
        let circle: Vec<&str> = names.chain([name]).collect();
        Some(circle.join(" → "))
    }

    /// Compiles a module and runs its own statements.
    fn make(
        &self,
        engine: &Engine,
        global: &mut GlobalRuntimeState,
        loaded: &Loaded,
        site: &Site,
    ) -> Result<RhaiShared<Module>, Box<EvalAltResult>> {
        let text = Arc::new(Text::new(&loaded.file, &loaded.source));
        let mut state = lock(&self.shared);
        state.texts.insert(loaded.file.clone(), text.clone());
        state.files.extend(loaded.path.clone());
        if loaded.path.is_some() {
            state.part.findings.extend(dash::dash_fractions(&text));
        }
        drop(state);
        let mut ast = engine.compile(&loaded.source).map_err(|error| {
            let fault = translate_parse::parse_fault(&text, &error);
            stop(&mut lock(&self.shared), called_from(fault, site))
        })?;
        ast.set_source(loaded.file.as_str());
        if unknown::forbidden(&text, &mut lock(&self.shared)) {
            return Err(silent());
        }
        let clashes = same_names::clashes(&loaded.file, &text, &mut lock(&self.shared));
        if !clashes.is_empty() {
            for fault in clashes {
                lock(&self.shared).fault(called_from(fault, site));
            }
            return Err(silent());
        }
        let depth = global.debugger().call_stack().len();
        let import = Import {
            depth,
            file: loaded.file.clone(),
            span: site.span.clone(),
        };
        lock(&self.shared).imports.push(import);
        let module = Module::eval_ast_as_new_raw(engine, &mut Scope::new(), global, &ast);
        let module = module.map_err(|error| {
            let fault = translate::fault(&error, &loaded.file, &lock(&self.shared));
            fault.map_or_else(silent, |fault| {
                stop(&mut lock(&self.shared), called_from(fault, site))
            })
        });
        lock(&self.shared).imports.pop();
        Ok(module?.into())
    }
}

/// The fault of a module, with the import that led to it.
fn called_from(mut fault: Fault, site: &Site) -> Fault {
    fault.calls.push(site.span.clone());
    fault.calls.extend(site.calls.iter().cloned());
    fault
}

/// Keeps a fault and gives the error that ends the script.
fn stop(state: &mut State, fault: Fault) -> Box<EvalAltResult> {
    state.fault(fault);
    silent()
}

/// The error that ends a script whose fault is already kept.
fn silent() -> Box<EvalAltResult> {
    EvalAltResult::ErrorTerminated(().into(), Position::NONE).into()
}

impl ModuleResolver for Loader {
    fn resolve(
        &self,
        engine: &Engine,
        source: Option<&str>,
        path: &str,
        position: Position,
    ) -> Result<RhaiShared<Module>, Box<EvalAltResult>> {
        let _ = (engine, source);
        Err(EvalAltResult::ErrorModuleNotFound(path.into(), position).into())
    }

    fn resolve_raw(
        &self,
        engine: &Engine,
        global: &mut GlobalRuntimeState,
        _: &mut Scope,
        path: &str,
        position: Position,
    ) -> Result<RhaiShared<Module>, Box<EvalAltResult>> {
        let site = import_site(&lock(&self.shared), global, position);
        let loaded = self.find(path).map_err(|why| {
            let fault = self.refuse(path, &why).from_site(&site);
            stop(&mut lock(&self.shared), fault)
        })?;
        if let Some(circle) = self.circle(&loaded.id, path) {
            let fault =
                Fault::new(format!("these imports go in a circle: {circle}")).from_site(&site);
            return Err(stop(&mut lock(&self.shared), fault));
        }
        let done = self
            .done
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .get(&loaded.id)
            .cloned();
        if let Some(module) = done {
            return Ok(module);
        }
        let opened = (loaded.id.clone(), path.to_string());
        self.open
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .push(opened);
        let module = self.make(engine, global, &loaded, &site);
        self.open
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .pop();
        let module = module?;
        let mut done = self.done.lock().unwrap_or_else(PoisonError::into_inner);
        done.insert(loaded.id, module.clone());
        Ok(module)
    }
}

/// The place of the module name after `import`, with the calls that led there.
fn import_site(state: &State, global: &GlobalRuntimeState, position: Position) -> Site {
    let file = global.source().unwrap_or_default();
    let calls = places::chain(state, global.debugger().call_stack());
    Site {
        span: name_span(state, file, position),
        calls,
    }
}

fn name_span(state: &State, file: &str, position: Position) -> Span {
    let span = places::span(state, file, position);
    let Some(text) = state.text(file).filter(|_| span.column > 0) else {
        return span;
    };
    let at = text.index(span.line, span.column);
    let end = text.past_opaque(at).unwrap_or(at + span.length);
    text.span(&(at..end))
}
