//! Compressing, and work that every processor takes its share of.

use std::io::Write;
use std::num::NonZero;
use std::thread;

use flate2::Compression;
use flate2::write::ZlibEncoder;

/// How hard streams are compressed. What the levels above this one gain isn't worth their time: see the benchmark of the paper.
pub const COMPRESSION: Compression = Compression::new(6);

/// More threads than this gain nothing, even with hundreds of pages.
const MOST_HANDS: usize = 8;

/// What the entries that name the compression take in a file.
const NAMED: usize = 19;

/// The content compressed, unless that makes it no shorter.
pub(super) fn packed(content: &[u8]) -> Option<Vec<u8>> {
    let mut packer = ZlibEncoder::new(Vec::with_capacity(content.len() / 2), COMPRESSION);
    packer.write_all(content).ok()?;
    let packed = packer.finish().ok()?;
    (packed.len() + NAMED < content.len()).then_some(packed)
}

/// What the work makes of each item, in the order of the items. Items are dealt out in turn, so that nobody ends up with all the
/// large ones where they come together.
pub(super) fn shared<T: Send, R: Send>(items: Vec<T>, work: impl Fn(T) -> R + Sync) -> Vec<R> {
    let processors = thread::available_parallelism().map_or(1, NonZero::get);
    let hands = processors.min(MOST_HANDS).min(items.len());
    if hands < 2 {
        return items.into_iter().map(work).collect();
    }
    let mut shares: Vec<Vec<T>> = Vec::new();
    shares.resize_with(hands, Vec::new);
    for (at, item) in items.into_iter().enumerate() {
        if let Some(share) = shares.get_mut(at % hands) {
            share.push(item);
        }
    }
    let work = &work;
    let do_share = |share: Vec<T>| share.into_iter().map(work).collect::<Vec<R>>();
    let mut done: Vec<_> = thread::scope(|scope| {
        let mine = shares.remove(0);
        let others: Vec<_> = shares
            .into_iter()
            .map(|share| scope.spawn(|| do_share(share)))
            .collect();
        let mut done = vec![do_share(mine).into_iter()];
        for other in others {
            match other.join() {
                Ok(share) => done.push(share.into_iter()),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        done
    });
    let mut all = Vec::new();
    while let Some(next) = done.get_mut(all.len() % hands).and_then(Iterator::next) {
        all.push(next);
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shared_work_comes_back_in_order() {
        for n in [0_u64, 1, 2, 7, 100] {
            let squares = shared((0..n).collect(), |at| at * at);
            assert_eq!(squares, (0..n).map(|at| at * at).collect::<Vec<_>>());
        }
    }

    #[test]
    fn what_gets_no_shorter_stays() {
        assert_eq!(packed(b"Zs"), None);
        assert!(packed(&[b'0'; 1000]).is_some_and(|p| p.len() < 100));
    }
}
