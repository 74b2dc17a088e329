//! The sheet: all places of one section of the job as rows and columns.

use crate::job::{Job, Place, Seat, Test};

/// Where the cursor of the sheet stands.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sheet {
    /// Which section.
    pub section: usize,
    /// Row in the section.
    pub row: usize,
    /// Column in the section.
    pub column: usize,
}

/// A board, an array, or the rest of the job.
#[derive(Debug)]
pub struct Section<'a> {
    /// Name for the top line.
    pub name: String,
    /// Owners, a row each.
    pub rows: Vec<Seat<'a>>,
    /// Tests that any of them has, a column each.
    pub columns: Vec<Test>,
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
            let mut columns: Vec<Test> = rows
                .iter()
                .flat_map(|r| job.wanted(r.owner))
                .map(|(t, _)| t)
                .collect();
            columns.sort_unstable();
            columns.dedup();
            Section {
                name,
                rows,
                columns,
            }
        })
        .collect()
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
        let test = *section.columns.get(self.column)?;
        job.wanted(seat.owner)
            .iter()
            .any(|(t, _)| *t == test)
            .then(|| seat.place(test))
    }

    /// Puts the cursor on a place.
    pub fn go_to(&mut self, job: &Job, place: &Place) {
        for (i, section) in sections(job).iter().enumerate() {
            let row = section
                .rows
                .iter()
                .position(|s| s.top == place.top && s.part.as_deref() == place.part.as_deref());
            let column = section.columns.iter().position(|t| *t == place.test);
            if let (Some(row), Some(column)) = (row, column) {
                *self = Sheet {
                    section: i,
                    row,
                    column,
                };
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
        let clamp = |at: usize, by: isize, len: usize| {
            at.saturating_add_signed(by).min(len.saturating_sub(1))
        };
        self.row = clamp(self.row, rows, section.rows.len());
        self.column = clamp(self.column, columns, section.columns.len());
    }

    /// Comes back to a cell that is there, after the record was edited.
    pub fn stay(&mut self, job: &Job) {
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
    }
}
