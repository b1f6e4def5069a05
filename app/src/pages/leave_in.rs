//! Needles that stay in on purpose: how many, and for how long at most.

use crate::desk::use_desk;
use crate::parts::{Look, Press, Sheet, Step};
use crate::shape::prelude::*;
use pinfold_core::atlas::Region;
use pinfold_core::base::id::EntryId;
use pinfold_core::base::units::Seconds;
use pinfold_core::ledger::ChairCommand;
use pinfold_core::session::figures;
use pinfold_core::view::today::consent_of;
use pinfold_core::words::beside::EN;
use pinfold_core::words::chair;

/// The press, and the sheet it opens. No number of the region stands on it: it is a count.
#[component]
pub fn LeaveIn(
    /// The session.
    session: EntryId,
    /// The region.
    region: Region,
    /// They were written down.
    on_done: Callback<()>,
) -> impl IntoShape {
    let desk = use_desk();
    let open = RwSignal::new(false);
    let [many, days] = [(); 2].map(|()| RwSignal::new(1_u16));
    let refused = move || {
        let of = desk.read(|l| consent_of(l, session).map(|c| c.stays_in));
        of == Some(false)
    };
    let leave = move |()| {
        let longest = u32::from(days.get_untracked()) * 86_400;
        let leave = ChairCommand::LeaveIn {
            session,
            region,
            count: many.get_untracked(),
            longest: Some(Seconds(longest)),
        };
        if desk.act(leave).is_ok() {
            open.set(false);
            on_done.run(());
        }
    };
    let step = move |value: RwSignal<u16>, note: &'static str, most: u16| {
        view! { <Step value=value on_change=move |n| value.set(n) fewer=chair::EN.one_fewer more=chair::EN.one_more note=note least=1 most=most /> }
    };
    let most = u16::try_from(figures::WORN_DAYS_MOST).unwrap_or(1);
    view! {
        <Press text=chair::EN.stays_in_here look=Look::Plain chair=true small=true on_press=move |()| open.set(true) />
        <Sheet open=open on_close=move |()| open.set(false) title=chair::EN.stays_in_here back=chair::EN.back>
            <div class="stack">
                <p class="wrong" hidden=move || !refused()>{EN.stays_refused}</p>
                {step(many, chair::EN.how_many, 60)}
                {step(days, EN.days, most)}
                <p class="note">{EN.worn()}</p>
                <Press text=EN.leave_in chair=true on_press=leave />
            </div>
        </Sheet>
    }
}
