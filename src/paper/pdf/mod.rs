//! Pages to PDF bytes. The only module that knows the PDF libraries.
//!
//! What the page library leaves wrong or open (identity, outline, links, language,
//! document information) is put right in `finish` before saving.

mod content;
mod finish;
mod identity;
mod outline;
mod pack;
mod subset;

pub use identity::{Identity, identity, may_replace};
pub use pack::COMPRESSION;

use printpdf::{
    FontId, Mm, Op, ParsedFont, PdfDocument, PdfFont, PdfFontHandle, PdfPage, PdfSaveOptions, Pt,
    TextItem,
};

use crate::paper::PaperError;
use crate::paper::measure::{bytes, name};
use crate::paper::page::{Document, MM_PER_POINT, Weight};

use content::Used;

/// The PDF of a document. The same document gives the same bytes.
///
/// # Errors
/// [`PaperError::NoPages`] without pages; [`PaperError::Font`] if an embedded font can't
/// be read; [`PaperError::Pdf`] if the PDF can't be put together.
pub fn write(document: &Document) -> Result<Vec<u8>, PaperError> {
    if document.pages.is_empty() {
        return Err(PaperError::NoPages);
    }
    let (drawn, used) = content::drawn(&document.pages);
    let mut pdf = PdfDocument::new("");
    for weight in [Weight::Regular, Weight::Bold] {
        let whole = bytes(weight);
        // A font that can't be cut down is carried whole.
        let cut = subset::subset(whole, used.glyphs(weight));
        let program = cut.as_deref().unwrap_or(whole);
        let mut font = ParsedFont::from_bytes(program, 0, &mut Vec::new())
            .ok_or(PaperError::Font(name(weight)))?;
        // Otherwise it would go by its id in readers' lists of fonts.
        font.font_name = Some(name(weight).to_owned());
        pdf.resources
            .fonts
            .map
            .insert(font_id(weight), PdfFont::new(font));
    }
    // The library makes the frame of the file: fonts with widths and maps to Unicode for what is used, and empty pages.
    let mut specimen = Some(specimen(&used));
    let pages = document.pages.iter().map(|page| {
        let ops = specimen.take().unwrap_or_default();
        PdfPage::new(Mm(round(page.width)), Mm(round(page.height)), ops)
    });
    pdf.with_pages(pages.collect());
    let mut warnings = Vec::new();
    let raw = printpdf::serialize::to_lopdf_doc(&pdf, &PdfSaveOptions::default(), &mut warnings);
    finish::finish(raw, document, drawn)
}

/// Every character that is used, once in each font, for the library to see.
fn specimen(used: &Used) -> Vec<Op> {
    let mut ops = vec![Op::StartTextSection];
    for weight in [Weight::Regular, Weight::Bold] {
        let font = PdfFontHandle::External(font_id(weight));
        let text = used.text(weight);
        if !text.is_empty() {
            ops.push(Op::SetFont {
                font,
                size: Pt(1.0),
            });
            let items = vec![TextItem::Text(text)];
            ops.push(Op::ShowText { items });
        }
    }
    ops.push(Op::EndTextSection);
    ops
}

/// Fonts are known by six capitals, as the tag of a cut-down font is. A fixed id keeps
/// the bytes the same; the library would number fonts as the process goes.
fn font_id(weight: Weight) -> FontId {
    FontId(font_name(weight).to_owned())
}

/// What pages call a font.
fn font_name(weight: Weight) -> &'static str {
    match weight {
        Weight::Regular => "WLREGU",
        Weight::Bold => "WLBOLD",
    }
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
