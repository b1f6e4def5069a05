//! What does not fit together, in words.

/// One sentence per kind of flaw.
#[expect(missing_docs, reason = "each field is named as its kind")]
pub struct FlawWords {
    pub unknown_kind: &'static str,
    pub newer_version: &'static str,
    pub malformed: &'static str,
    pub erased: &'static str,
    pub doubled_out: &'static str,
    pub unknown_needle: &'static str,
    pub unknown_target: &'static str,
    pub corrects_the_future: &'static str,
    pub more_than_opened: &'static str,
    pub creamed_skin: &'static str,
    pub barred_point: &'static str,
    pub after_stop: &'static str,
    pub two_totals: &'static str,
    pub seen_otherwise: &'static str,
    pub false_balance: &'static str,
}

/// English.
pub const EN: FlawWords = FlawWords {
    unknown_kind: "A newer version of Pinfold wrote something here that this version cannot read. It is kept. You can go on adding to this session; correct and close it with the newer version.",
    newer_version: "A newer version of Pinfold wrote this in a form that this version cannot read. It is kept. Correct and close this session with the newer version.",
    malformed: "An entry of this session is damaged. It is kept as it is, and the rest is read without it. Count again before you trust the sum.",
    erased: "What was here was erased with the person's key.",
    doubled_out: "The same needle was taken out twice, or named again after it was out. It counts once. Look again in that region.",
    unknown_needle: "An entry names a needle that was never placed, or whose placing was corrected. It changes nothing. Look again in that region.",
    unknown_target: "An entry names a packet, cream or entry that is not here. It changes nothing.",
    corrects_the_future: "A correction names an entry that came after it. It changes nothing.",
    more_than_opened: "More needles were seen than the packets entered held. Most often a packet was not entered.",
    creamed_skin: "Needles were placed where numbing cream is not recorded as wiped off.",
    barred_point: "A needle was placed at a point that was left out today.",
    after_stop: "Needles were placed after a red flag had ended the placing.",
    two_totals: "The same count of a region was entered twice, most often on two phones. The smaller number stands until you choose one. Look again in that region.",
    seen_otherwise: "By eye another number of needles was seen than is known to be in. Look again in that region.",
    false_balance: "This count had added up, and a needle turned up afterwards: it was a false balance.",
};
