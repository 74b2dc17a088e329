//! What each cell says: a place and a reading as somebody would type it, or why it can't be read. Nothing is guessed, and what
//! can't be read is never zero.

use chrono::{DateTime, FixedOffset};
use csv::StringRecord;

use super::mapping::{Layout, Mapping, Reads, Tool, Where};
use super::table::Table;
use super::units::{brief, number, powers, raised, whole};
use crate::job::{Answer, Job, Place};

/// One cell of a file, understood as far as it goes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Taken {
    /// Line in the file.
    pub line: u64,
    /// Heading of the column, or what the file calls the test.
    pub column: String,
    /// What the file calls the place.
    pub called: String,
    /// The place; `None` where it isn't understood.
    pub place: Option<Place>,
    /// What stands in the cell, with its unit.
    pub cell: String,
    /// The reading as somebody would type it in the unit of the test, or what is wrong.
    pub typed: Result<String, String>,
    /// When the file says that it was taken.
    pub noted: Option<DateTime<FixedOffset>>,
    /// Id of the instrument, where the file or the mapping names one.
    pub instrument: Option<String>,
    /// Number of the result in the file.
    pub result: Option<String>,
}

/// Where the columns of a mapping are.
struct Columns {
    place: Vec<usize>,
    time: Vec<usize>,
    serial: Option<usize>,
    result: Option<usize>,
}

/// Everything that a file says of readings, in its order.
pub(super) fn taken(table: &Table, mapping: &Mapping, job: &Job) -> Vec<Taken> {
    let at = |heading: &str| table.column(heading);
    let columns = Columns {
        place: match &mapping.place {
            Where::Two(board, circuit) => [at(board), at(circuit)].into_iter().flatten().collect(),
            Where::One(column) => at(column).into_iter().collect(),
        },
        time: mapping
            .time
            .iter()
            .flat_map(|t| &t.columns)
            .filter_map(|c| at(c))
            .collect(),
        serial: match &mapping.instrument {
            Some(Tool::Serial(column)) => at(column),
            _ => None,
        },
        result: mapping.result.as_deref().and_then(at),
    };
    let mut out = Vec::new();
    for (line, row) in &table.rows {
        let cells = cells(table, mapping, row);
        let Err(why) = shape(table, row, &columns) else {
            let all = cells
                .into_iter()
                .map(|cell| one(mapping, job, &columns, *line, row, cell));
            out.extend(all);
            continue;
        };
        // Without readings a row needs no place; it may be a remark or a sum.
        if cells.is_empty() && row.len() == table.headings.len() {
            continue;
        }
        // Cells may have slipped into other columns: none of them is read.
        out.push(Taken {
            line: *line,
            column: String::new(),
            called: String::new(),
            place: None,
            cell: brief(&row.iter().collect::<Vec<_>>().join(&mapping.separator)),
            typed: Err(why),
            noted: None,
            instrument: None,
            result: None,
        });
    }
    out
}

/// Heading, cell, unit of the row, and what it is.
type Cell<'a> = (&'a str, &'a str, Option<&'a str>, Result<&'a Reads, String>);

/// The cells of a row in which something was taken.
fn cells<'a>(table: &Table, mapping: &'a Mapping, row: &'a StringRecord) -> Vec<Cell<'a>> {
    let nothing = |c: &str| c.is_empty() || mapping.not_taken.iter().any(|m| m == c);
    match &mapping.readings {
        Layout::Columns(reads) => {
            let mut found: Vec<(usize, Cell<'a>)> = reads
                .0
                .iter()
                .filter_map(|(heading, reads)| {
                    let i = table.column(heading)?;
                    let value = row.get(i).unwrap_or("");
                    (!nothing(value)).then_some((i, (heading.as_str(), value, None, Ok(reads))))
                })
                .collect();
            found.sort_by_key(|(i, _)| *i);
            found.into_iter().map(|(_, cell)| cell).collect()
        }
        Layout::Rows {
            test,
            value,
            unit,
            tests,
        } => {
            let name = cell_of(table, row, test);
            let value = cell_of(table, row, value);
            if nothing(value) {
                return Vec::new();
            }
            let unit = unit.as_deref().map(|u| cell_of(table, row, u));
            let unit = unit.filter(|u| !u.is_empty());
            let reads = tests.0.get(name).ok_or_else(|| {
                format!(
                    "the mapping doesn't say what `{}` is: name it under `tests`",
                    brief(name)
                )
            });
            vec![(name, value, unit, reads)]
        }
    }
}

fn cell_of<'a>(table: &Table, row: &'a StringRecord, heading: &str) -> &'a str {
    table.column(heading).and_then(|i| row.get(i)).unwrap_or("")
}

/// Whether a row has the cells that its headings promise.
fn shape(table: &Table, row: &StringRecord, columns: &Columns) -> Result<(), String> {
    if row.len() != table.headings.len() {
        return Err(format!(
            "{} cells, and there are {} columns: a separator too many or too few",
            row.len(),
            table.headings.len()
        ));
    }
    // Of two columns the second may be empty: the board itself.
    let first = columns.place.first().and_then(|i| row.get(*i));
    if first.is_some_and(|c| !c.is_empty()) {
        Ok(())
    } else {
        Err("nothing says where it belongs".into())
    }
}

fn one(
    mapping: &Mapping,
    job: &Job,
    columns: &Columns,
    line: u64,
    row: &StringRecord,
    cell: Cell<'_>,
) -> Taken {
    let (column, value, unit, reads) = cell;
    let (called, owner) = owner(mapping, columns, row);
    let mut taken = Taken {
        line,
        column: brief(column),
        called: brief(&called),
        place: None,
        cell: whole(value),
        typed: Err(String::new()),
        noted: None,
        instrument: None,
        result: columns
            .result
            .and_then(|i| row.get(i))
            .filter(|c| !c.is_empty())
            .map(whole),
    };
    let typed = reads.and_then(|reads| {
        if let Some(unit) = unit.or(reads.unit.as_deref())
            && !has_unit(mapping, reads, value, unit)
        {
            taken.cell = format!("{} {}", taken.cell, brief(unit));
        }
        let place: Result<Place, String> = format!("{owner}/{}", reads.test).parse();
        taken.place = Some(place.map_err(|_| {
            format!(
                "`{}` is no place: name it under `names` of the mapping, as R/3",
                brief(&called)
            )
        })?);
        meaning(mapping, reads, value, unit)
    });
    let typed = typed.and_then(|typed| {
        if let Some(time) = &mapping.time {
            let cells: Vec<&str> = columns.time.iter().filter_map(|i| row.get(*i)).collect();
            taken.noted = Some(time.read(&cells.join(" "))?);
        }
        taken.instrument = instrument(mapping, columns, row, job)?;
        Ok(typed)
    });
    taken.typed = typed;
    taken
}

/// What a file calls the owner, and its name on the job.
fn owner(mapping: &Mapping, columns: &Columns, row: &StringRecord) -> (String, String) {
    let cells: Vec<&str> = columns
        .place
        .iter()
        .filter_map(|i| row.get(*i))
        .filter(|c| !c.is_empty())
        .collect();
    let called = cells.join("/");
    let names = &mapping.names.0;
    if let Some(name) = names.get(&called) {
        return (called, name.clone());
    }
    // A circuit may be called as some board is: a name by itself is that of a board.
    let mut parts = cells;
    if let Some(first) = parts.first_mut()
        && let Some(name) = names.get(*first)
    {
        *first = name;
    }
    let owner = parts.join("/");
    (called, owner)
}

fn instrument(
    mapping: &Mapping,
    columns: &Columns,
    row: &StringRecord,
    job: &Job,
) -> Result<Option<String>, String> {
    let known = |what: &str, text: &str| {
        let all: Vec<String> = job
            .instruments
            .iter()
            .map(|i| format!("{} ({})", i.serial, i.id))
            .collect();
        format!(
            "no instrument of this job has the {what} `{}`; it has: {}",
            brief(text),
            all.join(", ")
        )
    };
    match &mapping.instrument {
        None => Ok(None),
        Some(Tool::Id(id)) => match job.instrument(id) {
            Some(tool) => Ok(Some(tool.id.clone())),
            None => Err(known("id", id)),
        },
        Some(Tool::Serial(_)) => {
            let serial = columns.serial.and_then(|i| row.get(i)).unwrap_or("");
            let mut with = job
                .instruments
                .iter()
                .filter(|i| i.serial == serial && !serial.is_empty());
            match (with.next(), with.next()) {
                (Some(tool), None) => Ok(Some(tool.id.clone())),
                (Some(_), Some(_)) => Err(format!(
                    "two instruments of this job have the serial number `{}`",
                    brief(serial)
                )),
                (None, _) => Err(known("serial number", serial)),
            }
        }
    }
}

/// A cell as somebody would type it, in the unit of the test.
fn meaning(
    mapping: &Mapping,
    reads: &Reads,
    cell: &str,
    unit: Option<&str>,
) -> Result<String, String> {
    let test = reads.test;
    if test.answer() == Answer::PassFail {
        let means = |marks: &[String]| marks.iter().any(|m| m == cell);
        return match (means(&mapping.pass), means(&mapping.fail)) {
            (true, _) => Ok("pass".into()),
            (_, true) => Ok("fail".into()),
            _ => Err(format!(
                "the mapping doesn't say what `{}` means",
                brief(cell)
            )),
        };
    }
    let place = |text: &str, unit: Option<&str>, sign| {
        let unit = unit.ok_or("it has no unit: give one in the mapping")?;
        raised(number(text, sign)?, powers(unit, test.unit())?)
    };
    let usual = unit.or(reads.unit.as_deref());
    for (sign, marks) in [(">", &reads.over), ("<", &reads.under)] {
        if let Some(end) = marks.0.get(cell) {
            let end = place(end, usual, super::units::Sign::Point)?;
            return Ok(format!("{sign}{end}"));
        }
    }
    let (sign, rest) = signed(mapping, cell);
    let (digits, own) = if mapping.units_in_cells {
        split(rest)
    } else {
        (rest, None)
    };
    if let (Some(own), Some(unit)) = (own, unit)
        && own != unit
    {
        return Err(format!(
            "its unit is `{}` in the cell and `{}` beside it",
            brief(own),
            brief(unit)
        ));
    }
    let typed = place(digits, own.or(usual), mapping.decimal)?;
    if !sign.is_empty() && typed.starts_with('-') {
        return Err(format!(
            "`{}` is below zero, and the end of a scale can't be",
            brief(cell)
        ));
    }
    Ok(format!("{sign}{typed}"))
}

/// The sign for the end of a scale in front of a number, as it is typed, and what follows.
fn signed<'a>(mapping: &Mapping, cell: &'a str) -> (&'static str, &'a str) {
    [(">", &mapping.above), ("<", &mapping.below)]
        .into_iter()
        .find_map(|(sign, mark)| Some((sign, cell.strip_prefix(mark.as_deref()?)?.trim())))
        .unwrap_or(("", cell))
}

/// Whether a cell has its unit in it, so that the one of its column doesn't belong behind it.
fn has_unit(mapping: &Mapping, reads: &Reads, cell: &str, unit: &str) -> bool {
    if reads.over.0.contains_key(cell) || reads.under.0.contains_key(cell) {
        return cell.ends_with(unit);
    }
    split(signed(mapping, cell).1).1.is_some()
}

/// Number and unit of a cell that has both.
fn split(cell: &str) -> (&str, Option<&str>) {
    let of_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '\u{2212}');
    match cell.find(|c| !of_number(c)) {
        Some(at) if at > 0 => {
            let (digits, unit) = cell.split_at(at);
            (digits, Some(unit.trim()))
        }
        _ => (cell, None),
    }
}
