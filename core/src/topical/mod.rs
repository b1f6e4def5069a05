//! L1. Numbing creams: what is in them, what their labels allow, and when they come off.
//!
//! Grams of cream are never compared with what may be injected: both are shown, with the note
//! that what lies on the skin is not what is taken in.

use crate::base::cite::Mark;
use crate::base::data::{BadData, read};
use crate::base::pack::Pack;
use crate::intake::condition::Expr;
use alloc::string::String;
use alloc::vec::Vec;
use serde::{Deserialize, Serialize};

/// The products as packed at build time from `data/topical.toml`.
const PACKED: &str = include_str!(concat!(env!("OUT_DIR"), "/topical.json"));

/// Every product and what may be injected.
#[derive(Clone, Debug, Serialize, Deserialize, Pack)]
pub struct Shelf {
    /// Creams and ointments.
    pub products: Vec<Product>,
    /// Ceilings of injected lidocaine.
    pub injections: Vec<Injection>,
}

/// A cream, by content and market.
#[derive(Clone, Debug, Serialize, Deserialize, Pack)]
pub struct Product {
    /// Stable id.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// Drug, and milligrams in each gram.
    pub contents: Vec<(String, u32)>,
    /// Positions of its traits in the file.
    pub traits: Vec<u16>,
    /// What surprises about its label.
    pub note: String,
    /// What the label allows, by group of people.
    pub uses: Vec<Use>,
    /// Source keys.
    pub source: Vec<String>,
    /// How well it is supported.
    pub mark: Mark,
}

/// What a label allows one group of people.
#[derive(Clone, Debug, Serialize, Deserialize, Pack)]
pub struct Use {
    /// Finding id when it is exceeded.
    pub rule: String,
    /// For whom, in words.
    pub who: String,
    /// For whom, as a condition.
    pub when: Expr,
    /// Most cream at once, in milligrams.
    pub max_mg: Option<u32>,
    /// Most drug for each kilogram of body, in micrograms.
    pub max_ug_per_kg: Option<u32>,
    /// Largest area, in square centimetres.
    pub max_area_cm2: Option<u32>,
    /// Least and most cream the label asks for on each 10 cm2, in milligrams.
    pub mg_per_10_cm2: Option<(u32, u32)>,
    /// Minutes until it works.
    pub earliest_min: Option<u32>,
    /// Minutes at the upper end of what is typical.
    pub typical_latest_min: Option<u32>,
    /// Minutes after which it must be off.
    pub latest_min: Option<u32>,
    /// What the label says, in words.
    pub words: String,
    /// Source keys.
    pub source: Vec<String>,
    /// How well it is supported.
    pub mark: Mark,
    /// Whether the figure is Pinfold's choice.
    pub policy: bool,
}

/// A ceiling of injected lidocaine for adults.
#[derive(Clone, Debug, Serialize, Deserialize, Pack)]
pub struct Injection {
    /// Stable id.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// Micrograms for each kilogram of body.
    pub max_ug_per_kg: u32,
    /// Milligrams in all.
    pub max_mg: u32,
    /// Source keys.
    pub source: Vec<String>,
    /// How well it is supported.
    pub mark: Mark,
}

/// A cream as planned for today.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cream {
    /// Product id.
    pub product: String,
    /// Amount in milligrams of cream.
    pub mg: u32,
    /// Area in square centimetres.
    pub area_cm2: u32,
    /// Minutes on the skin.
    pub minutes: u32,
    /// Whether it is to be covered. Always refused for looks.
    pub wrap: bool,
}

/// A gram of cream, in milligrams.
const GRAM: u64 = 1000;

impl Shelf {
    /// Reads the embedded products. Done once; the caller holds it.
    ///
    /// # Errors
    /// If the build is broken.
    pub fn load() -> Result<Self, BadData> {
        read("topical", PACKED)
    }

    /// The product with this id.
    #[must_use]
    pub fn product(&self, id: &str) -> Option<&Product> {
        self.products.iter().find(|p| p.id == id)
    }

    /// Most injected lidocaine for a body of `grams`, in milligrams: so much for each kilogram,
    /// and never more than the ceiling. For injections only; a cream is not measured by it.
    #[must_use]
    pub fn injection_ceiling_mg(&self, id: &str, grams: u32) -> Option<u32> {
        let row = self.injections.iter().find(|i| i.id == id)?;
        // micrograms per kilogram times grams is 1e-9 g: a million of them make a milligram.
        let by_weight = u64::from(row.max_ug_per_kg)
            .saturating_mul(u64::from(grams))
            .checked_div(1_000_000)?;
        Some(row.max_mg.min(u32::try_from(by_weight).unwrap_or(u32::MAX)))
    }
}

impl Product {
    /// What lies on the skin, by drug, in milligrams, for so many milligrams of cream.
    #[must_use]
    pub fn drugs_mg(&self, cream_mg: u32) -> Vec<(&str, u32)> {
        self.contents
            .iter()
            .map(|(drug, per_gram)| {
                let mg = u64::from(*per_gram)
                    .saturating_mul(u64::from(cream_mg))
                    .checked_div(GRAM)
                    .unwrap_or(0);
                (drug.as_str(), u32::try_from(mg).unwrap_or(u32::MAX))
            })
            .collect()
    }

    /// Whether the product has the trait at this position.
    #[must_use]
    pub fn has(&self, position: u16) -> bool {
        self.traits.contains(&position)
    }
}

impl Use {
    /// Least and most cream the label asks for on this area, in milligrams.
    #[must_use]
    pub fn needed_mg(&self, area_cm2: u32) -> Option<(u32, u32)> {
        let (least, most) = self.mg_per_10_cm2?;
        let on = |per_10: u32| {
            let mg = u64::from(per_10)
                .saturating_mul(u64::from(area_cm2))
                .checked_div(10)
                .unwrap_or(0);
            u32::try_from(mg).unwrap_or(u32::MAX)
        };
        Some((on(least), on(most)))
    }

    /// The area this much cream covers at the label's least thickness, in square centimetres.
    #[must_use]
    pub fn covers_cm2(&self, cream_mg: u32) -> Option<u32> {
        let (least, _) = self.mg_per_10_cm2?;
        let area = u64::from(cream_mg)
            .saturating_mul(10)
            .checked_div(u64::from(least))?;
        Some(u32::try_from(area).unwrap_or(u32::MAX))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn milligrams_on_the_skin() {
        let shelf = Shelf::load().unwrap();
        let mix = shelf.product("mix_2_5_uk").unwrap();
        assert_eq!(
            mix.drugs_mg(60_000),
            [("lidocaine", 1500), ("prilocaine", 1500)]
        );
        let ointment = shelf.product("lidocaine_5_ointment_us").unwrap();
        assert_eq!(ointment.drugs_mg(5_000), [("lidocaine", 250)]);
        assert_eq!(
            mix.drugs_mg(u32::MAX),
            [("lidocaine", 107_374_182), ("prilocaine", 107_374_182)]
        );
    }

    #[test]
    fn ceilings_saturate() {
        let shelf = Shelf::load().unwrap();
        assert_eq!(
            shelf.injection_ceiling_mg("lidocaine_plain", u32::MAX),
            Some(300)
        );
        assert_eq!(shelf.injection_ceiling_mg("none", 1), None);
    }
}
