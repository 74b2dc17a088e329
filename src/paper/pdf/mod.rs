//! Pages to PDF bytes. The only module that knows the PDF libraries.
//!
//! What the page library leaves wrong or open (identity, outline, links, language,
//! document information) is put right in `finish` before saving.

mod finish;
mod identity;
mod outline;

pub use identity::{Identity, identity};

use printpdf::{
    Color, DictItem, FontId, Greyscale, Line, LinePoint, Mm, Op, PaintMode, ParsedFont,
    PdfDocument, PdfFont, PdfFontHandle, PdfPage, PdfSaveOptions, Point, Pt, Rect, TextItem,
    TextMatrix,
};

use crate::paper::PaperError;
use crate::paper::measure::{bytes, name, printable};
use crate::paper::page::{Area, Document, Grey, MM_PER_POINT, Mark, Page, Weight};

/// The PDF of a document. The same document gives the same bytes.
///
/// # Errors
/// [`PaperError::NoPages`] without pages; [`PaperError::Font`] if an embedded font can't
/// be read; [`PaperError::Pdf`] if the PDF can't be put together.
pub fn write(document: &Document) -> Result<Vec<u8>, PaperError> {
    if document.pages.is_empty() {
        return Err(PaperError::NoPages);
    }
    let mut pdf = PdfDocument::new("");
    for weight in [Weight::Regular, Weight::Bold] {
        let mut font = ParsedFont::from_bytes(bytes(weight), 0, &mut Vec::new())
            .ok_or(PaperError::Font(name(weight)))?;
        // Otherwise it would go by its id in readers' lists of fonts.
        font.font_name = Some(name(weight).to_owned());
        pdf.resources
            .fonts
            .map
            .insert(font_id(weight), PdfFont::new(font));
    }
    pdf.with_pages(document.pages.iter().map(page).collect());
    let mut warnings = Vec::new();
    let raw = printpdf::serialize::to_lopdf_doc(&pdf, &PdfSaveOptions::default(), &mut warnings);
    finish::finish(raw, document)
}

/// Fonts are known by six capitals, as the tag of a cut-down font is. A fixed id keeps
/// the bytes the same; the library would number fonts as the process goes.
fn font_id(weight: Weight) -> FontId {
    FontId(String::from(match weight {
        Weight::Regular => "WLREGU",
        Weight::Bold => "WLBOLD",
    }))
}

/// Points from mm, rounded so that the file isn't full of meaningless digits.
fn points(mm: f64) -> Pt {
    Pt(round(mm / MM_PER_POINT))
}

/// A number as PDF writes it: three decimals are far finer than any printer.
#[expect(clippy::cast_possible_truncation, reason = "page lengths are small")]
fn round(number: f64) -> f32 {
    ((number * 1000.0).round() / 1000.0) as f32
}

fn page(page: &Page) -> PdfPage {
    let mut pen = Writer {
        ops: Vec::new(),
        height: page.height,
        in_text: false,
        font: None,
        fill: None,
    };
    for mark in &page.marks {
        pen.mark(mark);
    }
    pen.end_text();
    PdfPage::new(Mm(round(page.width)), Mm(round(page.height)), pen.ops)
}

struct Writer {
    ops: Vec<Op>,
    /// Height of the page in mm: a PDF counts from the bottom.
    height: f64,
    in_text: bool,
    /// What is set already, so that it isn't written for each line of text again.
    font: Option<(Weight, f64)>,
    fill: Option<Grey>,
}

impl Writer {
    fn mark(&mut self, mark: &Mark) {
        match mark {
            Mark::Text {
                x,
                y,
                size,
                weight,
                grey,
                turn,
                text,
            } => {
                let (text, _) = printable(text, *weight);
                if text.is_empty() {
                    return;
                }
                if !self.in_text {
                    self.ops.push(Op::StartTextSection);
                    self.in_text = true;
                }
                self.fill(*grey);
                if self.font != Some((*weight, *size)) {
                    self.font = Some((*weight, *size));
                    let font = PdfFontHandle::External(font_id(*weight));
                    self.ops.push(Op::SetFont {
                        font,
                        size: Pt(round(*size)),
                    });
                }
                let (sin, cos) = turn.to_radians().sin_cos();
                let (Pt(x), Pt(y)) = (points(*x), points(self.height - y));
                let matrix =
                    TextMatrix::Raw([round(cos), round(sin), round(-sin), round(cos), x, y]);
                // Turned letters are read one by one, or a word a line, unless spelt out.
                let turned = turn.rem_euclid(360.0) > 1e-9;
                if turned {
                    let mut data = Vec::new();
                    lopdf::encode_utf16_be(&text, &mut data);
                    let spelt = DictItem::String {
                        data,
                        literal: false,
                    };
                    let map = [(String::from("ActualText"), spelt)].into();
                    let (tag, properties) = (String::from("Span"), DictItem::Dict { map });
                    self.ops
                        .push(Op::BeginMarkedContentWithProperties { tag, properties });
                }
                self.ops.push(Op::SetTextMatrix { matrix });
                self.ops.push(Op::ShowText {
                    items: vec![TextItem::Text(text)],
                });
                if turned {
                    self.ops.push(Op::EndMarkedContentWithProperties);
                }
            }
            Mark::Line { from, to, pen } => {
                self.end_text();
                self.edge(pen.thickness, pen.grey);
                let points = [from, to].map(|at| LinePoint {
                    p: self.point(*at),
                    bezier: false,
                });
                let line = Line {
                    points: points.to_vec(),
                    is_closed: false,
                };
                self.ops.push(Op::DrawLine { line });
            }
            Mark::Rect { area, fill, edge } => {
                self.end_text();
                if let Some(grey) = fill {
                    self.fill(*grey);
                    self.rectangle(area, PaintMode::Fill);
                }
                if let Some(pen) = edge {
                    self.edge(pen.thickness, pen.grey);
                    self.rectangle(area, PaintMode::Stroke);
                }
            }
            // Links are no drawing; they are added to the finished pages.
            Mark::Link { .. } => {}
        }
    }

    fn end_text(&mut self) {
        if self.in_text {
            self.ops.push(Op::EndTextSection);
            self.in_text = false;
        }
    }

    fn point(&self, (x, y): (f64, f64)) -> Point {
        Point {
            x: points(x),
            y: points(self.height - y),
        }
    }

    fn fill(&mut self, grey: Grey) {
        if self.fill != Some(grey) {
            self.fill = Some(grey);
            self.ops.push(Op::SetFillColor { col: colour(grey) });
        }
    }

    fn edge(&mut self, thickness: f64, grey: Grey) {
        self.ops.push(Op::SetOutlineColor { col: colour(grey) });
        self.ops.push(Op::SetOutlineThickness {
            pt: Pt(round(thickness)),
        });
    }

    fn rectangle(&mut self, area: &Area, mode: PaintMode) {
        let Point { x, y } = self.point((area.x, area.y + area.height));
        let mut rectangle = Rect::from_xywh(x, y, points(area.width), points(area.height));
        rectangle.mode = Some(mode);
        self.ops.push(Op::DrawRectangle { rectangle });
    }
}

fn colour(grey: Grey) -> Color {
    Color::Greyscale(Greyscale::new(round(grey.shade()), None))
}
