//! Words of a visit around the plan: consent, cream, the way to the chair, the paper.

use alloc::format;
use alloc::string::String;

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct VisitWords {
    pub procedure: &'static str,
    pub mind: &'static str,
    pub cream_on: &'static str,
    pub print_tray: &'static str,
    pub no_consent: &'static str,
    pub go_to_chair: &'static str,
    pub dims: &'static str,
    pub not_planned: &'static str,
    pub count_only: &'static str,
    pub cream: &'static str,
    pub cream_caution: &'static str,
    pub cream_product: &'static str,
    pub cream_grams: &'static str,
    pub cream_area: &'static str,
    pub cream_minutes: &'static str,
    pub cream_keep: &'static str,
    pub cream_none: &'static str,
    pub cream_bad: &'static str,
    pub consent: &'static str,
    pub read_back: &'static str,
    pub consent_needles: &'static str,
    pub consent_cream: &'static str,
    pub consent_stays: &'static str,
    pub consent_pictures: &'static str,
    pub consent_give: &'static str,
    pub consent_stands: &'static str,
    pub sheet_title: &'static str,
    pub sheet_how: &'static str,
    pub enter_paper: &'static str,
    pub tray_title: &'static str,
    pub tally: &'static str,
    pub tally_in: &'static str,
    pub tally_out: &'static str,
    pub plugged_in: &'static str,
    pub print: &'static str,
    pub aftercare_title: &'static str,
    pub aftercare: &'static [&'static str],
    pub aftercare_next: &'static str,
    pub own_line: &'static str,
}

/// English.
pub const EN: VisitWords = VisitWords {
    procedure: "Procedure",
    mind: "To mind today",
    cream_on: "Numbing cream: on before the face is placed, off and clean before the first needle there.",
    print_tray: "The tray list on paper",
    no_consent: "No consent of today is written down. The chair can be opened all the same; the record will say so.",
    go_to_chair: "Go to the chair",
    dims: "dims the screen and keeps it awake",
    not_planned: "Pinfold does not plan over a stop or an open question. What happens can still be counted.",
    count_only: "Count only",
    cream: "Numbing cream",
    cream_caution: "Only where your scope and local law allow it. Smallest area that serves, no wrap, no heat, off before the face is needled. The label's limits come first.",
    cream_product: "Product, by content and label",
    cream_grams: "grams",
    cream_area: "cm\u{b2}",
    cream_minutes: "minutes on",
    cream_keep: "Plan this cream",
    cream_none: "No cream",
    cream_bad: "Write grams, square centimetres and minutes as numbers. Nothing was changed.",
    consent: "Before needles",
    read_back: "Read back, and hear it confirmed:",
    consent_needles: "needles",
    consent_cream: "numbing cream",
    consent_stays: "needles that stay in",
    consent_pictures: "pictures",
    consent_give: "They agree, and the name is right",
    consent_stands: "Written down for today.",
    sheet_title: "Questions before your treatment",
    sheet_how: "Please mark one answer on each line. If you do not know, write a question mark. Ask if a word is unclear.",
    enter_paper: "Enter from paper",
    tray_title: "Tray list",
    tally: "Tally, in case the phone fails",
    tally_in: "in",
    tally_out: "out",
    plugged_in: "\u{2610} phone plugged in   \u{2610} second timer at hand   \u{2610} sharps box open",
    print: "Print",
    aftercare_title: "After your treatment",
    aftercare: &[
        "A little redness, a small bruise or a drop of blood where a needle was is usual.",
        "You may feel tired or light. Sit a while, drink, eat something, and do not drive until you feel awake.",
        "Press a bruise gently with something cool, wrapped in cloth.",
        "No make-up on the needled skin today, and clean hands before you touch it.",
        "If you find a needle, do not touch its tip. Put it in a jar with a lid and ring us.",
        "Ring us if a place gets hotter, redder, more swollen or more painful, or if you feel unwell.",
        "Call the emergency number at once for chest pain, trouble breathing, sudden loss of sight, weakness of face or arm, or trouble speaking.",
    ],
    aftercare_next: "Next visit:",
    own_line: "Written by hand:",
};

impl VisitWords {
    /// What the face map shows, for a screen reader.
    #[must_use]
    pub fn map_name(&self, needles: u16) -> String {
        format!("Face map with crown and hands: {needles} needles planned")
    }
}
