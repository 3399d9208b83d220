//! Consuming setters of options: `SweepOptions::default().cells(36).temperature_c(45.0)`.
//!
//! Options are `#[non_exhaustive]`, so that a new one breaks nobody; other crates make them by setters. One that may be
//! left out takes a value or an `Option`.
//!
//! ```compile_fail,E0639
//! let options = litdiode::sweep::SweepOptions { cells: 36, ..Default::default() };
//! ```

/// One setter a field, of the same name.
macro_rules! setters {
    ($type:ident $(<$life:lifetime>)? { $($(#[$doc:meta])* $field:ident: $value:ty,)* }) => {
        impl $(<$life>)? $type $(<$life>)? {
            $(
                $(#[$doc])*
                #[must_use]
                pub fn $field(mut self, $field: $value) -> Self {
                    self.$field = $field.into();
                    self
                }
            )*
        }
    };
}
pub(crate) use setters;
