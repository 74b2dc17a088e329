//! The schedule that is timed, and a writer of it that lays nothing out.

#![allow(
    dead_code,
    unreachable_pub,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic
)]

pub mod driver;

use std::io::Write;

use flate2::write::ZlibEncoder;
use wanderlead::paper::flow::{Block, Column, Flow, LaidOut, Orientation, PaperInfo, Row, Table};
use wanderlead::paper::pdf::COMPRESSION;

const HEAD: [&str; 30] = [
    "No.", "Circuit", "Pts", "Form", "Line", "cpc", "m", "Meth.", "Volt", "Ib", "Iz", "Type", "In",
    "kA", "Poles", "Dir.", "RCD", "mA", "r1", "rn", "r2", "R1+R2", "Pol.", "L-L", "L-E", "Zs",
    "ms", "½", "5×", "By",
];

/// What names begin with. They fit their column: who breaks lines and who doesn't gets the same rows.
pub const NAME: &str = "sockets of bay";

/// Head and rows of a schedule, thirty columns.
pub fn rows(n: usize) -> Vec<Vec<String>> {
    let mut all = vec![HEAD.map(String::from).to_vec()];
    for at in 0..n {
        let mut row = vec![format!("{}", at + 1), format!("{NAME} {at}")];
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

/// The same texts and rules on the same pages, `each` rows on one, at places that are known beforehand: no wrapping, nothing measured, no outline, no
/// links. One font, cut down before, with its widths; every stream compressed as the program's are, or none. About as little as
/// a file of this content can be written with.
pub fn bare_bones(rows: &[Vec<String>], each: usize, compressed: bool) -> Vec<u8> {
    let (head, body) = rows.split_first().unwrap();
    let step = 224.0 / 28.0 * 72.0 / 25.4;
    let left = |column: usize| -> f64 {
        45.4 + match column {
            0 => 0.0,
            1 => 25.5,
            n => 116.2 + f64::from(u32::try_from(n - 2).unwrap()) * step,
        }
    };
    let mut file = Bare::new(compressed);
    let parts: Vec<&[Vec<String>]> = body.chunks(each).collect();
    let kids: Vec<String> = (0..parts.len())
        .map(|p| format!("{} 0 R", FIRST_PAGE + 2 * p))
        .collect();
    file.object("<</Type/Catalog/Pages 2 0 R>>");
    let (count, kids) = (parts.len(), kids.join(" "));
    file.object(&format!("<</Type/Pages/Count {count}/Kids[{kids}]>>"));
    file.font();
    for (page, part) in parts.iter().enumerate() {
        let mut text = Vec::with_capacity((part.len() + 1) * 1000);
        let (mut y, top) = (560.0, 567.0);
        text.extend_from_slice(b"0.68 G 0.4 w\n");
        for row in std::iter::once(head).chain(part.iter()) {
            text.extend_from_slice(b"BT /F 6 Tf\n");
            for (column, cell) in row.iter().enumerate() {
                write!(text, "1 0 0 1 {:.2} {y:.2} Tm (", left(column)).unwrap();
                // Every sign of the rows has its own byte in the encoding of Windows, that of its code.
                text.extend(cell.chars().map(|c| u8::try_from(u32::from(c)).unwrap()));
                text.extend_from_slice(b")Tj\n");
            }
            let (right, foot) = (796.6, y - 3.0);
            writeln!(text, "ET 45.4 {foot:.2} m {right:.2} {foot:.2} l S").unwrap();
            y -= 10.6;
        }
        // Rules between columns go down the page in one, as the program's do.
        for column in 0..=head.len() {
            let (x, foot) = (left(column) - 1.0, y + 7.6);
            writeln!(text, "{x:.2} {top:.2} m {x:.2} {foot:.2} l S").unwrap();
        }
        let content = FIRST_PAGE + 1 + 2 * page;
        file.object(&format!(
            "<</Type/Page/Parent 2 0 R/MediaBox[0 0 842 595]/Resources<</Font<</F 3 0 R>>>>/Contents {content} 0 R>>"
        ));
        file.stream("", &text);
    }
    file.end()
}

/// Objects before the first page: catalogue, pages, font, descriptor, program.
const FIRST_PAGE: usize = 6;

/// A file in the making.
struct Bare {
    out: Vec<u8>,
    places: Vec<usize>,
    compressed: bool,
}

impl Bare {
    fn new(compressed: bool) -> Self {
        Self {
            out: b"%PDF-1.4\n".to_vec(),
            places: Vec::new(),
            compressed,
        }
    }

    fn begin(&mut self) {
        self.places.push(self.out.len());
        writeln!(self.out, "{} 0 obj", self.places.len()).unwrap();
    }

    fn object(&mut self, body: &str) {
        self.begin();
        write!(self.out, "{body}\nendobj\n").unwrap();
    }

    fn stream(&mut self, entries: &str, content: &[u8]) {
        self.begin();
        let mut packed = Vec::new();
        let (filter, content) = if self.compressed {
            let mut packer = ZlibEncoder::new(&mut packed, COMPRESSION);
            packer.write_all(content).unwrap();
            packer.finish().unwrap();
            ("/Filter/FlateDecode", packed.as_slice())
        } else {
            ("", content)
        };
        let length = content.len();
        writeln!(self.out, "<<{entries}{filter}/Length {length}>>stream").unwrap();
        self.out.extend_from_slice(content);
        self.out.extend_from_slice(b"\nendstream\nendobj\n");
    }

    /// The program's regular font cut down to what rows may have, which `tests/bench/schedule.py` says how to make.
    fn font(&mut self) {
        let program = include_bytes!("../bench/schedule.ttf");
        let face = ttf_parser::Face::parse(program, 0).unwrap();
        let widths: Vec<String> = (32..=255_u8)
            .map(|byte| {
                let glyph = face.glyph_index(char::from(byte)).unwrap_or_default();
                let units = face.glyph_hor_advance(glyph).unwrap_or_default();
                format!(
                    "{}",
                    u32::from(units) * 1000 / u32::from(face.units_per_em())
                )
            })
            .collect();
        self.object(&format!(
            "<</Type/Font/Subtype/TrueType/BaseFont/BENCHM+Bare/Encoding/WinAnsiEncoding/FontDescriptor 4 0 R/FirstChar 32/LastChar 255\
             /Widths[{}]>>",
            widths.join(" ")
        ));
        self.object(
            "<</Type/FontDescriptor/FontName/BENCHM+Bare/Flags 32/FontBBox[-916 -236 1287 928]/ItalicAngle 0/Ascent 928\
             /Descent -236/CapHeight 729/StemV 80/FontFile2 5 0 R>>",
        );
        self.stream(&format!("/Length1 {}", program.len()), program);
    }

    fn end(mut self) -> Vec<u8> {
        let (table, size) = (self.out.len(), self.places.len() + 1);
        write!(self.out, "xref\n0 {size}\n0000000000 65535 f \n").unwrap();
        for place in &self.places {
            writeln!(self.out, "{place:010} 00000 n ").unwrap();
        }
        write!(
            self.out,
            "trailer<</Size {size}/Root 1 0 R>>\nstartxref\n{table}\n%%EOF\n"
        )
        .unwrap();
        self.out
    }
}
