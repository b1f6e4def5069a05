//! The form in letters: strict PEM (RFC 7468, figure 3) with lines of 64, so that a file survives
//! being pasted. Line ends may be LF or CR LF, and white space may stand around it; nothing else may.

use base64ct::{Base64, Encoding};
use pinfold_core::seal::CopyTrouble;

pub(super) const BEGIN: &str = "-----BEGIN AGE ENCRYPTED FILE-----";
pub(super) const END: &str = "-----END AGE ENCRYPTED FILE-----";
/// Bytes in a full line of 64 letters.
pub(super) const LINE: usize = 48;
const LETTERS: usize = 64;

/// True if this is meant to be the form in letters.
pub(super) fn is_armour(file: &[u8]) -> bool {
    file.trim_ascii_start().starts_with(b"-----")
}

/// True if it begins somewhere further down.
pub(super) fn begins_late(file: &[u8]) -> bool {
    file.windows(BEGIN.len())
        .any(|part| part == BEGIN.as_bytes())
}

/// The bytes that it stands for.
pub(super) fn decode(file: &[u8]) -> Result<Vec<u8>, CopyTrouble> {
    let mut rest = file.trim_ascii_start();
    let mut line = || {
        let (line, after) = match rest.iter().position(|&b| b == b'\n') {
            Some(at) => (rest.get(..at)?, rest.get(at.saturating_add(1)..)?),
            None if rest.is_empty() => return None,
            None => (rest, rest.get(rest.len()..)?),
        };
        rest = after;
        Some((line.strip_suffix(b"\r").unwrap_or(line), after))
    };
    if line().map(|(first, _)| first) != Some(BEGIN.as_bytes()) {
        return Err(CopyTrouble::Armour);
    }
    let mut out = Vec::new();
    let mut full = true;
    loop {
        let (text, after) = line().ok_or(CopyTrouble::ArmourCut)?;
        if text == END.as_bytes() {
            return if after.trim_ascii().is_empty() {
                Ok(out)
            } else {
                Err(CopyTrouble::ArmourExtra)
            };
        }
        // A line that is not full is the last.
        if !full || text.is_empty() || text.len() > LETTERS {
            return Err(CopyTrouble::Armour);
        }
        let mut buffer = [0; LINE];
        let bytes = Base64::decode(text, &mut buffer).map_err(|_| CopyTrouble::Armour)?;
        full = bytes.len() == LINE;
        out.extend_from_slice(bytes);
    }
}

/// One line of up to 48 bytes, with its end.
pub(super) fn line(bytes: &[u8]) -> String {
    let mut line = Base64::encode_string(bytes);
    line.push('\n');
    line
}
