//! Key points with the findings on the sweep that they come from, which are made when they are asked for.

use crate::sweep_rows::Rows;
use litdiode::sweep::{Finding, Sweep};
use litdiode::{key_points as core, remarks};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::sync::Arc;

/// Where remarks come from.
#[derive(Clone)]
pub enum FindingsSource {
    /// There is no sweep behind the figures, or its remarks are known.
    Known(Vec<Finding>),
    /// A sweep.
    Sweep(Sweep),
    /// A row of a batch.
    Row(Arc<Rows>, usize),
}

impl Default for FindingsSource {
    fn default() -> Self {
        Self::Known(Vec::new())
    }
}

impl FindingsSource {
    /// The same with a sweep of its own in place of a row of a batch.
    pub fn settled(self) -> Self {
        match self {
            Self::Row(rows, k) => rows.sweep(k).map_or_else(|_| Self::default(), Self::Sweep),
            other => other,
        }
    }

    /// The remarks.
    pub fn findings(&self) -> Vec<Finding> {
        match self {
            Self::Known(findings) => findings.clone(),
            Self::Sweep(sweep) => remarks::findings(sweep),
            Self::Row(rows, k) => {
                rows.sweep(*k).map_or_else(|_| Vec::new(), |sweep| remarks::findings(&sweep))
            }
        }
    }
}

/// Figures carry the same remarks where they come from the same sweep.
impl PartialEq for FindingsSource {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl Serialize for FindingsSource {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        match self {
            // A batch keeps its figures alone: its remarks would take some fits a row.
            Self::Row(..) => Vec::<Finding>::new().serialize(s),
            _ => self.findings().serialize(s),
        }
    }
}

impl<'de> Deserialize<'de> for FindingsSource {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        Vec::deserialize(d).map(Self::Known)
    }
}

/// Key points and where the remarks on them come from.
#[derive(Clone, PartialEq, Serialize, Deserialize)]
pub struct WithFindings {
    #[serde(flatten)]
    pub points: core::KeyPoints,
    #[serde(rename = "findings", default)]
    pub source: FindingsSource,
}

impl From<core::KeyPoints> for WithFindings {
    fn from(points: core::KeyPoints) -> Self {
        Self { points, source: FindingsSource::default() }
    }
}
