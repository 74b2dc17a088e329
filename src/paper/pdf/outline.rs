//! The outline beside the pages.

use lopdf::{Dictionary, Object, ObjectId, text_string};

use crate::paper::page::{Document, OutlineEntry};

use super::finish::destination;

/// An entry with its place in the tree.
struct Node<'a> {
    entry: &'a OutlineEntry,
    id: ObjectId,
    parent: Option<usize>,
    children: Vec<usize>,
}

/// Adds the outline to the file and gives its root, or nothing if there are no entries.
///
/// Written here rather than by the page library, which knows one level only and sorts
/// the entries of a page by their words.
pub(super) fn add(
    raw: &mut lopdf::Document,
    document: &Document,
    pages: &[ObjectId],
) -> Option<ObjectId> {
    if document.outline.is_empty() {
        return None;
    }
    let root = raw.new_object_id();
    let mut nodes: Vec<Node<'_>> = Vec::new();
    let mut top = Vec::new();
    // Entries the next one may belong to, the innermost last.
    let mut open: Vec<usize> = Vec::new();
    for entry in &document.outline {
        let at = nodes.len();
        while open
            .last()
            .and_then(|up| nodes.get(*up))
            .is_some_and(|up| up.entry.level >= entry.level)
        {
            open.pop();
        }
        let parent = open.last().copied();
        match parent.and_then(|parent| nodes.get_mut(parent)) {
            Some(parent) => parent.children.push(at),
            None => top.push(at),
        }
        open.push(at);
        nodes.push(Node {
            entry,
            id: raw.new_object_id(),
            parent,
            children: Vec::new(),
        });
    }
    for siblings in nodes.iter().map(|node| &node.children).chain([&top]) {
        for (nth, at) in siblings.iter().enumerate() {
            let Some(node) = nodes.get(*at) else { continue };
            let id_of = |at: Option<&usize>| at.and_then(|at| nodes.get(*at)).map(|node| node.id);
            let mut item = Dictionary::new();
            item.set("Title", text_string(&node.entry.title));
            let parent = node
                .parent
                .and_then(|up| nodes.get(up))
                .map_or(root, |up| up.id);
            item.set("Parent", Object::Reference(parent));
            let neighbours = [
                (
                    "Prev",
                    id_of(nth.checked_sub(1).and_then(|before| siblings.get(before))),
                ),
                ("Next", id_of(siblings.get(nth + 1))),
                ("First", id_of(node.children.first())),
                ("Last", id_of(node.children.last())),
            ];
            for (key, id) in neighbours {
                if let Some(id) = id {
                    item.set(key, Object::Reference(id));
                }
            }
            if !node.children.is_empty() {
                // Negative: closed at first, so that a long job shows its parts.
                item.set("Count", -int(node.children.len()));
            }
            if let (Some(page), Some(target)) = (
                pages.get(node.entry.page),
                document.pages.get(node.entry.page),
            ) {
                item.set("Dest", destination(*page, target.height - node.entry.y));
            }
            raw.set_object(node.id, Object::Dictionary(item));
        }
    }
    let mut outline = Dictionary::new();
    outline.set("Type", "Outlines");
    outline.set("Count", int(top.len()));
    for (key, at) in [("First", top.first()), ("Last", top.last())] {
        if let Some(node) = at.and_then(|at| nodes.get(*at)) {
            outline.set(key, Object::Reference(node.id));
        }
    }
    raw.set_object(root, Object::Dictionary(outline));
    Some(root)
}

fn int(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}
