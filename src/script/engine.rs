//! The engine: which packages it has, its limits, and the binding of every declared word.

use std::any::TypeId;
use std::sync::Arc;

use rhai::debugger::DebuggerCommand;
use rhai::packages::{
    BasicArrayPackage, BasicMapPackage, BasicMathPackage, CorePackage, LogicPackage,
    MoreStringPackage, Package,
};
use rhai::{
    Array, Dynamic, Engine, EvalAltResult, INT, ImmutableString, NativeCallContext,
    OptimizationLevel,
};

use crate::drawing::given::Handle;
use crate::drawing::outline::Outline;
use crate::fault::Fault;
use crate::script::call::{self, form};
use crate::script::declare::{Kind, Of, Word};
use crate::script::loader::Loader;
use crate::script::say::{did_you_mean, listed};
use crate::script::state::{Broken, Shared, lock};
use crate::script::words::word_list;
use crate::script::{limits, numbers, places, unknown};

/// A word takes at most so many arguments; one more is bound, so that a call with too many is told well.
const MOST_ARGUMENTS: usize = 8;

/// An engine that reads part scripts into `shared`.
pub fn engine(shared: &Shared, loader: Loader) -> Engine {
    let mut engine = Engine::new_raw();
    CorePackage::new().register_into_engine(&mut engine);
    LogicPackage::new().register_into_engine(&mut engine);
    BasicMathPackage::new().register_into_engine(&mut engine);
    BasicArrayPackage::new().register_into_engine(&mut engine);
    BasicMapPackage::new().register_into_engine(&mut engine);
    MoreStringPackage::new().register_into_engine(&mut engine);
    engine.set_optimization_level(OptimizationLevel::None);
    engine.set_fail_on_invalid_map_property(true);
    limits::set(&mut engine);
    numbers::bind(&mut engine);
    no_clock(&mut engine);
    engine.set_module_resolver(loader);
    // With a debugger registered the engine keeps a stack of calls, which call chains are read from.
    #[allow(deprecated)] // the engine marks it as liable to change; the engine's version is pinned
    engine.register_debugger(
        |_, debugger| debugger,
        |_, _, _, _, _| Ok(DebuggerCommand::Continue),
    );
    unknown::bind(&mut engine, shared);
    word_list()
        .iter()
        .for_each(|word| bind(&mut engine, shared, word));
    bind_values(&mut engine, shared);
    engine
}

/// The engine's own `sleep` must not hold a build up, whichever way it is called.
fn no_clock(engine: &mut Engine) {
    let refuse = || -> Result<(), Box<EvalAltResult>> { Err("a script has no clock".into()) };
    engine.register_fn("sleep", move |_: INT| refuse());
    engine.register_fn("sleep", move |_: f64| refuse());
}

/// Binds a word for every number of arguments, so that its own check tells what is wrong with them.
fn bind(engine: &mut Engine, shared: &Shared, word: &'static Word) {
    let of = match word.of {
        Of::Nothing => None,
        Of::Outline => Some(TypeId::of::<Outline>()),
        Of::Points => Some(TypeId::of::<Array>()),
        Of::Feature => Some(TypeId::of::<Handle>()),
        Of::FeatureValue => return,
    };
    let text = matches!(word.takes.first().map(|k| k.kind), Some(Kind::Name));
    for count in 0..=MOST_ARGUMENTS {
        let types: Vec<TypeId> = of
            .into_iter()
            .chain((0..count).map(|_| TypeId::of::<Dynamic>()))
            .collect();
        let shared = Arc::clone(shared);
        if text && count > 0 {
            // The engine's own function of this name takes a text.
            let mut types = types.clone();
            types[0] = TypeId::of::<ImmutableString>();
            let shared = Arc::clone(&shared);
            engine.register_raw_fn(
                word.name,
                types,
                move |context, arguments: &mut [&mut Dynamic]| {
                    call::run(&shared, word, &context, arguments)
                },
            );
        }
        engine.register_raw_fn(
            word.name,
            types,
            move |context, arguments: &mut [&mut Dynamic]| {
                call::run(&shared, word, &context, arguments)
            },
        );
    }
}

/// Binds `feature.top` and its like: one look-up by name, so that an unknown one is told well.
fn bind_values(engine: &mut Engine, shared: &Shared) {
    let shared = Arc::clone(shared);
    let get = move |context: NativeCallContext, handle: &mut Handle, name: ImmutableString| {
        let known = word_list()
            .iter()
            .find(|w| w.of == Of::FeatureValue && w.name == name.as_str());
        match known {
            Some(word) => {
                let mut of = Dynamic::from(handle.clone());
                call::run(&shared, word, &context, &mut [&mut of])
            }
            None => {
                unknown_value(&shared, &context, &handle.name, &name);
                Ok(Dynamic::from(Broken))
            }
        }
    };
    engine.register_indexer_get(get);
}

fn unknown_value(shared: &Shared, context: &NativeCallContext, feature: &str, name: &str) {
    let mut state = lock(shared);
    let site = places::site(context, &state);
    let of_features = || {
        word_list()
            .iter()
            .filter(|w| matches!(w.of, Of::Feature | Of::FeatureValue))
    };
    let mut hints = did_you_mean(name, of_features().map(|w| w.name));
    if let Some(word) = of_features().find(|w| w.name == name) {
        hints = vec![format!("write {}", form(word))];
    }
    let fault = Fault::new(format!("the feature \"{feature}\" has no value `.{name}`"));
    let fault = hints.into_iter().fold(fault.from_site(&site), Fault::hint);
    state.fault(fault.hint(format!(
        "a feature has {}",
        listed(of_features().map(|w| w.name))
    )));
}
