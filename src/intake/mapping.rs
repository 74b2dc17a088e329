//! The mapping: what the columns of a file are, in words of the person who has the file. No maker's layout is known here.

use std::collections::{BTreeMap, BTreeSet};

use rust_decimal::Decimal;
use serde::Deserialize;

pub use self::once::Once;
pub use self::time::Time;
use super::units::{Sign, number, powers};
use crate::job::text::{Sort, TextError, locate, parse_as};
use crate::job::{Answer, Test};

mod once;
mod time;

/// A mapping that was commented for reading and copying: that of the sample.
pub const EXAMPLE: &str = include_str!("../../sample-jobs/orchard-cottage-readings.ron");

/// Longest mapping, in bytes.
const LONGEST: usize = 1024 * 1024;

/// What the columns of a file are.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mapping {
    /// What stands between two cells; a comma where it isn't given.
    #[serde(default = "comma")]
    pub separator: String,
    /// The decimal sign.
    pub decimal: Sign,
    /// Lines above the headings, or above the first row where there are none, that are passed over.
    #[serde(default)]
    pub skip: usize,
    /// Whether the first line that counts has the headings; else columns are given by their numbers, such as "3".
    #[serde(default = "yes")]
    pub headings: bool,
    /// How a row says where it belongs.
    pub place: Where,
    /// What the file calls a board, or a board and circuit, and what it is on the job.
    #[serde(default)]
    pub names: Once<String>,
    /// Which columns are readings.
    pub readings: Layout,
    /// Whether values may have their unit behind them, as in `0.82 Ω`.
    #[serde(default)]
    pub units_in_cells: bool,
    /// The sign in front of a number that is past the end of the scale, such as `>`.
    #[serde(default)]
    pub above: Option<String>,
    /// The sign in front of a number that is below the start of the scale, such as `<`.
    #[serde(default)]
    pub below: Option<String>,
    /// Cells that say that nothing was taken; an empty one always does.
    #[serde(default)]
    pub not_taken: Vec<String>,
    /// Cells that say "in order".
    #[serde(default)]
    pub pass: Vec<String>,
    /// Cells that say "found wanting".
    #[serde(default)]
    pub fail: Vec<String>,
    /// When each row was taken.
    #[serde(default)]
    pub time: Option<Time>,
    /// Which instrument took it; the usual one of the job where it isn't given.
    #[serde(default)]
    pub instrument: Option<Tool>,
    /// Column with the number that the file gives a result.
    #[serde(default)]
    pub result: Option<String>,
}

/// How a row says where it belongs.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Where {
    /// In two columns: board and circuit, or array and string. An empty second one is the board itself.
    Two(String, String),
    /// In one column: such as `R/3`, `R` or `supply`, or a name of the list `names`.
    One(String),
}

/// Which columns are readings.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Layout {
    /// A column for each test.
    Columns(Once<Reads>),
    /// A row for each reading: a column says which test it is, another has the value.
    Rows {
        /// Column with the name of the test.
        test: String,
        /// Column with the value.
        value: String,
        /// Column with the unit, where there is one.
        #[serde(default)]
        unit: Option<String>,
        /// What the file calls the tests.
        tests: Once<Reads>,
    },
}

/// What a column, or a name of a test in the file, is.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reads {
    /// The test.
    pub test: Test,
    /// Unit in the file, where neither the cell nor a column has it.
    #[serde(default)]
    pub unit: Option<String>,
    /// Cells that mean "past the end of the scale", and where that is, in the unit of the file.
    #[serde(default)]
    pub over: Once<String>,
    /// Cells that mean "below the start of the scale", and where that is.
    #[serde(default)]
    pub under: Once<String>,
}

/// Which instrument took a row.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Tool {
    /// This column has its serial number.
    Serial(String),
    /// All rows were taken with the instrument of this id.
    Id(String),
}

fn comma() -> String {
    ",".into()
}

fn yes() -> bool {
    true
}

/// Whether an instrument shows a reading of this test, so that it can come from a file. What is looked at, confirmed, set,
/// counted or signed can't.
pub fn comes_from_an_instrument(test: Test) -> bool {
    test.needs_instrument() && !test.is_derived() || matches!(test, Test::Polarity | Test::Sequence)
}

impl Mapping {
    /// Reads a mapping and checks that it can mean something.
    ///
    /// # Errors
    /// The first thing that is wrong, with its line, field and remedy.
    pub fn read(file: &str, text: &str) -> Result<Mapping, TextError> {
        if text.len() > LONGEST {
            return Err(TextError {
                file: file.to_string(),
                line: 0,
                column: 0,
                field: String::new(),
                what: "too long for a mapping".into(),
                remedy: format!("a mapping has at most {} kB", LONGEST >> 10),
            });
        }
        let mapping: Mapping = parse_as(Sort::Mapping, file, text)?;
        mapping.check().map_err(|fault| {
            let (line, column) = locate(text, &fault.near);
            TextError {
                file: file.to_string(),
                line,
                column,
                field: fault.field,
                what: fault.what,
                remedy: fault.remedy.to_string(),
            }
        })?;
        Ok(mapping)
    }

    /// The tests of the file by the names of their columns, or of the tests.
    pub(super) fn reads(&self) -> &BTreeMap<String, Reads> {
        match &self.readings {
            Layout::Columns(Once(reads))
            | Layout::Rows {
                tests: Once(reads), ..
            } => reads,
        }
    }

    /// Every column that the mapping names, with the field that does.
    pub(super) fn columns(&self) -> Vec<(&str, &'static str)> {
        let mut out: Vec<(&str, &'static str)> = Vec::new();
        match &self.place {
            Where::Two(board, circuit) => {
                out.extend([(board.as_str(), "place"), (circuit, "place")])
            }
            Where::One(column) => out.push((column, "place")),
        }
        match &self.readings {
            Layout::Columns(Once(reads)) => {
                out.extend(reads.keys().map(|c| (c.as_str(), "readings")))
            }
            Layout::Rows {
                test, value, unit, ..
            } => {
                out.extend([(test.as_str(), "readings.test"), (value, "readings.value")]);
                out.extend(unit.iter().map(|c| (c.as_str(), "readings.unit")));
            }
        }
        if let Some(time) = &self.time {
            out.extend(time.columns.iter().map(|c| (c.as_str(), "time.columns")));
        }
        if let Some(Tool::Serial(column)) = &self.instrument {
            out.push((column, "instrument"));
        }
        out.extend(self.result.iter().map(|c| (c.as_str(), "result")));
        out
    }

    fn check(&self) -> Result<(), Fault> {
        let one_byte = self.separator.len() == 1;
        let plain = |c: char| !c.is_ascii_alphanumeric() && !matches!(c, '"' | '\r' | '\n' | '-');
        if !one_byte || !self.separator.chars().all(plain) {
            return fault(
                "separator",
                &self.separator,
                "what stands between cells is one sign",
                "write \",\", \";\" or \"\\t\"",
            );
        }
        // A row that lacks its last cell would give one number as two.
        if self.separator.starts_with(self.decimal.char()) {
            return fault(
                "separator",
                &format!("decimal: {:?}", self.decimal),
                "what stands between cells is the decimal sign too",
                "write the separator of the file, such as \";\"",
            );
        }
        if self.columns().iter().any(|(c, _)| c.trim().is_empty()) {
            return fault(
                "readings",
                "",
                "a column without a name",
                "write its heading as in the file",
            );
        }
        let mut seen = BTreeSet::new();
        if let Some((twice, field)) = self.columns().into_iter().find(|(c, _)| !seen.insert(*c)) {
            return fault(
                field,
                twice,
                "one column can't be two things",
                "name each column once",
            );
        }
        self.check_marks()?;
        let mut tests = BTreeSet::new();
        if self.reads().is_empty() {
            return fault(
                "readings",
                "",
                "no column is a reading",
                "name one at least",
            );
        }
        for (name, reads) in self.reads() {
            // A file may call one test by two names in rows; two columns of it would contradict each other.
            if !tests.insert(reads.test) && matches!(self.readings, Layout::Columns(_)) {
                return fault(
                    "readings",
                    name,
                    &format!("`{}` is another column already", reads.test),
                    "keep one",
                );
            }
            self.check_reads(name, reads)?;
        }
        match &self.time {
            Some(time) => time.check(),
            None => Ok(()),
        }
    }

    fn check_marks(&self) -> Result<(), Fault> {
        let mut seen = BTreeSet::new();
        let signs = [("above", &self.above), ("below", &self.below)];
        let signs = signs
            .into_iter()
            .filter_map(|(f, s)| Some((f, s.as_ref()?)));
        let lists = [
            ("not_taken", &self.not_taken),
            ("pass", &self.pass),
            ("fail", &self.fail),
        ];
        let marks = lists
            .into_iter()
            .flat_map(|(f, l)| l.iter().map(move |m| (f, m)));
        for (field, mark) in signs.chain(marks) {
            if mark.trim().is_empty() || mark.trim() != mark {
                return fault(
                    field,
                    mark,
                    "a mark is empty, or has blanks at its ends",
                    "write it as it stands in the cell",
                );
            }
            if is_number_like(mark) {
                return fault(
                    field,
                    mark,
                    "a mark that could be a number",
                    "a number is always read as one",
                );
            }
            if !seen.insert(mark.as_str()) {
                return fault(
                    field,
                    mark,
                    &format!("`{mark}` has two meanings"),
                    "keep one",
                );
            }
        }
        Ok(())
    }

    fn check_reads(&self, name: &str, reads: &Reads) -> Result<(), Fault> {
        let test = reads.test;
        if !comes_from_an_instrument(test) {
            return fault(
                "readings",
                name,
                &format!("`{test}` is looked at, confirmed or worked out: no instrument shows it"),
                "leave it out, and enter it on the screen",
            );
        }
        if test.answer() == Answer::PassFail {
            if reads.unit.is_some() || !reads.over.0.is_empty() || !reads.under.0.is_empty() {
                return fault(
                    "readings",
                    name,
                    &format!("`{test}` is answered by pass or fail"),
                    "leave unit, over and under out",
                );
            }
            if self.pass.is_empty() && self.fail.is_empty() {
                return fault(
                    "readings",
                    name,
                    &format!("`{test}` is answered by pass or fail, and no cell means either"),
                    "give `pass` and `fail`",
                );
            }
            return Ok(());
        }
        match &reads.unit {
            Some(unit) => {
                if let Err(why) = powers(unit, test.unit()) {
                    return fault(
                        "readings",
                        unit,
                        &format!("{test}: {why}"),
                        "write the unit that the file has",
                    );
                }
            }
            None if self.units_in_cells
                || matches!(self.readings, Layout::Rows { unit: Some(_), .. }) => {}
            None => {
                return fault(
                    "readings",
                    name,
                    &format!("{test} has no unit"),
                    "give `unit`, or say `units_in_cells: true`",
                );
            }
        }
        for (field, marks) in [("over", &reads.over), ("under", &reads.under)] {
            for (mark, end) in &marks.0 {
                let positive = number(end, Sign::Point).is_ok_and(|n| n > Decimal::ZERO);
                if !positive {
                    return fault(
                        field,
                        end,
                        &format!("`{end}` isn't the end of a scale"),
                        "write a number above zero with a decimal point, such as \"999\"",
                    );
                }
                let other = self.not_taken.contains(mark)
                    || self.pass.contains(mark)
                    || self.fail.contains(mark);
                if other
                    || mark.trim().is_empty()
                    || mark.trim() != mark
                    || is_number_like(mark)
                    || (field == "under" && reads.over.0.contains_key(mark))
                {
                    return fault(
                        field,
                        mark,
                        &format!(
                            "`{mark}` can't be a mark: it is empty, a number, or means something else already"
                        ),
                        "write the mark as it stands in the cell, once",
                    );
                }
            }
        }
        Ok(())
    }
}

/// Whether a cell could be a number: of digits and signs alone.
fn is_number_like(text: &str) -> bool {
    text.chars().any(|c| c.is_ascii_digit())
        && text
            .chars()
            .all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '\u{2212}'))
}

/// What is wrong in a mapping.
struct Fault {
    field: String,
    near: String,
    what: String,
    remedy: &'static str,
}

fn fault<T>(field: &str, near: &str, what: &str, remedy: &'static str) -> Result<T, Fault> {
    Err(Fault {
        field: field.to_string(),
        near: near.to_string(),
        what: what.to_string(),
        remedy,
    })
}
