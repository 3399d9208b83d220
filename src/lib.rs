//! temporary
pub mod diode;
pub mod estimate;
pub mod key_points;
pub mod plain;
