//! Words of the Ask page and of findings that are worked out rather than written in a data file.

use alloc::format;
use alloc::string::String;

/// The sentences of one language.
#[derive(Clone, Copy, Debug)]
pub struct Ask {
    /// Stands where a figure is not known.
    pub not_known_figure: &'static str,
    /// A rule that cannot be evaluated yet.
    undecided: &'static str,
    /// No row of the label fits.
    pub cream_not_for: &'static str,
}

/// English.
pub const ENGLISH: Ask = Ask {
    not_known_figure: "(not known)",
    undecided: "Not decided: an answer is missing. It could mean:",
    cream_not_for: "The label of this cream has nothing for this age and weight: no cream.",
};

impl Ask {
    /// A rule that could still apply.
    #[must_use]
    pub fn undecided(&self, words: &str) -> String {
        format!("{} {words}", self.undecided)
    }

    /// A setting that is looser than the default.
    #[must_use]
    pub fn loosened(&self, say: &str, figure: &str, default: &str) -> String {
        format!("{say}: set to {figure}, looser than Pinfold's {default}.")
    }

    /// Too much cream. Both in grams.
    #[must_use]
    pub fn cream_over_amount(&self, planned: &str, most: &str) -> String {
        format!("{planned} g is more than the label's {most} g: no cream as planned.")
    }

    /// Too large an area, in square centimetres.
    #[must_use]
    pub fn cream_over_area(&self, planned: u32, most: u32) -> String {
        format!("{planned} cm2 is more than the label's {most} cm2: no cream as planned.")
    }

    /// Too long, in minutes.
    #[must_use]
    pub fn cream_over_time(&self, planned: u32, most: u32) -> String {
        format!("{planned} minutes is longer than the label's {most}: no cream as planned.")
    }

    /// At the upper end of what is typical, in minutes.
    #[must_use]
    pub fn cream_at_upper_end(&self, planned: u32) -> String {
        format!("{planned} minutes is at the upper end of what is typical: take it off on time.")
    }

    /// Off before it works, in minutes.
    #[must_use]
    pub fn cream_too_early(&self, planned: u32, earliest: u32) -> String {
        format!("After {planned} minutes it may not be numb yet; the label says {earliest}.")
    }

    /// How much the label asks for, in grams.
    #[must_use]
    pub fn cream_needed(&self, area: u32, least: &str, most: &str) -> String {
        if least == most {
            format!("For {area} cm2 the label's amount is {least} g. Use the least that is needed.")
        } else {
            format!(
                "For {area} cm2 the label's amount is {least} to {most} g. Use the least that is needed."
            )
        }
    }

    /// Too much for a light body: milligrams of drug, and the least weight in kilograms.
    #[must_use]
    pub fn cream_over_weight(&self, drug_mg: u32, least_kg: &str) -> String {
        format!("{drug_mg} mg of the drug is for {least_kg} kg and more: no cream as planned.")
    }

    /// Larger than the practice's own cap, in square centimetres.
    #[must_use]
    pub fn cream_over_policy_area(&self, planned: u32, most: u32) -> String {
        format!("{planned} cm2 is more than one face ({most} cm2): cream the smallest area needed.")
    }

    /// Longer than the practice's own cap, in minutes.
    #[must_use]
    pub fn cream_over_policy_time(&self, planned: u32, most: u32) -> String {
        format!("{planned} minutes is longer than {most}: take the cream off by then.")
    }

    /// Shown wherever cream and injected doses stand together.
    #[must_use]
    pub fn cream_is_not_injection(&self) -> &'static str {
        "What lies on the skin is not what is taken in: grams of cream are not measured by what may be injected."
    }
}
