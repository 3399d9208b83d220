//! What a file holds: its sweeps as readings in V and A with what it says of each.

use super::error::{Problem, ReadError};
use super::metadata::Entry;
use super::options::Which;
use crate::sweep::{Leads, Sign, Swept};
use std::fmt;

/// One sweep of a file.
///
/// # Examples
/// ```
/// use litdiode::reading::{Options, read};
/// use litdiode::sweep::SweepOptions;
/// let text = "area (cm2): 0.25\nU (mV);I (mA)\n-100;30,31\n200;30,2\n400;28,0\n500;17,1\n600;-41,0\n"; // invented
/// let found = read(text.as_bytes(), &Options::default())?.into_one(None)?;
/// assert_eq!((found.voltage_v[0], found.current_a[0], found.area_cm2), (-0.1, 0.03031, Some(0.25)));
/// let sweep = found.sweep(SweepOptions::default()).unwrap();
/// assert_eq!(sweep.options().area_cm2.as_ref().unwrap().value, 0.25);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct FileSweep {
    /// Readings in V.
    pub voltage_v: Vec<f64>,
    /// Readings in A; in A/cm² with `is_density`.
    pub current_a: Vec<f64>,
    /// Time of each reading in s, where a column gives it.
    pub time_s: Option<Vec<f64>>,
    /// Whether the currents are densities, which an area turns into currents.
    pub is_density: bool,
    /// The line of each reading, from 1.
    pub lines: Vec<u32>,
    /// What the file calls it.
    pub label: Option<String>,
    /// Area in cm².
    pub area_cm2: Option<f64>,
    /// Irradiance in W/m².
    pub irradiance_w_m2: Option<f64>,
    /// Temperature in °C.
    pub temperature_c: Option<f64>,
    /// Cells in series.
    pub cells: Option<u32>,
    /// The quantity that was stepped.
    pub swept: Option<Swept>,
    /// Sign convention.
    pub sign: Option<Sign>,
    /// Polarity.
    pub leads: Option<Leads>,
    /// What was assumed and left out: sentences.
    pub notes: Vec<String>,
    /// The option of each sentence on what the file says of one, which a caller who passes it overrules.
    pub said: Vec<(&'static str, String)>,
    /// Sentences to warn of, those of `doubts` only where the option is not passed.
    pub warnings: Vec<String>,
    /// What has a known key and no clear value.
    pub doubts: Vec<(&'static str, String)>,
}

/// Everything in a file.
///
/// # Examples
/// ```
/// use litdiode::reading::{Options, Which, read};
/// let text = "V (V),left (mA),right (mA)\n-0.1,30,29\n0.2,30,29\n0.4,28,27\n0.5,17,16\n0.6,-41,-42\n"; // invented
/// let contents = read(text.as_bytes(), &Options::default())?;
/// assert_eq!(contents.sweeps.len(), 2);
/// let right = contents.one(Some(&Which::Label("right (mA)".into())))?;
/// assert_eq!(right.current_a[0], 0.029);
/// assert!(contents.one(None).is_err()); // which of the two?
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Contents {
    /// In the order of the file.
    pub sweeps: Vec<FileSweep>,
    /// Every `key: value` of it.
    pub entries: Vec<Entry>,
    /// Lines that are neither rows, headings nor entries: number from 1 and text.
    pub remarks: Vec<(usize, String)>,
}

impl FileSweep {
    /// Its label and lines, as a message names it.
    pub fn name(&self) -> String {
        let (first, last) =
            (self.lines.first().copied().unwrap_or(0), self.lines.last().copied().unwrap_or(0));
        match &self.label {
            Some(label) => format!("'{label}' (lines {first} to {last})"),
            None => format!("lines {first} to {last}"),
        }
    }
}

impl FileSweep {
    /// Forgets what the file says of an option that the caller states.
    pub fn overrule(&mut self, option: &str) {
        match option {
            "area_cm2" => self.area_cm2 = None,
            "irradiance_w_m2" => self.irradiance_w_m2 = None,
            "temperature_c" => self.temperature_c = None,
            "cells" => self.cells = None,
            "swept" => self.swept = None,
            "sign" => self.sign = None,
            "leads" => self.leads = None,
            "label" => self.label = None,
            "time_s" => self.time_s = None,
            _ => return,
        }
        self.said.retain(|(name, _)| *name != option);
        self.doubts.retain(|(name, _)| *name != option);
    }
}

impl Contents {
    /// The one sweep of the file, or the one of several that `which` names.
    ///
    /// # Errors
    /// [`Problem::Several`] with their labels where there are several and none is named; [`Problem::NoSuchSweep`].
    pub fn one(&self, which: Option<&Which>) -> Result<&FileSweep, ReadError> {
        self.place_of(which).map(|k| &self.sweeps[k])
    }

    /// The same, taken out.
    ///
    /// # Errors
    /// As [`Contents::one`].
    pub fn into_one(mut self, which: Option<&Which>) -> Result<FileSweep, ReadError> {
        self.place_of(which).map(|k| self.sweeps.swap_remove(k))
    }

    fn place_of(&self, which: Option<&Which>) -> Result<usize, ReadError> {
        let names = || {
            let all = self.sweeps.iter().enumerate().map(|(k, s)| format!("{k}: {}", s.name()));
            let shown: Vec<String> = all.take(12).collect();
            let more = if self.sweeps.len() > shown.len() { ", …" } else { "" };
            shown.join(", ") + more
        };
        let missing = |which: String| ReadError::of_file(Problem::NoSuchSweep { which, labels: names() });
        match (which, self.sweeps.as_slice()) {
            (None, [_]) => Ok(0),
            (None, all) => Err(ReadError::of_file(Problem::Several { count: all.len(), labels: names() })),
            (Some(Which::Number(k)), all) => all.get(*k).map(|_| *k).ok_or_else(|| missing(k.to_string())),
            (Some(Which::Label(label)), all) => {
                let wanted = label.trim().to_lowercase();
                let named =
                    |k: &usize| all[*k].label.as_ref().is_some_and(|l| l.trim().to_lowercase() == wanted);
                let mut found = (0..all.len()).filter(named);
                match (found.next(), found.next()) {
                    (Some(one), None) => Ok(one),
                    _ => Err(missing(format!("'{label}'"))),
                }
            }
        }
    }
}

/// Its name and how many readings it has.
impl fmt::Display for FileSweep {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {} readings", self.name(), self.voltage_v.len())
    }
}

/// A line a sweep.
impl fmt::Display for Contents {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (k, sweep) in self.sweeps.iter().enumerate() {
            write!(f, "{}{sweep}", if k > 0 { "\n" } else { "" })?;
        }
        Ok(())
    }
}
