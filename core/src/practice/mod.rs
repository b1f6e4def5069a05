//! L4. The practice as a fold of its facts: settings.

use crate::base::flat;
use crate::event::Event;
use crate::journal::Entry;
use alloc::string::String;

/// The practice.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Practice {
    settings: flat::Map<String, String>,
}

impl Practice {
    /// Folds the entries of the practice's stream. The latest word stands.
    #[must_use]
    pub fn fold<'a>(entries: impl Iterator<Item = &'a Entry>) -> Self {
        let mut practice = Self::default();
        for entry in entries {
            if let Ok(Event::Set(set)) = Event::read(entry) {
                practice.settings.insert(set.name, set.value);
            }
        }
        practice
    }

    /// A setting's value; empty if it was never given or was taken back.
    #[must_use]
    pub fn setting(&self, name: &str) -> &str {
        self.settings.get(name).map_or("", String::as_str)
    }

    /// Every setting that has a value.
    pub fn settings(&self) -> impl Iterator<Item = (&str, &str)> {
        self.settings
            .iter()
            .filter(|(_, value)| !value.is_empty())
            .map(|(name, value)| (name.as_str(), value.as_str()))
    }
}
