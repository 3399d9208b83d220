//! The unit of a column: the caller's word, the heading, a column of units, an entry; else V or A with a warning.

use super::error::{Problem, ReadError};
use super::heading::{Heading, Role};
use super::layout::Layout;
use super::metadata::{Conditions, is_known_key};
use super::notes::lines_of;
use super::number::{Cell, FORMATS, cell};
use super::options::Options;
use super::statements::all_entries;
use super::table::{Scale, Table, UnitColumn, unit_column};
use super::unit::{Dimension, Unit, unit};

/// A column's unit, and what is to be said about it.
pub(super) struct ColumnUnit {
    pub scale: Scale,
    pub note: Option<String>,
    pub warning: Option<String>,
}

/// The unit of the column of `what`, voltage or current.
pub(super) fn column_unit(
    layout: &Layout,
    table: &Table,
    what: &'static str,
    column: usize,
    options: &Options,
) -> Result<ColumnUnit, ReadError> {
    let head = table.heads.as_ref().and_then(|h| h.heads.get(column));
    let of = Column { layout, table, what, column, head, over_resistor: options.current_over_resistor };
    let asked = if what == "voltage" { &options.voltage_unit } else { &options.current_unit };
    let found = match asked {
        Some(text) => Some(of.asked_for(text)?),
        None => of.stated()?,
    };
    let sign = if head.is_some_and(|h| h.negated) { -1.0 } else { 1.0 };
    let turned = head.filter(|h| h.negated).map(|h| format!("{what} turned: the heading is '{}'", h.text));
    let Some((unit, note)) = found else { return of.assumed(sign, turned) };
    let notes: Vec<String> = note.into_iter().chain(turned).collect();
    let scale = Scale { dimension: unit.dimension, factor: sign * unit.factor, sign, on_the_cells: false };
    Ok(ColumnUnit { scale, note: (!notes.is_empty()).then(|| notes.join("; ")), warning: None })
}

struct Column<'a> {
    layout: &'a Layout<'a>,
    table: &'a Table<'a>,
    what: &'static str,
    column: usize,
    head: Option<&'a Heading>,
    over_resistor: bool,
}

type Found = (Unit, Option<String>);

impl Column<'_> {
    fn refuse(&self, problem: Problem) -> ReadError {
        match self.table.heads.as_ref().and_then(|h| h.lines.first().copied()) {
            Some(line) => ReadError::at(line, self.layout.lines.get(line), problem),
            None => ReadError::of_file(problem),
        }
    }

    /// The unit in `text`, which stands at `place`, if it is one of this quantity.
    fn checked(&self, text: &str, place: String) -> Result<Unit, ReadError> {
        let what = self.what;
        let examples = if what == "voltage" { "'V' or 'mV'" } else { "'A', 'mA', 'uA' or 'mA/cm2'" };
        let wanted = |u: &Unit| match what {
            "voltage" => u.dimension == Dimension::Voltage,
            _ if self.over_resistor && u.dimension == Dimension::Voltage => true,
            _ => matches!(u.dimension, Dimension::Current | Dimension::Density),
        };
        match unit(text).filter(wanted) {
            None => Err(self.refuse(Problem::WrongUnit { place, unit: text.into(), what, examples })),
            Some(found) if found.doubtful => Err(self.refuse(Problem::Mega { place, what, examples })),
            Some(found) => Ok(found),
        }
    }

    fn asked_for(&self, text: &str) -> Result<Found, ReadError> {
        let what = self.what;
        let found = self.checked(text, format!("{what}_unit"))?;
        let other = self.head.filter(|h| h.unit.as_ref().is_some_and(|u| u.factor != found.factor));
        let note =
            other.map(|h| format!("{what} read in {text} as asked, though the heading says '{}'", h.text));
        Ok((found, note))
    }

    /// What the file says: in the heading, in the column behind, in an entry.
    fn stated(&self) -> Result<Option<Found>, ReadError> {
        let what = self.what;
        if let Some(head) = self.head {
            if let Some(text) = &head.unknown_unit {
                let (heading, unit) = (head.text.clone(), text.clone());
                return Err(self.refuse(Problem::UnknownUnit { what, heading, unit }));
            }
            if let Some(unit) = &head.unit {
                let found = self.checked(&unit.text, format!("heading '{}'", head.text))?;
                self.agrees(&found, &head.text)?;
                // A word alone, such as `Amps`, may name the quantity as well as its unit.
                let told = found.factor != 1.0 || found.text == head.text;
                let note =
                    told.then(|| format!("{what} read in {} from the heading '{}'", found.text, head.text));
                return Ok(Some((found, note)));
            }
        }
        if let Some(UnitColumn { unit, without }) = unit_column(self.layout, self.table.block, self.column) {
            let found = self.checked(&unit, format!("column {}", self.column + 1))?;
            let mut note = format!("{what} read in {unit} from the column behind it");
            if !without.is_empty() {
                note += &format!(", where {} has no unit as well", lines_of(&without));
            }
            return Ok(Some((found, Some(note))));
        }
        let Some((line, text)) = self.entry() else { return Ok(None) };
        let found = self.checked(&text, format!("line {line}"))?;
        Ok(Some((found, Some(format!("{what} read in {text} as line {line} says")))))
    }

    /// An entry that names another unit than the heading leaves two readings of the column.
    fn agrees(&self, found: &Unit, heading: &str) -> Result<(), ReadError> {
        let Some((line, text)) = self.entry() else { return Ok(()) };
        let differs = unit(&text).is_some_and(|u| u.dimension == found.dimension && u.factor != found.factor);
        if differs {
            let (what, heading) = (self.what, heading.to_owned());
            return Err(self.refuse(Problem::UnitsDiffer { what, heading, line, unit: text }));
        }
        Ok(())
    }

    /// `current unit: mA`: the line and the unit.
    fn entry(&self) -> Option<(usize, String)> {
        let mut said = Conditions::default();
        for entry in all_entries(self.layout).iter().filter(|e| is_known_key(&e.key)) {
            // What contradicts itself there is refused where the conditions are made.
            let _ = said.take(entry, None);
        }
        if self.what == "voltage" { said.voltage_unit } else { said.current_unit }
    }

    /// V or A, with a warning unless the numbers carry units themselves.
    fn assumed(&self, sign: f64, note: Option<String>) -> Result<ColumnUnit, ReadError> {
        let what = self.what;
        if let Some(head) = self.head.filter(|h| h.role == Role::Density) {
            return Err(self.refuse(Problem::DensityWithoutUnit { heading: head.text.clone() }));
        }
        let (dimension, si) =
            if what == "voltage" { (Dimension::Voltage, "V") } else { (Dimension::Current, "A") };
        let on_the_cells = self.cells_have_units();
        let warning = (!on_the_cells)
            .then(|| format!("no unit for the {what}: taken as {si}; pass {what}_unit if that is wrong"));
        Ok(ColumnUnit { scale: Scale { dimension, factor: sign, sign, on_the_cells }, note, warning })
    }

    fn cells_have_units(&self) -> bool {
        let has_unit = |text: &str| {
            FORMATS.iter().find_map(|format| match cell(text, *format) {
                Cell::Number(_, rest) => Some(unit(rest).is_some()),
                _ => None,
            })
        };
        let rows = self.table.block.rows.iter().take(3);
        let mut found =
            rows.map(|row| self.layout.cells(*row as usize).get(self.column).and_then(|c| has_unit(c)));
        found.all(|has| has == Some(true))
    }
}
