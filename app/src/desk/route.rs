//! Where the person is: the part of the address after `#`. It needs no server rule, and *back*
//! works.

use pinfold_core::atlas::Region;
use pinfold_core::base::id::EntryId;

/// A page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Route {
    /// Who is next and what is unfinished.
    Today,
    /// Opening a chair with no plan.
    CountOnly,
    /// A session's chair.
    Chair(EntryId),
    /// Taking out one region.
    Region(EntryId, Region),
    /// The count and the close.
    Count(EntryId),
    /// What this is, who made what, and the notices.
    About,
}

impl Route {
    /// Reads an address; anything else is Today.
    #[must_use]
    pub fn read(text: &str) -> Self {
        let mut parts = text.trim_start_matches('/').split('/');
        let first = parts.next().unwrap_or_default();
        let id = |text: Option<&str>| text.and_then(|t| t.parse::<EntryId>().ok());
        match first {
            "count-only" => Self::CountOnly,
            "about" => Self::About,
            "chair" => id(parts.next()).map_or(Self::Today, Self::Chair),
            "count" => id(parts.next()).map_or(Self::Today, Self::Count),
            "out" => match (id(parts.next()), parts.next().and_then(|r| r.parse().ok())) {
                (Some(session), Some(region)) => Self::Region(session, region),
                _ => Self::Today,
            },
            _ => Self::Today,
        }
    }

    /// The address, without the `#`.
    #[must_use]
    pub fn text(&self) -> String {
        match self {
            Self::Today => "/".into(),
            Self::CountOnly => "/count-only".into(),
            Self::Chair(id) => format!("/chair/{id}"),
            Self::Region(id, region) => format!("/out/{id}/{region}"),
            Self::Count(id) => format!("/count/{id}"),
            Self::About => "/about".into(),
        }
    }

    /// The address for a link.
    #[must_use]
    pub fn href(&self) -> String {
        format!("#{}", self.text())
    }

    /// Chair-side pages are dark.
    #[must_use]
    pub fn chairside(&self) -> bool {
        matches!(
            self,
            Self::Chair(_) | Self::Region(..) | Self::Count(_) | Self::CountOnly
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_page_reads_back_and_nonsense_is_today() {
        let id: EntryId = "12-00000000000000000000000000000abc".parse().unwrap();
        let region = "cheek.left".parse().unwrap();
        for route in [
            Route::Today,
            Route::CountOnly,
            Route::Chair(id),
            Route::Region(id, region),
            Route::Count(id),
            Route::About,
        ] {
            assert_eq!(Route::read(&route.text()), route);
        }
        for text in ["", "/chair/x", "/out/12", "//", "/chair/<img>", "nowhere"] {
            assert_eq!(Route::read(text), Route::Today, "{text}");
        }
    }
}
