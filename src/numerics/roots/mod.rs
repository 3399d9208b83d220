//! Roots of functions of one variable.

pub(crate) mod bracketed_newton;
pub(crate) mod cubic;
