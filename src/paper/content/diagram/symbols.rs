//! Symbols of the single-line diagram, from plain lines: each is put into a conductor that runs to the right.

use crate::paper::content::canvas::Canvas;
use crate::paper::page::Area;

/// Length of conductor that a switching device takes, in mm.
pub(super) const DEVICE: f64 = 6.0;

/// What opens a conductor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Opens {
    /// A circuit-breaker.
    Breaker,
    /// A fuse.
    Fuse,
    /// A switch, or an isolator.
    Switch,
    /// A residual current device.
    Residual,
}

/// A device in the conductor at `y`, from `x` over [`DEVICE`].
pub(super) fn device(c: &mut Canvas, kind: Opens, x: f64, y: f64) {
    let end = x + DEVICE;
    if kind == Opens::Fuse {
        c.wire((x, y), (end, y));
        c.frame(Area {
            x: x + 0.8,
            y: y - 1.0,
            width: DEVICE - 1.6,
            height: 2.0,
        });
        return;
    }
    let (fixed, hinge) = (x + 1.2, end - 0.8);
    c.wire((x, y), (fixed, y));
    c.wire((hinge, y), (end, y));
    c.wire((hinge, y), (fixed + 0.4, y - 1.0));
    match kind {
        Opens::Breaker => {
            for side in [-0.6, 0.6] {
                c.line((fixed - 0.6, y - side), (fixed + 0.6, y + side));
            }
        }
        Opens::Switch => c.line((fixed, y - 0.8), (fixed, y + 0.8)),
        Opens::Residual => c.ring((end - 0.4, y), 0.75),
        Opens::Fuse => {}
    }
}

/// Earth below the end of a conductor at `x`, `y`.
pub(super) fn earth(c: &mut Canvas, x: f64, y: f64) {
    for (half, down) in [(1.8, 0.0), (1.1, 0.7), (0.4, 1.4)] {
        c.wire((x - half, y + down), (x + half, y + down));
    }
}

/// A protective device against surges, from `x` over 6 mm, to earth at its right.
pub(super) fn surge(c: &mut Canvas, x: f64, y: f64) {
    c.frame(Area {
        x,
        y: y - 1.1,
        width: 5.0,
        height: 2.2,
    });
    c.line((x + 0.8, y), (x + 4.2, y));
    c.line((x + 4.2, y), (x + 3.2, y - 0.6));
    c.line((x + 4.2, y), (x + 3.2, y + 0.6));
    c.wire((x + 5.0, y), (x + 8.0, y));
    c.wire((x + 8.0, y), (x + 8.0, y + 1.2));
    earth(c, x + 8.0, y + 1.2);
}

/// Strokes across a conductor: one for each line.
pub(super) fn three_lines(c: &mut Canvas, x: f64, y: f64) {
    for n in [0.0, 0.9, 1.8] {
        c.line((x + n - 0.5, y + 0.9), (x + n + 0.5, y - 0.9));
    }
}

/// A current transformer around a conductor.
pub(super) fn transformer(c: &mut Canvas, x: f64, y: f64) {
    c.wire((x - 2.0, y), (x + 2.0, y));
    c.ring((x, y), 1.3);
    c.line((x, y - 1.3), (x, y - 2.6));
}

/// Turns direct into alternating current: a square with both signs.
pub(super) fn converter(c: &mut Canvas, x: f64, y: f64) {
    let side = 5.6;
    c.frame(Area {
        x,
        y,
        width: side,
        height: side,
    });
    c.line((x, y + side), (x + side, y));
    let wave = [(0.7, 1.6), (1.2, 1.0), (1.7, 1.6), (2.2, 2.2), (2.7, 1.6)];
    for pair in wave.windows(2) {
        if let [a, b] = pair {
            c.line((x + a.0, y + a.1), (x + b.0, y + b.1));
        }
    }
    for down in [3.9, 4.6] {
        c.line((x + 3.2, y + down), (x + 5.0, y + down));
    }
}

/// Modules that turn light into current, at the end of a conductor.
pub(super) fn modules(c: &mut Canvas, x: f64, y: f64) {
    c.frame(Area {
        x,
        y: y - 1.8,
        width: 7.0,
        height: 3.6,
    });
    c.line((x, y - 1.8), (x + 2.6, y));
    c.line((x + 2.6, y), (x, y + 1.8));
}

/// A battery at the end of a conductor.
pub(super) fn battery(c: &mut Canvas, x: f64, y: f64) {
    for (at, half) in [(0.0, 1.8), (1.2, 0.9), (2.4, 1.8), (3.6, 0.9)] {
        c.wire((x + at, y - half), (x + at, y + half));
    }
    c.line((x + 1.2, y), (x + 2.4, y));
}

/// A relay contact from a conductor down to earth: the link of neutral and earth.
pub(super) fn link_to_earth(c: &mut Canvas, x: f64, y: f64) {
    c.wire((x, y), (x, y + 1.2));
    c.wire((x, y + 3.4), (x + 1.1, y + 1.4));
    c.wire((x, y + 3.4), (x, y + 4.6));
    earth(c, x, y + 4.6);
}
