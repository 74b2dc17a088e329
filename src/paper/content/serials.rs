//! Lists of serial numbers, set side by side so that they take little height.

use crate::paper::flow::{Block, Cell, Column, Row, Table};

/// Rows from which a list is set in more than one stack.
const FEW: usize = 5;

/// A list in as many stacks as fit, read down and then across. `headers` and `widths` are those of one stack.
pub(super) fn stacked(
    headers: &[&str],
    widths: &[f64],
    entries: &[Vec<String>],
    room: f64,
) -> Block {
    let one: f64 = widths.iter().sum();
    let mut most = 1;
    while most < 8 && one * f64::from(most + 1) <= room {
        most += 1;
    }
    let most = usize::try_from(most).unwrap_or(1);
    let stacks = most.min(entries.len().div_ceil(FEW)).max(1);
    let height = entries.len().div_ceil(stacks);
    let mut columns = Vec::new();
    for _ in 0..stacks {
        columns.extend(headers.iter().zip(widths).map(|(h, w)| Column::mm(*h, *w)));
    }
    // What is left of the width, so that the stacks keep theirs.
    columns.push(Column::share("", 1.0));
    let rows = (0..height)
        .map(|at| {
            let mut cells: Vec<Cell> = Vec::new();
            for stack in 0..stacks {
                match entries.get(stack * height + at) {
                    Some(entry) => cells.extend(entry.iter().map(|e| Cell::from(e.as_str()))),
                    None => cells.extend(headers.iter().map(|_| Cell::from(""))),
                }
            }
            Row::cells(cells)
        })
        .collect();
    Block::Table(Table::new(columns, rows).size(7.2))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(entries: usize) -> Table {
        let list: Vec<Vec<String>> = (1..=entries)
            .map(|n| vec![n.to_string(), format!("S{n}")])
            .collect();
        match stacked(&["Pos.", "Module"], &[10.0, 40.0], &list, 160.0) {
            Block::Table(table) => table,
            _ => Table::new(Vec::new(), Vec::new()),
        }
    }

    #[test]
    fn every_entry_is_there_and_stacks_are_read_down() {
        let t = table(14);
        assert_eq!(t.columns.len(), 3 * 2 + 1);
        assert_eq!(t.rows.len(), 5);
        let text = format!("{:?}", t.rows);
        for n in 1..=14 {
            assert!(text.contains(&format!("\"S{n}\"")), "{n}");
        }
        let Some(Row::Cells { cells, .. }) = t.rows.first() else {
            return assert_eq!(t.rows.len(), 0, "the first row has cells");
        };
        let first: Vec<&str> = cells
            .iter()
            .flat_map(|c| c.lines.iter().map(|l| l.text.as_str()))
            .collect();
        assert_eq!(first, ["1", "S1", "6", "S6", "11", "S11"]);
    }

    #[test]
    fn a_short_list_stays_in_one_stack() {
        assert_eq!(table(4).columns.len(), 3);
        assert_eq!(table(4).rows.len(), 4);
    }
}
