//! Compressing, and work that every processor takes its share of.

use std::num::NonZero;
use std::thread;

use flate2::{Compress, Compression, FlushCompress, Status};

/// How hard streams are compressed. The highest level makes files one part in a hundred shorter, and takes three times as long.
pub const COMPRESSION: Compression = Compression::new(5);

/// More threads than this gain nothing, even with hundreds of pages.
const MOST_HANDS: usize = 8;

/// What the entries that name the compression take in a file.
const NAMED: usize = 19;

/// Compresses one stream after another. What it works with is a third of a megabyte, and to make that anew for each of many short
/// streams takes longer than compressing them.
pub(super) struct Packer(Compress);

impl Packer {
    pub(super) fn new() -> Self {
        Self(Compress::new(COMPRESSION, true))
    }

    /// The content compressed, unless that makes it no shorter. The same content gives the same, whatever came before it.
    pub(super) fn packed(&mut self, content: &[u8]) -> Option<Vec<u8>> {
        self.0.reset();
        // What doesn't fit isn't wanted.
        let mut packed = Vec::with_capacity(content.len().checked_sub(NAMED)?);
        let status = self
            .0
            .compress_vec(content, &mut packed, FlushCompress::Finish);
        let fits = matches!(status, Ok(Status::StreamEnd)) && packed.len() + NAMED < content.len();
        packed.shrink_to_fit();
        fits.then_some(packed)
    }
}

/// What the work makes of each item, in the order of the items; every processor takes its share, with a packer of its own. Items
/// are dealt out in turn, so that nobody ends up with all the large ones where they come together.
pub(super) fn shared<T: Send, R: Send>(
    items: Vec<T>,
    work: impl Fn(&mut Packer, T) -> R + Sync,
) -> Vec<R> {
    let processors = thread::available_parallelism().map_or(1, NonZero::get);
    let hands = processors.min(MOST_HANDS).min(items.len());
    let do_share = |share: Vec<T>| -> Vec<R> {
        let mut packer = Packer::new();
        let each = share.into_iter();
        each.map(|item| work(&mut packer, item)).collect()
    };
    if hands < 2 {
        return do_share(items);
    }
    let mut shares: Vec<Vec<T>> = Vec::new();
    shares.resize_with(hands, Vec::new);
    for (at, item) in items.into_iter().enumerate() {
        if let Some(share) = shares.get_mut(at % hands) {
            share.push(item);
        }
    }
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
            let squares = shared((0..n).collect(), |_, at| at * at);
            assert_eq!(squares, (0..n).map(|at| at * at).collect::<Vec<_>>());
        }
    }

    #[test]
    fn what_gets_no_shorter_stays() {
        let mut packer = Packer::new();
        assert_eq!(packer.packed(b""), None);
        assert_eq!(packer.packed(b"Zs"), None);
        assert_eq!(packer.packed(b"0123456789abcdefghijklmnopqrstuvwxyz"), None);
        assert!(packer.packed(&[b'0'; 1000]).is_some_and(|p| p.len() < 100));
    }

    #[test]
    fn what_came_before_changes_nothing_and_it_unpacks() {
        use std::io::Read;
        let text = |n: u32| -> Vec<u8> {
            let words = (0..20_000_u32).map(|at| format!("{} ", at.wrapping_mul(n) % 977));
            words.collect::<String>().into_bytes()
        };
        let mut packer = Packer::new();
        let used: Vec<_> = [7, 13, 7].map(|n| packer.packed(&text(n))).into();
        for (n, packed) in [7, 13, 7].into_iter().zip(used) {
            assert_eq!(packed, Packer::new().packed(&text(n)));
            let mut back = Vec::new();
            let packed = packed.unwrap_or_default();
            let read = flate2::read::ZlibDecoder::new(packed.as_slice()).read_to_end(&mut back);
            assert!(read.is_ok() && back == text(n));
        }
    }
}
