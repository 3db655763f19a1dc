//! What a script may use up. Each limit is far over what a part of a few hundred features needs, and
//! low enough that a runaway script ends within a second or two and a few tens of megabytes.

use rhai::Engine;

/// Steps of the engine; a part of 500 features takes some tens of thousands.
pub const MOST_STEPS: u64 = 1_000_000;
/// Calls within calls.
pub const MOST_CALLS: usize = 48;
/// Brackets within brackets, at the top and in a function.
pub const MOST_NESTING: (usize, usize) = (64, 48);
/// Characters of a text.
pub const MOST_TEXT: usize = 20_000;
/// Items of a list, those of lists within it counted too.
pub const MOST_ITEMS: usize = 20_000;
/// Keys of a map, those of maps within it counted too.
pub const MOST_KEYS: usize = 2_000;
/// Imports of a script and its modules.
pub const MOST_MODULES: usize = 50;
/// Variables at one time.
pub const MOST_VARIABLES: usize = 5_000;
/// Functions of a file.
pub const MOST_FUNCTIONS: usize = 1_000;
/// Characters of a script or module file.
pub const MOST_SCRIPT: usize = 2_000_000;

/// Sets them.
pub fn set(engine: &mut Engine) {
    engine
        .set_max_operations(MOST_STEPS)
        .set_max_call_levels(MOST_CALLS)
        .set_max_expr_depths(MOST_NESTING.0, MOST_NESTING.1)
        .set_max_string_size(MOST_TEXT)
        .set_max_array_size(MOST_ITEMS)
        .set_max_map_size(MOST_KEYS)
        .set_max_modules(MOST_MODULES)
        .set_max_variables(MOST_VARIABLES)
        .set_max_functions(MOST_FUNCTIONS);
}
