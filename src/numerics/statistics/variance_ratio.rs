//! How far a variance ratio lies from chance.

/// The normal deviate of a variance ratio `f` with `m` and `n` degrees of freedom (n may be infinite).
///
/// Wilson–Hilferty cube root in Paulson's form, Ann. Math. Statist. 13 (1942) 233, from memory.
pub fn deviate(f: f64, m: f64, n: f64) -> f64 {
    let (a, b, root) = (2.0 / (9.0 * m), 2.0 / (9.0 * n), f.cbrt());
    ((1.0 - b) * root - (1.0 - a)) / (b * root * root + a).sqrt()
}
