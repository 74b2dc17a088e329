//! The finished PDF, as the tools of the trade see it: qpdf and poppler.

#![allow(clippy::expect_used)]

use std::path::PathBuf;
use std::process::Command;

use wanderlead::paper::flow::{
    Align, Block, Column, Draft, Field, Flow, LaidOut, Orientation, PaperInfo, Row, Signature,
    Styled, Table,
};
use wanderlead::paper::measure::{can_print, printable, width};
use wanderlead::paper::page::{
    Area, Document, DocumentInfo, Grey, MM_PER_POINT, Mark, Page, Weight,
};
use wanderlead::paper::{PaperError, pdf};

fn info() -> PaperInfo {
    PaperInfo {
        document: DocumentInfo {
            title: "Electrical test certificate – Hütte barn".into(),
            author: "A. Tester".into(),
            subject: "Board and solar array tests".into(),
            keywords: vec!["tests".into(), "solar".into()],
            creator: "wanderlead 0.1.0".into(),
            created: Some(
                chrono::DateTime::parse_from_rfc3339("2026-03-07T14:05:09+00:00").expect("a date"),
            ),
            content: "0123456789abcdef".into(),
            issue: Some(2),
            ..DocumentInfo::default()
        },
        reference: "J-2026-0042".into(),
        issuer: "Example Renewables Ltd".into(),
        footer: "Made with wanderlead 0.1.0 · record 5f2c 91aa".into(),
        draft: Some(Draft {
            word: "DRAFT".into(),
            notice: "DRAFT – not a certificate until signed by the inspector".into(),
        }),
    }
}

/// A paper with every kind of block, and a schedule of this many circuits.
fn sample(circuits: usize) -> LaidOut {
    Flow::new(info())
        .section(Orientation::Portrait, "Summary", summary())
        .section(
            Orientation::Landscape,
            "Schedule of circuits",
            schedule(circuits),
        )
        .lay_out()
}

fn summary() -> Vec<Block> {
    let remedy = Styled::new("See row C7 of the schedule.").link("schedule");
    let findings = vec![
        Row::section("Needs work before energising"),
        Row::cells([
            Styled::new("C7"),
            "Insulation resistance 0.35 MΩ, at least 1 MΩ needed.".into(),
            remedy,
        ]),
        Row::section("Worth knowing"),
        Row::cells([
            "C12",
            "Reading above the range of the meter (> 999 MΩ); accepted as such.",
            "",
        ]),
    ];
    let columns = vec![
        Column::mm("Where", 20.0),
        Column::share("What", 3.0),
        Column::share("Remedy", 1.4),
    ];
    vec![
        Block::heading(1, "Result of the tests"),
        Block::callout(
            "One reading out of limits",
            "Circuit C7 measured 0.35 MΩ between live conductors and earth at 500 V d.c. The board must not be \
             energised with this circuit connected until the fault is found and the test repeated.",
        ),
        Block::heading(2, "Installation"),
        Block::Grid {
            columns: 3,
            fields: vec![
                Field::new("Client", "Marston Farm Partnership"),
                Field::new("Address", "Long Barn, Lower Lane, Exampleton EX4 5MP").wide(2),
                Field::new("Supply", "TN-S, 400/230 V, 50 Hz"),
                Field::new("Zₑ measured", Styled::new("0.21 Ω").bold()),
                Field::new("Prospective fault current", Styled::new("1.10 kA").bold()),
                Field::new("Array", "2 strings × 14 modules, 410 Wp, south 35°"),
                Field::new("Inverter", "10 kW, three-phase"),
            ],
        },
        Block::heading(2, "Findings"),
        Block::Table(Table::new(columns, findings)),
        Block::heading(2, "Extent and limitations"),
        Block::paragraph(
            "All final circuits of the board and both strings of the array were tested dead and live. Concealed \
             cables were not uncovered. Readings were taken with the instruments listed below, whose calibration \
             was valid on the day. "
                .repeat(2),
        ),
        Block::Together(vec![
            Block::heading(2, "Declaration"),
            Block::paragraph("I have carried out the tests recorded here and the readings are those I observed."),
            Block::Signatures(vec![
                Signature {
                    role: "Inspected and tested by".into(),
                    name: "A. Tester".into(),
                    position: "Electrician, Example Renewables Ltd".into(),
                    date: String::new(),
                },
                Signature { role: "Received for the client by".into(), ..Signature::default() },
            ]),
        ]),
    ]
}

fn schedule(circuits: usize) -> Vec<Block> {
    let narrow = |header: &str, group: &str| {
        Column::mm(header, 13.5)
            .align(Align::Right)
            .group(group)
            .turned()
    };
    let columns = vec![
        Column::mm("No.", 11.0),
        Column::share("Circuit", 1.0),
        narrow("Cable area mm²", "Cable"),
        narrow("Earth area mm²", "Cable"),
        narrow("Rating A", "Device"),
        narrow("Type", "Device"),
        narrow("Largest loop impedance Zs Ω", "Device"),
        narrow("Continuity R1+R2 Ω", "Dead tests"),
        narrow("Insulation, live to live MΩ", "Dead tests"),
        narrow("Insulation, live to earth MΩ", "Dead tests"),
        narrow("Loop impedance Zs Ω", "Live tests"),
        narrow("RCD trips after ms", "Live tests"),
        Column::mm("Remarks", 40.0),
    ];
    let mut rows = Vec::new();
    for n in 0..circuits {
        if n % 20 == 0 {
            rows.push(Row::section(format!("Board DB{} – plant room", n / 20 + 1)));
        }
        let bad = n == 7;
        let value = if bad {
            Styled::new("0.35 ✗").bold()
        } else {
            Styled::new("> 999")
        };
        let remark = if bad {
            "Below 1 MΩ: disconnect and find the fault"
        } else {
            ""
        };
        let row = Row::cells([
            format!("C{n}").into(),
            format!("Socket outlets, workshop {n}").into(),
            Styled::new("2.5"),
            "1.5".into(),
            "20".into(),
            "B".into(),
            "2.19".into(),
            format!("0.{:02}", n % 90 + 10).into(),
            "> 999".into(),
            value,
            "0.62".into(),
            "24.3".into(),
            remark.into(),
        ]);
        rows.push(if bad { row.shaded(Grey::SHADE) } else { row });
    }
    vec![
        Block::anchored(1, "Schedule of circuits", "schedule"),
        Block::Table(Table::new(columns, rows).size(7.0)),
    ]
}

/// A file in a folder of its own that goes when it is dropped.
fn saved(document: &Document) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("paper.pdf");
    std::fs::write(&path, pdf::write(document).expect("a PDF")).expect("a file");
    (folder, path)
}

fn run(tool: &str, arguments: &[&str], path: &PathBuf, after: &[&str]) -> String {
    let output = Command::new(tool)
        .args(arguments)
        .arg(path)
        .args(after)
        .output()
        .expect(tool);
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(
        output.status.success(),
        "{tool}: {said}{}",
        String::from_utf8_lossy(&output.stderr)
    );
    assert_eq!(
        String::from_utf8_lossy(&output.stderr),
        "",
        "{tool} complains"
    );
    said
}

#[test]
fn the_file_is_sound() {
    let (_folder, path) = saved(&sample(60).document);
    let said = run("qpdf", &["--check"], &path, &[]);
    assert!(
        said.contains("No syntax or stream encoding errors found"),
        "{said}"
    );
    assert!(said.contains("PDF Version: 1.7"), "{said}");
}

#[test]
fn every_reading_can_be_found_in_the_text() {
    let (_folder, path) = saved(&sample(60).document);
    let text = run("pdftotext", &["-raw"], &path, &["-"]);
    let pages = text.matches('\u{c}').count();
    assert!(pages >= 3, "{pages} pages");
    for n in 0..60 {
        assert!(
            text.contains(&format!(
                "C{n} Socket outlets, workshop {n} 2.5 1.5 20 B 2.19"
            )),
            "circuit {n} in\n{text}"
        );
    }
    for wanted in [
        "0.35 MΩ",
        "0.35 ✗",
        "> 999",
        "TN-S, 400/230 V, 50 Hz",
        "2 strings × 14 modules, 410 Wp",
        "J-2026-0042",
        "Earth area mm²\nRating A\nType\nLargest loop\nimpedance Zs Ω\n",
    ] {
        assert!(text.contains(wanted), "{wanted} not in\n{text}");
    }
    for page in 1..=pages {
        assert!(text.contains(&format!("Page {page} of {pages}")));
    }
    assert_eq!(
        text.matches("not a certificate until signed").count(),
        pages
    );
}

#[test]
fn both_fonts_are_embedded_cut_down_and_searchable() {
    let (_folder, path) = saved(&sample(5).document);
    let said = run("pdffonts", &[], &path, &[]);
    let fonts: Vec<&str> = said.lines().skip(2).collect();
    assert_eq!(fonts.len(), 2, "{said}");
    for (font, name) in fonts.iter().zip([
        "WLBOLD+DejaVuSansCondensed-Bold ",
        "WLREGU+DejaVuSansCondensed ",
    ]) {
        assert!(font.starts_with(name), "{font}");
        // Embedded, subset, and with a map to Unicode.
        assert_eq!(
            font.split_whitespace()
                .filter(|word| *word == "yes")
                .count(),
            3,
            "{font}"
        );
    }
}

#[test]
fn the_file_tells_what_it_is() {
    let (_folder, path) = saved(&sample(5).document);
    let said = run("pdfinfo", &["-isodates"], &path, &[]);
    for wanted in [
        ("Title", "Electrical test certificate – Hütte barn"),
        ("Subject", "Board and solar array tests"),
        ("Keywords", "tests, solar"),
        ("Author", "A. Tester"),
        ("Creator", "wanderlead 0.1.0"),
        ("CreationDate", "2026-03-07T14:05:09Z"),
    ] {
        let line = said
            .lines()
            .find(|line| line.starts_with(wanted.0))
            .unwrap_or_default();
        assert!(line.ends_with(wanted.1), "{wanted:?} in\n{said}");
    }
    assert!(
        !said.contains("PDF subtype"),
        "claims a standard it doesn't keep:\n{said}"
    );
    let raw = run(
        "qpdf",
        &["--qdf", "--object-streams=disable"],
        &path,
        &["-"],
    );
    for wanted in [
        "/Lang (en-GB)",
        "/PageMode /UseOutlines",
        "/DisplayDocTitle true",
        "/Subtype /Link",
    ] {
        assert!(raw.contains(wanted), "{wanted}");
    }
    assert!(!raw.contains("GTS_PDFX"));
}

#[test]
fn the_outline_is_a_tree_in_reading_order() {
    let document = sample(5).document;
    let (_folder, path) = saved(&document);
    let raw = run("qpdf", &["--json", "--json-key=outlines"], &path, &[]);
    let json: serde_json::Value = serde_json::from_str(&raw).expect("JSON");
    let titles = |list: &serde_json::Value| -> Vec<String> {
        let list = list.as_array().expect("a list");
        list.iter()
            .map(|entry| entry["title"].as_str().expect("words").to_owned())
            .collect()
    };
    let outline = &json["outlines"];
    assert_eq!(
        titles(outline),
        ["Result of the tests", "Schedule of circuits"]
    );
    assert_eq!(
        titles(&outline[0]["kids"]),
        [
            "Installation",
            "Findings",
            "Extent and limitations",
            "Declaration"
        ]
    );
    assert_eq!(outline[1]["destpageposfrom1"], 2);
}

#[test]
fn the_same_document_gives_the_same_bytes() {
    let write = || pdf::write(&sample(30).document).expect("a PDF");
    let first = write();
    assert!(first == write(), "two runs differ");
    let mut changed = sample(30).document;
    changed.info.title.push('!');
    let id = |bytes: &[u8]| {
        let text = String::from_utf8_lossy(bytes).into_owned();
        let at = text.rfind("/ID").expect("an identity");
        text[at..at + 40].to_owned()
    };
    assert_ne!(
        id(&first),
        id(&pdf::write(&changed).expect("a PDF")),
        "the identity follows the content"
    );
}

/// Every sign the paper can print, in lines of 30 on one page for each weight.
fn specimen() -> (Document, Vec<String>) {
    let all: Vec<char> = ('\u{21}'..='\u{FFFD}')
        .filter(|c| {
            !c.is_whitespace() && can_print(*c) && width(&c.to_string(), 10.0, Weight::Bold) > 0.0
        })
        .collect();
    assert!(all.len() > 700, "{} signs", all.len());
    // One after another with room between: each is a word to the reader.
    let lines: Vec<String> = all
        .chunks(30)
        .map(|signs| signs.iter().flat_map(|c| [*c, ' ']).collect())
        .collect();
    let page = |weight| Page {
        width: 210.0,
        height: 297.0,
        marks: lines
            .iter()
            .enumerate()
            .map(|(at, line)| Mark::Text {
                x: 20.0,
                y: 20.0 + 8.0 * at as f64,
                size: 10.0,
                weight,
                grey: Grey::BLACK,
                turn: 0.0,
                text: line.clone(),
            })
            .collect(),
    };
    let pages = vec![page(Weight::Regular), page(Weight::Bold)];
    let document = Document {
        pages,
        ..Document::default()
    };
    (document, lines)
}

#[test]
fn every_sign_of_the_font_is_read_back_as_itself() {
    let (document, lines) = specimen();
    let (_folder, path) = saved(&document);
    let text = run("pdftotext", &["-raw"], &path, &["-"]);
    let (regular, bold) = text.split_once('\u{c}').expect("two pages");
    for (weight, page) in [(Weight::Regular, regular), (Weight::Bold, bold)] {
        let wanted: String = lines.iter().map(|l| printable(l, weight).0).collect();
        let words = |text: &str| text.split_whitespace().collect::<String>();
        assert_eq!(words(page), words(&wanted), "{weight:?}");
    }
}

#[test]
fn a_sign_looks_the_same_whatever_else_the_file_uses() {
    // The whole font beside one cut down to a letter with two accents, a fraction and a sign.
    let mark = |text: &str| Mark::Text {
        x: 20.0,
        y: 30.0,
        size: 40.0,
        weight: Weight::Regular,
        grey: Grey::BLACK,
        turn: 0.0,
        text: text.into(),
    };
    let (whole, _) = specimen();
    let drawn = |more: Vec<Page>| {
        let first = Page {
            width: 210.0,
            height: 297.0,
            marks: vec![mark("\u{1EA5} ½ Ω ⚠")],
        };
        let pages = std::iter::once(first).chain(more).collect();
        let (folder, path) = saved(&Document {
            pages,
            ..Document::default()
        });
        let picture = folder.path().join("page");
        let to = picture.to_string_lossy().into_owned();
        run(
            "pdftoppm",
            &["-gray", "-r", "100", "-singlefile"],
            &path,
            &[&to],
        );
        let pixels = std::fs::read(picture.with_extension("pgm")).expect("a picture");
        let length = std::fs::metadata(&path).expect("a file").len();
        (pixels, length)
    };
    let (alone, short) = drawn(Vec::new());
    let (beside, long) = drawn(whole.pages);
    assert!(
        alone.iter().filter(|p| **p < 64).count() > 1000,
        "nothing is drawn"
    );
    assert!(alone == beside, "another picture");
    assert!(
        short * 3 < long,
        "{short} of {long} bytes: the font isn't cut down"
    );
}

#[test]
fn links_lead_to_the_page_and_height_that_they_say() {
    let document = sample(60).document;
    let (_folder, path) = saved(&document);
    let raw = run(
        "qpdf",
        &["--json=2", "--json-key=pages", "--json-key=qpdf"],
        &path,
        &[],
    );
    let json: serde_json::Value = serde_json::from_str(&raw).expect("JSON");
    let pages: Vec<&str> = json["pages"]
        .as_array()
        .expect("pages")
        .iter()
        .map(|page| page["object"].as_str().expect("an object"))
        .collect();
    assert_eq!(pages.len(), document.pages.len());
    let objects = &json["qpdf"][1];
    let mut links = 0;
    for (object, page) in pages.iter().zip(&document.pages) {
        let notes = &objects[format!("obj:{object}")]["value"]["/Annots"];
        let notes = notes.as_array().cloned().unwrap_or_default();
        let marks = page.marks.iter().filter_map(|mark| match mark {
            Mark::Link { area, page, y } => Some((*area, *page, *y)),
            _ => None,
        });
        let marks: Vec<_> = marks.collect();
        assert_eq!(notes.len(), marks.len());
        for (note, (area, to, y)) in notes.iter().zip(marks) {
            links += 1;
            assert_eq!(note["/Dest"][0], pages[to]);
            let near = |value: &serde_json::Value, mm: f64| {
                let points = value.as_f64().expect("a number");
                assert!(
                    (points * MM_PER_POINT - mm).abs() < 0.01,
                    "{value} for {mm} mm"
                );
            };
            // Four points above what it leads to.
            let target = &document.pages[to];
            near(&note["/Dest"][3], target.height - y + 4.0 * MM_PER_POINT);
            let corners = [
                area.x,
                page.height - area.y - area.height,
                area.x + area.width,
                page.height - area.y,
            ];
            for (at, mm) in corners.into_iter().enumerate() {
                near(&note["/Rect"][at], mm);
            }
        }
    }
    assert!(links > 0, "the sample has a link");
}

#[test]
fn text_is_as_wide_on_paper_as_it_was_measured() {
    let text = "Insulation_resistance_999_MΩ";
    let mark = Mark::Text {
        x: 20.0,
        y: 50.0,
        size: 10.0,
        weight: Weight::Bold,
        grey: Grey::BLACK,
        turn: 0.0,
        text: text.into(),
    };
    let page = Page {
        width: 210.0,
        height: 297.0,
        marks: vec![mark],
    };
    let document = Document {
        pages: vec![page],
        ..Document::default()
    };
    let (_folder, path) = saved(&document);
    let said = run("pdftotext", &["-bbox"], &path, &["-"]);
    let line = said
        .lines()
        .find(|line| line.contains(text))
        .expect("the word");
    let number = |key: &str| -> f64 {
        let from = line.find(key).expect(key) + key.len() + 2;
        line[from..]
            .split('"')
            .next()
            .expect("a number")
            .parse()
            .expect("a number")
    };
    let wide = (number("xMax") - number("xMin")) * MM_PER_POINT;
    assert!(
        (wide - width(text, 10.0, Weight::Bold)).abs() < 0.02,
        "{wide} mm on paper"
    );
    assert!((number("xMin") * MM_PER_POINT - 20.0).abs() < 0.02);
}

#[test]
fn a_document_that_cant_be_written_says_why() {
    assert!(matches!(
        pdf::write(&Document::default()),
        Err(PaperError::NoPages)
    ));
    let area = Area {
        x: 1.0,
        y: 1.0,
        width: 1.0,
        height: 1.0,
    };
    let page = Page {
        width: 210.0,
        height: 297.0,
        marks: vec![Mark::Link {
            area,
            page: 4,
            y: 0.0,
        }],
    };
    let error = pdf::write(&Document {
        pages: vec![page],
        ..Document::default()
    })
    .expect_err("no such page");
    assert_eq!(
        error.to_string(),
        "the PDF can't be written (links): a link leads to page 5, but there are 1"
    );
}

/// Writes the sample for a person to look at:
/// `PAPER_SAMPLE=out.pdf cargo test --test paper_engine -- --ignored --nocapture`
#[test]
#[ignore = "writes a file to look at and tells how long it took"]
fn a_sample_to_look_at() {
    let path = std::env::var("PAPER_SAMPLE").expect("PAPER_SAMPLE names the file");
    let start = std::time::Instant::now();
    let laid = sample(100);
    let laid_out = start.elapsed();
    let bytes = pdf::write(&laid.document).expect("a PDF");
    println!(
        "laid out in {laid_out:?}, written in {:?}, {} bytes",
        start.elapsed() - laid_out,
        bytes.len()
    );
    assert!(laid.unprintable.is_empty() && laid.loose_links.is_empty());
    std::fs::write(path, bytes).expect("a file");
}
