//! Makes a failing input small: takes pieces away, the large ones first, as long as it still fails.

use std::time::{Duration, Instant};

/// No more time than this is spent on one input.
const PATIENCE: Duration = Duration::from_secs(40);

pub fn smallest(whole: &[u8], fails: &dyn Fn(&[u8]) -> bool) -> Vec<u8> {
    let until = Instant::now() + PATIENCE;
    let mut best = whole.to_vec();
    if !fails(&best) {
        // It needs what came before it.
        return best;
    }
    let mut size = best.len() / 2;
    while size > 0 && Instant::now() < until {
        let mut at = 0;
        let mut shorter = false;
        while at < best.len() && Instant::now() < until {
            let mut less = best.clone();
            less.drain(at..(at + size).min(best.len()));
            if fails(&less) {
                best = less;
                shorter = true;
            } else {
                at += size;
            }
        }
        if !shorter || size > 1 {
            size /= 2;
        }
    }
    best
}
