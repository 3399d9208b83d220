//! Objects as JSON text: what pickling uses, and what a user stores.

/// Adds `to_json`, `from_json`, pickling and equality to a class with a serialisable field 0.
macro_rules! plain {
    ($class:ident) => {
        crate::json::json!($class);
        #[pyo3::pymethods]
        impl $class {
            fn __eq__(&self, other: &Self) -> bool {
                self.0 == other.0
            }
        }
    };
}

/// The same without equality, for a class that compares in other ways as well.
macro_rules! json {
    ($class:ident) => {
        #[pyo3::pymethods]
        impl $class {
            /// The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan".
            fn to_json(&self, py: pyo3::Python<'_>) -> pyo3::PyResult<String> {
                serde_json::to_string(&self.0).map_err(|e| crate::error::input(py, e))
            }

            /// The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.
            ///
            /// ```python
            /// >>> import litdiode as ld
            /// >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
            /// >>> ld.Noise.from_json(noise.to_json()) == noise
            /// True
            /// ```
            #[staticmethod]
            fn from_json(
                py: pyo3::Python<'_>,
                #[pyo3(from_py_with = crate::arguments::named::text)] text: &str,
            ) -> pyo3::PyResult<Self> {
                serde_json::from_str(text).map($class).map_err(|e| {
                    let class = stringify!($class);
                    crate::error::input(
                        py,
                        format!("text is no {class} in JSON ({e}); pass what to_json wrote"),
                    )
                })
            }

            fn __reduce__<'py>(
                slf: &pyo3::Bound<'py, Self>,
            ) -> pyo3::PyResult<(pyo3::Bound<'py, pyo3::PyAny>, (String,))> {
                use pyo3::types::PyAnyMethods;
                let text = slf.borrow().to_json(slf.py())?;
                Ok((slf.get_type().getattr("from_json")?, (text,)))
            }
        }
    };
}

pub(crate) use {json, plain};
