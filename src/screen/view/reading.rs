//! The field a reading is typed in, and what it would mean: shared by walk and sheet.

use ratatui::Frame;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;
use unicode_width::UnicodeWidthStr;

use crate::checks::Finding;
use crate::job::{Answer, Place, Reading as Entered};
use crate::screen::state::{State, View};
use crate::screen::vouch::going_around;

use super::{ascii, style, text};

/// The field and its verdict as lines; the first is the field.
pub(super) struct Reading {
    lines: Vec<Line<'static>>,
    cursor: u16,
}

const LABEL: &str = "reading   [";

/// Lays it out for a place, `width` columns wide.
pub(super) fn lay_out(state: &State, place: &Place, width: usize) -> Reading {
    let unit = ascii::shown(place.test.unit().symbol());
    let room = if place.test.answer() == Answer::Text || state.field.text().width() > 14 {
        44
    } else if place.test.answer().is_list() {
        30
    } else {
        14
    };
    // A text longer than the field is shown around the cursor.
    let column = state.field.cursor_column();
    let skip = column.saturating_sub(room);
    let shown: String = skip_columns(state.field.text(), skip);
    let field = text::pad(&clip(&shown, room + 1), room + 1);
    let mut first = vec![
        Span::styled(LABEL.to_string(), style::strong()),
        Span::raw(field),
        Span::styled(format!("] {unit}  "), style::strong()),
    ];
    let used = LABEL.width() + room + 5 + unit.width();
    first.push(Span::raw(text::cut(
        &hint(state, place),
        width.saturating_sub(used),
    )));
    let mut lines = vec![Line::from(first)];
    let kept = state.finding(place).filter(|f| f.value.is_some());
    // On the sheet a cell that is filled shows its reading; one that isn't shows what it waits for. Nobody puts leads on again
    // before having read that it isn't dead.
    let waiting = (state.view == View::Walk || kept.is_none() || state.waits_for_proof())
        .then(|| state.waits_for())
        .flatten();
    if let Some(waiting) = &waiting {
        let look = style::strong();
        lines.extend(text::hanging("waits for", look, waiting, look, width));
        if let Some(reason) = going_around(state) {
            lines.extend(text::hanging("around it", look, &reason, look, width));
        }
    }
    match state.preview() {
        Some(Ok(finding)) => {
            let source = finding.source_short();
            lines.extend(verdict_lines(state, &finding, "would be", &source, width));
        }
        Some(Err(why)) => {
            lines.extend(text::hanging(
                "",
                Style::new(),
                &why,
                style::strong(),
                width,
            ));
        }
        None => {
            if let Some(finding) = kept {
                lines.extend(kept_lines(state, place, finding, width));
            }
        }
    }
    let cursor = u16::try_from(LABEL.width() + column - skip).unwrap_or(u16::MAX);
    Reading { lines, cursor }
}

impl Reading {
    /// Lines it needs.
    pub(super) fn height(&self) -> usize {
        self.lines.len()
    }

    /// Draws it and puts the hardware cursor on the field.
    pub(super) fn draw(self, frame: &mut Frame<'_>, area: Rect, cursor: bool) {
        let at = Position::new(
            area.x + self.cursor.min(area.width.saturating_sub(1)),
            area.y,
        );
        frame.render_widget(Paragraph::new(self.lines), area);
        if cursor && area.height > 0 {
            frame.set_cursor_position(at);
        }
    }
}

/// A verdict with limit, why and source.
pub(super) fn verdict_lines(
    state: &State,
    finding: &Finding,
    lead: &str,
    source: &str,
    width: usize,
) -> Vec<Line<'static>> {
    let verdict = finding.verdict;
    let look = style::verdict(verdict, state.colour);
    let head = format!("{} {verdict}", verdict.mark());
    let mut lines = vec![Line::from(vec![
        Span::raw(text::pad(lead, 10)),
        Span::styled(format!(" {head} "), look),
        Span::raw(format!("  limit {}", finding.limit_text())),
        Span::raw(finding.margin.as_ref().map_or(String::new(), |m| {
            format!("  margin {}", finding.unit.with(m))
        })),
    ])];
    lines.extend(text::hanging(
        "because",
        style::label(),
        &finding.why,
        Style::new(),
        width,
    ));
    if finding.mark.is_some() {
        lines.extend(text::hanging(
            "source",
            style::label(),
            source,
            Style::new(),
            width,
        ));
    }
    lines
}

fn kept_lines(state: &State, place: &Place, finding: &Finding, width: usize) -> Vec<Line<'static>> {
    let Some(entry) = state.job.entry(place) else {
        return Vec::new();
    };
    let name = state
        .job
        .person(&entry.now.by)
        .map_or(entry.now.by.as_str(), |p| p.name.as_str());
    let struck = match entry.struck.len() {
        0 => String::new(),
        n => format!(", {n} struck out"),
    };
    let text = format!(
        "{} by {name}, {}{struck}{}",
        finding.value_text(),
        entry.now.at.format("%-d %b %H:%M"),
        signed(state, &entry.now)
    );
    let mut lines = text::hanging("kept", style::strong(), &text, style::strong(), width);
    lines.extend(brought_lines(&entry.now, width));
    lines.extend(verdict_lines(
        state,
        finding,
        "",
        &finding.source_short(),
        width,
    ));
    lines
}

/// The file that a reading was brought in from; nothing for a typed one.
fn brought_lines(reading: &Entered, width: usize) -> Vec<Line<'static>> {
    let Some(brought) = &reading.brought else {
        return Vec::new();
    };
    let words = brought.words();
    text::hanging("brought", style::label(), &words, Style::new(), width)
}

/// Who countersigned a reading and when, or that nobody did yet.
fn signed(state: &State, reading: &Entered) -> String {
    match &reading.countersigned {
        Some(sign) => {
            let name = state.job.person(&sign.by).map_or(&sign.by, |p| &p.name);
            let at = sign.at.format("%-d %b %H:%M");
            format!(", countersigned by {name} {at}")
        }
        None if state.job.waits_for_countersign(reading) => ", to countersign (c)".into(),
        None => String::new(),
    }
}

/// Who entered what an apprentice entered, who countersigned it, and which file it came from; nothing for anything else.
pub(super) fn signed_lines(state: &State, finding: &Finding, width: usize) -> Vec<Line<'static>> {
    let entry = state.job.entry(&finding.place);
    let Some(entry) = entry.filter(|_| finding.value.is_some()) else {
        return Vec::new();
    };
    let mut lines = Vec::new();
    let signed = signed(state, &entry.now);
    if !signed.is_empty() {
        let by = &entry.now.by;
        let name = state.job.person(by).map_or(by, |p| &p.name);
        let text = format!("by {name}{signed}");
        lines = text::hanging("entered", style::label(), &text, Style::new(), width);
    }
    lines.extend(brought_lines(&entry.now, width));
    lines
}

fn hint(state: &State, place: &Place) -> String {
    if !state.field.is_empty() {
        return "Enter keeps it, Esc drops it".into();
    }
    match place.test.answer() {
        Answer::PassFail => "y in order   f found wanting   then Enter".into(),
        Answer::Text => {
            let ask = state
                .job
                .seat(place)
                .and_then(|seat| {
                    state
                        .forms
                        .walk()
                        .step(seat.owner.kind(), place.test)
                        .map(|s| s.ask.clone())
                })
                .filter(|a| !a.is_empty());
            ask.unwrap_or_else(|| "type it, then Enter".into())
        }
        Answer::List | Answer::SignedList => "spaces between, then Enter".into(),
        _ => "type the number, then Enter".into(),
    }
}

/// What is being typed, without its first columns.
pub(super) fn skip_columns(text: &str, columns: usize) -> String {
    let mut gone = 0;
    ascii::typed(text)
        .chars()
        .skip_while(|c| {
            let skip = gone < columns;
            gone += unicode_width::UnicodeWidthChar::width(*c).unwrap_or(0);
            skip
        })
        .collect()
}

pub(super) fn clip(text: &str, columns: usize) -> String {
    let mut used = 0;
    text.chars()
        .take_while(|c| {
            used += unicode_width::UnicodeWidthChar::width(*c).unwrap_or(0);
            used <= columns
        })
        .collect()
}
