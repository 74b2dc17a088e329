//! Lists of serial numbers, set side by side so that they take little height.

use crate::paper::flow::{Block, Cell, Column, Row, Table};

/// One list: its name and its entries, each with a cell for every column of a stack.
pub(super) struct List {
    pub(super) name: String,
    pub(super) entries: Vec<Vec<String>>,
}

/// Lists in one table, each in as many stacks as fit `room` mm, read down and then across. `headers` and `widths` are
/// those of one stack.
pub(super) fn stacked(headers: &[&str], widths: &[f64], lists: Vec<List>, room: f64) -> Block {
    let one: f64 = widths.iter().sum();
    let mut most = 1;
    let mut wide = one * 2.0;
    while most < 8 && wide <= room {
        most += 1;
        wide += one;
    }
    // No more stacks than the longest list fills.
    let longest = lists.iter().map(|l| l.entries.len()).max().unwrap_or(0);
    let stacks = longest.div_ceil(longest.div_ceil(most).max(1)).max(1);
    let mut columns = Vec::new();
    for _ in 0..stacks {
        columns.extend(headers.iter().zip(widths).map(|(h, w)| Column::mm(*h, *w)));
    }
    // What is left of the width, so that the stacks keep theirs.
    columns.push(Column::share("", 1.0));
    let mut rows = Vec::new();
    for list in lists {
        rows.push(Row::section(list.name));
        let height = list.entries.len().div_ceil(stacks);
        rows.extend((0..height).map(|at| {
            let mut cells: Vec<Cell> = Vec::new();
            for stack in 0..stacks {
                match list.entries.get(stack * height + at) {
                    Some(entry) => cells.extend(entry.iter().map(|e| Cell::from(e.as_str()))),
                    None => cells.extend(headers.iter().map(|_| Cell::from(""))),
                }
            }
            Row::cells(cells)
        }));
    }
    Block::Table(Table::new(columns, rows).size(7.2))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(entries: usize) -> Table {
        let entries = (1..=entries)
            .map(|n| vec![n.to_string(), format!("S{n}")])
            .collect();
        let list = List {
            name: "string".into(),
            entries,
        };
        match stacked(&["Pos.", "Module"], &[10.0, 40.0], vec![list], 160.0) {
            Block::Table(table) => table,
            _ => Table::new(Vec::new(), Vec::new()),
        }
    }

    fn texts(row: &Row) -> Vec<&str> {
        match row {
            Row::Cells { cells, .. } => cells
                .iter()
                .flat_map(|c| c.lines.iter().map(|l| l.text.as_str()))
                .collect(),
            Row::Section(title) => vec![title.text.as_str()],
        }
    }

    #[test]
    fn every_entry_is_there_and_stacks_are_read_down() {
        let t = table(14);
        assert_eq!(t.columns.len(), 3 * 2 + 1);
        let rows: Vec<Vec<&str>> = t.rows.iter().map(texts).collect();
        assert_eq!(rows.len(), 6);
        assert_eq!(rows[0], ["string"]);
        assert_eq!(rows[1], ["1", "S1", "6", "S6", "11", "S11"]);
        let all = rows.concat();
        for n in 1..=14 {
            assert!(all.contains(&format!("S{n}").as_str()), "{n}");
        }
    }

    #[test]
    fn a_list_without_entries_keeps_its_name() {
        assert_eq!(texts(&table(0).rows[0]), ["string"]);
        assert_eq!(table(0).rows.len(), 1);
    }
}
