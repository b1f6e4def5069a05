//! Is there a reason to change or stop today? The questions, then what follows from the answers.

use super::frame::{NotSaved, SavedSign, Steps};
use crate::desk::{Route, use_desk};
use crate::parts::slab::Tall;
use crate::parts::ticks::Tick;
use crate::parts::{Choice, Field, Kind as Input, Look, Notice, Press, Slab, Ticks};
use crate::shape::prelude::*;
use pinfold_core::atlas::{Area, Region, Side};
use pinfold_core::base::date::Date;
use pinfold_core::base::flat;
use pinfold_core::base::id::EntryId;
use pinfold_core::base::truth::Truth;
use pinfold_core::event::person::{Answered, Overrode, Told};
use pinfold_core::intake::bank::{Kind, Question};
use pinfold_core::intake::{Answer, By, Milli, Outcome, Reason, Reply, Scale, Value};
use pinfold_core::ledger::{ChairCommand, DeskCommand};
use pinfold_core::screening::{Finding, Override};
use pinfold_core::view::letter::letter;
use pinfold_core::view::said::read_back;
use pinfold_core::view::visit::{VisitView, finding_name};
use pinfold_core::words::acts;
use pinfold_core::words::ask::ENGLISH as EN;
use pinfold_core::words::place;
use pinfold_core::words::rules::EN as RULES;
use pinfold_core::words::visit::EN as VISIT;

/// Ask.
#[component]
pub fn Ask(
    /// Who.
    person: EntryId,
) -> impl IntoShape {
    let desk = use_desk();
    let visit = Memo::new(move |_| desk.visit(person));
    let name = move || visit.with(|v| v.as_ref().map_or(String::new(), |v| v.name.clone()));
    let first = visit.with_untracked(|v| v.as_ref().is_some_and(|v| v.first_visit));
    let asked = visit.with_untracked(|v| v.as_ref().map_or(Vec::new(), |v| v.asked.clone()));
    // The lines of a return visit stand still; what else is open follows them.
    let lines: Vec<Question> = desk
        .books(|b| {
            b.knowledge
                .bank
                .return_screen()
                .into_iter()
                .filter(|q| asked.contains(&q.id))
                .cloned()
                .collect()
        })
        .unwrap_or_default();
    let on_lines: flat::Set<String> = lines.iter().map(|q| q.id.clone()).collect();
    let all = RwSignal::new(first);
    // From the sheet that was filled in by hand: the same questions in the same order.
    let told = RwSignal::new(Told::Asked);
    let paper = Memo::new(move |_| told.get() == Told::Paper);
    // The list of rows changes only when a question comes or goes, not with every answer.
    let rows = Memo::new(move |_| {
        visit.with(|v| {
            let Some(v) = v else { return Vec::new() };
            if paper.get() {
                let sheet = desk.books(|b| {
                    let on_sheet = b
                        .knowledge
                        .bank
                        .questions
                        .iter()
                        .filter(|q| q.by == By::Patient);
                    on_sheet.map(|q| q.id.clone()).collect::<Vec<_>>()
                });
                return sheet.unwrap_or_default();
            }
            let open = v.screening.as_ref().map_or(&[][..], |s| s.open.as_slice());
            let answered_today = |id: &String| {
                v.answers.get(id).is_some_and(|a| a.date == desk.today()) && !v.covered.contains(id)
            };
            v.asked
                .iter()
                .filter(|id| all.get() || open.contains(id) || answered_today(id))
                .filter(|id| first || !on_lines.contains(*id))
                .cloned()
                .collect::<Vec<_>>()
        })
    });
    let question = move |id: &str| {
        desk.books(|b| b.knowledge.bank.question(id).cloned())
            .ok()
            .flatten()
    };
    let row = move |q: Question| {
        view! { <Row person=person question=q visit=visit told=told /> }
    };
    let grouped = move || {
        let mut views = Vec::new();
        let mut last = None;
        for id in rows.get() {
            let Some(q) = question(&id) else { continue };
            if last != Some(q.group) {
                last = Some(q.group);
                views.push(view! { <Group person=person group=q.group visit=visit told=told /> });
            }
            views.push(row(q));
        }
        views
    };
    view! {
        <div class="screen">
            <header class="column">
                <div class="head"><h1><bdi>{name}</bdi></h1><p class="note end"><SavedSign /></p></div>
                <Steps person=person here=Some(0) />
            </header>
            <main class="column halves">
                <div class="stack ask">
                    <NotSaved />
                    <Press
                        text=Signal::derive(move || if paper.get() { VISIT.enter_paper_done } else { VISIT.enter_paper }.to_string())
                        note=Signal::derive(move || if paper.get() { VISIT.enter_paper_how } else { "" }.to_string())
                        look=Look::Plain
                        on_press=move |()| told.set(if paper.get_untracked() { Told::Asked } else { Told::Paper })
                    />
                    <Press text=EN.hand_over note=EN.hand_over_note look=Look::Plain on_press=move |()| desk.go(&Route::Hand(person)) />
                    // What was left in has an end that is written down there, by whom.
                    <a class="press plain" hidden=move || visit.with(|v| v.as_ref().is_none_or(|v| v.left_in == 0)) href=Route::After(person).href()>{acts::EN.left_in_first}</a>
                    {(!first).then(|| view! {
                        <section hidden=paper>
                            <h2>{EN.since_last_time}</h2>
                            {lines.into_iter().map(row).collect::<Vec<_>>()}
                        </section>
                    })}
                    <section>
                        <h2 hidden=move || first || paper.get()>{EN.still_to_ask}</h2>
                        {grouped}
                        <div hidden=move || all.get() || paper.get()>
                            <Press text=EN.all_questions look=Look::Plain on_press=move |()| all.set(true) />
                        </div>
                    </section>
                </div>
                <div class="stack sticks">
                    <ReadBack visit=visit />
                    <Findings person=person visit=visit />
                    <Slab text=EN.on tall=Tall::Low solid=true on_press=move |()| desk.go(&Route::Look(person)) />
                </div>
            </main>
        </div>
    }
}

/// A group's heading, with "no to all of these" where the group allows it.
#[component]
pub(super) fn Group(
    person: EntryId,
    group: usize,
    visit: Memo<Option<VisitView>>,
    told: RwSignal<Told>,
) -> impl IntoShape {
    let desk = use_desk();
    let found = desk
        .books(|b| b.knowledge.bank.groups.get(group).cloned())
        .ok()
        .flatten();
    let (title, no_to_all) = found.map_or((String::new(), false), |g| (g.title, g.no_to_all));
    let all_no = move |()| {
        let asked = visit.with_untracked(|v| v.as_ref().map_or(Vec::new(), |v| v.asked.clone()));
        let answers =
            visit.with_untracked(|v| v.as_ref().map_or(Default::default(), |v| v.answers.clone()));
        let noes = desk.books(|b| {
            let bank = &b.knowledge.bank;
            asked
                .iter()
                .filter_map(|id| bank.question(id))
                .filter(|q| q.group == group && !answers.contains_key(&q.id))
                .filter_map(|q| bank.plain_no(q).map(|no| (q.id.clone(), no)))
                .collect::<Vec<_>>()
        });
        for (id, no) in noes.unwrap_or_default() {
            answer(person, id, Reply::Known(no), told);
        }
    };
    view! {
        <h2>{title}</h2>
        {no_to_all.then(|| view! { <Press text=EN.no_to_all look=Look::Plain on_press=all_no /> })}
    }
}

/// With a chair open, an answer that stops the visit ends the placing there, too.
fn stop_the_chair(person: EntryId) {
    let desk = use_desk();
    let running = desk.read_now(|l| {
        let open = l.open_sessions().filter(|(_, s)| {
            s.state().person == Some(person) && s.state().stopped.is_none() && !s.state().rehearsal
        });
        open.last().map(|(id, _)| id)
    });
    let Some(session) = running else { return };
    let why = desk
        .visit(person)
        .and_then(|v| v.screening)
        .filter(|s| s.verdict.is_some_and(|v| v >= Outcome::Stop))
        .and_then(|s| s.findings.first().map(|f| f.words.clone()));
    if let Some(why) = why {
        let _ = desk.act(ChairCommand::Stop { session, why });
    }
}

/// Writes an answer down; false if it was refused.
fn answer(person: EntryId, question: String, reply: Reply, told: RwSignal<Told>) -> bool {
    let desk = use_desk();
    let date = desk.today();
    let kept = desk.act(DeskCommand::Answer(
        person,
        Answered {
            question,
            reply,
            date,
            told: told.get_untracked(),
        },
    ));
    if kept.is_ok() {
        stop_the_chair(person);
    }
    kept.is_ok()
}

/// One question.
#[component]
pub(super) fn Row(
    person: EntryId,
    question: Question,
    visit: Memo<Option<VisitView>>,
    told: RwSignal<Told>,
) -> impl IntoShape {
    let desk = use_desk();
    let id = question.id.clone();
    let reply = {
        let id = id.clone();
        Memo::new(move |_| {
            visit.with(|v| {
                // What another answer's "no" covers was not answered here, and is not drawn so.
                v.as_ref()
                    .filter(|v| !v.covered.contains(&id))
                    .and_then(|v| v.answers.get(&id))
                    .map(|a| a.reply.clone())
            })
        })
    };
    let wrong = RwSignal::new("");
    let say = {
        let (id, question) = (id.clone(), question.clone());
        move |reply: Reply| {
            let fits = question.check(
                &Answer {
                    reply: reply.clone(),
                    date: desk.today(),
                },
                desk.today(),
            );
            let not_measured = reply == Reply::Unknown(Reason::NotMeasured);
            let kept = fits.is_ok() && answer(person, id.clone(), reply, told);
            if kept && not_measured {
                for other in measured_with(&question, visit) {
                    answer(person, other, Reply::Unknown(Reason::NotMeasured), told);
                }
            }
            wrong.set(if kept {
                ""
            } else {
                match question.kind {
                    Kind::Number { .. } => EN.bad_number,
                    Kind::Date => EN.bad_date,
                    _ => EN.bad_answer,
                }
            });
        }
    };
    let exit = |reason: Reason| question.exit(reason).is_some();
    let (not_known, not_measured) = (exit(Reason::NotKnown), exit(Reason::NotMeasured));
    let text = question.say.clone();
    let why = question.why.clone();
    let unknown = {
        let say = say.clone();
        move |reason: Reason, words: &'static str| {
            let say = say.clone();
            let chosen = move || reply.with(|r| *r == Some(Reply::Unknown(reason)));
            view! {
                <button
                    type="button"
                    class="press plain"
                    aria-pressed=move || if chosen() { "true" } else { "false" }
                    on:click=move |_| say(Reply::Unknown(reason))
                >
                    {words}
                </button>
            }
        }
    };
    let scale = match &question.kind {
        Kind::Number { unit, .. } => Scale::of(
            unit,
            desk.read_now(|l| l.practice().setting("weights") == "pounds"),
        ),
        _ => Scale::Kept,
    };
    // A measure of another day stands, but is never typed in ahead.
    let today = visit.with_untracked(|v| {
        let answer = v.as_ref().and_then(|v| v.answers.get(&id));
        answer.is_some_and(|a| a.date == desk.today())
    });
    let typed = RwSignal::new(reply.with_untracked(|r| match r {
        _ if !today => String::new(),
        Some(Reply::Known(Value::Number(n))) => scale.shown(*n).to_string(),
        Some(Reply::Known(Value::Date(d))) => d.to_string(),
        _ => String::new(),
    }));
    // What was typed is kept when the field is left, too; an empty field says nothing.
    let left = move |keep: &dyn Fn(())| {
        // The page may be gone already; then nothing was typed here.
        if typed.try_with_untracked(|t| !t.trim().is_empty()) == Some(true) {
            keep(());
        }
    };
    let field = format!("q-{id}");
    let wrong_text = Signal::derive(move || wrong.get().to_string());
    let body = match question.kind.clone() {
        Kind::YesNo => {
            let value = Memo::new(move |_| {
                reply.with(|r| match r {
                    Some(Reply::Known(Value::Yes(yes))) => Some(Truth::from(*yes)),
                    Some(Reply::Unknown(_)) => Some(Truth::Unknown),
                    _ => None,
                })
            });
            let say = say.clone();
            let pressed = move |truth: Truth| {
                say(match truth {
                    Truth::Yes => Reply::Known(Value::Yes(true)),
                    Truth::No => Reply::Known(Value::Yes(false)),
                    Truth::Unknown => Reply::Unknown(Reason::NotKnown),
                });
            };
            return view! {
                <div class="q">
                    <Choice text=text value=value on_answer=pressed yes=EN.yes no=EN.no unknown=EN.not_known large=true />
                    <Why why=why />
                </div>
            };
        }
        Kind::Choice(options) | Kind::Side(options) => {
            let buttons = options
                .into_iter()
                .map(|(option, words)| {
                    let say = say.clone();
                    let here = option.clone();
                    let chosen = move || {
                        reply.with(
                            |r| matches!(r, Some(Reply::Known(Value::Choice(c))) if *c == here),
                        )
                    };
                    view! {
                        <button
                            type="button"
                            class="press"
                            aria-pressed=move || if chosen() { "true" } else { "false" }
                            on:click=move |_| say(Reply::Known(Value::Choice(option.clone())))
                        >
                            {words}
                        </button>
                    }
                })
                .collect::<Vec<_>>();
            view! { <div class="ticks" role="group" aria-label=text.clone()>{buttons}</div> }
        }
        Kind::Several(options) => {
            let ids: Vec<String> = options.iter().map(|(id, _)| id.clone()).collect();
            let ticks = options
                .into_iter()
                .map(|(_, text)| Tick { text, wide: false })
                .collect::<Vec<_>>();
            let chosen = Memo::new(move |_| {
                reply.with(|r| match r {
                    Some(Reply::Known(Value::Several(set))) => set.clone(),
                    _ => flat::Set::new(),
                })
            });
            let done = {
                let ids = ids.clone();
                Signal::derive(move || {
                    chosen.with(|set| ids.iter().map(|id| set.contains(id)).collect::<Vec<_>>())
                })
            };
            let none = say.clone();
            let toggle = {
                let say = say.clone();
                move |i: usize| {
                    let mut set = chosen.get_untracked();
                    if let Some(id) = ids.get(i)
                        && !set.remove(id)
                    {
                        set.insert(id.clone());
                    }
                    say(Reply::Known(Value::Several(set)));
                }
            };
            view! {
                <Ticks name=text.clone() ticks=ticks done=done on_toggle=toggle />
                <button
                    type="button"
                    class="press plain"
                    aria-pressed=move || if reply.with(|r| matches!(r, Some(Reply::Known(Value::Several(set))) if set.is_empty())) { "true" } else { "false" }
                    on:click=move |_| none(Reply::Known(Value::Several(flat::Set::new())))
                >
                    {EN.none_of_these}
                </button>
            }
        }
        Kind::Places => {
            // Each side by itself: what is on one side leaves the other alone.
            let regions = Area::ALL
                .iter()
                .flat_map(|&area| [Side::Right, Side::Left].map(|side| Region { area, side }));
            let regions = regions.collect::<Vec<_>>();
            let ticks = regions
                .iter()
                .map(|r| Tick {
                    text: place::EN.region(*r),
                    wide: false,
                })
                .collect::<Vec<_>>();
            let chosen = Memo::new(move |_| {
                reply.with(|r| match r {
                    Some(Reply::Known(Value::Places(set))) => set
                        .iter()
                        .flat_map(|r| r.halves().iter().map(|&side| Region { side, ..*r }))
                        .collect(),
                    _ => flat::Set::new(),
                })
            });
            let done = {
                let regions = regions.clone();
                Signal::derive(move || {
                    chosen.with(|set| regions.iter().map(|r| set.contains(r)).collect::<Vec<_>>())
                })
            };
            let say = say.clone();
            let toggle = move |i: usize| {
                let mut set = chosen.get_untracked();
                if let Some(r) = regions.get(i)
                    && !set.remove(r)
                {
                    set.insert(*r);
                }
                say(Reply::Known(Value::Places(set)));
            };
            view! { <Ticks name=text.clone() ticks=ticks done=done on_toggle=toggle /> }
        }
        Kind::Number {
            unit,
            min,
            max,
            step,
        } => {
            let (typed_in, min, max) = (scale.unit(&unit), scale.shown(min), scale.shown(max));
            let (label, range) = (
                format!("{text}, {typed_in}"),
                format!("{min} \u{2013} {max} {typed_in}"),
            );
            let say = say.clone();
            let keep = move |()| match typed
                .get_untracked()
                .trim()
                .replace(',', ".")
                .parse::<Milli>()
            {
                Ok(n) => say(Reply::Known(Value::Number(scale.kept(n, step)))),
                Err(_) => wrong.set(EN.bad_number),
            };
            let leave = keep.clone();
            view! {
                <div on:focusout=move |_| left(&leave)>
                    <Field id=field label=label hint=range kind=Input::Number value=typed on_input=move |t| typed.set(t) error=wrong_text />
                </div>
                <Press text=EN.keep fit=true on_press=keep />
            }
        }
        Kind::Date => {
            let say = say.clone();
            let keep = move |()| match typed.get_untracked().trim().parse::<Date>() {
                Ok(d) => say(Reply::Known(Value::Date(d))),
                Err(_) => wrong.set(EN.bad_date),
            };
            let leave = keep.clone();
            view! {
                <div on:focusout=move |_| left(&leave)>
                    <Field id=field label=text.clone() kind=Input::Date value=typed on_input=move |t| typed.set(t) error=wrong_text />
                </div>
                <Press text=EN.keep fit=true on_press=keep />
            }
        }
    };
    view! {
        <section class="q stack">
            <p class="asked">{text.clone()}</p>
            {body}
            <div class="row">
                {not_known.then(|| unknown(Reason::NotKnown, EN.not_known))}
                {not_measured.then(|| unknown(Reason::NotMeasured, EN.not_measured))}
            </div>
            <Why why=why />
        </section>
    }
}

/// What is measured in one go with a question, such as the two numbers of a blood pressure, and has
/// no answer yet: not measured is said once.
fn measured_with(question: &Question, visit: Memo<Option<VisitView>>) -> Vec<String> {
    let pair = use_desk().books(|b| {
        let bank = &b.knowledge.bank;
        let over = |q: &Question| {
            bank.questions
                .get(usize::from(q.below?))
                .map(|o| o.id.clone())
        };
        let under = bank
            .questions
            .iter()
            .find(|q| over(q).as_ref() == Some(&question.id))
            .map(|q| q.id.clone());
        over(question).into_iter().chain(under).collect::<Vec<_>>()
    });
    let mut open = pair.unwrap_or_default();
    open.retain(|id| {
        visit.with_untracked(|v| v.as_ref().is_some_and(|v| !v.answers.contains_key(id)))
    });
    open
}

/// Why a question is asked.
#[component]
fn Why(why: String) -> impl IntoShape {
    view! {
        <details class="note">
            <summary aria-label=EN.why>"?"</summary>
            <p>{why}</p>
        </details>
    }
}

/// What was answered and is not a plain no: to be said back, and heard confirmed.
#[component]
fn ReadBack(visit: Memo<Option<VisitView>>) -> impl IntoShape {
    let desk = use_desk();
    let back = Memo::new(move |_| {
        visit
            .with(|v| {
                let v = v.as_ref()?;
                desk.books(|b| read_back(b, v)).ok()
            })
            .unwrap_or_default()
    });
    let none = move || back.with(|b| b.said.is_empty() && b.noes == 0);
    let title = move || back.with(|b| EN.read_back(b.said.len()));
    let noes = move || back.with(|b| EN.noes(b.noes));
    let lines = move || {
        back.get()
            .said
            .into_iter()
            .map(|s| view! { <li><span>{s.question}</span> " " <b class="end">{s.answer}</b></li> })
            .collect::<Vec<_>>()
    };
    view! {
        <details hidden=none>
            <summary>{title}</summary>
            <ul class="rows">{lines}</ul>
            <p class="note">{noes}</p>
        </details>
    }
}

/// What follows from the answers, heaviest first.
#[component]
pub fn Findings(
    /// Who.
    person: EntryId,
    /// Their visit.
    visit: Memo<Option<VisitView>>,
) -> impl IntoShape {
    let desk = use_desk();
    let found = Memo::new(move |_| {
        visit.with(|v| {
            v.as_ref()
                .and_then(|v| v.screening.as_ref())
                .map_or(Vec::new(), |s| {
                    let mut findings = s.findings.clone();
                    // Two questions may lead to one and the same sentence: it is shown once.
                    findings.dedup_by(|a, b| a.words == b.words && a.targets == b.targets);
                    findings
                })
        })
    });
    let verdict = Memo::new(move |_| {
        visit.with(|v| {
            v.as_ref()
                .and_then(|v| v.screening.as_ref())
                .and_then(|s| s.verdict)
        })
    });
    let number = move || desk.read(|l| l.practice().setting("emergency_number").to_string());
    let unusable = Memo::new(move |_| {
        visit.with(|v| {
            v.as_ref()
                .map_or(String::new(), |v| RULES.unusable(&v.unusable))
        })
    });
    let no_letter = Memo::new(move |_| {
        visit.with(|v| {
            let there = v.as_ref().map(|v| desk.books(|b| letter(b, v).is_some()));
            !matches!(there, Some(Ok(true)))
        })
    });
    // While questions are open, what they could still come to is folded away: it is a long list, and
    // answering shortens it.
    let open = move || {
        visit.with(|v| {
            v.as_ref()
                .and_then(|v| v.screening.as_ref())
                .is_some_and(|s| !s.open.is_empty())
        })
    };
    let list = move || {
        let open = open();
        let (waiting, now): (Vec<_>, Vec<_>) = found
            .get()
            .into_iter()
            .partition(|f| open && f.could_be.is_some());
        let show = |list: Vec<Finding>| {
            list.into_iter()
                .map(|f| view! { <Found person=person finding=f visit=visit /> })
                .collect::<Vec<_>>()
        };
        let (words, none) = (EN.undecided(waiting.len()), waiting.is_empty());
        view! {
            <ul class="stack">{show(now)}</ul>
            <details hidden=none>
                <summary>{words}</summary>
                <ul class="stack">{show(waiting)}</ul>
            </details>
        }
    };
    view! {
        <section class="stack" aria-live="polite">
            <h2>{EN.findings}</h2>
            <div hidden=move || verdict.get() != Some(Outcome::Emergency)>
                <Notice title=EN.outcome(Outcome::Emergency) next=Signal::derive(move || format!("{} {}", EN.emergency_next, number())) alert=true />
            </div>
            <div hidden=move || verdict.get() != Some(Outcome::Stop)>
                <Notice title=EN.outcome(Outcome::Stop) next=EN.stop_next />
            </div>
            <p hidden=move || !found.with(Vec::is_empty)>{EN.nothing_found}</p>
            {list}
            <p class="wrong" hidden=move || unusable.get().is_empty()>{unusable}</p>
            <a class="press plain" hidden=no_letter href=Route::PrintLetter(person).href()>{EN.letter}</a>
            <p class="note">{EN.caution}</p>
        </section>
    }
}

#[component]
fn Found(person: EntryId, finding: Finding, visit: Memo<Option<VisitView>>) -> impl IntoShape {
    let desk = use_desk();
    let rule = finding_name(&finding);
    let past = {
        let rule = rule.clone();
        Memo::new(move |_| visit.with(|v| v.as_ref().is_some_and(|v| v.overridden.contains(&rule))))
    };
    let reason = RwSignal::new(String::new());
    let can =
        finding.overriding == Override::Reason && finding.outcome.level() < Outcome::Ask.level();
    let source = EN.source(&finding.source.join(", "), finding.mark, finding.policy);
    let id = format!("past-{rule}");
    let shown = rule.clone();
    let go = move |()| {
        let overrode = Overrode {
            rule: rule.clone(),
            reason: reason.get_untracked(),
            date: desk.today(),
            points: Vec::new(),
        };
        let _ = desk.act(DeskCommand::Override(person, overrode));
    };
    let targets = finding
        .targets
        .iter()
        .map(|t| t.name())
        .collect::<Vec<_>>()
        .join(", ");
    view! {
        <li class="panel stack">
            <p><b>{EN.outcome(finding.outcome)}</b> " " <bdi>{targets}</bdi></p>
            <p>{finding.words}</p>
            <p class="note">{shown} " \u{b7} " {source}</p>
            <p class="note" hidden=move || !past.get()>{EN.gone_past}</p>
            {can.then(|| view! {
                <details hidden=move || past.get()>
                    <summary>{EN.go_past}</summary>
                    <Field id=id label=EN.reason hint=EN.reason_hint kind=Input::Lines value=reason on_input=move |t| reason.set(t) />
                    <Press
                        text=EN.go_past
                        shut=Signal::derive(move || reason.with(|r| r.trim().chars().count() < 8))
                        on_press=go
                    />
                </details>
            })}
        </li>
    }
}
