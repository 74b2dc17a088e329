//! Charts of readings where the eye finds quicker than a table which one stands out.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use crate::checks::{Finding, Verdict};
use crate::job::{Array, Board, Branch, Owner, Place, PvString, Seat, Test, Value};
use crate::paper::flow::Block;
use crate::paper::page::{Area, Grey};

use super::canvas::{Canvas, Fitter, TALLEST, count};
use super::sheet::Sheet;
use super::words;

/// Width of a column of bars with its words, and room between two of them, in mm.
const COLUMN: f64 = 129.0;
const BETWEEN: f64 = 7.0;
/// Where bars start in a column, and how long the whole scale is, in mm.
const AREA: f64 = 42.0;
const LONG: f64 = 46.0;
/// Room for the value behind the scale, in mm.
const VALUE: f64 = COLUMN - AREA - LONG - 3.0;
/// Height of a bar with the room around it, and of the words over them, in mm.
const ROW: f64 = 3.7;
const HEAD: f64 = 5.6;
/// Where no circuit reaches this share of its limit, in percent, a chart shows nothing that the table doesn't.
const WORTH_A_LOOK: f64 = 20.0;
/// Shade of bars, and of what is allowed.
const BAR: f64 = 0.5;
const ALLOWED: f64 = 0.88;

/// A value on its way to a bar.
#[derive(Debug, Default)]
struct Bar {
    name: String,
    /// In percent of what the chart compares with; `None` where there is nothing to draw.
    percent: Option<f64>,
    /// From and to which percentage it may be; `None` where nothing limits it.
    band: Option<(f64, f64)>,
    said: String,
}

/// Bars that are compared with the same.
struct Chart {
    title: String,
    /// What stands at 100 %.
    hundred: &'static str,
    /// End of the scale, in percent.
    end: f64,
    bars: Vec<Bar>,
}

impl Chart {
    /// Whether there is something to compare.
    fn compares(&self) -> bool {
        self.bars.iter().filter(|b| b.percent.is_some()).count() > 1
    }

    fn x(&self, percent: f64) -> f64 {
        AREA + LONG * (percent / self.end).clamp(0.0, 1.0)
    }

    /// Some of its bars, from `left` on.
    fn draw(&self, c: &mut Canvas, left: f64, bars: &[Bar]) {
        let mut fit = Fitter::default();
        let at = |percent| left + self.x(percent);
        for line in fit.lines(&self.title, AREA + LONG * 0.5, 1) {
            c.bold(left, 2.2, line);
        }
        c.text_at(at(100.0), 4.7, self.hundred);
        let bottom = HEAD + ROW * count(bars.len());
        for (n, bar) in bars.iter().enumerate() {
            let y = HEAD + ROW * count(n);
            let rect = |x: f64, to: f64, top: f64, height: f64| Area {
                x,
                y: top,
                width: to - x,
                height,
            };
            if let Some((from, to)) = bar.band {
                let area = rect(at(from), at(to), y + 0.2, ROW - 0.4);
                c.fill(area, Grey::new(ALLOWED), false);
            }
            if let Some(percent) = bar.percent {
                let area = rect(at(0.0), at(percent), y + 0.9, ROW - 1.8);
                c.fill(area, Grey::new(BAR), true);
                if percent > self.end {
                    // The bar goes on: cut by two strokes.
                    for back in [2.4, 3.6] {
                        let x = at(self.end) - back;
                        c.wire((x - 0.6, y + ROW - 0.4), (x + 0.6, y + 0.4));
                    }
                }
            }
            c.lines(left, y + 2.6, &fit.lines(&bar.name, AREA - 2.0, 1));
            let x = left + AREA + LONG + 3.0;
            c.lines(x, y + 2.6, &fit.lines(&bar.said, VALUE, 1));
        }
        c.line((at(0.0), HEAD), (at(0.0), bottom));
        c.wire((at(100.0), HEAD), (at(100.0), bottom));
    }
}

/// Charts beside each other, and on as many drawings as they need.
fn drawings(charts: &[&Chart]) -> Vec<Block> {
    let most = ((TALLEST - HEAD) / ROW)
        .floor()
        .to_usize()
        .unwrap_or(1)
        .max(1);
    let mut columns: Vec<(&Chart, &[Bar])> = Vec::new();
    for chart in charts {
        // Two charts stand beside each other; one alone is set in two columns once it is long.
        let each = match charts.len() {
            1 if chart.bars.len() > 6 => chart.bars.len().div_ceil(2).min(most),
            _ => most,
        };
        columns.extend(chart.bars.chunks(each).map(|bars| (*chart, bars)));
    }
    columns
        .chunks(2)
        .map(|pair| {
            let mut c = Canvas::default();
            let mut rows = 0;
            for (n, (chart, bars)) in pair.iter().enumerate() {
                chart.draw(&mut c, count(n) * (COLUMN + BETWEEN), bars);
                rows = rows.max(bars.len());
            }
            c.into_block(HEAD + ROW * count(rows) + 0.6)
        })
        .collect()
}

fn with_heading(words: &str, charts: &[&Chart]) -> Vec<Block> {
    let shown: Vec<&Chart> = charts.iter().filter(|c| c.compares()).copied().collect();
    if shown.is_empty() {
        return Vec::new();
    }
    let mut drawn = drawings(&shown).into_iter();
    let mut first = vec![Block::heading(2, words)];
    first.extend(drawn.next());
    // A chart alone on a page would be read without the figures.
    let mut out = vec![Block::WithLast(first)];
    out.extend(drawn);
    out
}

fn percent(part: Decimal, whole: Decimal) -> Option<f64> {
    if whole <= Decimal::ZERO {
        return None;
    }
    part.checked_div(whole)?
        .checked_mul(Decimal::ONE_HUNDRED)?
        .to_f64()
}

/// A number that was read, or the end of the range that it was past.
fn read(f: &Finding) -> Option<Decimal> {
    match Value::parse(f.place.test.answer(), f.value.as_deref()?).ok()? {
        Value::Number(n) | Value::OverRange(n) | Value::UnderRange(n) => Some(n),
        _ => None,
    }
}

/// Mark with value and limit, or why there is no value.
fn said(f: &Finding) -> String {
    let mark = f.verdict.mark();
    match (&f.value, f.verdict) {
        (None, _) => format!("{mark} open: not yet taken"),
        (_, Verdict::Excused) if f.is_limitation() => format!("{mark} limitation"),
        (_, Verdict::Excused) => format!("{mark} not applicable"),
        (Some(_), _) => {
            let limit = match f.limit {
                Some(_) => f.limit_text(),
                None => "no limit".into(),
            };
            format!("{mark} {} ({limit})", f.value_text())
        }
    }
}

/// Zs of each circuit of a board as part of its limit.
pub(super) fn zs(sheet: &Sheet<'_>, board: &Board) -> Vec<Block> {
    let bars: Vec<Bar> = board
        .circuits
        .iter()
        .filter_map(|c| {
            let f = sheet.finding(&Place::part(&board.id, &c.id, Test::Zs))?;
            let seat = Seat {
                top: &board.id,
                part: Some(c.id.as_str().into()),
                owner: Owner::Circuit(board, c),
                readings: &c.readings,
            };
            let most = sheet.rule(&seat, Test::Zs).and_then(|r| r.bound.highest());
            let part = read(f).zip(most).and_then(|(z, most)| percent(z, most));
            Some(Bar {
                name: format!("{}  {}", c.id, c.name.trim()),
                percent: part,
                band: most.map(|_| (0.0, 100.0)),
                said: said(f),
            })
        })
        .collect();
    if bars
        .iter()
        .all(|b| b.percent.is_none_or(|p| p < WORTH_A_LOOK))
    {
        return Vec::new();
    }
    let chart = Chart {
        title: "Circuit".into(),
        hundred: "limit",
        end: 125.0,
        bars,
    };
    with_heading("Zs of each circuit as part of its limit", &[&chart])
}

/// Voltage and current of each string against what they should be in the light they were read in.
pub(super) fn strings(sheet: &Sheet<'_>, array: &Array, strings: &[PvString]) -> Vec<Block> {
    let chart = |test: Test| Chart {
        title: test.heading().to_string(),
        hundred: "expected",
        end: 125.0,
        bars: strings
            .iter()
            .filter_map(|s| {
                let f = sheet.finding(&Place::part(&array.id, &s.id, test))?;
                let seat = Seat {
                    top: &array.id,
                    part: Some(s.id.as_str().into()),
                    owner: Owner::PvString(array, s),
                    readings: &s.readings,
                };
                let rule = sheet.rule(&seat, test);
                let expected = rule.as_ref().and_then(|r| r.expected_value);
                let part = read(f).zip(expected).and_then(|(v, of)| percent(v, of));
                let band = match (rule.map(|r| r.bound), expected) {
                    (Some(crate::checks::Bound::Between(from, to)), Some(of)) => {
                        percent(from, of).zip(percent(to, of))
                    }
                    _ => None,
                };
                Some(Bar {
                    name: format!("{}  {}", s.id, s.name.trim()),
                    percent: part,
                    band,
                    said: said(f),
                })
            })
            .collect(),
    };
    let (voc, isc) = (chart(Test::Voc), chart(Test::Isc));
    with_heading(
        "Strings against what is expected, with what is allowed shaded",
        &[&voc, &isc],
    )
}

/// Power of each module against the median of its plane.
pub(super) fn balance(sheet: &Sheet<'_>, array: &Array, branches: &[Branch]) -> Vec<Block> {
    let mut bars = Vec::new();
    for b in branches {
        let Some(f) = sheet.finding(&Place::part(&array.id, &b.id, Test::Balance)) else {
            continue;
        };
        let Some(balance) = sheet.balance(array, b) else {
            bars.push(Bar {
                name: format!("{}  {}", b.id, b.name.trim()),
                said: match f.verdict {
                    Verdict::Open | Verdict::Excused => said(f),
                    other => format!("{} can't be compared", other.mark()),
                },
                ..Bar::default()
            });
            continue;
        };
        let least = balance.least_percent.to_f64();
        for (n, module) in balance.modules.iter().enumerate() {
            bars.push(Bar {
                name: format!("{}, module {}", b.id, n + 1),
                percent: percent(module.watts, balance.median_w),
                band: least.map(|least| (least, 125.0)),
                said: format!(
                    "{} {} W",
                    module.verdict.mark(),
                    words::plain(Some(module.watts))
                ),
            });
        }
    }
    let chart = Chart {
        title: "Module".into(),
        hundred: "median",
        end: 125.0,
        bars,
    };
    with_heading(
        "Power of each module against the median, with what is allowed shaded",
        &[&chart],
    )
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing)]
mod tests {
    use super::super::canvas::overlaps;
    use super::super::diagram::tests::{drawings as drawn, sample, texts};
    use super::*;
    use crate::forms::Forms;
    use crate::job::{Job, Layout};
    use crate::paper::page::Mark;

    fn all(job: &Job) -> Vec<Block> {
        let forms = Forms::embedded().unwrap();
        let sheet = Sheet::new(job, &forms);
        let mut out = Vec::new();
        for b in &job.boards {
            out.extend(zs(&sheet, b));
        }
        for a in &job.arrays {
            out.extend(match &a.layout {
                Layout::Strings(s) => strings(&sheet, a, s),
                Layout::Branches(b) => balance(&sheet, a, b),
            });
        }
        for d in drawn(&out) {
            assert_eq!(overlaps(d), Vec::<String>::new());
        }
        out
    }

    /// Widths of the bars in mm, in the order they were drawn.
    fn widths(blocks: &[Block]) -> Vec<f64> {
        let of = |m: &Mark| match m {
            Mark::Rect {
                area,
                edge: Some(_),
                ..
            } => Some(area.width),
            _ => None,
        };
        drawn(blocks)
            .iter()
            .flat_map(|d| &d.marks)
            .filter_map(of)
            .collect()
    }

    #[test]
    fn charts_of_the_samples_are_legible() {
        for name in ["harbour-row", "mill-yard", "orchard-cottage"] {
            all(&sample(name));
        }
    }

    #[test]
    fn a_bar_is_as_long_as_the_reading_is_of_its_limit_and_open_ones_are_none() {
        let job = sample("mill-yard");
        let blocks = all(&job);
        let text = texts(&drawn(&blocks));
        // By hand: 1.21 Ω of 1.09 Ω is 111 % of 46 mm / 125 %.
        assert!(text.contains("! 1.21 Ω (≤ 1.09 Ω)"), "{text}");
        let wanted = 1.21 / 1.09 * LONG / 1.25;
        let close = |w: &f64| (w - wanted).abs() < 0.01;
        assert!(widths(&blocks).iter().any(close), "{:?}", widths(&blocks));
        // B/2 wasn't taken: its name stands, and no bar. Two other circuits of B, so two bars.
        assert!(text.contains(". open: not yet taken"), "{text}");
        let forms = Forms::embedded().unwrap();
        let of_b = zs(&Sheet::new(&job, &forms), &job.boards[1]);
        assert_eq!(widths(&of_b).len(), 2);
    }

    #[test]
    fn a_value_over_the_scale_is_cut_and_one_alone_is_no_chart() {
        let mut job = sample("mill-yard");
        for at in [0, 2] {
            let mut entry = job.boards[0].circuits[8]
                .readings
                .get(Test::Zs)
                .unwrap()
                .clone();
            entry.now.typed = ">99".into();
            let readings = &mut job.boards[1].circuits[at].readings;
            readings.put(Test::Zs, Some(entry));
        }
        let forms = Forms::embedded().unwrap();
        let made = zs(&Sheet::new(&job, &forms), &job.boards[1]);
        let ends = widths(&made);
        assert!(ends.iter().all(|w| (w - LONG).abs() < 0.01), "{ends:?}");
        assert!(texts(&drawn(&made)).contains("! >99 Ω"));
        // All circuits of this one hang on RCDs and read 2 % of their limit.
        let calm = sample("harbour-row");
        assert!(zs(&Sheet::new(&calm, &forms), &calm.boards[0]).is_empty());
        job.boards[1].circuits.truncate(1);
        assert!(zs(&Sheet::new(&job, &forms), &job.boards[1]).is_empty());
    }
}
