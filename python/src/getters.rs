//! Read-only properties of a class, each written once: its docstring, its name, its type, and what gives it.

/// Properties of `$class`; `$this` stands for its field 0, and a name in parentheses for the interpreter.
macro_rules! getters {
    ($class:ident, $this:ident => {
        $($(#[$doc:meta])* $name:ident $(($py:ident))?: $type:ty = $value:expr),* $(,)?
    }) => {
        #[pyo3::pymethods]
        #[allow(clippy::extra_unused_lifetimes, clippy::needless_lifetimes)]
        impl $class {
            $(
                $(#[$doc])*
                #[getter]
                fn $name<'py>(&self $(, $py: pyo3::Python<'py>)?) -> $type {
                    let $this = &self.0;
                    $value
                }
            )*
        }
    };
}

pub(crate) use getters;
