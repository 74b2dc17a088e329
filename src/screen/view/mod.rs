//! Drawing. Everything is read from the state; nothing is changed.

mod ascii;
mod begin;
mod bring;
mod choice;
mod find;
mod form;
mod found;
mod help;
mod history;
mod learn;
mod left;
mod map;
mod meters;
mod reading;
mod record;
mod sheet;
mod style;
mod text;
mod walk;
mod why;

pub use begin::draw_begin;
pub use found::found_length;
pub use help::{help_length, help_lines};
pub use learn::learn_length;
pub use why::why_length;

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::{Clear, Paragraph};
use unicode_width::UnicodeWidthStr;

use super::keys::{Action, KEYS, Key, When};
use super::state::{COLUMNS, LINES, State, View};

/// Most lines of a message: the field and its verdict have to stay on the screen.
const MESSAGE_LINES: usize = 6;

/// Draws the whole screen.
pub fn draw(frame: &mut Frame<'_>, state: &State) {
    let _drawing = ascii::drawing(state.ascii);
    draw_parts(frame, state);
    if state.ascii {
        ascii::finish(frame.buffer_mut());
    }
}

fn draw_parts(frame: &mut Frame<'_>, state: &State) {
    let area = frame.area();
    if area.width < COLUMNS || area.height < LINES {
        too_small(frame, area);
        return;
    }
    let message = message_lines(state, area.width.into());
    let [header, body, said, footer] = Layout::vertical([
        Constraint::Length(1),
        Constraint::Min(0),
        Constraint::Length(u16::try_from(message.len()).unwrap_or(1)),
        Constraint::Length(2),
    ])
    .areas(area);
    draw_header(frame, header, state);
    match state.view {
        View::Walk => walk::draw(frame, body, state),
        View::Sheet => sheet::draw(frame, body, state),
        View::Left => left::draw(frame, body, state),
        View::Record => record::draw(frame, body, state),
        View::Form => form::draw(frame, body, state),
        View::Find => find::draw(frame, body, state),
        View::Map => map::draw(frame, body, state),
        View::Bring => bring::draw(frame, body, state),
        View::Why => why::draw(frame, body, state),
        View::Learn => learn::draw(frame, body, state),
        View::Found => found::draw(frame, body, state),
        View::History => history::draw(frame, body, state),
        View::Help => help::draw(frame, body, state),
    }
    if let Some(open) = &state.choice {
        choice::draw(frame, body, open);
    }
    frame.render_widget(Paragraph::new(message), said);
    frame.render_widget(
        Paragraph::new(footer_lines(state, footer.width.into())),
        footer,
    );
}

fn draw_header(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let who = state.job.person(&state.who).map_or_else(
        || state.who.clone(),
        |p| format!("{} ({})", text::cut(p.called(), 24), p.role.name()),
    );
    let (done, all) = state.progress();
    let closed = match (&state.lost, &state.read_only) {
        (Some(_), _) => "RECORD NOT WHOLE  ",
        (None, Some(_)) => "READ ONLY  ",
        (None, None) => "",
    };
    let right = format!("{closed}{who}  {done} of {all} ");
    let left = format!(" {}  {}", state.job.reference, state.job.title);
    let line = text::ends(&left, &right, area.width.into());
    frame.render_widget(Paragraph::new(Line::styled(line, style::bar())), area);
}

/// Lines of a scrolling page about a place that the window shows: header, title, message, keys and the note of what is
/// hidden take the rest.
pub fn page_room(state: &State) -> usize {
    let said = message_lines(state, state.size.0.into()).len();
    usize::from(state.size.1).saturating_sub(said + 6)
}

fn message_lines(state: &State, width: usize) -> Vec<Line<'static>> {
    let mark = if state.message.error { "! " } else { "  " };
    let emphasis = if state.message.error {
        style::caution(state.colour)
    } else {
        Style::new()
    };
    let mut lines = text::wrap(&state.message.text, width.saturating_sub(3));
    if lines.len() > MESSAGE_LINES {
        lines.truncate(MESSAGE_LINES - 1);
        lines.push("-- more: F1, at the end of the list --".to_string());
    }
    lines
        .into_iter()
        .enumerate()
        .map(|(i, l)| Line::styled(format!("{}{l}", if i == 0 { mark } else { "  " }), emphasis))
        .collect()
}

/// Keys that count now, whole entries only, in two lines.
fn footer_lines(state: &State, width: usize) -> Vec<Line<'static>> {
    let now = state.places();
    let keys = now.iter().flat_map(|w| {
        KEYS.iter()
            .filter(move |k| k.when == *w && !k.short.is_empty())
    });
    let here = match state.view {
        View::Walk => Action::ShowWalk,
        View::Sheet => Action::ShowSheet,
        View::Left => Action::ShowLeft,
        View::Record | View::Form => Action::ShowRecord,
        View::Find => Action::Find,
        View::Map => Action::ShowMap,
        View::Bring => Action::Bring,
        View::Why => Action::Why,
        View::Learn => Action::Learn,
        View::Found => Action::ShowFound,
        View::History => Action::ShowHistory,
        View::Help => Action::Help,
    };
    let keys: Vec<&Key> = keys.filter(|k| k.action != here).collect();
    // Help and the way out stand at the end of the second line, whatever else has room.
    let last: Vec<&Key> = [Action::Help, Action::Leave]
        .iter()
        .filter_map(|a| keys.iter().copied().find(|k| k.action == *a))
        .collect();
    // What Enter does to what was found depends on whether anything is to be decided.
    let word = |key: &Key| match (key.when, key.action) {
        (When::Found, Action::Take) if !state.past.waits => "back",
        _ => key.short,
    };
    let width_of = |key: &Key| key.shown.width() + word(key).width() + 4;
    let taken: usize = last.iter().map(|k| width_of(k)).sum();
    let mut room = [width, width.saturating_sub(taken)];
    let mut shown: [Vec<&Key>; 2] = [Vec::new(), Vec::new()];
    let mut seen: Vec<&Key> = last.clone();
    for key in keys {
        let twice = |k: &&Key| k.shown == key.shown || k.short == key.short;
        if seen.iter().any(twice) {
            continue;
        }
        let need = width_of(key);
        let free = room.iter_mut().zip(&mut shown).find(|(r, _)| **r >= need);
        if let Some((room, line)) = free {
            *room -= need;
            line.push(key);
            seen.push(key);
        }
    }
    let [first, mut second] = shown;
    second.extend(last);
    [first, second]
        .into_iter()
        .map(|keys| {
            let mut line = Line::default();
            for key in keys {
                line.push_span(Span::styled(format!(" {}", key.shown), style::strong()));
                line.push_span(Span::raw(format!(" {}  ", word(key))));
            }
            line
        })
        .collect()
}

fn too_small(frame: &mut Frame<'_>, area: Rect) {
    let words = format!(
        "This window is {} by {}; wanderlead needs {COLUMNS} by {LINES}. Make it larger. Every reading kept is on disk. F10 leaves.",
        area.width, area.height
    );
    let lines: Vec<Line<'static>> = text::wrap(&words, usize::from(area.width))
        .into_iter()
        .map(Line::from)
        .collect();
    frame.render_widget(Clear, area);
    frame.render_widget(Paragraph::new(lines), area);
}
