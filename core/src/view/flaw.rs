//! What does not fit together: its stable name in files, and its sentence.

use crate::session::FlawKind;
use crate::words::flaw::FlawWords;

/// The stable name of a kind of flaw, as files print it.
#[must_use]
pub const fn name(kind: FlawKind) -> &'static str {
    match kind {
        FlawKind::UnknownKind => "unknown_kind",
        FlawKind::NewerVersion => "newer_version",
        FlawKind::Malformed => "malformed",
        FlawKind::Erased => "erased",
        FlawKind::DoubledOut => "doubled_out",
        FlawKind::UnknownNeedle => "unknown_needle",
        FlawKind::UnknownTarget => "unknown_target",
        FlawKind::CorrectsTheFuture => "corrects_the_future",
        FlawKind::MoreThanOpened => "more_than_opened",
        FlawKind::CreamedSkin => "creamed_skin",
        FlawKind::BarredPoint => "barred_point",
        FlawKind::AfterStop => "after_stop",
        FlawKind::TwoTotals => "two_totals",
        FlawKind::SeenOtherwise => "seen_otherwise",
        FlawKind::FalseBalance => "false_balance",
    }
}

/// The sentence for one kind.
#[must_use]
pub const fn say(words: &FlawWords, kind: FlawKind) -> &'static str {
    match kind {
        FlawKind::UnknownKind => words.unknown_kind,
        FlawKind::NewerVersion => words.newer_version,
        FlawKind::Malformed => words.malformed,
        FlawKind::Erased => words.erased,
        FlawKind::DoubledOut => words.doubled_out,
        FlawKind::UnknownNeedle => words.unknown_needle,
        FlawKind::UnknownTarget => words.unknown_target,
        FlawKind::CorrectsTheFuture => words.corrects_the_future,
        FlawKind::MoreThanOpened => words.more_than_opened,
        FlawKind::CreamedSkin => words.creamed_skin,
        FlawKind::BarredPoint => words.barred_point,
        FlawKind::AfterStop => words.after_stop,
        FlawKind::TwoTotals => words.two_totals,
        FlawKind::SeenOtherwise => words.seen_otherwise,
        FlawKind::FalseBalance => words.false_balance,
    }
}
