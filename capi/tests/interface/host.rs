//! What a host has: numbers, lists, a buffer for text.

use litdiode_capi::pointers::{In, Out, Plain};
use std::ffi::{CString, c_char};

/// A buffer for the text of a call.
pub struct Text {
    buffer: Vec<u8>,
    pub needed: usize,
}

impl Text {
    pub fn new(capacity: usize) -> Self {
        Self { buffer: vec![0xAA; capacity], needed: 0 }
    }

    pub fn pointer(&mut self) -> Out<c_char> {
        // SAFETY: the buffer is as long as `capacity` says, and lives as long as the call.
        unsafe { Out::new(self.buffer.as_mut_ptr().cast()) }
    }

    pub fn capacity(&self) -> usize {
        self.buffer.len()
    }

    /// Up to the 0 byte.
    pub fn read(&self) -> &str {
        let end = self.buffer.iter().position(|b| *b == 0).expect("the text ends");
        std::str::from_utf8(&self.buffer[..end]).expect("the text is UTF-8")
    }

    /// The bytes after the 0 byte, which no call may touch.
    pub fn rest(&self) -> &[u8] {
        let end = self.buffer.iter().position(|b| *b == 0).map_or(0, |end| end + 1);
        &self.buffer[end..]
    }
}

/// A list of the host.
pub fn list<T: Plain>(values: &[T]) -> In<T> {
    // SAFETY: the tests pass the length of the list beside it, and keep the list during the call.
    unsafe { In::new(values.as_ptr()) }
}

/// Where the host takes values.
pub fn out<T: Plain>(values: &mut [T]) -> Out<T> {
    // SAFETY: as for `list`.
    unsafe { Out::new(values.as_mut_ptr()) }
}

/// Where the host takes one value.
pub fn one<T: Plain>(value: &mut T) -> Out<T> {
    // SAFETY: as for `list`.
    unsafe { Out::new(value) }
}

/// A text of the host.
pub fn words(text: &CString) -> In<c_char> {
    // SAFETY: as for `list`; a CString ends with a 0 byte.
    unsafe { In::new(text.as_ptr()) }
}

/// Calls a function with a text buffer: its status and text.
macro_rules! call {
    ($function:path $(, $argument:expr)* $(,)?) => {{
        let mut text = $crate::host::Text::new(1 << 20);
        let (pointer, capacity) = (text.pointer(), text.capacity());
        let mut needed = 0;
        let status = $function($($argument,)* pointer, capacity, $crate::host::one(&mut needed));
        text.needed = needed;
        assert_eq!(text.needed, text.read().len() + 1);
        (status, text.read().to_owned())
    }};
}

/// The same for a function that must succeed: its text.
macro_rules! done {
    ($($call:tt)*) => {{
        let (status, text) = $crate::host::call!($($call)*);
        assert_eq!(status, 0, "{text}");
        text
    }};
}

/// A handle that a function makes from its arguments.
macro_rules! made {
    ($function:path $(, $argument:expr)* $(,)?) => {{
        let mut handle = 0u64;
        $crate::host::done!($function $(, $argument)*, $crate::host::one(&mut handle));
        assert!(handle > 0 && handle < 1 << 52);
        handle
    }};
}

pub(crate) use {call, done, made};

/// The length that an environment variable asks for.
pub fn size(variable: &str, short: usize) -> usize {
    std::env::var(variable).ok().and_then(|text| text.parse().ok()).unwrap_or(short)
}

/// Random numbers that are the same in every run (G. Marsaglia, J. Stat. Softw. 8 (2003) 14).
pub struct Random(pub u64);

impl Random {
    pub fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    pub fn below(&mut self, n: usize) -> usize {
        ((self.next() >> 11) % n as u64) as usize
    }

    /// Between 0 and 1.
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Evenly in the logarithm.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low * (high / low).powf(self.unit())
    }

    /// About normal, standard deviation 1: the sum of twelve.
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.unit()).sum::<f64>() - 6.0
    }
}
