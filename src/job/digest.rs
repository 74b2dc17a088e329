//! The one way in which contents are compared: part of a SHA-256 digest, in digits that people can read out.

use sha2::{Digest, Sha256};

/// First 32 hexadecimal digits of SHA-256 over the parts, one after the other.
pub fn digest(parts: &[&[u8]]) -> String {
    let mut hash = Sha256::new();
    for part in parts {
        hash.update(part);
    }
    let mut out = String::with_capacity(32);
    for byte in hash.finalize().iter().take(16) {
        out.push_str(&format!("{byte:02x}"));
    }
    out
}
