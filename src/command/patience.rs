//! Says what is being done where it takes long and somebody watches.

use std::io::{IsTerminal, Write};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::Duration;

/// Nobody wonders before that.
const SOON: Duration = Duration::from_millis(500);

/// Does the work. If it isn't done soon, says `what` once on a terminal.
pub(super) fn patiently<T>(what: &str, work: impl FnOnce() -> T) -> T {
    if !std::io::stderr().is_terminal() {
        return work();
    }
    says_late(what, SOON, &mut std::io::stderr(), work)
}

fn says_late<T>(
    what: &str,
    soon: Duration,
    out: &mut (impl Write + Send),
    work: impl FnOnce() -> T,
) -> T {
    std::thread::scope(|scope| {
        let (done, waits) = channel::<()>();
        scope.spawn(move || {
            if waits.recv_timeout(soon) == Err(RecvTimeoutError::Timeout) {
                // A message nobody can receive is no reason to fail.
                let _ = writeln!(out, "{what}...");
            }
        });
        let result = work();
        // The thread is woken and ended, so that nothing is said over what comes next.
        drop(done);
        result
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn says_it_once_where_it_takes_long_and_not_where_it_does_not() {
        let mut said = Vec::new();
        let soon = Duration::from_millis(20);
        let n = says_late("reading a.ron", soon, &mut said, || {
            std::thread::sleep(Duration::from_millis(200));
            7
        });
        assert_eq!((n, said.as_slice()), (7, b"reading a.ron...\n".as_slice()));
        let mut said = Vec::new();
        says_late("reading a.ron", Duration::from_secs(600), &mut said, || ());
        assert!(said.is_empty());
    }
}
