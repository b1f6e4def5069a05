//! Reading the knowledge that the build put into the program.

use serde::de::DeserializeOwned;

/// A data file inside the program that cannot be read. It was checked when the program was built,
/// so this means a damaged program: nothing of a person's is touched, and a reload fetches it anew.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the knowledge file {0} inside the program is damaged")]
pub struct BadData(pub &'static str);

/// Reads one embedded JSON file.
///
/// # Errors
/// [`BadData`] with the file's name when it does not have the shape asked for.
pub fn read<T: DeserializeOwned>(name: &'static str, json: &str) -> Result<T, BadData> {
    serde_json::from_str(json).map_err(|_| BadData(name))
}
