//! Reading and writing what a host's pointers lead to: the only unsafe code of the crate.
//!
//! Lists are copied at the border, byte by byte and so at any alignment. No reference into the host's memory outlives a
//! line, so that input and output may be the same memory, and what is written to need not have been set before.

use crate::misuse::{Fault, MOST_VALUES, Misuse};
use std::ffi::{CStr, c_char};
use std::mem::size_of;
use std::ptr;

/// What a host lets the library read. It has the form of `const T *`.
#[repr(transparent)]
#[derive(Clone, Copy)]
pub struct In<T>(*const T);

/// Where a host lets the library write. It has the form of `T *`.
#[repr(transparent)]
#[derive(Clone, Copy)]
pub struct Out<T>(*mut T);

/// Numbers and characters, which have no padding and any bits of which are a value.
pub trait Plain: Copy + Default {}
impl Plain for f64 {}
impl Plain for i32 {}
impl Plain for u32 {}
impl Plain for u64 {}
impl Plain for usize {}
impl Plain for c_char {}

impl<T: Plain> In<T> {
    /// A pointer to the values that a call is to read.
    ///
    /// # Safety
    /// Null, or for the whole call an address of as many values as the call is told: for text up to its 0 byte.
    pub const unsafe fn new(pointer: *const T) -> Self {
        Self(pointer)
    }

    /// The `length` values there.
    pub fn list(self, argument: &'static str, length: usize) -> Result<Vec<T>, Fault> {
        if length > MOST_VALUES {
            return Err(Misuse::TooLong { argument, length }.into());
        }
        if length == 0 {
            return Ok(Vec::new());
        }
        if self.0.is_null() {
            return Err(Misuse::NullPointer { argument }.into());
        }
        let mut list = vec![T::default(); length];
        // SAFETY: by the contract of `new` the host owns `length` values there; `list` holds as many and is apart from them,
        // and all bytes are values of T.
        unsafe {
            ptr::copy_nonoverlapping(self.0.cast::<u8>(), list.as_mut_ptr().cast(), length * size_of::<T>());
        }
        Ok(list)
    }
}

impl In<c_char> {
    /// The text there, which ends with a 0 byte.
    pub fn text(self, argument: &'static str) -> Result<String, Fault> {
        if self.0.is_null() {
            return Err(Misuse::NullPointer { argument }.into());
        }
        // SAFETY: by the contract of `new` a text of the host ends with a 0 byte, and stays as it is during the call.
        let bytes = unsafe { CStr::from_ptr(self.0) }.to_bytes();
        match std::str::from_utf8(bytes) {
            Ok(text) => Ok(text.to_owned()),
            Err(error) => Err(Misuse::NotUtf8 { argument, index: error.valid_up_to() }.into()),
        }
    }
}

impl<T: Plain> Out<T> {
    /// A pointer to where a call is to write.
    ///
    /// # Safety
    /// Null, or for the whole call an address of as many values as the call is told, one where it is told no number.
    pub const unsafe fn new(pointer: *mut T) -> Self {
        Self(pointer)
    }

    /// Whether it leads nowhere.
    pub fn is_null(self) -> bool {
        self.0.is_null()
    }

    /// That it leads somewhere.
    pub fn check(self, argument: &'static str) -> Result<(), Fault> {
        if self.is_null() { Err(Misuse::NullPointer { argument }.into()) } else { Ok(()) }
    }

    /// Writes one value.
    pub fn set(self, argument: &'static str, value: T) -> Result<(), Fault> {
        self.check(argument)?;
        // SAFETY: it is not null, and by the contract of `new` the host owns a value there.
        unsafe { self.0.write_unaligned(value) };
        Ok(())
    }
}

/// Where a host lets the library write a list; `buffer!` makes it of two arguments.
#[derive(Clone, Copy)]
pub struct Buffer<T: Plain> {
    /// The argument.
    pub argument: &'static str,
    /// Its address.
    pub start: Out<T>,
    /// The argument that says how many values it takes.
    pub capacity_argument: &'static str,
    /// How many those are.
    pub capacity: usize,
}

/// The buffer of an argument and of the one that says how many values it takes, both by name.
macro_rules! buffer {
    ($start:ident, $capacity:ident) => {
        $crate::pointers::Buffer {
            argument: stringify!($start),
            start: $start,
            capacity_argument: stringify!($capacity),
            capacity: $capacity,
        }
    };
}
pub(crate) use buffer;

impl<T: Plain> Buffer<T> {
    /// That it takes `needed` values.
    pub fn check(self, needed: usize) -> Result<(), Fault> {
        let (argument, capacity) = (self.capacity_argument, self.capacity);
        if capacity > MOST_VALUES {
            return Err(Misuse::TooLong { argument, length: capacity }.into());
        }
        if needed > capacity {
            return Err(Misuse::ShortBuffer { argument, capacity, needed }.into());
        }
        if needed == 0 { Ok(()) } else { self.start.check(self.argument) }
    }

    /// Writes all `values`.
    pub fn fill(self, values: &[T]) -> Result<(), Fault> {
        self.check(values.len())?;
        if values.is_empty() {
            return Ok(());
        }
        let (bytes, start) = (std::mem::size_of_val(values), self.start.0.cast());
        // SAFETY: it is not null, and by the contract of `new` the host owns `capacity` values there, at least as many as
        // are copied; `values` belongs to the library and is apart from them.
        unsafe { ptr::copy_nonoverlapping(values.as_ptr().cast::<u8>(), start, bytes) };
        Ok(())
    }
}

impl Out<c_char> {
    /// Writes as much of `text` as fits into a buffer of `capacity` bytes, whole characters and a 0 byte; nothing where
    /// there is no buffer.
    pub fn text(self, capacity: usize, text: &str) {
        if self.is_null() || capacity == 0 {
            return;
        }
        let most = text.len().min(capacity - 1);
        let end = (0..=most).rev().find(|k| text.is_char_boundary(*k)).unwrap_or(0);
        let start = self.0.cast::<u8>();
        // SAFETY: it is not null, and by the contract of `new` the host owns `capacity` bytes there, more than `end`; `text`
        // belongs to the library and is apart from them.
        unsafe {
            ptr::copy_nonoverlapping(text.as_ptr(), start, end);
            start.add(end).write(0);
        }
    }
}
