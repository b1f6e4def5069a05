//! Words of settings and copies.

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct SettingWords {
    pub settings: &'static str,
    pub practitioner: &'static str,
    pub registration: &'static str,
    pub registration_hint: &'static str,
    pub emergency: &'static str,
    pub emergency_hint: &'static str,
    pub cream_scope: &'static str,
    pub cream_scope_hint: &'static str,
    pub cream_no: &'static str,
    pub cream_yes: &'static str,
    pub seat: &'static str,
    pub facing: &'static str,
    pub head_end: &'static str,
    pub used: &'static str,
    pub used_tray: &'static str,
    pub used_box: &'static str,
    pub keep: &'static str,
    pub kept: &'static str,
    pub copies: &'static str,
    pub copies_why: &'static str,
    pub copy_out: &'static str,
    pub copy_out_note: &'static str,
    pub copy_in: &'static str,
    pub copy_in_note: &'static str,
    pub copied: &'static str,
    pub copy_gone: &'static str,
    pub copy_failed: &'static str,
    pub not_a_copy: &'static str,
    pub too_large: &'static str,
    pub nothing_new: &'static str,
    pub question_sheet: &'static str,
    pub demo: &'static str,
    pub demo_why: &'static str,
    pub demo_here: &'static str,
    pub demo_leave: &'static str,
    pub too_long: &'static str,
    pub language: &'static str,
    pub language_hint: &'static str,
    pub english: &'static str,
    pub needle_labels: &'static str,
    pub needle_labels_hint: &'static str,
    pub millimetres: &'static str,
    pub with_gauge: &'static str,
    pub weights: &'static str,
    pub weights_hint: &'static str,
    pub kilograms: &'static str,
    pub pounds: &'static str,
    pub speeds: &'static str,
    pub speeds_hint: &'static str,
    pub speeds_on: &'static str,
    pub speeds_off: &'static str,
}

/// English.
pub const EN: SettingWords = SettingWords {
    settings: "Settings",
    practitioner: "Your name, as printed on records",
    registration: "Registration or licence",
    registration_hint: "as it must stand on records where you work",
    emergency: "Local emergency number",
    emergency_hint: "shown on every emergency card",
    cream_scope: "Numbing cream",
    cream_scope_hint: "Whether you may apply it depends on your licence and local law. Until you confirm it, the cream step is hidden.",
    cream_no: "not confirmed",
    cream_yes: "my scope allows it",
    seat: "Where you stand",
    facing: "facing the person",
    head_end: "at the head end",
    used: "Where used needles go",
    used_tray: "a counting tray",
    used_box: "straight into the box",
    keep: "Keep",
    kept: "Kept.",
    copies: "Copies",
    copies_why: "Everything is on this phone and nowhere else. If the phone is lost, only a copy brings it back. The file is not locked yet: whoever has it can read it.",
    copy_out: "Take a copy out",
    copy_out_note: "the whole journal as one text file",
    copy_in: "Bring a copy in",
    copy_in_note: "what is here already stays as it is",
    copied: "The file is ready; keep it off this phone.",
    copy_gone: "No file was written. Nothing here was changed.",
    copy_failed: "The file was not saved. Everything is still here; try again, or choose another place.",
    not_a_copy: "This file is not a copy of a journal. Nothing was changed.",
    too_large: "This file is larger than a copy can be here (64 MB). Nothing was changed.",
    nothing_new: "Everything in this copy is here already. Nothing was changed.",
    question_sheet: "The question sheet on paper",
    demo: "Look around with invented data",
    demo_why: "Opens an invented practice beside yours. Nothing of it mixes with your own, and one press removes it.",
    demo_here: "Invented data: the Reed Street practice and its people do not exist",
    demo_leave: "Remove the invented data and go back",
    too_long: "This is too long to keep. What you typed is still here.",
    language: "Language",
    language_hint: "There is no other yet.",
    english: "English",
    needle_labels: "Needle sizes",
    needle_labels_hint: "Gauge numbers differ between makers; the millimetres are what counts.",
    millimetres: "in millimetres",
    with_gauge: "with the gauge beside them",
    weights: "A person's weight",
    weights_hint: "How it is typed. It is kept in kilograms; creams stay in grams and milligrams, as on their labels.",
    kilograms: "in kilograms",
    pounds: "in pounds",
    speeds: "How fast needles go in and come out",
    speeds_hint: "Learned from presses as they happen, never from what was entered afterwards or together.",
    speeds_on: "learned from our own visits",
    speeds_off: "as the procedure says",
};

impl SettingWords {
    /// What a copy brought in.
    #[must_use]
    pub fn brought(&self, new: usize, flaws: usize) -> alloc::string::String {
        let flawed = if flaws == 0 {
            alloc::string::String::new()
        } else {
            alloc::format!(
                " {flaws} lines could not be read and were left out; the file still has them."
            )
        };
        alloc::format!("{new} new entries were brought in. What was here stayed as it was.{flawed}")
    }
}
