//! The walk: one step, what to connect, what to expect, the limit, then the field.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use crate::checks::Rule;
use crate::guide::{Order, Step, wording};
use crate::job::{Cpc, Function, Need, Owner, Unit};
use crate::screen::state::{COLUMNS, State};

use super::{meters, reading, style, text};

/// Draws the step the walk is at.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let Some(step) = state.step() else {
        frame.render_widget(
            Paragraph::new(
                "This job has no steps: F9 opens the record, add boards or arrays there.",
            ),
            area,
        );
        return;
    };
    let area = beside(frame, area, state);
    let width = usize::from(area.width).saturating_sub(2);
    let reading = reading::lay_out(state, &step.place, width);
    let title = head_lines(state, step, width);
    let [head, middle, foot] = Layout::vertical([
        Constraint::Length(u16::try_from(title.len()).unwrap_or(3)),
        Constraint::Min(0),
        Constraint::Length(u16::try_from(reading.height()).unwrap_or(1) + 1),
    ])
    .horizontal_margin(1)
    .areas(area);
    frame.render_widget(Paragraph::new(title), head);
    draw_text(frame, middle, body_lines(state, step, width), state.scroll);
    let [rule, field] = Layout::vertical([Constraint::Length(1), Constraint::Min(0)]).areas(foot);
    frame.render_widget(Paragraph::new(text::ruled("", width)), rule);
    reading.draw(frame, field, state.choice.is_none());
}

/// Where there is room, draws the steps around this one on the right; returns what is left of the area.
fn beside(frame: &mut Frame<'_>, area: Rect, state: &State) -> Rect {
    const LIST: u16 = 36;
    if area.width < COLUMNS + LIST {
        return area;
    }
    let [main, list] =
        Layout::horizontal([Constraint::Min(0), Constraint::Length(LIST)]).areas(area);
    let rows = usize::from(list.height);
    let steps = state.plan.steps();
    let top = text::window(state.at, rows, steps.len());
    let lines: Vec<Line<'static>> = steps
        .iter()
        .enumerate()
        .skip(top)
        .take(rows)
        .map(|(i, step)| {
            let verdict = state.verdicts.of(&step.place);
            let pointer = if i == state.at { ">" } else { " " };
            let optional = step.need == Need::Optional && state.finding(&step.place).is_none();
            let mark = if optional { ' ' } else { verdict.mark() };
            Line::from(vec![
                Span::raw(format!("│{pointer}")),
                Span::styled(format!("{mark} "), style::verdict(verdict, state.colour)),
                Span::raw(text::cut(&step.place.to_string(), usize::from(LIST) - 5)),
            ])
        })
        .collect();
    frame.render_widget(Paragraph::new(lines), list);
    main
}

fn head_lines(state: &State, step: &Step, width: usize) -> Vec<Line<'static>> {
    let (stage, name) = wording(&state.forms, step)
        .map_or(("", step.place.test.heading()), |(s, t)| {
            (s.name.as_str(), t.name.as_str())
        });
    let optional = if step.need == Need::Optional {
        " (optional)"
    } else {
        ""
    };
    let way = match state.order {
        Order::ByPlace => "",
        Order::ByTest => "test by test, ",
    };
    let at = format!("{way}step {} of {}", state.at + 1, state.plan.steps().len());
    let owner = owner_details(state, step);
    let title = if owner.is_empty() {
        step.title.clone()
    } else {
        format!("{} · {owner}", step.title)
    };
    let mut lines = vec![Line::styled(
        text::ends(&format!("{stage} · {name}{optional}"), &at, width),
        style::strong(),
    )];
    // A name longer than two lines must not push the caution and the limit off the screen.
    let mut title = text::wrap(&title, width);
    if title.len() > 2 {
        title.truncate(2);
        if let Some(last) = title.last_mut() {
            *last = text::cut(&format!("{last} …"), width);
        }
    }
    lines.extend(title.into_iter().map(Line::from));
    lines.push(Line::from(text::ruled(&step.place.to_string(), width)));
    lines
}

/// Device, RCD and cable of a circuit; modules of a string or branch.
fn owner_details(state: &State, step: &Step) -> String {
    let Some(seat) = state.job.seat(&step.place) else {
        return String::new();
    };
    let mut parts = Vec::new();
    match seat.owner {
        Owner::Circuit(_, c) => {
            parts.extend(c.device.as_ref().map(|d| d.describe()));
            parts.extend(c.rcd.as_ref().map(|r| r.describe()));
            if let Some(cable) = &c.cable {
                let cpc = match cable.cpc {
                    Cpc::Copper(mm2) => mm2.normalize().to_string(),
                    Cpc::Armour(_) => "armour".into(),
                };
                parts.push(format!("{}/{cpc} mm²", cable.line_mm2.normalize()));
                parts.extend(cable.length_m.map(|l| format!("{} m", l.normalize())));
            }
        }
        Owner::PvString(a, s) => parts.push(format!("{} × {}", s.modules.len(), a.module.make)),
        Owner::Branch(a, b) => parts.push(format!("{} × {}", b.units.len(), a.module.make)),
        Owner::Bond(b) => parts.push(format!("{} mm²", b.mm2.normalize())),
        _ => {}
    }
    parts.join(" · ")
}

fn body_lines(state: &State, step: &Step, width: usize) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    let Some((stage, words)) = wording(&state.forms, step) else {
        return lines;
    };
    let Some(seat) = state.job.seat(&step.place) else {
        return lines;
    };
    let mut add = |label: &str, text_: &str, style_: Style| {
        if !text_.is_empty() {
            lines.extend(text::hanging(label, style::label(), text_, style_, width));
        }
    };
    let caution = style::caution(state.colour);
    if !words.caution.is_empty() {
        add("CAUTION", &words.caution, caution);
    } else if stage.live {
        add(
            "CAUTION",
            "Live work: nobody but a competent person, and never alone.",
            caution,
        );
    }
    add("connect", &words.connect, Style::new());
    if let Owner::Label(label) = seat.owner
        && let Some(label) = state.forms.labels().get(label.kind)
    {
        add("says", &label.says, style::strong());
        add("where", &label.fix, Style::new());
    }
    let instrument = state
        .instrument_for(step.place.test)
        .and_then(|id| state.job.instrument(&id));
    let setting = match (words.setting.as_str(), instrument) {
        (set, Some(i)) if Function::of(step.place.test).is_some() => {
            let between = if set.is_empty() { "" } else { " · " };
            format!("{set}{between}with {} (F7 changes it)", i.id)
        }
        (set, _) => set.to_string(),
    };
    add("set", &setting, Style::new());
    let judge = state.checks();
    match judge.rule(&seat, step.place.test) {
        Ok(rule) => {
            add(
                "expect",
                rule.expected.as_deref().unwrap_or(""),
                Style::new(),
            );
            add(
                "limit",
                &limit_text(&rule, step.place.test.unit()),
                style::strong(),
            );
        }
        Err(missing) => add("limit", &missing.to_string(), style::strong()),
    }
    let table = meters::table(state, &step.place, width);
    let mut after = Vec::new();
    for (label, text_) in [("put back", &words.put_back), ("why", &words.why)] {
        if !text_.is_empty() {
            after.extend(text::hanging(
                label,
                style::label(),
                text_,
                Style::new(),
                width,
            ));
        }
    }
    lines.extend(table);
    lines.extend(after);
    lines
}

fn limit_text(rule: &Rule, unit: Unit) -> String {
    // What a label says stands above.
    let how = rule.how.split("; it says: ").next().unwrap_or_default();
    let limit = rule.bound.shown(unit).unwrap_or_else(|| "none".into());
    let source = rule.source.as_ref().map_or(String::new(), |s| {
        let edition = match s.edition.as_str() {
            "" | "none" => String::new(),
            edition => format!(", {edition}"),
        };
        format!(" · {} [{}]{edition}", s.short(), s.mark)
    });
    format!("{limit} · {how}{source}")
}

/// Draws lines that may be more than fit, with a note of what is hidden.
pub(super) fn draw_text(
    frame: &mut Frame<'_>,
    area: Rect,
    lines: Vec<Line<'static>>,
    scroll: usize,
) {
    let room = usize::from(area.height);
    if lines.len() <= room {
        frame.render_widget(Paragraph::new(lines), area);
        return;
    }
    let room = room.saturating_sub(1);
    let first = scroll.min(lines.len() - room.min(lines.len()));
    let hidden = lines.len().saturating_sub(first + room);
    let mut shown: Vec<Line<'static>> = lines.into_iter().skip(first).take(room).collect();
    let note = match (first, hidden) {
        (0, h) => format!("-- {h} more lines: PgDn --"),
        (f, 0) => format!("-- {f} lines above: PgUp --"),
        (f, h) => format!("-- {f} lines above: PgUp, {h} below: PgDn --"),
    };
    shown.push(Line::from(vec![Span::styled(note, style::strong())]));
    frame.render_widget(Paragraph::new(shown), area);
}
