//! The sheet: all places of one section of the job as rows and columns.

use std::collections::BTreeSet;
use std::rc::Rc;

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
    /// Where the job is cut; `None` before anybody cut it.
    cut: Option<Rc<Cut>>,
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
    let cut = Cut::of(job);
    let all = 0..cut.0.len();
    all.filter_map(|i| cut.section(job, i)).collect()
}

/// Where a job is cut into sections, kept until the record itself is edited: no reading changes it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Cut(Vec<Piece>);

/// A section without its rows.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Piece {
    name: String,
    /// First names of its rows.
    tops: Vec<String>,
    /// Tests that any of the rows has.
    tests: Vec<Test>,
    /// Whether there are circuits among them.
    circuits: bool,
}

impl Cut {
    /// Cuts a job.
    pub fn of(job: &Job) -> Cut {
        let mut out: Vec<Piece> = Vec::new();
        let mut tests = BTreeSet::new();
        for seat in job.seats() {
            let wanted = job.wanted(seat.owner);
            if wanted.is_empty() {
                continue;
            }
            let circuit = matches!(seat.owner, Owner::Circuit(..));
            let same_top = |p: &Piece| p.tops.last().is_some_and(|t| t == seat.top);
            let last = out.last_mut();
            let (piece, starts) = match last {
                Some(last) if same_top(last) => (last, false),
                last => {
                    let name = name_of(job, seat.top);
                    match last {
                        Some(last)
                            if last.name == name
                                && last.tops.first().is_some_and(|t| grouped(t, seat.top)) =>
                        {
                            last.tops.push(seat.top.to_string());
                            (last, false)
                        }
                        _ => {
                            out.push(Piece {
                                name,
                                tops: vec![seat.top.to_string()],
                                tests: Vec::new(),
                                circuits: false,
                            });
                            let Some(last) = out.last_mut() else {
                                continue;
                            };
                            (last, true)
                        }
                    }
                }
            };
            if starts {
                tests = BTreeSet::new();
            }
            let before = tests.len();
            tests.extend(wanted.into_iter().map(|(t, _)| t));
            if tests.len() > before {
                piece.tests = tests.iter().copied().collect();
            }
            piece.circuits |= circuit;
        }
        Cut(out)
    }

    /// How many sections there are.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The name of a section.
    pub fn name(&self, i: usize) -> Option<&str> {
        self.0.get(i).map(|p| p.name.as_str())
    }

    /// A section with its rows as they are now.
    pub fn section<'a>(&self, job: &'a Job, i: usize) -> Option<Section<'a>> {
        let piece = self.0.get(i)?;
        let mut rows = Vec::new();
        for top in &piece.tops {
            let seats = job.seats_of(top).into_iter();
            rows.extend(seats.filter(|seat| !job.wanted(seat.owner).is_empty()));
        }
        let mut columns: Vec<Column> = piece.tests.iter().copied().map(Column::Test).collect();
        if piece.circuits {
            columns.extend(circuit_columns().map(Column::Detail));
        }
        let list = is_list(&rows).then(|| cells(job, &rows, &columns));
        Some(Section {
            name: piece.name.clone(),
            rows,
            columns,
            list,
        })
    }

    /// The section that has rows of that first name.
    fn position(&self, top: &str) -> Option<usize> {
        self.0
            .iter()
            .position(|piece| piece.tops.iter().any(|t| t == top))
    }
}

/// What stands above the section that an owner belongs to.
fn name_of(job: &Job, top: &str) -> String {
    match top {
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
    }
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
    /// Cuts the job into sections anew.
    pub(super) fn cut_anew(&mut self, job: &Job) {
        self.cut = Some(Rc::new(Cut::of(job)));
    }

    /// Where the job is cut.
    pub fn cut(&self, job: &Job) -> Rc<Cut> {
        self.cut.clone().unwrap_or_else(|| Rc::new(Cut::of(job)))
    }

    /// The section at hand.
    pub fn here<'a>(&self, job: &'a Job) -> Option<Section<'a>> {
        self.cut(job).section(job, self.section)
    }

    /// The place under the cursor, where the row has that test.
    pub fn place(&self, job: &Job) -> Option<Place> {
        let section = self.here(job)?;
        let seat = section.rows.get(self.row)?;
        let test = section.columns.get(self.column)?.test()?;
        job.wanted(seat.owner)
            .iter()
            .any(|(t, _)| *t == test)
            .then(|| seat.place(test))
    }

    /// The field of the record under the cursor, where it stands on one.
    pub fn detail(&self, job: &Job) -> Option<(Spot, &'static Entry)> {
        let section = self.here(job)?;
        let Column::Detail(entry) = *section.columns.get(self.column)? else {
            return None;
        };
        let (spot, _) = section.circuit(self.row)?;
        Some((spot, entry))
    }

    /// Puts the cursor on a place.
    pub fn go_to(&mut self, job: &Job, place: &Place) {
        let cut = self.cut(job);
        if let Some(i) = cut.position(&place.top)
            && let Some(section) = cut.section(job, i)
        {
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
            }
        }
    }

    /// Moves by rows and columns, staying inside the section.
    pub fn step(&mut self, job: &Job, rows: isize, columns: isize) {
        let Some(section) = self.here(job) else {
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
        let Some(section) = self.here(job) else {
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
        self.cut_anew(job);
        if self.section >= self.cut(job).len() {
            *self = Sheet {
                cut: self.cut.take(),
                ..Sheet::default()
            };
        }
        self.step(job, 0, 0);
    }

    /// Moves to another section, round and round.
    pub fn turn(&mut self, job: &Job, forward: bool) {
        let n = self.cut(job).len().max(1);
        self.section = (self.section + if forward { 1 } else { n - 1 }) % n;
        self.row = 0;
        self.column = 0;
        self.marked.clear();
        self.step(job, 0, 0);
    }

    /// Whether the section at hand is a list and not a grid.
    pub fn is_list(&self, job: &Job) -> bool {
        self.here(job).is_some_and(|s| s.list.is_some())
    }
}
