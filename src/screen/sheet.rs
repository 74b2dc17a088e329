//! The sheet: all places of one section of the job as rows and columns.

use std::collections::BTreeSet;

use crate::job::{Job, Owner, Part, Place, Seat, Spot, Test};

use super::record::{Entry, circuit_columns};

/// Where the cursor of the sheet stands, and what is marked there.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sheet {
    /// Which section.
    pub section: usize,
    /// Row in the section.
    pub row: usize,
    /// Column in the section.
    pub column: usize,
    /// Rows of the section that the next reading is kept in together.
    pub marked: BTreeSet<usize>,
    /// Readings of a pasted list that wait for a yes.
    pub pasted: Vec<(Place, String)>,
}

/// A column of the sheet.
#[derive(Debug, Clone, Copy)]
pub enum Column {
    /// Readings of a test.
    Test(Test),
    /// A field of the record of the circuits.
    Detail(&'static Entry),
}

impl Column {
    /// The test, where readings stand in it.
    pub fn test(self) -> Option<Test> {
        match self {
            Column::Test(test) => Some(test),
            Column::Detail(_) => None,
        }
    }

    /// What stands above it.
    pub fn heading(self) -> &'static str {
        match self {
            Column::Test(test) => test.heading(),
            Column::Detail(entry) => entry.heading,
        }
    }
}

/// A board, an array, or the rest of the job.
#[derive(Debug)]
pub struct Section<'a> {
    /// Name for the top line.
    pub name: String,
    /// Owners, a row each.
    pub rows: Vec<Seat<'a>>,
    /// Tests that any of them has, a column each; on a board what is recorded of the circuits behind them.
    pub columns: Vec<Column>,
    /// Where the rows have little in common, such as the inspection: row and column of each place, for a list of one line
    /// each in the place of a grid.
    pub list: Option<Vec<(usize, usize)>>,
}

impl Section<'_> {
    /// Which line of the list a cell is, the next one where it has none.
    pub fn line_of(&self, row: usize, column: usize) -> Option<usize> {
        let list = self.list.as_ref()?;
        let at = list.iter().position(|cell| *cell >= (row, column));
        Some(at.unwrap_or(list.len().saturating_sub(1)))
    }

    /// What the record has of a row, where it is a circuit.
    pub fn circuit(&self, row: usize) -> Option<(Spot, Part)> {
        match self.rows.get(row)?.owner {
            Owner::Circuit(board, circuit) => Some((
                Spot::Circuit(board.id.clone(), circuit.id.clone()),
                Part::Circuit(Box::new(circuit.clone())),
            )),
            _ => None,
        }
    }
}

/// The job cut into sections: the origin and bonds first, then each board, array and storage, then the rest.
pub fn sections(job: &Job) -> Vec<Section<'_>> {
    let mut out: Vec<(String, Vec<Seat<'_>>)> = Vec::new();
    for seat in job.seats() {
        let name = match seat.top {
            "safe" | "inspect" => "before".to_string(),
            "supply" | "bond" => "origin".to_string(),
            "label" => "labels".to_string(),
            "grid" | "close" | "sign" => "closing".to_string(),
            top => job
                .board(top)
                .map(|b| b.name.clone())
                .or_else(|| {
                    job.arrays
                        .iter()
                        .find(|a| a.id == top)
                        .map(|a| a.name.clone())
                })
                .unwrap_or_else(|| "storage".to_string()),
        };
        if job.wanted(seat.owner).is_empty() {
            continue;
        }
        match out.last_mut() {
            Some((last, rows))
                if *last == name && rows.first().is_some_and(|r| grouped(r.top, seat.top)) =>
            {
                rows.push(seat);
            }
            _ => out.push((name, vec![seat])),
        }
    }
    out.into_iter()
        .map(|(name, rows)| {
            let tests: BTreeSet<Test> = rows
                .iter()
                .flat_map(|r| job.wanted(r.owner))
                .map(|(t, _)| t)
                .collect();
            let mut columns: Vec<Column> = tests.into_iter().map(Column::Test).collect();
            if rows.iter().any(|r| matches!(r.owner, Owner::Circuit(..))) {
                columns.extend(circuit_columns().map(Column::Detail));
            }
            let list = is_list(&rows).then(|| cells(job, &rows, &columns));
            Section {
                name,
                rows,
                columns,
                list,
            }
        })
        .collect()
}

/// The job's own groups have tests of their own each: as a grid they would be one long row.
fn is_list(rows: &[Seat<'_>]) -> bool {
    let own = ["safe", "inspect", "supply", "bond", "grid", "close", "sign"];
    rows.iter().all(|r| own.contains(&r.top))
}

/// The cells of a section that have a test.
fn cells(job: &Job, rows: &[Seat<'_>], columns: &[Column]) -> Vec<(usize, usize)> {
    let of_row = |(row, seat): (usize, &Seat<'_>)| {
        let wanted = job.wanted(seat.owner);
        columns
            .iter()
            .enumerate()
            .filter(move |(_, c)| wanted.iter().any(|(t, _)| Some(*t) == c.test()))
            .map(move |(column, _)| (row, column))
            .collect::<Vec<_>>()
    };
    rows.iter().enumerate().flat_map(of_row).collect()
}

/// Whether two owners belong to one section although their first names may differ.
fn grouped(a: &str, b: &str) -> bool {
    const TOGETHER: [&[&str]; 3] = [
        &["safe", "inspect"],
        &["supply", "bond"],
        &["grid", "close", "sign"],
    ];
    a == b
        || TOGETHER
            .iter()
            .any(|set| set.contains(&a) && set.contains(&b))
}

impl Sheet {
    /// The place under the cursor, where the row has that test.
    pub fn place(&self, job: &Job) -> Option<Place> {
        let sections = sections(job);
        let section = sections.get(self.section)?;
        let seat = section.rows.get(self.row)?;
        let test = section.columns.get(self.column)?.test()?;
        job.wanted(seat.owner)
            .iter()
            .any(|(t, _)| *t == test)
            .then(|| seat.place(test))
    }

    /// The field of the record under the cursor, where it stands on one.
    pub fn detail(&self, job: &Job) -> Option<(Spot, &'static Entry)> {
        let sections = sections(job);
        let section = sections.get(self.section)?;
        let Column::Detail(entry) = *section.columns.get(self.column)? else {
            return None;
        };
        let (spot, _) = section.circuit(self.row)?;
        Some((spot, entry))
    }

    /// Puts the cursor on a place.
    pub fn go_to(&mut self, job: &Job, place: &Place) {
        for (i, section) in sections(job).iter().enumerate() {
            let row = section
                .rows
                .iter()
                .position(|s| s.top == place.top && s.part.as_deref() == place.part.as_deref());
            let column = section
                .columns
                .iter()
                .position(|c| c.test() == Some(place.test));
            if let (Some(row), Some(column)) = (row, column) {
                if i != self.section {
                    self.marked.clear();
                }
                (self.section, self.row, self.column) = (i, row, column);
                return;
            }
        }
    }

    /// Moves by rows and columns, staying inside the section.
    pub fn step(&mut self, job: &Job, rows: isize, columns: isize) {
        let sections = sections(job);
        let Some(section) = sections.get(self.section) else {
            return;
        };
        if let (Some(at), Some(list)) = (section.line_of(self.row, self.column), &section.list) {
            // Left and Right have nowhere to go in a list.
            let to = at
                .saturating_add_signed(rows)
                .min(list.len().saturating_sub(1));
            (self.row, self.column) = list.get(to).copied().unwrap_or_default();
            return;
        }
        let clamp = |at: usize, by: isize, len: usize| {
            at.saturating_add_signed(by).min(len.saturating_sub(1))
        };
        self.row = clamp(self.row, rows, section.rows.len());
        self.column = clamp(self.column, columns, section.columns.len());
    }

    /// Moves to the first or the last column.
    pub fn edge(&mut self, job: &Job, last: bool) {
        let sections = sections(job);
        let Some(section) = sections.get(self.section) else {
            return;
        };
        match &section.list {
            Some(list) => {
                let cell = if last { list.last() } else { list.first() };
                (self.row, self.column) = cell.copied().unwrap_or_default();
            }
            None if last => self.column = section.columns.len().saturating_sub(1),
            None => self.column = 0,
        }
    }

    /// Comes back to a cell that is there, after the record was edited.
    pub fn stay(&mut self, job: &Job) {
        self.marked.clear();
        let sections = sections(job).len();
        if self.section >= sections {
            *self = Sheet::default();
        }
        self.step(job, 0, 0);
    }

    /// Moves to another section, round and round.
    pub fn turn(&mut self, job: &Job, forward: bool) {
        let n = sections(job).len().max(1);
        self.section = (self.section + if forward { 1 } else { n - 1 }) % n;
        self.row = 0;
        self.column = 0;
        self.marked.clear();
        self.step(job, 0, 0);
    }

    /// Whether the section at hand is a list and not a grid.
    pub fn is_list(&self, job: &Job) -> bool {
        sections(job)
            .get(self.section)
            .is_some_and(|s| s.list.is_some())
    }
}
