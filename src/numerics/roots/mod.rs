//! Roots of functions of one variable.
//!
//! | file | holds |
//! |---|---|
//! | `bracketed_newton` | of a falling function in a bracket |
//! | `cubic` | of a cubic in an interval, all of them |

pub(crate) mod bracketed_newton;
pub(crate) mod cubic;
