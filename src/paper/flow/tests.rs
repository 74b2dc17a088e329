use super::furniture::Furniture;
use super::*;
use crate::paper::measure::width;
use crate::paper::page::{Page, Weight};

fn lay_out(blocks: Vec<Block>) -> LaidOut {
    Flow::new(PaperInfo::default())
        .section(Orientation::Portrait, "", blocks)
        .lay_out()
}

fn texts(page: &Page) -> Vec<&str> {
    page.marks
        .iter()
        .filter_map(|mark| match mark {
            Mark::Text { text, .. } => Some(text.as_str()),
            _ => None,
        })
        .collect()
}

/// Index of the page that holds this text.
fn page_of(laid: &LaidOut, wanted: &str) -> Option<usize> {
    laid.document
        .pages
        .iter()
        .position(|page| texts(page).contains(&wanted))
}

fn table(rows: usize) -> Table {
    let columns = vec![Column::mm("Circuit", 30.0), Column::share("Reading", 1.0)];
    Table::new(
        columns,
        (0..rows)
            .map(|n| Row::cells([format!("C{n}"), format!("{n} MΩ")]))
            .collect(),
    )
}

#[test]
fn every_row_is_there_once_and_every_page_has_the_header() {
    let laid = lay_out(vec![Block::Table(table(200))]);
    let pages = &laid.document.pages;
    assert!(pages.len() > 2, "{} pages", pages.len());
    let all: Vec<&str> = pages.iter().flat_map(texts).collect();
    for row in 0..200 {
        for text in [format!("C{row}"), format!("{row} MΩ")] {
            assert_eq!(
                all.iter().filter(|found| **found == text).count(),
                1,
                "{text}"
            );
        }
    }
    for page in pages {
        assert_eq!(
            texts(page)
                .iter()
                .filter(|text| **text == "Circuit")
                .count(),
            1
        );
    }
}

#[test]
fn a_section_row_is_repeated_where_its_rows_go_on_and_never_ends_a_page() {
    let mut rows = Vec::new();
    for board in 0..12 {
        rows.push(Row::section(format!("Board {board}")));
        rows.extend((0..15).map(|n| Row::cells([format!("B{board}C{n}"), "ok".to_owned()])));
    }
    let columns = vec![Column::share("Circuit", 1.0), Column::share("Result", 1.0)];
    let laid = lay_out(vec![Block::Table(Table::new(columns, rows))]);
    let mut continued = 0;
    for (at, page) in laid.document.pages.iter().enumerate() {
        let texts: Vec<&str> = texts(page)
            .into_iter()
            .filter(|text| !text.starts_with("Page "))
            .collect();
        assert!(
            texts.last().is_some_and(|last| *last == "ok"),
            "page {at} ends with {:?}",
            texts.last()
        );
        continued += texts
            .iter()
            .filter(|text| text.ends_with("(continued)"))
            .count();
        let first_row = texts
            .iter()
            .find(|text| text.starts_with('B'))
            .expect("a row on each page");
        assert!(
            first_row.starts_with("Board"),
            "page {at} starts its rows with {first_row}"
        );
    }
    assert!(
        continued >= laid.document.pages.len() / 2,
        "{continued} continued"
    );
}

#[test]
fn a_row_higher_than_a_page_is_cut_between_lines_and_loses_none() {
    let tall: Vec<Styled> = (0..150).map(|n| Styled::new(format!("note {n}"))).collect();
    let columns = vec![Column::share("Notes", 1.0), Column::share("Other", 1.0)];
    let row = Row::cells([Cell::from(tall), Cell::from("short")]);
    let laid = lay_out(vec![Block::Table(Table::new(columns, vec![row]))]);
    let all: Vec<&str> = laid.document.pages.iter().flat_map(texts).collect();
    for n in 0..150 {
        assert!(
            all.contains(&format!("note {n}").as_str()),
            "note {n} is lost"
        );
    }
    assert!(laid.document.pages.len() >= 2);
}

#[test]
fn a_row_that_fits_a_page_stays_on_one() {
    let mut table = table(54);
    let tall: Vec<Styled> = (0..40).map(|n| Styled::new(format!("line {n}"))).collect();
    table.rows.push(Row::cells([Cell::from(tall)]));
    let laid = lay_out(vec![Block::Table(table)]);
    let first = page_of(&laid, "line 0");
    assert_eq!(first, Some(1));
    assert_eq!(first, page_of(&laid, "line 39"));
}

#[test]
fn nothing_stands_outside_the_page_frame_or_its_cell() {
    let long = "Insulation/between-live-conductors and earth: 0.35MΩ ".repeat(3);
    let columns: Vec<Column> = (0..18)
        .map(|n| Column::share(format!("Column {n}"), 1.0))
        .collect();
    let rows = (0..10)
        .map(|_| Row::cells((0..18).map(|_| long.clone())))
        .collect();
    let laid = lay_out(vec![
        Block::Table(Table::new(columns, rows)),
        Block::paragraph(long.repeat(9)),
    ]);
    // Each column is a share of the frame of 178 mm, less the room beside its text.
    let cell = 178.0 / 18.0;
    let mut checked = 0;
    for page in &laid.document.pages {
        for mark in &page.marks {
            let Mark::Text {
                x,
                y,
                size,
                weight,
                text,
                ..
            } = mark
            else {
                continue;
            };
            assert!(
                *x >= 16.0 - 1e-6 && *x + width(text, *size, *weight) <= 194.0 + 1e-6,
                "{text}"
            );
            assert!((9.0..=288.0).contains(y), "{text} at {y}");
            if (*size - 7.5).abs() < 1e-9 && *weight == Weight::Regular {
                assert!(width(text, *size, *weight) < cell, "{text}");
                checked += 1;
            }
        }
    }
    assert!(checked > 500, "{checked} lines checked");
}

#[test]
fn cells_beyond_the_last_column_are_kept() {
    let columns = vec![Column::share("One", 1.0)];
    let laid = lay_out(vec![Block::Table(Table::new(
        columns,
        vec![Row::cells(["first", "second"])],
    ))]);
    assert!(page_of(&laid, "first").is_some() && page_of(&laid, "second").is_some());
}

#[test]
fn a_heading_stays_with_what_follows() {
    for rows in 40..60 {
        let laid = lay_out(vec![
            Block::Table(table(rows)),
            Block::anchored(2, "Next board", "next"),
            Block::Space(2.0),
            Block::Table(Table::new(
                vec![Column::share("Head", 1.0)],
                vec![Row::cells(["body"])],
            )),
        ]);
        let heading = page_of(&laid, "Next board");
        assert!(heading.is_some());
        assert_eq!(heading, page_of(&laid, "body"), "after {rows} rows");
        assert_eq!(
            laid.document.outline.first().map(|entry| entry.page),
            heading
        );
    }
}

#[test]
fn blocks_kept_together_share_a_page() {
    for rows in 40..60 {
        let together = (0..6)
            .map(|n| Block::paragraph(format!("part {n}")))
            .collect();
        let laid = lay_out(vec![Block::Table(table(rows)), Block::Together(together)]);
        assert_eq!(
            page_of(&laid, "part 0"),
            page_of(&laid, "part 5"),
            "after {rows} rows"
        );
    }
}

#[test]
fn together_gives_way_when_no_page_can_hold_it() {
    let together = (0..150)
        .map(|n| Block::paragraph(format!("part {n}")))
        .collect();
    let laid = lay_out(vec![Block::Together(together)]);
    assert!(laid.document.pages.len() > 1);
    assert!((0..150).all(|n| page_of(&laid, &format!("part {n}")).is_some()));
}

#[test]
fn every_page_is_numbered_and_a_draft_says_so() {
    let info = PaperInfo {
        reference: "J-0042".into(),
        draft: Some(Draft {
            word: "DRAFT".into(),
            notice: "Not yet signed".into(),
        }),
        ..PaperInfo::default()
    };
    let laid = Flow::new(info)
        .section(Orientation::Portrait, "", vec![Block::Table(table(100))])
        .section(
            Orientation::Landscape,
            "Arrays",
            vec![Block::paragraph("x")],
        )
        .lay_out();
    let of = laid.document.pages.len();
    assert!(of > 2);
    for (at, page) in laid.document.pages.iter().enumerate() {
        let texts = texts(page);
        for wanted in [
            "DRAFT",
            "Not yet signed",
            "J-0042",
            format!("Page {} of {of}", at + 1).as_str(),
        ] {
            assert!(texts.contains(&wanted), "page {at} lacks {wanted}");
        }
    }
    let last = laid.document.pages.last().expect("a page");
    assert!(last.width > last.height, "the second section is landscape");
}

#[test]
fn links_lead_to_their_heading_and_loose_ones_are_reported() {
    let laid = lay_out(vec![
        Block::paragraph(Styled::new("see B").link("b")),
        Block::paragraph(Styled::new("see nothing").link("nowhere")),
        Block::PageBreak,
        Block::anchored(1, "B", "b"),
    ]);
    let targets: Vec<usize> = laid
        .document
        .pages
        .iter()
        .flat_map(|page| &page.marks)
        .filter_map(|mark| match mark {
            Mark::Link { page, .. } => Some(*page),
            _ => None,
        })
        .collect();
    assert_eq!(targets, [1]);
    assert_eq!(laid.loose_links, ["nowhere"]);
}

#[test]
fn a_character_the_font_lacks_is_reported() {
    let laid = lay_out(vec![Block::paragraph("earth ⏚")]);
    assert_eq!(laid.unprintable, BTreeSet::from(['⏚']));
    assert!(page_of(&laid, "earth \u{FFFD}").is_some());
}

#[test]
fn page_breaks_and_space_leave_no_empty_page() {
    let laid = lay_out(vec![
        Block::PageBreak,
        Block::Space(20.0),
        Block::paragraph("first"),
        Block::PageBreak,
        Block::PageBreak,
        Block::paragraph("second"),
    ]);
    assert_eq!(laid.document.pages.len(), 2);
    assert_eq!(
        (page_of(&laid, "first"), page_of(&laid, "second")),
        (Some(0), Some(1))
    );
}

#[test]
fn empty_blocks_of_every_kind_lay_out() {
    let laid = lay_out(vec![
        Block::heading(1, ""),
        Block::paragraph(""),
        Block::Grid {
            columns: 0,
            fields: vec![Field::new("", "")],
        },
        Block::Grid {
            columns: 3,
            fields: Vec::new(),
        },
        Block::Table(Table::new(Vec::new(), vec![Row::cells(["kept"])])),
        Block::Table(Table::new(vec![Column::mm("a", 0.0)], Vec::new())),
        Block::Callout {
            title: String::new(),
            lines: Vec::new(),
        },
        Block::Signatures(vec![Signature::default()]),
        Block::Space(-1.0),
        Block::Together(Vec::new()),
    ]);
    assert_eq!(laid.document.pages.len(), 1);
    assert_eq!(page_of(&laid, "kept"), Some(0));
}

#[test]
fn no_shade_covers_a_rule_or_a_word() {
    let mut table = table(3);
    table.rows.insert(1, Row::section("Next"));
    let laid = lay_out(vec![Block::callout("Caution", "text"), Block::Table(table)]);
    for page in &laid.document.pages {
        let is_shade = |mark: &Mark| matches!(mark, Mark::Rect { .. });
        let last_shade = page.marks.iter().rposition(is_shade).expect("a shade");
        let first_text = page.marks.iter().position(
            |mark| matches!(mark, Mark::Text { text, .. } if text == "Caution" || text == "Next"),
        );
        assert!(first_text.is_some_and(|at| at > last_shade));
    }
}

#[test]
fn a_drawing_is_never_cut_and_keeps_its_measures() {
    let word = |text: &str, y: f64| Mark::Text {
        x: 1.0,
        y,
        size: 8.0,
        weight: Weight::Regular,
        grey: crate::paper::page::Grey::BLACK,
        turn: 0.0,
        text: text.into(),
    };
    let drawing = |name: &str| {
        Block::Drawing(Drawing {
            height: 120.0,
            marks: vec![word(name, 0.0), word("foot", 120.0)],
            links: Vec::new(),
        })
    };
    let laid = lay_out(vec![drawing("first"), drawing("second"), drawing("third")]);
    assert_eq!(page_of(&laid, "first"), Some(0));
    assert_eq!(page_of(&laid, "second"), Some(0));
    assert_eq!(page_of(&laid, "third"), Some(1));
    let ys: Vec<f64> = laid.document.pages[1]
        .marks
        .iter()
        .filter_map(|mark| match mark {
            Mark::Text { y, text, .. } if text == "third" || text == "foot" => Some(*y),
            _ => None,
        })
        .collect();
    assert!((ys[1] - ys[0] - 120.0).abs() < 1e-9, "{ys:?}");
    assert!((Orientation::Portrait.content_width() - 178.0).abs() < 1e-9);
}

/// Rows of [`table`] on each page.
fn rows_on(page: &Page) -> usize {
    let is_row = |text: &&str| {
        text.strip_prefix('C')
            .is_some_and(|n| n.parse::<u8>().is_ok())
    };
    texts(page).into_iter().filter(is_row).count()
}

#[test]
fn no_page_has_fewer_than_three_rows_of_a_table_that_has_more() {
    for above in [0, 20, 45, 50, 51, 52, 53] {
        for rows in 3..130 {
            let mut blocks: Vec<Block> = (0..above)
                .map(|n| Block::paragraph(format!("line {n}")))
                .collect();
            blocks.push(Block::heading(2, "Findings"));
            blocks.push(Block::Table(table(rows)));
            let laid = lay_out(blocks);
            let counts: Vec<usize> = laid.document.pages.iter().map(rows_on).collect();
            assert_eq!(counts.iter().sum::<usize>(), rows);
            let alone = counts.iter().any(|n| (1..3).contains(n));
            assert!(!alone, "{above} lines and {rows} rows: {counts:?}");
            // None is moved over that had no need to be: all pages but the last two with rows are full.
            let with: Vec<usize> = counts.into_iter().filter(|n| *n > 0).collect();
            let full = with.iter().skip(1).max().copied().unwrap_or_default();
            let between = with
                .get(1..with.len().saturating_sub(2))
                .unwrap_or_default();
            assert!(between.iter().all(|n| *n == full), "{with:?}");
        }
    }
}

#[test]
fn tall_rows_are_not_moved_over_for_company() {
    // Two of them fill a page: three together would leave half of one empty.
    let tall: Vec<Styled> = (0..33).map(|n| Styled::new(format!("line {n}"))).collect();
    let rows = (0..4)
        .map(|n| Row::cells([Cell::from(format!("C{n}")), Cell::from(tall.clone())]))
        .collect();
    let columns = vec![Column::mm("Circuit", 30.0), Column::share("Note", 1.0)];
    let laid = lay_out(vec![Block::Table(Table::new(columns, rows))]);
    let counts: Vec<usize> = laid.document.pages.iter().map(rows_on).collect();
    assert_eq!(counts, [2, 2]);
}

fn chart(height: f64) -> Block {
    let mark = Mark::Text {
        x: 1.0,
        y: 3.0,
        size: 8.0,
        weight: Weight::Regular,
        grey: crate::paper::page::Grey::BLACK,
        turn: 0.0,
        text: "chart".into(),
    };
    Block::Drawing(Drawing {
        height,
        marks: vec![mark],
        links: Vec::new(),
    })
}

#[test]
fn notes_and_chart_are_never_alone_on_a_page() {
    let mut moved = 0;
    for rows in 30..60 {
        let laid = lay_out(vec![
            Block::Table(table(rows)),
            Block::WithLast(vec![Block::paragraph("note")]),
            Block::WithLast(vec![Block::heading(2, "Chart"), chart(60.0)]),
        ]);
        let at = page_of(&laid, "chart").expect("the chart");
        assert_eq!(page_of(&laid, "Chart"), Some(at));
        assert_eq!(page_of(&laid, "note"), Some(at), "after {rows} rows");
        let beside = rows_on(&laid.document.pages[at]);
        assert!(beside >= 3, "{beside} of {rows} rows beside the chart");
        moved += usize::from(at == 1 && beside == 3);
    }
    assert!(moved > 3, "rows came over {moved} times");
    // Where not all come over, some do.
    let laid = lay_out(vec![
        Block::Table(table(53)),
        Block::WithLast(vec![Block::paragraph("note"), chart(225.0)]),
    ]);
    assert_eq!(page_of(&laid, "note"), page_of(&laid, "chart"));
    assert_eq!(page_of(&laid, "chart"), Some(1));
    // What takes a page has one to itself, and leaves the rows where they are.
    let whole = Furniture::new(&PaperInfo::default(), "", Orientation::Portrait)
        .frame
        .height;
    let laid = lay_out(vec![
        Block::Table(table(20)),
        Block::WithLast(vec![chart(whole)]),
    ]);
    assert_eq!(page_of(&laid, "chart"), Some(1));
    assert_eq!(rows_on(&laid.document.pages[0]), 20);
}

#[test]
fn words_over_a_table_stay_with_it() {
    for rows in 40..60 {
        let laid = lay_out(vec![
            Block::Table(table(rows)),
            Block::heading(2, "Steps"),
            Block::WithNext(vec![Block::paragraph("about")]),
            Block::Table(Table::new(
                vec![Column::share("What", 1.0)],
                vec![Row::cells(["body"])],
            )),
        ]);
        let heading = page_of(&laid, "Steps");
        assert!(heading.is_some() && heading == page_of(&laid, "about"));
        assert_eq!(heading, page_of(&laid, "body"), "after {rows} rows");
    }
}

#[test]
fn a_table_that_goes_on_says_so_below_each_page_but_its_last() {
    let info = PaperInfo::default();
    let frame = Furniture::new(&info, "", Orientation::Portrait).frame;
    let bottom = frame.top + frame.height;
    for rows in 40..130 {
        let mut of = table(rows).goes_on("more rows follow");
        of.rows.insert(0, Row::section("Here"));
        let laid = lay_out(vec![Block::Table(of), Block::paragraph("end")]);
        let pages = &laid.document.pages;
        let last = pages.iter().rposition(|p| rows_on(p) > 0);
        for (at, page) in pages.iter().enumerate() {
            let said: Vec<f64> = page
                .marks
                .iter()
                .filter_map(|mark| match mark {
                    Mark::Text { y, text, .. } if text == "more rows follow" => Some(*y),
                    _ => None,
                })
                .collect();
            assert_eq!(
                said.len(),
                usize::from(Some(at) < last),
                "page {at} of {rows} rows"
            );
            assert!(said.iter().all(|y| *y < bottom), "{said:?}");
        }
    }
}

#[test]
fn numbers_of_pages_keep_to_their_edge() {
    let columns = vec![
        Column::share("What", 1.0),
        Column::mm("Page", 12.0).align(Align::Right),
    ];
    let rows = ["first", "last"]
        .map(|anchor| Row::cells([Styled::new(anchor), Styled::new("–").page_of(anchor)]));
    let mut blocks = vec![
        Block::anchored(1, "First", "first"),
        Block::Table(Table::new(columns, rows.into())),
    ];
    blocks.extend((0..10).flat_map(|_| [Block::PageBreak, Block::paragraph("x")]));
    blocks.push(Block::anchored(1, "Last", "last"));
    let laid = lay_out(blocks);
    let right: Vec<f64> = laid.document.pages[0]
        .marks
        .iter()
        .filter_map(|mark| match mark {
            Mark::Text {
                x,
                size,
                weight,
                text,
                ..
            } if ["1", "11", "Page"].contains(&text.as_str()) => {
                Some(x + width(text, *size, *weight))
            }
            _ => None,
        })
        .collect();
    assert_eq!(right.len(), 3, "{right:?}");
    assert!(
        right.iter().all(|x| (x - right[0]).abs() < 1e-6),
        "{right:?}"
    );
}
