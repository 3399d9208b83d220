//! What a file says of its cell beside the table: `area_cm2: 0.25`, `Temperatur (°C) = 25`, `Cells in series: 36`.
//!
//! A value counts with its unit alone, since 100 may be W/m² or mW/cm²; a temperature without one is taken as °C where it can
//! be nothing else. What has a known key and no clear value is a doubt that is warned of.

use super::error::{Problem, ReadError};
use super::fold::{folded, word};
use super::number::{Cell, Format, Formats, cell, formats};
use super::unit::{Dimension, celsius, unit};

/// An entry of the file as it stands there.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Entry {
    /// The line, from 1.
    pub line: usize,
    /// Before the colon.
    pub key: String,
    /// Behind it.
    pub value: String,
}

/// What a key is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Topic {
    /// With its rank: an aperture or mask counts before the cell.
    Area(u8),
    Irradiance,
    Temperature,
    Cells,
    Label,
    Swept,
    Sign,
    Leads,
    VoltageUnit,
    CurrentUnit,
}

const MASK: u8 = 3;

/// Folded keys, without unit.
const KEYS: &[(&[&str], Topic)] = &[
    (
        &[
            "aperture",
            "aperture area",
            "mask area",
            "mask",
            "masked area",
            "area of mask",
            "blende",
            "blendenflache",
            "maskenflache",
            "aperturflache",
            "surface du masque",
            "area de apertura",
            "area de la mascara",
            "area della maschera",
            "area di apertura",
            "area da mascara",
            "surface ouverture",
            "mask aperture",
            "mask opening",
            "designated area",
        ],
        Topic::Area(MASK),
    ),
    (
        &[
            "illuminated area",
            "actual area",
            "measured area",
            "active area",
            "aktive flache",
            "surface active",
            "area activa",
            "area attiva",
            "area ativa",
            "beleuchtete flache",
            "surface eclairee",
        ],
        Topic::Area(2),
    ),
    (
        &[
            "area",
            "pixel area",
            "cell area",
            "module area",
            "pixelflache",
            "device area",
            "sample area",
            "flache",
            "zellflache",
            "flaeche",
            "zellflaeche",
            "surface",
            "aire",
            "superficie",
            "area de la celda",
            "area celda",
            "area della cella",
            "area cella",
            "area da celula",
            "area celula",
            "surface de la cellule",
            "surface cellule",
            "probenflache",
            "zellenflache",
            "solar cell area",
            "electrode area",
            "superficie de la celda",
            "superficie cella",
            "superficie celula",
            "aire de la cellule",
            "a",
        ],
        Topic::Area(1),
    ),
    (
        &["total area", "module area", "gesamtflache", "surface totale", "area total", "area totale"],
        Topic::Area(0),
    ),
    (
        &[
            "irradiance",
            "irradiance measured",
            "measured irradiance",
            "light intensity",
            "illumination",
            "light",
            "intensity",
            "irradiation",
            "insolation",
            "lamp",
            "lamp intensity",
            "bestrahlungsstarke",
            "bestrahlungsstaerke",
            "einstrahlung",
            "lichtintensitat",
            "beleuchtung",
            "beleuchtungsstarke",
            "eclairement",
            "intensite lumineuse",
            "irradiancia",
            "iluminacion",
            "intensidad",
            "intensidad luminosa",
            "irraggiamento",
            "irradianza",
            "illuminazione",
            "iluminacao",
            "intensidade",
            "intensidade luminosa",
            "irradiance level",
            "suns",
            "sun",
            "simulator",
            "light source",
            "g",
            "eclairage",
            "luce",
            "intensita luminosa",
            "intensita",
            "lichtleistung",
        ],
        Topic::Irradiance,
    ),
    (
        &[
            "temperature",
            "temp",
            "cell temperature",
            "device temperature",
            "temperatur",
            "zelltemperatur",
            "zellentemperatur",
            "temperatura",
            "module temperature",
            "modultemperatur",
            "temperature de la cellule",
            "temperature cellule",
            "temperatura de la celda",
            "temperatura celda",
            "temperatura della cella",
            "temperatura cella",
            "temperatura da celula",
            "temperatura celula",
            "t",
            "t cell",
            "tcell",
            "sample temperature",
            "stage temperature",
            "probentemperatur",
            "t zelle",
        ],
        Topic::Temperature,
    ),
    (
        &[
            "cells",
            "cells in series",
            "number of cells",
            "no of cells",
            "series cells",
            "zellen",
            "zellen in reihe",
            "zellenzahl",
            "zellzahl",
            "anzahl zellen",
            "anzahl der zellen",
            "cellules",
            "cellules en serie",
            "nombre de cellules",
            "celdas",
            "celdas en serie",
            "numero de celdas",
            "celle",
            "celle in serie",
            "numero di celle",
            "numero celle",
            "celulas",
            "celulas em serie",
            "numero de celulas",
            "cell count",
            "ns",
            "n cells",
            "num cells",
            "cells per string",
            "nb cellules",
        ],
        Topic::Cells,
    ),
    (
        &[
            "label",
            "sample",
            "id",
            "dut",
            "device under test",
            "device",
            "cell",
            "name",
            "cell name",
            "sample name",
            "device name",
            "sample id",
            "cell id",
            "device id",
            "probe",
            "zelle",
            "bezeichnung",
            "probenname",
            "echantillon",
            "cellule",
            "nom",
            "muestra",
            "celda",
            "nombre",
            "campione",
            "cella",
            "nome",
            "amostra",
            "celula",
            "dispositivo",
            "dispositif",
            "pixel",
            "sweep",
            "scan",
            "curve",
            "run",
            "module",
            "modul",
            "probe nr",
            "specimen",
            "title",
            "etikett",
            "etiquette",
            "etiqueta",
            "etichetta",
            "messung",
            "kennlinie",
            "direction",
            "richtung",
            "sens",
            "direccion",
            "direzione",
            "direcao",
            "scan direction",
            "sweep direction",
            "measurement",
            "sample no",
            "cell no",
        ],
        Topic::Label,
    ),
    (&["swept", "stepped", "swept quantity"], Topic::Swept),
    (&["sign", "sign convention"], Topic::Sign),
    (&["leads"], Topic::Leads),
    (&["voltage unit", "voltage units", "unit of voltage", "u unit", "v unit"], Topic::VoltageUnit),
    (&["current unit", "current units", "unit of current", "i unit"], Topic::CurrentUnit),
];

/// The topic of a key and the unit that stands in it.
pub(super) fn topic(key: &str) -> Option<(Topic, String)> {
    let plain = folded(key);
    let (name, inside) = match plain.find(['(', '[', '{']) {
        Some(open) => {
            let end = plain[open..].find([')', ']', '}']).map_or(plain.len(), |k| k + open);
            (
                format!("{} {}", &plain[..open], plain.get(end + 1..).unwrap_or("")),
                plain[open + 1..end].trim().to_owned(),
            )
        }
        None => (plain.clone(), String::new()),
    };
    if let Some(found) = known(&name) {
        return Some((found, inside));
    }
    // `T/°C`, `area_cm2`, `irradiance W m-2`, `Temperature in K`
    if let Some((name, unit_text)) = name.split_once('/')
        && let Some(found) = known(name)
    {
        return Some((found, unit_text.trim().to_owned()));
    }
    let words: Vec<&str> =
        name.split(|c: char| c.is_whitespace() || c == '_').filter(|w| !w.is_empty()).collect();
    (1..words.len()).find_map(|k| {
        let found = known(&words[..k].join(" "))?;
        let rest: Vec<&str> = words[k..].iter().copied().filter(|w| !matches!(*w, "in" | "en")).collect();
        let written = rest.join("/");
        let fits = unit(&rest.join(" "))
            .or_else(|| unit(&written))
            .is_some_and(|u| u.dimension != Dimension::Voltage);
        let text = if unit(&rest.join(" ")).is_some() { rest.join(" ") } else { written };
        (fits || celsius(0.0, &rest.join("")).is_some()).then_some((found, text))
    })
}

fn known(name: &str) -> Option<Topic> {
    let bare = word(name).replace(['_', '-', '.'], " ");
    let bare = bare.split_whitespace().collect::<Vec<_>>().join(" ");
    let bare = bare.trim_end_matches(['#', ',']).trim();
    KEYS.iter().find(|(keys, _)| keys.contains(&bare)).map(|(_, topic)| *topic)
}

/// Whether a key is about area, irradiance, temperature or cells.
pub(super) fn is_condition(key: &str) -> bool {
    matches!(topic(key), Some((Topic::Area(_) | Topic::Irradiance | Topic::Temperature | Topic::Cells, _)))
}

pub(super) fn is_known_key(key: &str) -> bool {
    topic(key).is_some()
}

/// What the entries above a sweep say of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Conditions {
    pub area_cm2: Option<Said>,
    area_rank: u8,
    pub irradiance_w_m2: Option<Said>,
    pub temperature_c: Option<Said>,
    pub cells: Option<Said>,
    pub label: Option<String>,
    pub swept: Option<String>,
    pub sign: Option<String>,
    pub leads: Option<String>,
    pub voltage_unit: Option<(usize, String)>,
    pub current_unit: Option<(usize, String)>,
    /// Entries of known key without a clear value: option and sentence.
    pub doubts: Vec<(&'static str, String)>,
    /// Sentences on what was chosen between two.
    pub remarks: Vec<String>,
}

/// A value and the sentence that says where it stands.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Said {
    pub value: f64,
    pub sentence: String,
    line: usize,
}

impl Conditions {
    /// These, where the sweep's own do not say it.
    pub fn under(&self, own: &mut Self) {
        let fill = |own: &mut Option<Said>, common: &Option<Said>| {
            if own.is_none() {
                own.clone_from(common);
            }
        };
        if own.area_cm2.is_none() {
            own.area_rank = self.area_rank;
        }
        fill(&mut own.area_cm2, &self.area_cm2);
        fill(&mut own.irradiance_w_m2, &self.irradiance_w_m2);
        fill(&mut own.temperature_c, &self.temperature_c);
        fill(&mut own.cells, &self.cells);
        for (own, common) in
            [(&mut own.swept, &self.swept), (&mut own.sign, &self.sign), (&mut own.leads, &self.leads)]
        {
            if own.is_none() {
                own.clone_from(common);
            }
        }
        for (own, common) in
            [(&mut own.voltage_unit, &self.voltage_unit), (&mut own.current_unit, &self.current_unit)]
        {
            if own.is_none() {
                own.clone_from(common);
            }
        }
        own.doubts.extend(self.doubts.iter().cloned());
        own.remarks.extend(self.remarks.iter().cloned());
    }

    /// Takes one entry in; `usual` is how the file's table writes numbers.
    pub fn take(&mut self, entry: &Entry, usual: Option<Format>) -> Result<(), ReadError> {
        let Some((topic, unit_of_key)) = topic(&entry.key) else { return Ok(()) };
        let choose = |word_list: &[&str]| {
            let bare = word(&entry.value).replace(' ', "_");
            word_list.iter().find(|w| **w == bare).map(|w| (*w).to_owned())
        };
        match topic {
            Topic::Label => {
                self.label.get_or_insert_with(|| entry.value.clone());
            }
            Topic::Swept => self.swept = choose(&["voltage", "current"]).or(self.swept.take()),
            Topic::Sign => self.sign = choose(&["generator", "load"]).or(self.sign.take()),
            Topic::Leads => self.leads = choose(&["as_given", "swapped"]).or(self.leads.take()),
            Topic::VoltageUnit => self.voltage_unit = Some((entry.line, entry.value.clone())),
            Topic::CurrentUnit => self.current_unit = Some((entry.line, entry.value.clone())),
            Topic::Area(rank) => self.area(entry, rank, &unit_of_key, usual)?,
            Topic::Irradiance => {
                let found = scaled(&entry.value, &unit_of_key, Dimension::Irradiance, usual);
                // `Light: on`, `Lamp: xenon` say nothing of the irradiance.
                let wordy = !entry.value.contains(|c: char| c.is_ascii_digit());
                self.set("irradiance_w_m2", entry, if wordy { Err(None) } else { found })?;
            }
            Topic::Temperature => {
                self.set("temperature_c", entry, temperature(&entry.value, &unit_of_key, usual))?
            }
            Topic::Cells => self.set("cells", entry, whole(&entry.value, usual))?,
        }
        Ok(())
    }

    fn area(
        &mut self,
        entry: &Entry,
        rank: u8,
        unit_of_key: &str,
        usual: Option<Format>,
    ) -> Result<(), ReadError> {
        let found = scaled(&entry.value, unit_of_key, Dimension::Area, usual);
        let wordy = !entry.value.contains(|c: char| c.is_ascii_digit());
        if let (Ok(_), Some(before)) = (&found, &self.area_cm2)
            && rank != self.area_rank
        {
            let (kept, other) = if rank > self.area_rank {
                (format!("{}: {} (line {})", entry.key, entry.value, entry.line), before.sentence.clone())
            } else {
                (before.sentence.clone(), format!("{}: {} (line {})", entry.key, entry.value, entry.line))
            };
            self.remarks.push(format!("two areas: {kept} counts, not {other}"));
            if rank < self.area_rank {
                return Ok(());
            }
            self.area_cm2 = None;
        }
        if found.is_ok() {
            self.area_rank = rank;
        }
        self.set("area_cm2", entry, if wordy { Err(None) } else { found })
    }

    /// `Err(None)`: nothing is said of it; `Err(Some)`: something, but not clearly.
    fn set(
        &mut self,
        option: &'static str,
        entry: &Entry,
        found: Result<(f64, &str), Option<String>>,
    ) -> Result<(), ReadError> {
        let place = format!("{}: {} (line {})", entry.key, entry.value, entry.line);
        let (value, remark) = match found {
            Ok(found) => found,
            Err(None) => return Ok(()),
            Err(Some(why)) => {
                self.doubts.push((option, format!("{place} was not used: {why}; pass {option}")));
                return Ok(());
            }
        };
        let own = match option {
            "area_cm2" => &mut self.area_cm2,
            "irradiance_w_m2" => &mut self.irradiance_w_m2,
            "temperature_c" => &mut self.temperature_c,
            _ => &mut self.cells,
        };
        if let Some(before) = own.as_ref().filter(|b| (b.value - value).abs() > 1e-6 * value.abs()) {
            let problem = Problem::Contradiction { option, earlier: before.value.to_string() };
            return Err(ReadError::at(entry.line - 1, &format!("{}: {}", entry.key, entry.value), problem));
        }
        let sentence = format!("{option} = {value} from the file's {place}{remark}");
        *own = Some(Said { value, sentence, line: entry.line });
        Ok(())
    }
}

type Found<'a> = Result<(f64, &'a str), Option<String>>;

/// The first number of the text and what stands behind it.
fn number(text: &str, usual: Option<Format>) -> Result<(f64, String), Option<String>> {
    let text = folded(text);
    let start =
        text.find(|c: char| c.is_ascii_digit()).ok_or_else(|| Some("there is no number".to_owned()))?;
    let start = if text[..start].ends_with(['-', '+', '.']) { start - 1 } else { start };
    let from = &text[start..];
    let possible = formats(from);
    let read = |format: Format| match cell(from, format) {
        Cell::Number(value, rest) => Some((value, rest.to_owned())),
        _ => None,
    };
    if let Some(format) = usual.filter(|f| possible.iter().any(|p| p == *f))
        && let Some(found) = read(format)
    {
        return Ok(found);
    }
    let all: Vec<(f64, String)> = possible.iter().filter_map(read).collect();
    match all.first() {
        None => Err(Some("it is not one plain number".to_owned())),
        Some(first) if all.iter().any(|other| other.0 != first.0) => {
            let other = all.iter().find(|other| other.0 != first.0).map_or(0.0, |o| o.0);
            Err(Some(format!("it may be {} or {other}", first.0)))
        }
        Some(first) => Ok(first.clone()),
    }
}

/// Without an uncertainty: `0.160(2) cm2`, `0.16 ± 0.01 cm2`, `985 +/- 20 W/m2`.
fn without_uncertainty(value: &str) -> String {
    let mut text = value.to_owned();
    for mark in ["±", "+/-", "+-"] {
        if let Some(at) = text.find(mark) {
            let behind = text[at + mark.len()..].trim_start();
            let digits = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | 'e' | 'E');
            let rest = behind.trim_start_matches(digits);
            text = format!("{} {}", text[..at].trim_end(), rest.trim_start());
        }
    }
    if let Some(open) = text.find('(').filter(|k| text[..*k].ends_with(|c: char| c.is_ascii_digit()))
        && let Some(close) = text[open..].find(')').map(|k| k + open)
        && text[open + 1..close].chars().all(|c| c.is_ascii_digit())
    {
        text.replace_range(open..=close, "");
    }
    text
}

/// A number in a unit of `dimension`, which stands behind it or in the key.
fn scaled<'a>(value: &str, unit_of_key: &str, dimension: Dimension, usual: Option<Format>) -> Found<'a> {
    let value = &without_uncertainty(value);
    let times = value.split(['x', '×', '*']).filter(|p| p.trim().starts_with(|c: char| c.is_ascii_digit()));
    if times.count() > 1 && !value.contains("10^") {
        return Err(Some("it is a product".into()));
    }
    // `AM1.5G, 100 mW/cm2`: the number that has the unit.
    let starts: Vec<usize> = std::iter::once(0)
        .chain(
            value
                .char_indices()
                .filter(|(k, c)| {
                    // A comma with a digit behind it may stand within a number.
                    let digit = value[k + c.len_utf8()..].starts_with(|d: char| d.is_ascii_digit());
                    c.is_whitespace() || matches!(c, ';' | '(') || *c == ',' && !digit
                })
                .map(|(k, c)| k + c.len_utf8()),
        )
        .collect();
    for start in starts {
        let part = &value[start..];
        if !part.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '+' | '.')) {
            continue;
        }
        if let Ok((number, rest)) = number(part, usual)
            && let Some(factor) = leading(&rest, dimension)
        {
            return Ok((rounded(number * factor), ""));
        }
    }
    let (number, rest) = number(value, usual)?;
    let behind = rest.trim().trim_end_matches(['.', ',']);
    if let Some(factor) = unit(unit_of_key).filter(|u| u.dimension == dimension).map(|u| u.factor)
        && (behind.is_empty() || unit(behind).is_none())
    {
        return Ok((rounded(number * factor), ""));
    }
    let written = if behind.is_empty() { unit_of_key } else { behind };
    Err(Some(if written.is_empty() {
        "no unit stands there".into()
    } else {
        format!("the unit '{written}' is not known")
    }))
}

/// The factor of the unit of `dimension` at the beginning of a text.
fn leading(text: &str, dimension: Dimension) -> Option<f64> {
    let text = text.trim_start();
    let ends = text
        .char_indices()
        .filter(|(_, c)| c.is_whitespace() || matches!(c, ',' | ';' | '(' | ')'))
        .map(|(k, _)| k);
    let mut ends: Vec<usize> = ends.take(3).chain([text.len()]).collect();
    ends.reverse();
    ends.into_iter().find_map(|end| unit(&text[..end]).filter(|u| u.dimension == dimension).map(|u| u.factor))
}

/// 25 mm² are 0.25 cm², whatever 25·0.01 is in binary.
fn rounded(x: f64) -> f64 {
    format!("{x:.14e}").parse().unwrap_or(x)
}

fn whole<'a>(value: &str, usual: Option<Format>) -> Found<'a> {
    let (number, rest) = number(value, usual)?;
    let unit = word(rest.trim());
    let plain = unit.is_empty()
        || ["cell", "zell", "cell", "celd", "cel", "in series", "in serie", "s"]
            .iter()
            .any(|w| unit.starts_with(w));
    if plain && number.fract() == 0.0 && number >= 1.0 {
        Ok((number, ""))
    } else {
        Err(Some("it is not a whole number from 1 on".into()))
    }
}

fn temperature<'a>(value: &str, unit_of_key: &str, usual: Option<Format>) -> Found<'a> {
    if !value.contains(|c: char| c.is_ascii_digit()) {
        return Err(None);
    }
    let (number, rest) = number(value, usual)?;
    let behind = rest
        .split([',', ';', '(', '±'])
        .next()
        .unwrap_or("")
        .split("+/-")
        .next()
        .unwrap_or("")
        .trim()
        .to_owned();
    let behind = if behind.is_empty() { unit_of_key.to_owned() } else { behind };
    if behind.is_empty() {
        return if (-50.0..=150.0).contains(&number) {
            Ok((number, ", taken as °C since no unit stands there"))
        } else {
            Err(Some("no unit stands there".into()))
        };
    }
    celsius(number, &behind)
        .map(|c| (c, ""))
        .ok_or_else(|| Some(format!("the unit '{behind}' is none of °C, K and °F")))
}

/// How a file's numbers beside the table are written, as far as they tell: evidence for the table.
pub(super) fn formats_of(entries: &[Entry]) -> Formats {
    let mut common = Formats::ALL;
    for entry in entries.iter().filter(|e| is_known_key(&e.key)) {
        let text = folded(&entry.value);
        let Some(start) = text.find(|c: char| c.is_ascii_digit()) else { continue };
        let both = common.and(formats(&text[start..]));
        if !both.is_empty() {
            common = both;
        }
    }
    common
}

#[cfg(test)]
mod tests {
    use super::super::number::FORMATS;
    use super::*;

    fn of(key: &str, value: &str) -> Conditions {
        let mut found = Conditions::default();
        found.take(&Entry { line: 1, key: key.into(), value: value.into() }, Some(FORMATS[0])).unwrap();
        found
    }

    #[test]
    fn conditions_with_their_units() {
        let value = |said: Option<Said>| said.map(|s| s.value);
        for (key, text, expected) in [
            ("Area", "25 mm²", 0.25),
            ("area_cm2", "0.25", 0.25),
            ("Area (cm2)", "0.25", 0.25),
            ("Fläche", "0,25 cm²", 0.25),
            ("Aperture area [mm^2]", "16", 0.16),
            ("Superficie", "1e-4 m²", 1.0),
        ] {
            assert_eq!(value(of(key, text).area_cm2), Some(expected), "{key}: {text}");
        }
        for (key, text, expected) in [
            ("Irradiance", "100 mW/cm2", 1000.0),
            ("Light", "1 sun", 1000.0),
            ("Einstrahlung (W/m²)", "800", 800.0),
            ("Illumination", "AM1.5G, 100 mW/cm²", 1000.0),
            ("irradiance_w_m2", "950", 950.0),
        ] {
            assert_eq!(value(of(key, text).irradiance_w_m2), Some(expected), "{key}: {text}");
        }
        for (key, text, expected) in [
            ("Temperature", "25", 25.0),
            ("T (K)", "298.15", 25.0),
            ("Temp", "77 °F", 25.0),
            ("Zelltemperatur", "31,5 °C", 31.5),
            ("temperature_c", "25", 25.0),
        ] {
            assert_eq!(value(of(key, text).temperature_c), Some(expected), "{key}: {text}");
        }
        assert_eq!(value(of("Cells in series", "36").cells), Some(36.0));
    }

    #[test]
    fn what_is_not_clear_is_a_doubt() {
        for (key, text) in [
            ("irradiance", "100"),
            ("area", "0.25"),
            ("area", "1,000 cm2"),
            ("cells", "2.5"),
            ("Temperature", "25 k"),
            ("T", "298"),
        ] {
            let mut found = Conditions::default();
            found.take(&Entry { line: 1, key: key.into(), value: text.into() }, None).unwrap();
            assert_eq!(found.doubts.len(), 1, "{key}: {text}");
        }
        assert!(of("Light", "on").doubts.is_empty());
    }
}
