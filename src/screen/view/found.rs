//! What opening the job found: what it was, what was brought back, what is in doubt, where copies are, what to do.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::Line;
use ratatui::widgets::Paragraph;

use crate::screen::state::State;
use crate::store::Found;

use super::{ascii, style, text, walk};

/// Draws the page.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let width = usize::from(area.width).saturating_sub(2);
    let [head, body] = Layout::vertical([Constraint::Length(2), Constraint::Min(0)])
        .horizontal_margin(1)
        .areas(area);
    let aside = match (state.past.waits, state.past.found.len()) {
        (true, _) => "to decide: Enter".to_string(),
        (false, 0) => String::new(),
        (false, 1) => "1 thing".to_string(),
        (false, n) => format!("{n} things"),
    };
    frame.render_widget(
        Paragraph::new(vec![
            Line::styled(
                text::ends("Found when this job was opened", &aside, width),
                style::strong(),
            ),
            Line::from(text::ruled("", width)),
        ]),
        head,
    );
    walk::draw_text(frame, body, lines(state, width), state.past.line);
}

/// How many lines the page has in this window.
pub fn found_length(state: &State) -> usize {
    let _drawing = ascii::drawing(state.ascii);
    lines(state, usize::from(state.size.0).saturating_sub(2)).len()
}

fn lines(state: &State, width: usize) -> Vec<Line<'static>> {
    if state.past.found.is_empty() {
        let nothing = "Nothing: the job file was whole, as it was saved, and the journal held nothing that it lacked.";
        return text::wrap(nothing, width)
            .into_iter()
            .map(Line::from)
            .collect();
    }
    let mut lines = Vec::new();
    for (i, found) in state.past.found.iter().enumerate() {
        if i > 0 {
            lines.push(Line::default());
        }
        lines.extend(of_one(state, found, width));
    }
    lines
}

fn of_one(state: &State, found: &Found, width: usize) -> Vec<Line<'static>> {
    let mut lines = text::hanging("found", style::label(), &found.what, style::strong(), width);
    for change in &found.changes {
        let who = state
            .job
            .person(&change.by)
            .map_or(change.by.as_str(), |p| p.called());
        let told = format!(
            "{}  {}  by {who}, {}",
            change.what,
            change.value,
            change.at.format("%-d %b %Y %H:%M")
        );
        lines.extend(text::hanging(
            "",
            style::label(),
            &told,
            Style::new(),
            width,
        ));
    }
    let mut say = |label: &str, told: &str, look: Style| {
        if !told.is_empty() {
            lines.extend(text::hanging(label, style::label(), told, look, width));
        }
    };
    say("in doubt", &found.doubt, style::caution(state.colour));
    say("copies", &found.copies.join(", "), Style::new());
    say("to do", &found.todo, Style::new());
    lines
}
