//! temporary
pub mod estimate;
pub mod plain;
