//! Shapes: broadcasting by NumPy's rule, and a walk through operands of different shapes.
//!
//! Shapes are set against each other from the last axis backwards; an axis of length 1, or one that is missing, serves
//! all places of the others.

use super::super::error::ModelError;
use ndarray::{ArrayViewD, Axis, IxDyn};

/// Bytes of all figures of a place: what a machine must be able to count.
const BYTES: usize = 128;

/// Common shape of arguments.
///
/// # Errors
/// [`ModelError::Shape`] naming the first argument that does not go with those before it, [`ModelError::TooMany`] where
/// the common shape has more places than a machine can count.
///
/// # Examples
/// ```
/// use litdiode::diode::broadcast;
/// assert_eq!(broadcast(&[("iph_a", &[3, 1]), ("n", &[4]), ("cells", &[])])?, [3, 4]);
/// assert!(broadcast(&[("iph_a", &[3]), ("n", &[4])]).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn broadcast(arguments: &[(&'static str, &[usize])]) -> Result<Vec<usize>, ModelError> {
    let mut common: Vec<usize> = Vec::new();
    for (name, shape) in arguments {
        let missing = shape.len().saturating_sub(common.len());
        let mut next = [vec![1; missing], common.clone()].concat();
        let from = next.len() - shape.len();
        for (own, &given) in next[from..].iter_mut().zip(*shape) {
            if *own == 1 {
                *own = given;
            } else if given != 1 && given != *own {
                return Err(ModelError::Shape { name, shape: shape.to_vec(), others: common });
            }
        }
        common = next;
    }
    if common.iter().try_fold(BYTES, |room, &length| room.checked_mul(length)).is_none() {
        return Err(ModelError::TooMany { shape: common });
    }
    Ok(common)
}

/// Operands of different shapes at the places of a common one.
pub(super) struct Walk {
    /// Lengths of the axes, those along which all operands go on alike made one; the last one runs fastest.
    lengths: Vec<usize>,
    /// Of each operand the step along each axis: 0 where one number serves all places.
    steps: Vec<Vec<usize>>,
    /// Places.
    pub count: usize,
}

impl Walk {
    /// Operands in C order whose shapes broadcast to `shape`.
    pub fn new(shape: &[usize], operands: &[ArrayViewD<'_, f64>]) -> Self {
        let count = shape.iter().product();
        let own: Vec<Vec<usize>> = operands.iter().map(|operand| steps(operand, shape)).collect();
        let (mut lengths, mut merged) = (Vec::<usize>::new(), vec![Vec::<usize>::new(); operands.len()]);
        // From the last axis to the first: an axis joins the one after it where every operand simply goes on.
        for axis in (0..shape.len()).rev().filter(|&axis| shape[axis] != 1) {
            let joins = lengths.last().is_some_and(|&length| {
                own.iter()
                    .zip(&merged)
                    .all(|(own, merged)| merged.last().is_some_and(|&step| own[axis] == step * length))
            });
            match lengths.last_mut().filter(|_| joins) {
                Some(length) => *length *= shape[axis],
                None => {
                    lengths.push(shape[axis]);
                    merged.iter_mut().zip(&own).for_each(|(merged, own)| merged.push(own[axis]));
                }
            }
        }
        lengths.reverse();
        merged.iter_mut().for_each(|steps| steps.reverse());
        Self { lengths, steps: merged, count }
    }

    /// Length of a run along the last axis.
    pub fn run(&self) -> usize {
        self.lengths.last().copied().unwrap_or(1)
    }

    /// Whether the operand keeps one number along a run.
    pub fn is_constant(&self, operand: usize) -> bool {
        self.steps[operand].last().is_none_or(|&step| step == 0)
    }

    /// Where the operand stands at the first place of run `run`.
    pub fn offset(&self, operand: usize, run: usize) -> usize {
        let (mut rest, mut offset) = (run, 0);
        let outer = self.lengths.len().saturating_sub(1);
        for (length, step) in self.lengths[..outer].iter().zip(&self.steps[operand]).rev() {
            offset += rest % length * step;
            rest /= length;
        }
        offset
    }
}

/// Steps of an operand in C order along the axes of `shape`, to which it broadcasts.
fn steps(operand: &ArrayViewD<'_, f64>, shape: &[usize]) -> Vec<usize> {
    let Some(whole) = operand.broadcast(IxDyn(shape)) else { return vec![0; shape.len()] };
    (0..shape.len()).map(|axis| whole.stride_of(Axis(axis)).unsigned_abs()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shapes_broadcast_as_in_numpy() {
        let common = |list: &[&[usize]]| {
            broadcast(&list.iter().map(|s| ("x", *s)).collect::<Vec<_>>()).map_err(|e| e.to_string())
        };
        assert_eq!(common(&[&[], &[3], &[2, 1]]), Ok(vec![2, 3]));
        assert_eq!(common(&[&[5, 1, 1], &[4, 1], &[0]]), Ok(vec![5, 4, 0]));
        assert_eq!(common(&[]), Ok(vec![]));
        let text = common(&[&[2, 3], &[2]]).unwrap_err();
        assert!(text.starts_with("x of shape (2,) does not go with (2, 3)"), "{text}");
    }

    /// Offsets against an index by hand: element (i, j, k) of shape (2, 3, 4) of an operand of shape (3, 1).
    #[test]
    fn a_walk_finds_its_numbers() {
        let of = |shape: &[usize]| ndarray::ArrayD::<f64>::zeros(IxDyn(shape));
        let walk = |operands: &[&[usize]]| {
            let operands: Vec<_> = operands.iter().map(|shape| of(shape)).collect();
            Walk::new(&[2, 3, 4], &operands.iter().map(|operand| operand.view()).collect::<Vec<_>>())
        };
        let one_shape = walk(&[&[2, 3, 4], &[], &[1, 1]]);
        let walk = walk(&[&[3, 1], &[2, 3, 4], &[4], &[]]);
        assert_eq!((walk.count, walk.run()), (24, 4));
        for run in 0..6 {
            assert_eq!(walk.offset(0, run), run % 3);
            assert_eq!(walk.offset(1, run), 4 * run);
            assert_eq!((walk.offset(2, run), walk.offset(3, run)), (0, 0));
        }
        assert!(walk.is_constant(0) && !walk.is_constant(1) && !walk.is_constant(2) && walk.is_constant(3));
        // One shape for all is one run.
        assert_eq!(one_shape.run(), 24);
    }
}
