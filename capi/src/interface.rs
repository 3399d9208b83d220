//! The one way in: what every function does besides its own work.
//!
//! ```text
//! status = function(arguments…, text, text_capacity, text_needed)
//! ```
//!
//! `interface!` makes of a body an `extern "C"` function that catches panics, turns an error into status and text, and
//! writes the text; and its declaration as text, of which the header is made.

use crate::misuse::{
    Answer, Fault, LITDIODE_NULL_POINTER, LITDIODE_SHORT_BUFFER, LITDIODE_TOO_LONG, MOST_VALUES,
};
use crate::misuse::{Misuse, Outcome};
use crate::pointers::Out;
use std::any::Any;
use std::ffi::c_char;
use std::panic::{AssertUnwindSafe, catch_unwind};

#[cfg(panic = "abort")]
compile_error!("a panic must be caught at the border: build the C interface with panic = \"unwind\"");

/// The text buffer of a call.
#[derive(Clone, Copy)]
pub struct Text {
    pub buffer: Out<c_char>,
    pub capacity: usize,
    pub needed: Out<usize>,
}

/// Runs the body of a function; its status.
pub fn answer(text: Text, body: impl FnOnce() -> Outcome) -> i32 {
    if text.capacity > MOST_VALUES {
        // No buffer is as long: nothing is written into it.
        return LITDIODE_TOO_LONG;
    }
    // What a body changes besides its answer lies in the table of handles, which it changes as a whole or not at all.
    let outcome = catch_unwind(AssertUnwindSafe(body)).unwrap_or_else(|panic| Err(stopped(&*panic)));
    match outcome {
        Ok(Answer::Done) => text.write(0, ""),
        Ok(Answer::Remarks(remarks)) => text.write(0, &remarks),
        Ok(Answer::Text(wanted)) => {
            let fits = wanted.len() < text.capacity && !text.buffer.is_null();
            text.write(if fits { 0 } else { LITDIODE_SHORT_BUFFER }, &wanted)
        }
        Err(Fault { status, text: why }) => text.write(status, &why),
    }
}

impl Text {
    fn write(self, status: i32, words: &str) -> i32 {
        // A 0 byte would end the text for the host.
        let words = words.replace('\0', "\u{fffd}");
        self.buffer.text(self.capacity, &words);
        if !self.needed.is_null() && self.needed.set("text_needed", words.len() + 1).is_err() {
            return LITDIODE_NULL_POINTER;
        }
        status
    }
}

fn stopped(panic: &(dyn Any + Send)) -> Fault {
    let said = panic.downcast_ref::<&str>().map(|said| (*said).to_owned());
    let what = said.or_else(|| panic.downcast_ref::<String>().cloned());
    Misuse::Panicked { what: what.unwrap_or_default() }.into()
}

/// Functions of the interface, and `DECLARATIONS`, the text of each for the header.
macro_rules! interface {
    ($($(#[doc = $doc:literal])+ fn $name:ident($($argument:ident: $type:ty),* $(,)?) $body:block)+) => {
        $(
            $(#[doc = $doc])+
            #[unsafe(no_mangle)]
            pub extern "C" fn $name(
                $($argument: $type,)*
                text: $crate::pointers::Out<std::ffi::c_char>,
                text_capacity: usize,
                text_needed: $crate::pointers::Out<usize>,
            ) -> i32 {
                let text = $crate::interface::Text { buffer: text, capacity: text_capacity, needed: text_needed };
                $crate::interface::answer(text, || $body)
            }
        )+

        /// The functions of this file as they are declared.
        pub const DECLARATIONS: &[&str] = &[$(concat!(
            $("///", $doc, "\n",)+
            "pub extern \"C\" fn ", stringify!($name), "(",
            $(stringify!($argument), ": ", stringify!($type), ", ",)*
            "text: Out<c_char>, text_capacity: usize, text_needed: Out<usize>) -> i32;\n",
        ),)+];
    };
}
pub(crate) use interface;
