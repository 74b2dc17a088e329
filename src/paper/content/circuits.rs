//! The schedule of circuits of a board: what each one is made of.

use crate::checks::longest_time;
use crate::job::{Board, Cable, Circuit, CircuitKind, Cpc, Place, Rcd, Test};
use crate::paper::flow::{Align, Block, Cell, Column, Field, Row, Styled, Table};
use crate::paper::page::Grey;

use super::notes::Notes;
use super::results;
use super::sheet::{Sheet, nothing, small, verdict};
use super::words::{self, or_dash, plain};

/// Remarks up to this many characters stand in the row, longer ones under the table.
const SHORT: usize = 70;

/// Heading, record of the board, and its circuits.
pub(super) fn blocks(sheet: &Sheet<'_>, board: &Board) -> Vec<Block> {
    let mut notes = Notes::default();
    // Asked once: each looks at every circuit.
    let extra = (has_afdd(sheet, board), has_remarks(board));
    let rows = board
        .circuits
        .iter()
        .map(|c| {
            let row = row(sheet, board, c, extra, &mut notes);
            match sheet.row_of(&board.id, &c.id, false) {
                Some(name) => row.anchored(name),
                None => row,
            }
        })
        .collect();
    let mut blocks = vec![
        Block::anchored(
            1,
            format!("{} ({}), {}", board.name, board.id, board.phases.name()),
            format!("board-{}", board.id),
        ),
        about(sheet, board),
    ];
    blocks.extend(results::at_board(sheet, board));
    blocks.push(Block::heading(2, "Circuits"));
    blocks.push(Block::Table(
        Table::new(columns(sheet, board), rows).size(6.8).ruled(),
    ));
    let mut below = notes.blocks();
    below.push(Block::Paragraph(
        small(
            "Type, rating: with the longest time that the device, or the RCD in its place, may take to disconnect. \
             Capacity: rated current of the device against what its cable carries; for a ring what the cable carries against the \
             least it has to. Change of voltage: from the origin to the far end, with every part that the current goes through.",
        )
        .grey(Grey::LABEL),
    ));
    blocks.push(Block::WithLast(below));
    blocks
}

fn about(sheet: &Sheet<'_>, board: &Board) -> Block {
    let surge_at = Place::of(&board.id, Test::Surge);
    let fed = match board.fed_from.as_str() {
        "" => "origin of the installation".to_string(),
        path => match sheet.job.circuit(path) {
            Some((from, c)) => {
                let through = match sheet.job.backup_on(path) {
                    Some(s) => format!(", through the backup output of {}", s.id),
                    None => String::new(),
                };
                format!("{}, circuit {} {}{through}", from.name, c.id, c.name)
            }
            None => path.to_string(),
        },
    };
    let rcd = board.rcd.as_ref().map_or_else(
        || "none".to_string(),
        |r| format!("{}, {}", words::rcd(r), words::rcd_standard(r)),
    );
    let mut ahead = vec![Styled::new(rcd)];
    ahead.extend(rcd_type(sheet, &Place::of(&board.id, Test::RcdType)));
    ahead.extend(named(
        sheet,
        &Place::of(&board.id, Test::RcdSelectivity),
        "selectivity ",
    ));
    ahead.extend(board.rcd.as_ref().and_then(declared));
    let spd = match (sheet.finding(&surge_at), board.spd.trim()) {
        (Some(judged), _) => judged.value_text(),
        (None, "") => "none".to_string(),
        (None, spd) => spd.to_string(),
    };
    let mut surge = vec![Styled::new(spd)];
    surge.extend(sheet.judged(&surge_at));
    surge.extend((!board.no_spd.trim().is_empty()).then(|| small(board.no_spd.trim())));
    let leads = Place::of(&board.id, Test::SpdLeads);
    surge.extend(named(sheet, &leads, "leads "));
    let mut switch = vec![Styled::new(main_switch(board))];
    let main = Place::of(&board.id, Test::MainSwitch);
    switch.extend(named(sheet, &main, "rated "));
    let field = |label: &str, value, span| Field {
        label: label.to_string(),
        value,
        span,
        shade: None,
    };
    // Twelfths, so that the long entries get more room than the short ones.
    Block::Grid {
        columns: 12,
        fields: vec![
            Field::new("Location", or_dash(&board.location)).wide(2),
            Field::new("Supplied from", fed).wide(2),
            field("Main switch", switch, 3),
            field("RCD ahead of all circuits", ahead, 2),
            field("Surge protective device", surge, 3),
        ],
    }
}

/// The main switch, with its poles and the ratings of the whole board where they are recorded.
fn main_switch(board: &Board) -> String {
    let mut parts = vec![or_dash(&board.main_switch)];
    if let Some(poles) = board.main_poles {
        parts.push(format!("{poles} poles"));
    }
    if let Some(a) = board.board_a {
        parts.push(format!("board rated {} A", a.normalize()));
    }
    if let Some(ka) = board.conditional_ka {
        parts.push(format!("board rated {} kA conditional", ka.normalize()));
    }
    parts.join("; ")
}

/// The type of an RCD, judged.
fn rcd_type(sheet: &Sheet<'_>, place: &Place) -> Option<Styled> {
    named(sheet, place, "type ")
}

/// What is judged, with a word for it, its limit and its verdict in one small line.
fn named(sheet: &Sheet<'_>, place: &Place, word: &str) -> Option<Styled> {
    let value = sheet.finding(place)?.value_text();
    let judged = sheet.judged(place)?;
    Some(Styled {
        text: format!("{word}{value} {}", judged.text),
        ..judged
    })
}

/// The columns; those that no circuit of the board fills are left out.
fn columns(sheet: &Sheet<'_>, board: &Board) -> Vec<Column> {
    let right = |header: &str, mm: f64| Column::mm(header, mm).align(Align::Right);
    let mut columns = vec![
        Column::mm("No.", 9.0),
        Column::share("Circuit", 1.4),
        right("Points", 10.0),
        Column::mm("Form", 22.0).group("Cable"),
        right("Line mm²", 9.5).group("Cable"),
        Column::mm("cpc mm²", 16.0).group("Cable"),
        right("Length m", 11.0).group("Cable"),
        Column::mm("Method", 12.0).group("Cable"),
        Column::mm("Change of voltage", 15.0).group("Cable"),
        right("Ib A", 9.0).group("Load, In ≤ Iz"),
        Column::mm("Capacity", 14.0).group("Load, In ≤ Iz"),
        Column::mm("Type, rating", 21.0).group("Device"),
        Column::mm("Breaking kA", 14.5).group("Device"),
        Column::mm("Poles", 13.0).group("Device"),
        Column::mm("Direction", 20.0).group("Device"),
        Column::mm("RCD", 24.0),
    ];
    if has_afdd(sheet, board) {
        columns.push(Column::mm("AFDD", 12.0));
    }
    if has_remarks(board) {
        columns.push(Column::share("Remarks", 1.0));
    }
    columns
}

fn has_afdd(sheet: &Sheet<'_>, board: &Board) -> bool {
    let asked = |id: &str| sheet.finding(&Place::part(&board.id, id, Test::Afdd));
    board
        .circuits
        .iter()
        .any(|c| c.afdd || asked(&c.id).is_some())
}

fn has_remarks(board: &Board) -> bool {
    board.circuits.iter().any(|c| !c.remarks.trim().is_empty())
}

/// `extra` says whether there is a column for AFDDs and one for remarks.
fn row(
    sheet: &Sheet<'_>,
    board: &Board,
    c: &Circuit,
    extra: (bool, bool),
    notes: &mut Notes,
) -> Row {
    let name: Cell = vec![
        Styled::new(or_dash(&c.name)),
        small(words::kind(c, board.phases)),
    ]
    .into();
    if c.kind == CircuitKind::Spare && c.device.is_none() && c.cable.is_none() {
        let words = match c.remarks.trim() {
            "" => "spare way".to_string(),
            remarks => format!("spare way: {remarks}"),
        };
        let spare: Cell = Styled::new(words).align(Align::Left).into();
        return Row::cells([
            c.id.clone().into(),
            Styled::new(or_dash(&c.name)).into(),
            spare.wide(22),
        ]);
    }
    let place = |test| Place::part(&board.id, &c.id, test);
    let mut cells: Vec<Cell> = vec![c.id.clone().into(), name, c.points.to_string().into()];
    match &c.cable {
        Some(cable) => cells.extend([
            small(cable.form.name()).size(6.5).into(),
            cable.line_mm2.normalize().to_string().into(),
            sheet.record(&place(Test::Cpc), &cpc(sheet, &place(Test::Cpc), cable)),
            plain(cable.length_m).into(),
            method(cable),
        ]),
        None => cells.extend((0..5).map(|_| nothing())),
    }
    cells.push(worked_out(sheet, &place(Test::Voltage)));
    cells.push(plain(c.design_a).into());
    cells.push(worked_out(sheet, &place(Test::Capacity)));
    match &c.device {
        Some(d) => {
            let curve = d.curve.map_or(String::new(), |c| c.letter().to_string());
            let rated = format!("{curve} {} A", d.rating_a.normalize());
            let mut lines = vec![
                Styled::new(rated.trim_start()).bold(),
                small(d.standard.name()),
            ];
            // Of a separated circuit no disconnection is asked.
            if !c.extra_low_voltage
                && let Ok(time) = longest_time(sheet.job, sheet.forms, c, d)
            {
                lines.push(small(format!("in {} s", time.value.normalize())));
            }
            cells.push(lines.into());
            cells.push(sheet.record(
                &place(Test::BreakingCapacity),
                &d.breaking_ka.normalize().to_string(),
            ));
            cells.push(sheet.record(&place(Test::PolesOpen), &d.poles.to_string()));
            cells.push(sheet.record(&place(Test::BothWays), words::direction(d, c.kind)));
        }
        None => cells.extend((0..4).map(|_| nothing())),
    }
    // Where sockets are judged by their RCD, the judgement names it: once is enough.
    let sockets = sheet.finding(&place(Test::AdditionalProtection));
    let mut lines = Vec::new();
    if let Some(f) = sockets {
        lines.push(Styled::new(f.value_text()));
        lines.push(small(format!(
            "{} {}",
            words::held(&f.limit_text()),
            verdict(f.verdict)
        )));
    }
    if let Some(r) = &c.rcd {
        if sockets.is_none() {
            lines.push(Styled::new(words::rcd(r)));
        }
        lines.push(small(words::rcd_standard(r)));
        lines.extend(rcd_type(sheet, &place(Test::RcdType)));
        lines.extend(named(sheet, &place(Test::RcdSelectivity), "selectivity "));
        lines.extend(declared(r));
    }
    cells.push(if lines.is_empty() {
        nothing()
    } else {
        lines.into()
    });
    if extra.0 {
        cells.push(match (c.afdd, sheet.finding(&place(Test::Afdd))) {
            (true, None) => "fitted".into(),
            (false, None) => nothing(),
            (fitted, Some(_)) => {
                sheet.record(&place(Test::Afdd), if fitted { "fitted" } else { "none" })
            }
        });
    }
    if extra.1 {
        cells.push(remarks(c, notes));
    }
    Row::cells(cells)
}

/// Reference method, with the rating factor where one is recorded.
fn method(cable: &Cable) -> Cell {
    let mut lines = vec![Styled::new(or_dash(&cable.method))];
    if let Some(factor) = cable.rating_factor {
        lines.push(small(format!("×\u{a0}{}", factor.normalize())));
    }
    lines.into()
}

/// What is worked out from the record: value, limit and verdict below each other.
fn worked_out(sheet: &Sheet<'_>, place: &Place) -> Cell {
    let Some(f) = sheet.finding(place) else {
        return nothing();
    };
    sheet.record(place, &words::held(&f.value_text()))
}

/// The protective conductor; steel armour with the area it was judged by.
fn cpc(sheet: &Sheet<'_>, place: &Place, cable: &Cable) -> String {
    let words = words::cpc(&cable.cpc);
    match (
        cable.cpc,
        sheet.finding(place).and_then(|f| f.value.clone()),
    ) {
        (Cpc::Armour(_), Some(area)) => format!("{words}, {area}"),
        _ => words,
    }
}

/// What the maker declares of an RCD's type, where that is recorded.
fn declared(rcd: &Rcd) -> Option<Styled> {
    let text = rcd.declaration.trim();
    (!text.is_empty()).then(|| small(format!("declared: {text}")))
}

fn remarks(c: &Circuit, notes: &mut Notes) -> Cell {
    match c.remarks.trim() {
        "" => nothing(),
        short if short.chars().count() <= SHORT => small(short).into(),
        long => notes
            .sign(format!("Remarks on circuit {}: {long}", c.id))
            .into(),
    }
}
