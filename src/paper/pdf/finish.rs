//! What a file needs beyond drawn pages.

use std::collections::BTreeMap;
use std::fmt::Write;

use lopdf::{Dictionary, Object, ObjectId, text_string};
use sha2::{Digest, Sha256};

use crate::paper::PaperError;
use crate::paper::page::{Area, Document, DocumentInfo, MM_PER_POINT, Mark};

use super::content::Drawn;
use super::pack::shared;
use super::{identity, outline};

/// Completes the raw file and saves it.
///
/// # Errors
/// [`PaperError::Pdf`] if the file lacks a part it must have, or can't be saved.
pub(super) fn finish(
    mut raw: lopdf::Document,
    document: &Document,
    drawn: Vec<Drawn>,
) -> Result<Vec<u8>, PaperError> {
    // The library names 1.3; links with a fit and the language need later versions.
    raw.version = String::from("1.7");
    let pages: Vec<ObjectId> = raw.get_pages().into_values().collect();
    draw(&mut raw, &pages, drawn)?;
    information(&mut raw, &document.info)?;
    links(&mut raw, document, &pages)?;
    tag_fonts(&mut raw);
    let outline = outline::add(&mut raw, document, &pages);
    let catalog = raw.catalog_mut().map_err(|e| failed("catalogue", &e))?;
    catalog.set("Lang", text_string("en-GB"));
    catalog.set("PageLayout", "SinglePage");
    let mut viewing = Dictionary::new();
    viewing.set("DisplayDocTitle", true);
    catalog.set("ViewerPreferences", Object::Dictionary(viewing));
    catalog.set(
        "PageMode",
        if outline.is_some() {
            "UseOutlines"
        } else {
            "UseNone"
        },
    );
    if let Some(outline) = outline {
        catalog.set("Outlines", Object::Reference(outline));
    }
    compress(&mut raw);
    save(&mut raw)
}

/// Puts onto each page what is drawn there, in place of what the library has.
fn draw(
    raw: &mut lopdf::Document,
    pages: &[ObjectId],
    drawn: Vec<Drawn>,
) -> Result<(), PaperError> {
    for (page, drawn) in pages.iter().zip(drawn) {
        let place = raw
            .get_dictionary(*page)
            .and_then(|page| page.get(b"Contents"))
            .and_then(Object::as_reference);
        let stream = place
            .and_then(|id| raw.get_object_mut(id))
            .and_then(Object::as_stream_mut)
            .map_err(|e| failed("pages", &e))?;
        stream.set_content(drawn.content);
        if drawn.packed {
            stream.dict.set("Filter", "FlateDecode");
        }
    }
    Ok(())
}

/// Compresses every stream that isn't yet. One that gets no shorter stays as it is.
fn compress(raw: &mut lopdf::Document) {
    let all = raw
        .objects
        .values_mut()
        .filter_map(|object| object.as_stream_mut().ok());
    let streams: Vec<&mut lopdf::Stream> = all
        .filter(|s| s.allows_compression && s.dict.get(b"Filter").is_err())
        .collect();
    shared(streams, |packer, stream| {
        if let Some(packed) = packer.packed(&stream.content) {
            stream.dict.set("Filter", "FlateDecode");
            stream.set_content(packed);
        }
    });
}

pub(super) fn failed(step: &'static str, error: &dyn std::fmt::Display) -> PaperError {
    PaperError::Pdf {
        step,
        detail: error.to_string(),
    }
}

/// The bytes of the file, with a digest of all of it as its identity: the library counts, which would make two runs differ.
fn save(raw: &mut lopdf::Document) -> Result<Vec<u8>, PaperError> {
    raw.trailer.remove(b"ID");
    let about: usize = raw
        .objects
        .values()
        .map(|object| 200 + object.as_stream().map_or(0, |s| s.content.len()))
        .sum();
    let mut bytes = Vec::with_capacity(about);
    raw.save_to(&mut bytes).map_err(|e| failed("saving", &e))?;
    let mut digest = String::new();
    for byte in Sha256::digest(&bytes).iter().take(16) {
        // Writing to memory can't fail.
        let _ = write!(digest, "{byte:02X}");
    }
    // The trailer stands last, after everything that is found by its place in the file.
    let end = bytes
        .windows(END.len())
        .rposition(|part| part == END)
        .ok_or_else(|| failed("saving", &"the end of the trailer isn't where it should be"))?;
    let id = format!("/ID[<{digest}><{digest}>]");
    bytes.splice(end..end, id.into_bytes());
    Ok(bytes)
}

/// The end of the trailer, and what comes after it.
const END: &[u8] = b">>\nstartxref\n";

/// Replaces the library's document information, which claims a print standard with an
/// empty name and the date 1970.
fn information(raw: &mut lopdf::Document, info: &DocumentInfo) -> Result<(), PaperError> {
    let mut entries = Dictionary::new();
    let keywords = info.keywords.join(", ");
    let texts = [
        ("Title", &info.title),
        ("Author", &info.author),
        ("Subject", &info.subject),
        ("Keywords", &keywords),
        ("Creator", &info.creator),
        ("Producer", &info.creator),
    ];
    for (key, text) in texts {
        if !text.is_empty() {
            entries.set(key, text_string(text));
        }
    }
    if let Some(created) = info.created {
        let date = identity::date(created);
        for key in ["CreationDate", "ModDate"] {
            entries.set(key, Object::string_literal(date.as_str()));
        }
    }
    identity::write(&mut entries, info);
    let id = raw
        .trailer
        .get(b"Info")
        .and_then(Object::as_reference)
        .map_err(|e| failed("document information", &e))?;
    raw.set_object(id, Object::Dictionary(entries));
    Ok(())
}

/// Adds the links of all pages.
fn links(
    raw: &mut lopdf::Document,
    document: &Document,
    pages: &[ObjectId],
) -> Result<(), PaperError> {
    for (page, id) in document.pages.iter().zip(pages) {
        let mut notes = Vec::new();
        for mark in &page.marks {
            let Mark::Link { area, page: to, y } = mark else {
                continue;
            };
            let (Some(target), Some(target_page)) = (pages.get(*to), document.pages.get(*to))
            else {
                let detail = format!(
                    "a link leads to page {}, but there are {}",
                    to + 1,
                    pages.len()
                );
                return Err(PaperError::Pdf {
                    step: "links",
                    detail,
                });
            };
            let mut note = Dictionary::new();
            note.set("Type", "Annot");
            note.set("Subtype", "Link");
            note.set("Rect", rectangle(area, page.height));
            note.set("Border", vec![0.into(), 0.into(), 0.into()]);
            // The print flag: readers that check the file want it on every note.
            note.set("F", 4);
            note.set("Dest", destination(*target, target_page.height - y));
            notes.push(Object::Dictionary(note));
        }
        let entries = raw
            .get_dictionary_mut(*id)
            .map_err(|e| failed("pages", &e))?;
        entries.remove(b"Annots");
        if !notes.is_empty() {
            entries.set("Annots", Object::Array(notes));
        }
    }
    Ok(())
}

fn rectangle(area: &Area, page_height: f64) -> Object {
    let corners = [
        area.x,
        page_height - area.y - area.height,
        area.x + area.width,
        page_height - area.y,
    ];
    Object::Array(
        corners
            .iter()
            .map(|mm| Object::Real(super::points(*mm).0))
            .collect(),
    )
}

/// A place on a page, `up` mm from its bottom, at the reader's own zoom.
pub(super) fn destination(page: ObjectId, up: f64) -> Object {
    // A little higher than asked, so that the words don't touch the window's edge.
    let top = Object::Real(super::points(up + 4.0 * MM_PER_POINT).0);
    Object::Array(vec![
        Object::Reference(page),
        "XYZ".into(),
        Object::Null,
        top,
        Object::Null,
    ])
}

/// Puts the tag of a cut-down font before the names of the fonts. They were cut down
/// before they were built in, which the library can't know.
fn tag_fonts(raw: &mut lopdf::Document) {
    let mut tags: BTreeMap<Vec<u8>, Vec<u8>> = BTreeMap::new();
    for object in raw.objects.values() {
        let Ok(entries) = object.as_dict() else {
            continue;
        };
        for (key, value) in entries {
            let font = value
                .as_reference()
                .ok()
                .and_then(|id| raw.get_dictionary(id).ok());
            let base = font.and_then(|font| font.get(b"BaseFont").ok()?.as_name().ok());
            if let (true, Some(base)) = (key.starts_with(b"WL"), base) {
                tags.insert(base.to_vec(), [key.as_slice(), b"+", base].concat());
            }
        }
    }
    for object in raw.objects.values_mut() {
        if let Ok(entries) = object.as_dict_mut() {
            tag_names(entries, &tags);
        }
    }
}

fn tag_names(entries: &mut Dictionary, tags: &BTreeMap<Vec<u8>, Vec<u8>>) {
    for key in [b"BaseFont".as_slice(), b"FontName"] {
        let tagged = entries
            .get(key)
            .ok()
            .and_then(|name| tags.get(name.as_name().ok()?))
            .cloned();
        if let Some(name) = tagged {
            entries.set(key, Object::Name(name));
        }
    }
    if let Ok(parts) = entries
        .get_mut(b"DescendantFonts")
        .and_then(Object::as_array_mut)
    {
        for part in parts {
            if let Ok(part) = part.as_dict_mut() {
                tag_names(part, tags);
            }
        }
    }
}
