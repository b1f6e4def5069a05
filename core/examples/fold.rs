//! A journal file on stdin becomes JSON on stdout: the state of its last session.
//!
//! The shape is described in DEVELOPERS.md and kept stable. "Now" is the latest stamp in the
//! session, so the same file always gives the same answer.
#![allow(clippy::disallowed_macros, reason = "an example talks by printing")]

use pinfold_core::base::stamp::Wall;
use pinfold_core::journal::Journal;
use pinfold_core::ledger::Ledger;
use pinfold_core::session::{ClockState, Now, What};
use pinfold_core::view::flaw;
use pinfold_core::words::flaw::EN;
use serde::Serialize;
use std::collections::BTreeMap;
use std::io::Read;

#[derive(Serialize, Default)]
struct Out {
    sum: Sum,
    by_region: BTreeMap<String, Sum>,
    clocks: Vec<Clock>,
    closed: bool,
    flaws: Vec<Flaw>,
}

#[derive(Serialize, Default)]
struct Sum {
    #[serde(skip_serializing_if = "Option::is_none")]
    opened: Option<u32>,
    placed: u32,
    #[serde(rename = "in")]
    in_now: u32,
    out: u32,
    out_uncounted: u32,
    stays_in: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    unused: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    spoilt: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unaccounted: Option<u32>,
    not_found: u32,
    #[serde(skip_serializing_if = "nought")]
    unseen: u32,
    #[serde(skip_serializing_if = "nought")]
    fell_off: u32,
    #[serde(skip_serializing_if = "nought")]
    turned_up: u32,
}

#[derive(Serialize)]
struct Clock {
    what: &'static str,
    region: Option<String>,
    since: Wall,
    due: Option<Wall>,
    state: &'static str,
}

#[derive(Serialize)]
struct Flaw {
    entry: Option<String>,
    kind: String,
    words: String,
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde passes a reference"
)]
fn nought(n: &u32) -> bool {
    *n == 0
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut bytes = Vec::new();
    std::io::stdin().read_to_end(&mut bytes)?;
    println!("{}", serde_json::to_string_pretty(&fold(&bytes))?);
    Ok(())
}

fn fold(bytes: &[u8]) -> Out {
    let read = Journal::from_lines(bytes);
    let mut out = Out::default();
    for line in &read.flaws {
        out.flaws.push(Flaw {
            entry: None,
            kind: "line".into(),
            words: format!("line {}: {}", line.line, line.why),
        });
    }
    for damage in read.journal.damage() {
        if let pinfold_core::journal::Damage::Rivals(id) = damage {
            let words = damage.to_string();
            out.flaws.push(Flaw {
                entry: Some(id.to_string()),
                kind: "rivals".into(),
                words,
            });
        }
    }
    let ledger = Ledger::new(read.journal);
    let Some((_, session)) = ledger.whole().expect("all of it").sessions().last() else {
        return out;
    };
    let state = session.state();
    let s = &state.sum;
    out.sum = Sum {
        opened: Some(s.opened),
        placed: s.placed,
        in_now: s.in_now,
        out: s.out,
        out_uncounted: s.out_uncounted,
        stays_in: s.stays_in,
        unused: Some(s.unused),
        spoilt: Some(s.spoilt),
        unaccounted: Some(s.unaccounted),
        not_found: s.not_found,
        unseen: s.unseen,
        fell_off: s.fell_off,
        turned_up: s.turned_up,
    };
    for (region, r) in &state.regions {
        let sum = Sum {
            placed: r.placed,
            in_now: r.in_now,
            out: r.out,
            out_uncounted: r.out_uncounted,
            stays_in: r.stays_in,
            not_found: r.not_found,
            unseen: r.unseen,
            fell_off: r.fell_off,
            ..Sum::default()
        };
        out.by_region.insert(region.to_string(), sum);
    }
    if let Some((id, last, _)) = session.facts().last() {
        let now = Now {
            run: id.replica,
            wall: state.latest.unwrap_or(last.at.wall),
            mono: last.at.mono,
            follows_since: last.at.mono,
        };
        for clock in state.clocks(&now) {
            out.clocks.push(Clock {
                what: match clock.what {
                    What::Cream(_) => "cream",
                    What::Stay(_) => "stay",
                    What::LookIn => "look_in",
                    What::Waits => "waits",
                },
                region: clock.region.map(|r| r.to_string()),
                since: clock.since,
                due: clock.due.map(|d| d.wall),
                state: match clock.state {
                    ClockState::ByHand => "by_hand",
                    ClockState::Over => "over",
                    ClockState::Due => "due",
                    ClockState::Soon => "soon",
                    ClockState::Waiting => "waiting",
                    ClockState::Open => "open",
                },
            });
        }
    }
    out.closed = state.closed.is_some();
    for flaw in &state.flaws {
        out.flaws.push(Flaw {
            entry: Some(flaw.entry.to_string()),
            kind: flaw::name(flaw.kind).into(),
            words: flaw::say(&EN, flaw.kind).into(),
        });
    }
    out
}
