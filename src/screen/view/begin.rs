//! The list of jobs and starters.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Position};
use ratatui::text::{Line as Row, Span};
use ratatui::widgets::Paragraph;
use unicode_width::UnicodeWidthStr;

use crate::screen::begin::{Begin, Line};
use crate::screen::keys::{KEYS, When};
use crate::store::JobEntry;

use crate::screen::state::{COLUMNS, LINES};

use super::{ascii, reading, style, text, too_small};

/// Most lines of a message: what is wrong in a job file may be long, and the list has to stay on the screen.
const MESSAGE_LINES: usize = 10;
const ASKED: &str = "file name: ";

/// Draws the list.
pub fn draw_begin(frame: &mut Frame<'_>, begin: &Begin) {
    let _drawing = ascii::drawing(begin.ascii);
    draw_parts(frame, begin);
    if begin.ascii {
        ascii::finish(frame.buffer_mut());
    }
}

fn draw_parts(frame: &mut Frame<'_>, begin: &Begin) {
    let area = frame.area();
    if area.width < COLUMNS || area.height < LINES {
        too_small(frame, area);
        return;
    }
    let width = usize::from(area.width).saturating_sub(2);
    let mut said_lines = text::wrap(&begin.message, width);
    if said_lines.len() > MESSAGE_LINES {
        said_lines.truncate(MESSAGE_LINES - 1);
        said_lines.push("-- more: `wanderlead check` on the file says it all --".into());
    }
    let said_lines: Vec<Row<'static>> = said_lines.into_iter().map(Row::from).collect();
    let [header, list, asked, said, footer] = Layout::vertical([
        Constraint::Length(2),
        Constraint::Min(0),
        Constraint::Length(1),
        Constraint::Length(u16::try_from(said_lines.len()).unwrap_or(2)),
        Constraint::Length(1),
    ])
    .areas(area);
    let title = text::pad(
        &format!(" Jobs in {}", begin.folder.display()),
        usize::from(area.width),
    );
    frame.render_widget(Paragraph::new(Row::styled(title, style::bar())), header);
    let rows = usize::from(list.height);
    let top = text::window(begin.selected, rows, begin.lines.len());
    // As wide as the longest name, so that titles have the rest.
    let names = begin.lines.iter().map(|line| match line {
        Line::Job(e) => text::columns(&file_name(e)),
        Line::New { name, .. } => text::columns(name) + 5,
    });
    let column = names.max().unwrap_or(0).min(26);
    let lines: Vec<Row<'static>> = begin
        .lines
        .iter()
        .enumerate()
        .skip(top)
        .take(rows)
        .map(|(i, line)| {
            let words = match line {
                Line::Job(e) => {
                    let name = file_name(e);
                    let what = e.trouble.clone().map_or_else(
                        || format!("{}  {}", e.reference, e.title),
                        |t| format!("can't be read: {t}"),
                    );
                    format!("{}  {what}", text::pad(&name, column))
                }
                Line::New { name, about } => {
                    format!("{}  {about}", text::pad(&format!("new: {name}"), column))
                }
            };
            let selected = i == begin.selected;
            let shown = text::cut(
                &format!("{} {words}", if selected { ">" } else { " " }),
                width,
            );
            if selected {
                Row::styled(shown, style::strong())
            } else {
                Row::from(shown)
            }
        })
        .collect();
    frame.render_widget(Paragraph::new(lines), list);
    text::point(frame, list, begin.selected, top);
    if let Some((field, _)) = &begin.naming {
        let column = ASKED.width() + field.cursor_column();
        let skip = column.saturating_sub(width);
        let line = reading::skip_columns(&format!("{ASKED}{}", field.text()), skip);
        frame.render_widget(Paragraph::new(line), asked);
        frame.set_cursor_position(Position::new(
            asked.x + u16::try_from(column - skip).unwrap_or(0),
            asked.y,
        ));
    }
    frame.render_widget(Paragraph::new(said_lines), said);
    let keys: Vec<(&str, &str)> = if begin.naming.is_some() {
        vec![("Enter", "make it"), ("Esc", "back"), ("F10", "leave")]
    } else {
        let listed = KEYS
            .iter()
            .filter(|k| k.when == When::Begin && !k.short.is_empty());
        listed.map(|k| (k.shown, k.short)).collect()
    };
    let spans: Vec<Span<'static>> = keys
        .into_iter()
        .flat_map(|(key, what)| {
            [
                Span::styled(format!(" {key}"), style::strong()),
                Span::raw(format!(" {what}  ")),
            ]
        })
        .collect();
    frame.render_widget(Paragraph::new(Row::from(spans)), footer);
}

fn file_name(entry: &JobEntry) -> String {
    let name = entry.path.file_name().unwrap_or_default();
    name.to_string_lossy().into_owned()
}
