//! Figures of the rules as this practice sets them, and rules of its own.

use super::frame::{DeskTabs, NotSaved, SavedSign, gone};
use crate::desk::use_desk;
use crate::parts::{Field, Kind as Input, Look, OneOf, Press};
use crate::shape::prelude::*;
use pinfold_core::base::stamp::Wall;
use pinfold_core::event::practice::Set;
use pinfold_core::intake::bank::{Kind, Question};
use pinfold_core::intake::{Milli, Outcome};
use pinfold_core::ledger::DeskCommand;
use pinfold_core::practice::figure;
use pinfold_core::practice::own::{self, Fact, OwnRule};
use pinfold_core::screening::Setting;
use pinfold_core::words::ask::ENGLISH as ASK;
use pinfold_core::words::rules::EN;
use pinfold_core::words::settings::EN as SETTINGS;
use wasm_bindgen_futures::spawn_local;

/// A figure in words: a switch is yes or no.
fn shown(setting: &Setting, value: Milli) -> String {
    match &setting.unit {
        Some(unit) => format!("{value} {unit}"),
        None if setting.max == Milli::whole(1) => {
            if value == Milli(0) { ASK.no } else { ASK.yes }.to_string()
        }
        None => value.to_string(),
    }
}

/// One figure: what is in force, and the way to another.
#[component]
fn Figure(setting: Setting) -> impl IntoShape {
    let desk = use_desk();
    let id = setting.id.clone();
    let own = Memo::new(move |_| {
        desk.read(|l| {
            let said = l.practice().figures_said(Wall(i64::MAX));
            said.get(id.as_str())
                .and_then(|set| Some((set.value.parse::<Milli>().ok()?, set.reason.clone())))
        })
    });
    let (in_force, default) = {
        let (one, two) = (setting.clone(), setting.clone());
        (
            move || shown(&one, own.get().map_or(one.default, |(value, _)| value)),
            shown(&two, two.default),
        )
    };
    let why = move || own.get().map_or(String::new(), |(_, why)| why);
    let value = RwSignal::new(String::new());
    let reason = RwSignal::new(String::new());
    let wrong = RwSignal::new(String::new());
    let id = setting.id.clone();
    let say = Callback::new(move |to: Option<Milli>| {
        let set = desk.books(|b| figure(&b.knowledge.rules, &id, to, &reason.get_untracked()));
        wrong.set(match set {
            Ok(Ok(set)) if desk.act(DeskCommand::Set(set.clone())).is_ok() => String::new(),
            Ok(Err(fault)) => EN.slip(&fault),
            _ => SETTINGS.too_long.to_string(),
        });
    });
    let keep = move |()| match value.get_untracked().trim().replace(',', ".").parse() {
        Ok(n) => say.run(Some(n)),
        Err(_) => wrong.set(ASK.bad_number.to_string()),
    };
    let switch = setting.unit.is_none() && setting.max == Milli::whole(1);
    let entry = if switch {
        let on = setting.default;
        let chosen =
            Signal::derive(move || usize::from(own.get().map_or(on, |(v, _)| v) != Milli(0)));
        view! {
            <OneOf
                name=setting.say.clone()
                texts=vec![ASK.no.to_string(), ASK.yes.to_string()]
                chosen=chosen
                on_choose=move |at| say.run(Some(Milli::whole(if at == 0 { 0 } else { 1 })))
            />
        }
    } else {
        let range = format!("{} \u{2013} {}", setting.min, setting.max);
        view! {
            <Field id=format!("f-{}", setting.id) label=EN.own_figure hint=range kind=Input::Number value=value on_input=move |t| value.set(t) />
            <Press text=SETTINGS.keep fit=true on_press=keep />
        }
    };
    let source = ASK.source(&setting.source.join(", "), setting.mark, false);
    view! {
        <details class="card">
            <summary>{setting.say.clone()} " " <b>{in_force}</b></summary>
            <p class="note">{EN.ours} " " {default} " \u{b7} " {source}</p>
            <p class="note"><bdi>{why}</bdi></p>
            <Field id=format!("w-{}", setting.id) label=EN.reason hint=EN.reason_hint value=reason on_input=move |t| reason.set(t) error=wrong />
            {entry}
            <div hidden=move || own.with(Option::is_none)>
                <Press text=EN.back_to_ours look=Look::Plain on_press=move |()| say.run(None) />
            </div>
        </details>
    }
}

/// The answers a rule can be about, as id and words.
fn options(question: &Question) -> Vec<(String, String)> {
    match &question.kind {
        Kind::YesNo => vec![("yes".into(), ASK.yes.into()), ("no".into(), ASK.no.into())],
        Kind::Choice(o) | Kind::Side(o) | Kind::Several(o) => o.clone(),
        _ => Vec::new(),
    }
}

/// What a rule of the practice's own can come to here; files may hold more.
const OUTCOMES: [Outcome; 5] = [
    Outcome::Stop,
    Outcome::Ask,
    Outcome::Omit,
    Outcome::NoTopical,
    Outcome::Record,
];

/// Writes a new rule.
#[component]
fn NewRule() -> impl IntoShape {
    let desk = use_desk();
    let questions: Vec<Question> = desk
        .books(|b| {
            let all = b.knowledge.bank.questions.iter();
            all.filter(|q| !options(q).is_empty()).cloned().collect()
        })
        .unwrap_or_default();
    let at = RwSignal::new(0_usize);
    let answer = RwSignal::new(0_usize);
    let outcome = RwSignal::new(0_usize);
    let [to, words, source] = [(); 3].map(|()| RwSignal::new(String::new()));
    let wrong = RwSignal::new(String::new());
    let list: Vec<_> = questions
        .iter()
        .enumerate()
        .map(|(n, q)| view! { <option value=n.to_string()>{q.say.clone()}</option> })
        .collect();
    let answers = {
        let questions = questions.clone();
        move || {
            let options = questions.get(at.get()).map(options).unwrap_or_default();
            options
                .into_iter()
                .enumerate()
                .map(|(n, (_, words))| view! { <option value=n.to_string() selected=move || answer.get() == n>{words}</option> })
                .collect::<Vec<_>>()
        }
    };
    let pick = |into: RwSignal<usize>| {
        move |ev: web_sys::Event| into.set(event_target_value(&ev).parse().unwrap_or(0))
    };
    let keep = move |()| {
        let Some((question, option)) = questions
            .get(at.get_untracked())
            .and_then(|q| Some((q, options(q).into_iter().nth(answer.get_untracked())?.0)))
        else {
            return;
        };
        let rule = OwnRule {
            id: desk.free_rule_id(),
            when: vec![vec![Fact {
                question: question.id.clone(),
                is: vec![option],
                at_least: None,
                below: None,
                not: false,
            }]],
            outcome: OUTCOMES
                .get(outcome.get_untracked())
                .copied()
                .unwrap_or(Outcome::Ask),
            to: to
                .get_untracked()
                .split(',')
                .map(str::trim)
                .filter(|t| !t.is_empty())
                .map(String::from)
                .collect(),
            limits: Vec::new(),
            refer: None,
            words: words.get_untracked().trim().to_string(),
            source: source.get_untracked().trim().to_string(),
        };
        let tried = desk.books(|b| rule.read(&b.knowledge.bank, &b.knowledge.rules).map(|_| ()));
        wrong.set(match tried {
            Ok(Err(fault)) => EN.slip(&fault),
            Ok(Ok(())) if desk.act(DeskCommand::Set(rule.setting())).is_ok() => {
                for field in [to, words, source] {
                    field.set(String::new());
                }
                String::new()
            }
            _ => SETTINGS.too_long.to_string(),
        });
    };
    let outcomes = OUTCOMES
        .iter()
        .enumerate()
        .map(|(n, o)| view! { <option value=n.to_string()>{ASK.outcome(*o)}</option> })
        .collect::<Vec<_>>();
    let first = move |ev: web_sys::Event| {
        answer.set(0);
        pick(at)(ev);
    };
    view! {
        <details class="card">
            <summary>{EN.new_rule}</summary>
            <div class="field">
                <label for="own-q">{EN.when}</label>
                <select id="own-q" on:change=first>{list}</select>
            </div>
            <div class="field">
                <label for="own-a">{EN.is}</label>
                <select id="own-a" on:change=pick(answer)>{answers}</select>
            </div>
            <div class="field">
                <label for="own-o">{EN.then}</label>
                <select id="own-o" on:change=pick(outcome)>{outcomes}</select>
            </div>
            <Field id="own-to" label=EN.to hint=EN.to_hint value=to on_input=move |t| to.set(t) />
            <Field id="own-words" label=EN.words value=words on_input=move |t| words.set(t) />
            <Field id="own-source" label=EN.source value=source on_input=move |t| source.set(t) error=wrong />
            <Press text=SETTINGS.keep on_press=keep />
        </details>
    }
}

/// Figures and rules of the practice's own.
#[component]
pub fn OwnRules() -> impl IntoShape {
    let desk = use_desk();
    let figures = desk
        .books(|b| b.knowledge.rules.settings.clone())
        .unwrap_or_default()
        .into_iter()
        // Said in Settings, where the scope of practice is confirmed.
        .filter(|s| s.id != "cream_scope_confirmed")
        .map(|s| view! { <Figure setting=s /> })
        .collect::<Vec<_>>();
    let rules = Memo::new(move |_| desk.read(|l| l.practice().own_rules()));
    let said = RwSignal::new(String::new());
    let list = move || {
        rules
            .get()
            .into_iter()
            .map(|rule| {
                let gone = Set {
                    value: String::new(),
                    ..rule.setting()
                };
                let take = move |()| {
                    let _ = desk.act(DeskCommand::Set(gone.clone()));
                };
                view! {
                    <article class="panel stack">
                        <p><b>{ASK.outcome(rule.outcome)}</b> " " <bdi>{rule.to.join(", ")}</bdi></p>
                        <p><bdi>{rule.words.clone()}</bdi></p>
                        <p class="note"><bdi>{rule.id.clone()} " \u{b7} " {rule.source.clone()}</bdi></p>
                        <Press text=EN.take_away look=Look::Plain fit=true on_press=take />
                    </article>
                }
            })
            .collect::<Vec<_>>()
    };
    let share = move |()| {
        let text = own::write(&rules.get_untracked());
        spawn_local(async move {
            said.set(gone(desk.give_text("rules.txt", text).await, SETTINGS.kept));
        });
    };
    let bring = move |()| {
        spawn_local(async move {
            if let Some(words) = desk.bring_rules().await {
                said.set(words);
            }
        });
    };
    view! {
        <div class="screen">
            <header class="head column">
                <h1>{EN.own}</h1>
                <p class="note end"><SavedSign /></p>
            </header>
            <main class="column stack">
                <NotSaved />
                <p class="reading">{EN.own_what}</p>
                <h2>{EN.own_rules}</h2>
                {list}
                <NewRule />
                <div class="row">
                    <Press text=EN.share look=Look::Plain on_press=share />
                    <Press text=EN.bring look=Look::Plain on_press=bring />
                </div>
                <p role="status">{move || said.get()}</p>
                <h2>{EN.figures}</h2>
                {figures}
            </main>
            <DeskTabs here=2 />
        </div>
    }
}
