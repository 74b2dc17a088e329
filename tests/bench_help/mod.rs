//! The schedule that is timed, and a writer of it that lays nothing out.

#![allow(
    dead_code,
    unreachable_pub,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic
)]

pub mod driver;

use std::fmt::Write;

use wanderlead::paper::flow::{Block, Column, Flow, LaidOut, Orientation, PaperInfo, Row, Table};

const HEAD: [&str; 30] = [
    "No.", "Circuit", "Pts", "Form", "Line", "cpc", "m", "Meth.", "Volt", "Ib", "Iz", "Type", "In",
    "kA", "Poles", "Dir.", "RCD", "mA", "r1", "rn", "r2", "R1+R2", "Pol.", "L-L", "L-E", "Zs",
    "ms", "½", "5×", "By",
];

/// Head and rows of a schedule, thirty columns.
pub fn rows(n: usize) -> Vec<Vec<String>> {
    let mut all = vec![HEAD.map(String::from).to_vec()];
    for at in 0..n {
        let mut row = vec![
            format!("{}", at + 1),
            format!("sockets and lights of bay {at}"),
        ];
        for column in 2..30 {
            row.push(match (at * 7 + column * 13) % 5 {
                0 => format!("0.{:02}", (at * 31 + column) % 90 + 10),
                1 => ">999".into(),
                2 => format!("{}", (at + column) % 40),
                3 => "pass".into(),
                _ => format!("{}.{}", at % 30 + 10, column % 10),
            });
        }
        all.push(row);
    }
    all
}

/// The schedule as the program lays out a table.
pub fn schedule(rows: &[Vec<String>]) -> LaidOut {
    let columns = HEAD.iter().enumerate().map(|(at, head)| match at {
        0 => Column::mm(*head, 9.0),
        1 => Column::mm(*head, 32.0),
        _ => Column::share(*head, 1.0),
    });
    let body = rows
        .iter()
        .skip(1)
        .map(|row| Row::cells(row.iter().map(String::as_str)));
    let table = Table::new(columns.collect(), body.collect())
        .size(6.0)
        .ruled();
    Flow::new(PaperInfo::default())
        .section(Orientation::Landscape, "", vec![Block::Table(table)])
        .lay_out()
}

/// The same texts and rules on the same number of pages with a font that every reader has: no wrapping, no fonts, no outline, no
/// compression. About as little as a file of this content can be written with.
pub fn bare_bones(rows: &[Vec<String>], pages: usize) -> Vec<u8> {
    let (head, body) = rows.split_first().unwrap();
    let each = body.len().div_ceil(pages).max(1);
    let step = 224.0 / 28.0 * 72.0 / 25.4;
    let left = |column: usize| -> f64 {
        45.4 + match column {
            0 => 0.0,
            1 => 25.5,
            n => 116.2 + f64::from(u32::try_from(n - 2).unwrap()) * step,
        }
    };
    let mut out = b"%PDF-1.4\n".to_vec();
    let mut places = Vec::new();
    let mut object = |out: &mut Vec<u8>, body: &[u8]| {
        places.push(out.len());
        out.extend(format!("{} 0 obj\n", places.len()).bytes());
        out.extend_from_slice(body);
        out.extend_from_slice(b"\nendobj\n");
        places.len()
    };
    let parts: Vec<&[Vec<String>]> = body.chunks(each).collect();
    let kids: Vec<String> = (0..parts.len())
        .map(|p| format!("{} 0 R", 4 + 2 * p))
        .collect();
    object(&mut out, b"<</Type/Catalog/Pages 2 0 R>>");
    let tree = format!(
        "<</Type/Pages/Count {}/Kids[{}]>>",
        parts.len(),
        kids.join(" ")
    );
    object(&mut out, tree.as_bytes());
    object(
        &mut out,
        b"<</Type/Font/Subtype/Type1/BaseFont/Helvetica/Encoding/WinAnsiEncoding>>",
    );
    for (page, part) in parts.iter().enumerate() {
        let mut text = String::with_capacity(part.len() * 1500);
        let mut y = 560.0;
        text.push_str("0.68 G 0.4 w\n");
        for row in std::iter::once(head).chain(part.iter()) {
            writeln!(text, "BT /F 6 Tf").unwrap();
            for (column, cell) in row.iter().enumerate() {
                writeln!(text, "1 0 0 1 {:.2} {y:.2} Tm ({cell}) Tj", left(column)).unwrap();
            }
            writeln!(text, "ET 45.4 {:.2} m 796.6 {:.2} l S", y - 2.0, y - 2.0).unwrap();
            for column in 0..=row.len() {
                let x = left(column) - 1.0;
                writeln!(text, "{x:.2} {:.2} m {x:.2} {:.2} l S", y - 2.0, y + 7.0).unwrap();
            }
            y -= 9.0;
        }
        let content = 5 + 2 * page;
        let about = format!(
            "<</Type/Page/Parent 2 0 R/MediaBox[0 0 842 595]/Resources<</Font<</F 3 0 R>>>>/Contents {content} 0 R>>"
        );
        object(&mut out, about.as_bytes());
        // The one sign above ASCII in the head is a letter of the font's own encoding.
        let bytes: Vec<u8> = text
            .chars()
            .map(|c| u8::try_from(u32::from(c)).unwrap_or(b'?'))
            .collect();
        let mut stream = format!("<</Length {}>>stream\n", bytes.len()).into_bytes();
        stream.extend(bytes);
        stream.extend_from_slice(b"\nendstream");
        object(&mut out, &stream);
    }
    let table = out.len();
    out.extend(format!("xref\n0 {}\n0000000000 65535 f \n", places.len() + 1).bytes());
    for place in &places {
        out.extend(format!("{place:010} 00000 n \n").bytes());
    }
    out.extend(
        format!(
            "trailer<</Size {}/Root 1 0 R>>\nstartxref\n{table}\n%%EOF\n",
            places.len() + 1
        )
        .bytes(),
    );
    out
}
