//! The declarations of the interface in one text, of which cbindgen makes `include/litdiode.h`.

use crate::{
    choices, fit, fit_settings, general, key_points, live, misuse, model, models, objects, plan, resistances,
    sweep, sweep_settings,
};

/// The constants, in the order of the header.
const CONSTANTS: &[&[&str]] = &[
    general::CONSTANTS,
    misuse::CONSTANTS,
    objects::CONSTANTS,
    choices::CONSTANTS,
    choices::FIT_STATUS,
    choices::STOP_REASON,
];

/// The functions, in the order of the header.
const FUNCTIONS: &[&[&str]] = &[
    general::DECLARATIONS,
    sweep_settings::DECLARATIONS,
    sweep::DECLARATIONS,
    key_points::DECLARATIONS,
    fit_settings::DECLARATIONS,
    fit::DECLARATIONS,
    model::DECLARATIONS,
    models::DECLARATIONS,
    resistances::DECLARATIONS,
    live::DECLARATIONS,
    plan::DECLARATIONS,
];

/// All constants and functions as Rust declarations with plain pointers.
pub fn declarations() -> String {
    let constants: String = CONSTANTS.iter().flat_map(|group| group.iter()).copied().collect();
    let functions = FUNCTIONS.iter().flat_map(|group| group.iter());
    let functions: String = functions.map(|text| format!("#[unsafe(no_mangle)]\n{}", plain(text))).collect();
    format!("use std::ffi::c_char;\n{constants}{functions}")
}

/// `In<T>` and `Out<T>` as the pointers that they are; a body in place of the semicolon.
fn plain(declaration: &str) -> String {
    let mut text = declaration.replace("-> i32;", "-> i32 { 0 }");
    for (wrapped, pointer) in [("In<", "*const "), ("Out<", "*mut ")] {
        while let Some(start) = text.find(wrapped) {
            let inside = start + wrapped.len();
            let Some(end) = text[inside..].find('>') else { break };
            text = format!(
                "{}{pointer}{}{}",
                &text[..start],
                &text[inside..inside + end],
                &text[inside + end + 1..]
            );
        }
    }
    text
}
