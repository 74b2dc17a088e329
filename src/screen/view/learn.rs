//! The learn page: why a test is done, what good looks like, what goes wrong, what can hurt, and the limit at hand.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::Line;
use ratatui::widgets::Paragraph;

use crate::checks::Finding;
use crate::forms::Page;
use crate::screen::state::State;

use super::{style, text, walk};

/// Draws the page for the place it was opened on.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let width = usize::from(area.width).saturating_sub(2);
    let [head, body] = Layout::vertical([Constraint::Length(2), Constraint::Min(0)])
        .horizontal_margin(1)
        .areas(area);
    let Some((place, _)) = &state.learn.of else {
        return;
    };
    let name = page(state).map_or(place.test.heading(), |p| p.name.as_str());
    let owner = state.job.seat(place).map_or(String::new(), |s| s.title());
    frame.render_widget(
        Paragraph::new(vec![
            Line::styled(
                text::ends(&format!("Learn · {name} · {owner}"), "", width),
                style::strong(),
            ),
            Line::from(text::ruled(&place.to_string(), width)),
        ]),
        head,
    );
    walk::draw_text(frame, body, lines(state, width), state.learn.line);
}

/// How many lines the page has in this window.
pub fn learn_length(state: &State) -> usize {
    lines(state, usize::from(state.size.0).saturating_sub(2)).len()
}

fn page(state: &State) -> Option<&Page> {
    let (place, _) = state.learn.of.as_ref()?;
    let seat = state.job.seat(place)?;
    state.forms.learn().page(seat.owner.kind(), place.test)
}

fn lines(state: &State, width: usize) -> Vec<Line<'static>> {
    let Some((place, from)) = &state.learn.of else {
        return Vec::new();
    };
    let Some(page) = page(state) else {
        return vec![Line::from("The form files have no page about this.")];
    };
    let mut lines = Vec::new();
    for (heading, said) in page.parts() {
        lines.push(Line::styled(heading, style::strong()));
        lines.extend(text::wrap(said, width).into_iter().map(Line::from));
    }
    lines.push(Line::from(text::ruled("", width)));
    if let Some((finding, typed)) = state.explained(place, *from) {
        let look = style::verdict(finding.verdict, state.colour);
        let read = match (&finding.value, typed) {
            (None, _) => String::new(),
            (Some(_), true) if state.bring.preview.is_some() => {
                " (of the file, not kept yet)".into()
            }
            (Some(_), true) => " (typed, not kept yet)".into(),
            (Some(_), false) => " ".into(),
        };
        lines.extend(text::hanging(
            "here",
            style::label(),
            &limit(&finding),
            style::strong(),
            width,
        ));
        if !read.is_empty() {
            let said = format!(
                "{}{}  {} {}",
                finding.value_text(),
                read.trim_end(),
                finding.verdict.mark(),
                finding.verdict
            );
            lines.extend(text::hanging("reading", style::label(), &said, look, width));
        }
    }
    let origin = &state.forms.learn().origin;
    lines.extend(text::hanging(
        "origin",
        style::label(),
        origin,
        Style::new(),
        width,
    ));
    lines
}

/// Limit and expectation, as computed for the place.
fn limit(finding: &Finding) -> String {
    let limit = match &finding.limit {
        None => "no limit".to_string(),
        Some(_) => format!("limit {}", finding.limit_text()),
    };
    let expected = match finding.expected.as_str() {
        "" => String::new(),
        expected => format!(" · expect {expected}"),
    };
    format!("{limit}{expected} · F8 shows how it is made")
}
