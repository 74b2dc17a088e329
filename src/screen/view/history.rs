//! The history: who changed what, when, from what to what; the newest first, and whether its chain is whole.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use crate::job::Deed;
use crate::screen::state::State;

use super::{style, text};

/// Draws the list and the selected deed in full.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let width = usize::from(area.width).saturating_sub(2);
    let history = &state.job.history;
    let all = history.len();
    let deed = history.iter().rev().nth(state.past.deed);
    let mut detail = vec![Line::from(text::ruled("", width))];
    if let Some(deed) = deed {
        detail.extend(in_full(state, deed, all - state.past.deed.min(all), width));
    }
    let chain = chain(state, width);
    let [head, list, foot] = Layout::vertical([
        Constraint::Length(u16::try_from(chain.len() + 1).unwrap_or(2)),
        Constraint::Min(0),
        Constraint::Length(u16::try_from(detail.len()).unwrap_or(1)),
    ])
    .horizontal_margin(1)
    .areas(area);
    let entries = match all {
        1 => "1 entry, the newest first".to_string(),
        n => format!("{n} entries, the newest first"),
    };
    let mut first = vec![Line::styled(
        text::ends("History", &entries, width),
        style::strong(),
    )];
    first.extend(chain);
    frame.render_widget(Paragraph::new(first), head);
    if all == 0 {
        let nothing = "Nothing yet: everything that is kept, put back, countersigned, edited or issued from now on is listed here. \
                       Nothing in it can be changed or taken out.";
        let lines: Vec<Line<'static>> = text::wrap(nothing, width)
            .into_iter()
            .map(Line::from)
            .collect();
        frame.render_widget(Paragraph::new(lines), list);
        return;
    }
    let rows = usize::from(list.height);
    let top = text::window(state.past.deed, rows, all);
    let below = all.saturating_sub(top + rows);
    if let Some(rule) = detail.first_mut().filter(|_| below > 0) {
        *rule = Line::from(text::ruled(&format!("{below} more lines: Down"), width));
    }
    let broken = state.past.broken.as_ref().map(|b| b.at);
    let shown: Vec<Line<'static>> = history
        .iter()
        .rev()
        .enumerate()
        .skip(top)
        .take(rows)
        .map(|(i, deed)| {
            line(
                deed,
                i == state.past.deed,
                broken == Some(all - i),
                state,
                width,
            )
        })
        .collect();
    frame.render_widget(Paragraph::new(shown), list);
    text::point(frame, list, state.past.deed, top);
    frame.render_widget(Paragraph::new(detail), foot);
}

/// Whether the chain is whole.
fn chain(state: &State, width: usize) -> Vec<Line<'static>> {
    let history = &state.job.history;
    match &state.past.broken {
        Some(broken) => text::wrap(&format!("! CHAIN BROKEN: {}", broken.why), width)
            .into_iter()
            .map(|l| Line::styled(l, style::caution(state.colour)))
            .collect(),
        None if history.is_empty() => vec![Line::from(text::ruled("", width))],
        None => vec![Line::from(text::cut(
            &format!(
                "chain whole, last digest {}; it finds damage and careless edits, it is no signature",
                history.head().get(..8).unwrap_or_default()
            ),
            width,
        ))],
    }
}

fn line(deed: &Deed, selected: bool, broken: bool, state: &State, width: usize) -> Line<'static> {
    let pointer = if selected { ">" } else { " " };
    let mark = if broken { "!" } else { " " };
    let look = if broken {
        style::caution(state.colour)
    } else {
        Style::new()
    };
    let (by, what) = if width < 100 { (5, 17) } else { (12, 30) };
    let head = format!(
        "{} {} {} {} ",
        deed.at.format("%Y-%m-%d %H:%M"),
        text::pad(&deed.by, by),
        text::pad(deed.done.name(), 13),
        text::pad(&deed.what, what)
    );
    let room = width.saturating_sub(3 + text::columns(&head));
    Line::from(vec![
        Span::styled(format!("{pointer}{mark} "), style::strong()),
        Span::styled(format!("{head}{}", text::cut(&deed.change(), room)), look),
    ])
}

fn in_full(state: &State, deed: &Deed, number: usize, width: usize) -> Vec<Line<'static>> {
    let who = state
        .job
        .person(&deed.by)
        .map_or(deed.by.as_str(), |p| p.called());
    let first = format!(
        "{number}. {} {} by {who}, {}",
        deed.what,
        deed.done.name(),
        deed.at.format("%-d %b %Y %H:%M:%S %:z")
    );
    let mut lines: Vec<Line<'static>> = text::wrap(&first, width)
        .into_iter()
        .map(|l| Line::styled(l, style::strong()))
        .collect();
    let mut told = text::wrap(&deed.change(), width);
    if told.len() > 5 {
        told.truncate(4);
        told.push("-- more: wanderlead history JOB --".into());
    }
    lines.extend(told.into_iter().map(Line::from));
    lines
}
