//! The page of reasons: how the limit at hand was made, and every entry it goes by.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::Line;
use ratatui::widgets::Paragraph;

use crate::checks::{Finding, explain};
use crate::screen::state::State;

use super::{ascii, style, text, walk};

/// Draws the page for the place it was opened on.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let width = usize::from(area.width).saturating_sub(2);
    let [head, body] = Layout::vertical([Constraint::Length(2), Constraint::Min(0)])
        .horizontal_margin(1)
        .areas(area);
    let Some((finding, typed)) = state.reasons() else {
        frame.render_widget(Paragraph::new("This place is not in the job."), head);
        return;
    };
    let owner = state
        .job
        .seat(&finding.place)
        .map_or(String::new(), |s| s.title());
    let title = format!("Why: {} · {owner}", finding.place.test.heading());
    let aside = match (typed, state.bring.preview.is_some()) {
        (true, true) => "of the file, not kept yet",
        (true, false) => "typed, not kept yet",
        (false, _) => "",
    };
    frame.render_widget(
        Paragraph::new(vec![
            Line::styled(text::ends(&title, aside, width), style::strong()),
            Line::from(text::ruled(&finding.place.to_string(), width)),
        ]),
        head,
    );
    walk::draw_text(frame, body, lines(state, &finding, width), state.why_line);
}

/// How many lines the page has in this window.
pub fn why_length(state: &State) -> usize {
    let _drawing = ascii::drawing(state.ascii);
    let width = usize::from(state.size.0).saturating_sub(2);
    state
        .reasons()
        .map_or(0, |(finding, _)| lines(state, &finding, width).len())
}

fn lines(state: &State, finding: &Finding, width: usize) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    for told in explain(finding) {
        let look = match told.label {
            "verdict" => style::verdict(finding.verdict, state.colour),
            "goes by" | "and by" | "limit" => style::strong(),
            _ => Style::new(),
        };
        lines.extend(text::hanging(
            told.label,
            style::label(),
            &told.text,
            look,
            width,
        ));
    }
    lines
}
