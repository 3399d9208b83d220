//! Readings before it is known which of them belong to one sweep.

/// Rows looked at for oddities: a longer file was not written by hand.
pub(super) const BY_HAND: usize = 5000;

/// Readings of one pair of columns and one device, before the blocks are joined.
#[derive(Clone, Debug)]
pub(super) struct Part {
    pub block: usize,
    pub lines: Vec<u32>,
    pub v: Vec<f64>,
    pub i: Vec<f64>,
    pub t: Option<Vec<f64>>,
    pub pair: usize,
    /// What columns say of it: device, direction.
    pub group: Option<String>,
    pub left_out: Vec<u32>,
    pub density: bool,
    pub notes: Vec<String>,
    pub warnings: Vec<String>,
}
