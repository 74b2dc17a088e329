//! The map of an array: every module in its order, with serial numbers and what it gave.

use crate::job::{Array, Layout};
use crate::paper::flow::{Block, Styled};
use crate::paper::measure::{width, wrap};
use crate::paper::page::{Area, Weight};

use super::canvas::{Canvas, Fitter, PITCH, TEXT, WIDE, count};
use super::sheet::Sheet;
use super::words::{counted, or_dash};

/// Narrowest and widest cell, in mm; longer serial numbers take more lines.
const NARROW: f64 = 25.0;
const BROAD: f64 = 56.0;
/// Room beside the words of a cell, and between cells, in mm.
const SIDE: f64 = 1.4;
const APART: f64 = 2.0;
/// Height of the words over a group, in mm.
const TITLE: f64 = 3.6;

/// A module in the map.
struct Cell {
    number: String,
    /// What it gave, with its mark.
    gave: String,
    /// Its serial number, and that of its inverter.
    serials: Vec<String>,
}

/// A string or branch.
struct Group {
    title: String,
    cells: Vec<Cell>,
}

/// Heading, what the cells say, and the groups.
pub(super) fn blocks(sheet: &Sheet<'_>, array: &Array) -> Vec<Block> {
    let (groups, words) = match &array.layout {
        Layout::Strings(strings) => (
            strings
                .iter()
                .map(|s| Group {
                    title: format!(
                        "{} {}: {}",
                        s.id,
                        s.name.trim(),
                        counted(s.modules.len(), "module")
                    ),
                    cells: s
                        .modules
                        .iter()
                        .enumerate()
                        .map(|(n, serial)| Cell {
                            number: pole(n, s.modules.len()),
                            gave: String::new(),
                            serials: vec![or_dash(serial)],
                        })
                        .collect(),
                })
                .collect::<Vec<_>>(),
            "Modules of each string from positive to negative, row by row: number, and serial number of the module.",
        ),
        Layout::Branches(branches) => (
            branches
                .iter()
                .map(|b| {
                    let balance = sheet.balance(array, b);
                    Group {
                        title: format!(
                            "{} {}: {}, circuit {}",
                            b.id,
                            b.name.trim(),
                            counted(b.units.len(), "module"),
                            or_dash(&b.circuit)
                        ),
                        cells: b
                            .units
                            .iter()
                            .enumerate()
                            .map(|(n, u)| Cell {
                                number: (n + 1).to_string(),
                                gave: balance
                                    .as_ref()
                                    .and_then(|all| all.modules.get(n))
                                    .map_or(String::new(), |m| {
                                        format!("{} W {}", m.watts.normalize(), m.verdict.mark())
                                    }),
                                serials: vec![or_dash(&u.module), or_dash(&u.inverter)],
                            })
                            .collect(),
                    }
                })
                .collect(),
            "Modules of each branch in order along the trunk, row by row: number, serial number of the module and below it that of its \
             micro-inverter; at the right what it gave when all were compared, with the mark of its verdict.",
        ),
    };
    let cell = cell_width(&groups);
    let mut drawings = groups.iter().flat_map(|group| drawn(group, cell));
    let mut first = vec![
        Block::heading(2, "Array map"),
        Block::Paragraph(Styled::new(words).size(7.0)),
    ];
    first.extend(drawings.next());
    let mut blocks = vec![Block::Together(first)];
    blocks.extend(drawings);
    blocks
}

fn pole(n: usize, of: usize) -> String {
    match n + 1 {
        1 => "1  +".into(),
        last if last == of => format!("{last}  −"),
        other => other.to_string(),
    }
}

/// As wide as the longest serial number needs, for all groups alike.
fn cell_width(groups: &[Group]) -> f64 {
    groups
        .iter()
        .flat_map(|g| &g.cells)
        .flat_map(|c| &c.serials)
        .map(|s| width(s, TEXT, Weight::Regular) + 2.0 * SIDE + 0.2)
        .fold(NARROW, f64::max)
        .min(BROAD)
}

fn drawn(group: &Group, cell: f64) -> Vec<Block> {
    let mut fit = Fitter::default();
    let title = fit.set(&group.title, WIDE, 2, Weight::Bold);
    let most = (1..=group.cells.len().max(1))
        .take_while(|n| count(*n) * (cell + APART) - APART <= WIDE)
        .last()
        .unwrap_or(1);
    // Rows alike, rather than a full one and a rest.
    let rows = group.cells.len().div_ceil(most).max(1);
    let each = group.cells.len().div_ceil(rows).max(1);
    let mut out = Vec::new();
    let mut heads = Some(title);
    let mut chunks = group.cells.chunks(each);
    loop {
        let cells = chunks.next();
        let title = heads.take();
        if cells.is_none() && title.is_none() {
            break;
        }
        let mut c = Canvas::default();
        let mut top = 0.0;
        for line in title.unwrap_or_default() {
            c.bold(0.0, top + 2.2, line);
            top += TITLE;
        }
        let bottom = row(&mut c, cells.unwrap_or_default(), cell, top);
        out.push(c.into_block(bottom));
    }
    out
}

/// Cells beside each other; gives the bottom of the highest.
fn row(c: &mut Canvas, cells: &[Cell], wide: f64, top: f64) -> f64 {
    let lines: Vec<Vec<String>> = cells
        .iter()
        .map(|cell| {
            cell.serials
                .iter()
                .flat_map(|s| wrap(s, wide - 2.0 * SIDE, TEXT, Weight::Regular))
                .map(|l| l.trim_end().to_string())
                .collect()
        })
        .collect();
    let most = lines.iter().map(Vec::len).max().unwrap_or(0);
    let tall = if cells.is_empty() {
        0.0
    } else {
        PITCH * count(most + 1) + 1.6
    };
    for (n, (cell, lines)) in cells.iter().zip(&lines).enumerate() {
        let x = count(n) * (wide + APART);
        c.frame(Area {
            x,
            y: top,
            width: wide,
            height: tall,
        });
        c.bold(x + SIDE, top + 2.7, cell.number.as_str());
        c.text_to(x + wide - SIDE, top + 2.7, &cell.gave);
        c.lines(x + SIDE, top + 2.7 + PITCH, lines);
        if n > 0 {
            let y = top + tall / 2.0;
            c.line((x - APART, y), (x, y));
        }
    }
    top + tall
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used)]
mod tests {
    use super::super::canvas::overlaps;
    use super::super::diagram::tests::{drawings, sample, texts};
    use super::*;
    use crate::forms::Forms;
    use crate::job::Job;

    fn map(job: &Job) -> String {
        let forms = Forms::embedded().unwrap();
        let sheet = Sheet::new(job, &forms);
        let blocks = blocks(&sheet, job.arrays.first().unwrap());
        let all = drawings(&blocks);
        for d in &all {
            assert_eq!(overlaps(d), Vec::<String>::new());
        }
        texts(&all)
    }

    #[test]
    fn every_serial_number_stands_whole_up_to_24_characters() {
        for modules in [1, 2, 7, 12, 39, 40, 300] {
            let mut job = sample("mill-yard");
            let serials: Vec<String> = (0..modules)
                .map(|n| format!("WWMMWWMMWWMMWWMMWW-{n:05}"))
                .collect();
            let array = job.arrays.first_mut().unwrap();
            let Layout::Strings(list) = &mut array.layout else {
                unreachable!()
            };
            list.truncate(1);
            list.first_mut().unwrap().modules = serials.clone();
            let text = map(&job);
            for (n, serial) in serials.iter().enumerate() {
                assert!(text.contains(serial.as_str()), "{serial}");
                assert!(text.contains(&format!("{} ", n + 1)), "{n}");
            }
        }
    }

    #[test]
    fn what_a_module_gave_stands_in_its_cell_with_its_mark() {
        let mut job = sample("orchard-cottage");
        let Layout::Branches(list) = &mut job.arrays.first_mut().unwrap().layout else {
            unreachable!()
        };
        let b = list.first_mut().unwrap();
        let mut entry = b.readings.iter().next().unwrap().1.clone();
        // Median 300 W; 200 W is a third under it, more than any limit for a low one.
        let watts: Vec<&str> = (0..b.units.len())
            .map(|n| if n == 2 { "200" } else { "300" })
            .collect();
        entry.now.typed = watts.join(" ");
        b.readings.put(crate::job::Test::Balance, Some(entry));
        let text = map(&job);
        assert_eq!(text.matches("300 W =").count(), watts.len() - 1, "{text}");
        assert_eq!(text.matches("200 W ?").count(), 1, "{text}");
    }
}
