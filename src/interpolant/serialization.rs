//! Curves as plain data: what is written is what a curve is made of, and reading makes it again, to the bit.
//!
//! ```text
//! points    as they are, checked when read      smooth    its points, λ and 1/ρ      shape    its points
//! ```
//!
//! λ is scaled by powers of two alone, so that the smooth that is made again has the same λ exactly.

use super::checks::finite;
use super::error::InterpolantError;
use super::piecewise::Piecewise;
use super::points::Points;
use super::shape_constrained::{Shape, shape_constrained};
use super::smooth::{Moved, Smooth};
use super::smoothing::smoothing_with_inverse_rho;
use crate::numerics::roots::cubic::Cubic;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};

/// Points as they were written down, not yet checked.
#[derive(Deserialize)]
pub(super) struct PlainPoints {
    pub voltage_v: Vec<f64>,
    pub current_a: Vec<f64>,
    pub weight: Vec<f64>,
    pub count: Vec<usize>,
    pub noise_stated: bool,
    #[serde(default)]
    pub of_current: bool,
    #[serde(with = "crate::numerics::serde_float::real")]
    pub within: f64,
}

impl PlainPoints {
    fn check(&self) -> Result<(), InterpolantError> {
        let needed = self.voltage_v.len();
        let lengths =
            [("current_a", self.current_a.len()), ("weight", self.weight.len()), ("count", self.count.len())];
        if let Some(&(name, given)) = lengths.iter().find(|l| l.1 != needed) {
            return Err(InterpolantError::Lengths { name, needed, given });
        }
        if needed < 2 {
            return Err(InterpolantError::TooFewVoltages { needed: 2, given: needed });
        }
        finite("voltage_v", &self.voltage_v)?;
        finite("current_a", &self.current_a)?;
        finite("weight", &self.weight)?;
        let value = |name, index, value, cure| Err(InterpolantError::Value { name, index, value, cure });
        let (name, set, cure) = if self.of_current {
            ("current_a", &self.current_a, "the currents of points by current rise")
        } else {
            ("voltage_v", &self.voltage_v, "the voltages of points rise")
        };
        if let Some(k) = set.windows(2).position(|x| x[1] <= x[0]) {
            return value(name, k + 1, set[k + 1], cure);
        }
        if let Some(k) = self.weight.iter().position(|w| *w <= 0.0) {
            return value("weight", k, self.weight[k], "a weight is above 0");
        }
        if let Some(k) = self.count.iter().position(|c| *c == 0) {
            return value("count", k, 0.0, "a mean is of 1 reading or more");
        }
        if self.within.is_nan() || self.within < 0.0 {
            return value("within", 0, self.within, "a sum of squares is 0 or more");
        }
        Ok(())
    }
}

/// A curve as it was written down, not yet checked.
#[derive(Deserialize)]
pub(super) struct PlainCurve {
    breaks_v: Vec<f64>,
    coefficients_a: Vec<Cubic>,
}

impl TryFrom<PlainCurve> for Piecewise {
    type Error = InterpolantError;

    fn try_from(plain: PlainCurve) -> Result<Self, InterpolantError> {
        Self::new(plain.breaks_v, plain.coefficients_a)
    }
}

impl TryFrom<PlainPoints> for Points {
    type Error = InterpolantError;

    fn try_from(plain: PlainPoints) -> Result<Self, InterpolantError> {
        plain.check().map(|()| Self::checked(plain))
    }
}

#[derive(Serialize, Deserialize)]
struct PlainSmooth {
    points: Points,
    lambda: f64,
    ease: Vec<f64>,
    #[serde(default)]
    common: Vec<Moved>,
}

impl PlainSmooth {
    fn check(&self) -> Result<(), InterpolantError> {
        let (needed, given) = (self.points.len() - 1, self.ease.len());
        if given != needed {
            return Err(InterpolantError::Lengths { name: "ease", needed, given });
        }
        if let Some(short) = self.common.iter().find(|m| m.by.len() != self.points.len()) {
            let (needed, given) = (self.points.len(), short.by.len());
            return Err(InterpolantError::Lengths { name: "common", needed, given });
        }
        for moved in &self.common {
            finite("common", &moved.by)?;
            if moved.dof.is_nan() || moved.dof <= 0.0 {
                let cure = "degrees of freedom are above 0";
                return Err(InterpolantError::Value { name: "common", index: 0, value: moved.dof, cure });
            }
        }
        match self.ease.iter().position(|e| !(*e > 0.0 && e.is_finite())) {
            Some(index) => {
                let cure = "1/ρ of a gap is above 0 and finite";
                Err(InterpolantError::Value { name: "ease", index, value: self.ease[index], cure })
            }
            None => Ok(()),
        }
    }
}

impl Serialize for Smooth {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let (points, ease) = (self.points().clone(), self.inverse_rho().to_vec());
        PlainSmooth { points, lambda: self.lambda(), ease, common: self.common.clone() }.serialize(s)
    }
}

impl<'de> Deserialize<'de> for Smooth {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let plain = PlainSmooth::deserialize(d)?;
        plain.check().map_err(D::Error::custom)?;
        let mut smooth =
            smoothing_with_inverse_rho(&plain.points, plain.ease, plain.lambda).map_err(D::Error::custom)?;
        smooth.common = plain.common;
        Ok(smooth)
    }
}

impl Serialize for Shape {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        self.points().serialize(s)
    }
}

impl<'de> Deserialize<'de> for Shape {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        shape_constrained(&Points::deserialize(d)?).map_err(D::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::interpolant::{Penalty, natural_cubic, smoothing};

    fn points() -> Points {
        let v: Vec<f64> = (0..12).map(|k| 0.07 * f64::from(k % 11)).collect();
        let i: Vec<f64> =
            v.iter().map(|v| 0.031 - 1e-9 * (v / 0.041f64).exp() + 1e-5 * (91.0 * v).sin()).collect();
        Points::with_noise(&v, &i, &[1.3e-5; 12]).unwrap()
    }

    /// What comes back draws the same curve, to the bit.
    #[test]
    fn what_was_written_comes_back() {
        fn back<T: Serialize + serde::de::DeserializeOwned>(x: &T) -> T {
            serde_json::from_str(&serde_json::to_string(x).unwrap()).unwrap()
        }
        let points = points();
        assert_eq!(back(&points), points);
        let smooth = smoothing(&points, Penalty::CrossValidation).unwrap();
        let again = back(&smooth);
        assert_eq!(again, smooth);
        assert_eq!((again.curve(), again.edf(), again.chi2()), (smooth.curve(), smooth.edf(), smooth.chi2()));
        let by_current = Points::by_current(points.voltage_v(), points.current_a(), None).unwrap();
        let smooth = smoothing(&by_current, Penalty::CrossValidation).unwrap();
        let again = back(&smooth);
        assert_eq!(again, smooth);
        assert_eq!((again.curve(), again.points()), (smooth.curve(), &by_current));
        let shape = shape_constrained(&points).unwrap();
        assert_eq!(back(&shape).curve(), shape.curve());
        let curve = natural_cubic(&points).unwrap();
        assert_eq!(back(&curve), curve);
    }

    #[test]
    fn broken_text_is_an_error() {
        let good = serde_json::to_string(&points()).unwrap();
        for (from, to) in
            [("0.07,", "0.0,"), ("\"count\":[2", "\"count\":[0"), ("\"count\":[2,", "\"count\":[")]
        {
            let broken = good.replacen(from, to, 1);
            assert_ne!(broken, good);
            assert!(serde_json::from_str::<Points>(&broken).is_err(), "{broken}");
        }
        let smooth = serde_json::to_string(&smoothing(&points(), Penalty::Lambda(0.1)).unwrap()).unwrap();
        for (from, to) in [("\"ease\":[1.0", "\"ease\":[-1.0"), ("\"ease\":[1.0,", "\"ease\":[")] {
            let broken = smooth.replacen(from, to, 1);
            assert_ne!(broken, smooth);
            assert!(serde_json::from_str::<Smooth>(&broken).is_err(), "{broken}");
        }
        assert!(serde_json::from_str::<Points>(r#"{"voltage_v":[0],"current_a":[0],"weight":[1],"count":[1],"noise_stated":false,"within":0}"#).is_err());
        assert!(
            serde_json::from_str::<Piecewise>(r#"{"breaks_v":[1,0],"coefficients_a":[[0,0,0,0]]}"#).is_err()
        );
    }
}
