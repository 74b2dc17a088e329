//! Words with their boxes, as poppler reads them from a finished PDF, and which of them are in each other's way.

use std::process::Command;

/// A word on a page; lengths in points from the top-left corner of the paper.
#[derive(Debug, Clone)]
pub struct Word {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
    pub text: String,
}

impl Word {
    /// The pale word across a draft: turned, so that its box covers most of the page.
    fn is_ghost(&self) -> bool {
        self.text == "DRAFT" && self.bottom - self.top > 100.0
    }

    fn place(&self) -> String {
        format!(
            "{:?} ({:.1} to {:.1}, {:.1} to {:.1} pt)",
            self.text, self.left, self.right, self.top, self.bottom
        )
    }
}

/// A page with its words, in the order in which they were set.
#[derive(Debug, Clone)]
pub struct Sheet {
    pub width: f64,
    pub height: f64,
    pub words: Vec<Word>,
}

impl Sheet {
    /// The text with one space between words.
    pub fn text(&self) -> String {
        let words: Vec<&str> = self.words.iter().map(|w| w.text.as_str()).collect();
        words.join(" ")
    }
}

/// Reads the words of every page; the ghost word of drafts is left out.
pub fn sheets(bytes: &[u8]) -> Vec<Sheet> {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("paper.pdf");
    std::fs::write(&path, bytes).expect("a file");
    let output = Command::new("pdftotext")
        .args(["-raw", "-bbox"])
        .arg(&path)
        .arg("-")
        .output()
        .expect("pdftotext");
    assert!(output.status.success(), "pdftotext fails");
    let said = String::from_utf8(output.stdout).expect("UTF-8");
    let mut sheets: Vec<Sheet> = Vec::new();
    for line in said.lines().map(str::trim_start) {
        let number = |key: &str| -> f64 {
            let key = format!("{key}=\"");
            let from = line.find(&key).expect(&key) + key.len();
            let rest = &line[from..];
            rest[..rest.find('"').expect("a quote")]
                .parse()
                .expect("a number")
        };
        if line.starts_with("<page ") {
            sheets.push(Sheet {
                width: number("width"),
                height: number("height"),
                words: Vec::new(),
            });
        } else if line.starts_with("<word ") {
            let from = line.find('>').expect("an end") + 1;
            let to = line.rfind("</word>").expect("an end");
            let word = Word {
                left: number("xMin"),
                top: number("yMin"),
                right: number("xMax"),
                bottom: number("yMax"),
                text: unescaped(&line[from..to]),
            };
            if !word.is_ghost() {
                sheets.last_mut().expect("a page").words.push(word);
            }
        }
    }
    sheets
}

fn unescaped(text: &str) -> String {
    text.replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&quot;", "\"")
        .replace("&apos;", "'")
        .replace("&amp;", "&")
}

/// How far two boxes may reach into each other, in points (0.07 mm).
///
/// A box is as high as the font reaches up and down, 1.17 of its size, whatever letters are in it. Upright lines are 1.26 of
/// the size apart and never touch; the lines of a turned header are 1.15 apart, so their boxes share 0.02 of at most 7.5 pt.
/// Places are rounded to a thousandth of a point.
pub const HAIR: f64 = 0.2;

/// Every pair of words on a page whose boxes overlap by more than [`HAIR`] both ways.
pub fn overlaps(sheet: &Sheet) -> Vec<String> {
    let mut words: Vec<&Word> = sheet.words.iter().collect();
    words.sort_by(|a, b| a.top.total_cmp(&b.top));
    let mut found = Vec::new();
    for (at, a) in words.iter().enumerate() {
        let below = words[at + 1..].iter();
        for b in below.take_while(|b| b.top < a.bottom - HAIR) {
            let wide = a.right.min(b.right) - a.left.max(b.left);
            let high = a.bottom.min(b.bottom) - b.top;
            if wide > HAIR && high > HAIR {
                found.push(format!("{} on {}", a.place(), b.place()));
            }
        }
    }
    found
}

/// Every word that stands outside the printable frame: 16 mm at the sides, 10 mm at head and foot.
pub fn outside(sheet: &Sheet) -> Vec<String> {
    let mm = |mm: f64| mm * 72.0 / 25.4 - HAIR;
    let (side, end) = (mm(16.0), mm(10.0));
    let fits = |w: &Word| {
        w.left > side
            && w.right < sheet.width - side
            && w.top > end
            && w.bottom < sheet.height - end
    };
    let out = sheet.words.iter().filter(|w| !fits(w));
    out.map(Word::place).collect()
}
