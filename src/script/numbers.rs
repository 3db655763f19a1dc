//! Numbers as the shop writes them: 3/4 is 0.75, angles are in degrees.

use rhai::{Dynamic, Engine, EvalAltResult, INT, NativeCallContext, Position};

use crate::measure::sin_cos_deg;

type Result<T> = std::result::Result<T, Box<EvalAltResult>>;

/// Binds the number forms.
pub fn bind(engine: &mut Engine) {
    engine.set_fast_operators(false);
    engine.register_fn("/", |c: NativeCallContext, a: INT, b: INT| divide(&c, a, b));
    engine.register_fn("/", |c: NativeCallContext, a: f64, b: f64| ratio(&c, a, b));
    engine.register_fn("/", |c: NativeCallContext, a: INT, b: f64| {
        ratio(&c, a as f64, b)
    });
    engine.register_fn("/", |c: NativeCallContext, a: f64, b: INT| {
        ratio(&c, a, b as f64)
    });
    bind_divide_and_set(engine);
    for (name, f) in DEGREES_IN {
        engine.register_fn(*name, |a: INT| f(a as f64));
        engine.register_fn(*name, |a: f64| f(a));
    }
    for (name, f) in DEGREES_OUT {
        engine.register_fn(*name, |c: NativeCallContext, a: INT| {
            arc(&c, name, f, a as f64)
        });
        engine.register_fn(*name, |c: NativeCallContext, a: f64| arc(&c, name, f, a));
    }
    engine.register_fn("atan", |y: f64, x: f64| y.atan2(x).to_degrees());
    engine.register_fn("atan", |y: INT, x: INT| {
        (y as f64).atan2(x as f64).to_degrees()
    });
    engine.register_fn("atan", |y: INT, x: f64| (y as f64).atan2(x).to_degrees());
    engine.register_fn("atan", |y: f64, x: INT| y.atan2(x as f64).to_degrees());
}

/// `/=` may turn a whole number into one that isn't: the variable changes its kind.
fn bind_divide_and_set(engine: &mut Engine) {
    use std::any::TypeId;
    for (left, right) in [
        (TypeId::of::<INT>(), TypeId::of::<INT>()),
        (TypeId::of::<INT>(), TypeId::of::<f64>()),
        (TypeId::of::<f64>(), TypeId::of::<INT>()),
        (TypeId::of::<f64>(), TypeId::of::<f64>()),
    ] {
        engine.register_raw_fn("/=", [left, right], |c, arguments: &mut [&mut Dynamic]| {
            let quotient = match (arguments[0].as_int(), arguments[1].as_int()) {
                (Ok(a), Ok(b)) => divide(&c, a, b)?,
                _ => ratio(&c, float(arguments[0]), float(arguments[1]))?.into(),
            };
            *arguments[0] = quotient;
            Ok(())
        });
    }
}

fn float(value: &Dynamic) -> f64 {
    value
        .as_float()
        .or(value.as_int().map(|i| i as f64))
        .unwrap_or(f64::NAN)
}

/// A quotient of whole numbers: whole where it comes out whole.
fn divide(context: &NativeCallContext, a: INT, b: INT) -> Result<Dynamic> {
    match a.checked_rem(b) {
        Some(0) => Ok((a / b).into()),
        _ => ratio(context, a as f64, b as f64).map(Dynamic::from),
    }
}

fn ratio(context: &NativeCallContext, a: f64, b: f64) -> Result<f64> {
    if b == 0.0 {
        let text = "this divides by zero".to_string();
        return Err(EvalAltResult::ErrorArithmetic(text, position(context)).into());
    }
    Ok(a / b)
}

/// A function by its name.
type Named = (&'static str, fn(f64) -> f64);

const DEGREES_IN: &[Named] = &[
    ("sin", |deg| sin_cos_deg(deg).0),
    ("cos", |deg| sin_cos_deg(deg).1),
    ("tan", |deg| sin_cos_deg(deg).0 / sin_cos_deg(deg).1),
];

const DEGREES_OUT: &[Named] = &[
    ("asin", |x| x.asin().to_degrees()),
    ("acos", |x| x.acos().to_degrees()),
    ("atan", |x| x.atan().to_degrees()),
];

fn arc(context: &NativeCallContext, name: &str, f: &fn(f64) -> f64, x: f64) -> Result<f64> {
    let degrees = f(x);
    if degrees.is_nan() && !x.is_nan() {
        let text = format!("{name} takes a number from -1 to 1, not {x}");
        return Err(EvalAltResult::ErrorArithmetic(text, position(context)).into());
    }
    Ok(degrees)
}

fn position(context: &NativeCallContext) -> Position {
    context.call_position()
}
