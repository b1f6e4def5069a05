//! Procedures of the practice's own, through ledger and visit, and the files they are shared as: what a
//! stranger's file may hold, what is said of one that cannot be used, and that nothing is changed by it.

use pinfold_core::atlas::Side;
use pinfold_core::base::cite::Mark;
use pinfold_core::base::date::Date;
use pinfold_core::base::id::{EntryId, Replica};
use pinfold_core::base::stamp::{Stamp, Wall, When};
use pinfold_core::base::units::Seconds;
use pinfold_core::event::person::{Answered, Chose, Named, Told};
use pinfold_core::event::session::{Mode, Used, Version};
use pinfold_core::intake::{Kind, Milli, Reply, Value};
use pinfold_core::journal::Journal;
use pinfold_core::ledger::{ChairCommand, Command, DeskCommand, Hand, Ledger};
use pinfold_core::practice::composed::{MOST_BYTES, Unusable};
use pinfold_core::procedure::{Composition, ModuleName, compose};
use pinfold_core::record::record;
use pinfold_core::view::procedures::{self, Brought, Standing};
use pinfold_core::view::visit::{Books, VisitView, for_the_chair, visit};
use pinfold_core::words::procedures::EN;
use pinfold_tests::check::property;
use proptest::prelude::*;

fn hand(wall: i64) -> Hand {
    Hand {
        replica: Replica(1),
        stamp: Stamp {
            wall: Wall(wall),
            mono: wall,
            zone: 0,
        },
        when: When::Now,
    }
}

/// 2027-01-15, 8:00.
const NOON: i64 = 1_800_000_000_000;

fn act(ledger: &mut Ledger, command: impl Into<Command>) -> EntryId {
    let facts = ledger.decide(&command.into(), &hand(NOON)).expect("done");
    ledger.append(&facts);
    facts.entries()[0].id
}

fn books() -> Books {
    Books::load().expect("sound")
}

/// A short procedure of the practice's own, kept; its stable name.
fn keep(books: &Books, ledger: &mut Ledger) -> String {
    let mut made = Composition::empty();
    made.name = "Quiet hour".into();
    made.source = "our own case book".into();
    assert!(made.add_module(procedures::part(books, ModuleName::HandsArms)));
    assert!(made.add_module(procedures::part(books, ModuleName::Forehead)));
    made.add_step(0, compose::step("LI4", Side::Both));
    made.add_step(1, compose::step("GB14", Side::Both));
    made.add_step(1, compose::step("EX-HN3", Side::Centre));
    let command = procedures::save(books, ledger.practice(), &made);
    let entry = act(ledger, command.expect("sound").expect("new"));
    format!("OWN-{entry}")
}

/// A ledger with one person who has nothing to report and is to have `procedure` today.
fn somebody(books: &Books, ledger: &mut Ledger, procedure: &str) -> (EntryId, Date) {
    let today: Date = "2027-01-15".parse().expect("a date");
    let named = Named {
        name: "Wren".into(),
        birth_date: "1984-02-29".parse().ok(),
        contact: None,
        came_for: None,
    };
    let person = act(ledger, DeskCommand::Meet(named));
    let chose = Chose {
        date: today,
        procedure: procedure.into(),
        cream: None,
        electro: false,
        most: None,
        instead: Vec::new(),
    };
    act(ledger, DeskCommand::Choose(person, chose));
    for question in &books.knowledge.bank.questions {
        let id = question.id.as_str();
        let value = match &question.kind {
            Kind::YesNo => Value::Yes(matches!(id, "eaten" | "understands")),
            Kind::Choice(_) | Kind::Side(_) => Value::Choice("no".into()),
            Kind::Several(_) => Value::Several(Default::default()),
            Kind::Number { .. } if id == "systolic" => Value::Number(Milli::whole(120)),
            Kind::Number { .. } if id == "diastolic" => Value::Number(Milli::whole(80)),
            _ => continue,
        };
        tell(ledger, person, today, id, value);
    }
    (person, today)
}

fn tell(ledger: &mut Ledger, person: EntryId, date: Date, question: &str, value: Value) {
    let answer = Answered {
        question: question.into(),
        reply: Reply::Known(value),
        date,
        told: Told::Asked,
    };
    act(ledger, DeskCommand::Answer(person, answer));
}

#[test]
fn a_composed_procedure_is_screened_and_planned_like_any_other() {
    let books = books();
    let mut ledger = Ledger::default();
    let id = keep(&books, &mut ledger);
    let lines = procedures::list(&books, ledger.practice());
    let line = lines.iter().find(|l| l.id == id).expect("listed");
    assert_eq!((line.needles, line.own, line.retired), (5, true, false));
    assert_eq!((line.trouble.as_str(), line.evidence_mark), ("", Mark::Own));
    let (person, today) = somebody(&books, &mut ledger, &id);
    let view = visit(&ledger, &books, person, today, 0).expect("a visit");
    let plan = view.plan.expect("a plan");
    assert_eq!((plan.procedure.as_str(), plan.needles), (id.as_str(), 5));
    // Screening knows its points: those beside a lesion are left out, with the rule (SK14, common
    // practice).
    let left = |view: Option<VisitView>| -> Vec<String> {
        let plan = view.and_then(|view| view.plan).expect("a plan");
        let left = plan.left_out.iter();
        left.map(|l| format!("{}.{} {}", l.point, l.side.name(), l.rule()))
            .collect()
    };
    assert_eq!(left(visit(&ledger, &books, person, today, 0)), [""; 0]);
    let places = ["forehead.left".parse().expect("a region")];
    for (question, value) in [
        ("mole", Value::Yes(true)),
        ("mole_where", Value::Places(places.into())),
        ("mole_explained", Value::Yes(true)),
        ("mole_width", Value::Number(Milli::whole(3))),
    ] {
        tell(&mut ledger, person, today, question, value);
    }
    assert_eq!(
        left(visit(&ledger, &books, person, today, 0)),
        ["GB14.left SK14.omit", "EX-HN3.centre SK14.omit"]
    );
}

fn open(books: &Books, ledger: &mut Ledger, person: EntryId, today: Date, id: &str) -> EntryId {
    let view = visit(ledger, books, person, today, 0).expect("a visit");
    let command = ChairCommand::Open {
        mode: Mode::Planned,
        person: Some(person),
        plan: for_the_chair(books, &view.plan.expect("a plan")),
        rehearsal: false,
        procedure: procedures::used(books, ledger.practice(), id),
    };
    act(ledger, command)
}

#[test]
fn a_session_keeps_the_version_it_used_whatever_is_edited_later() {
    let books = books();
    let mut ledger = Ledger::default();
    let id = keep(&books, &mut ledger);
    let (person, today) = somebody(&books, &mut ledger, &id);
    let first = open(&books, &mut ledger, person, today, &id);
    let before = record(&ledger, first).expect("a record");
    let version = before.procedure.clone().expect("kept");
    assert_eq!(version.name, "Quiet hour");
    // Edited, renamed, retired.
    let mut made = procedures::edit(&books, ledger.practice(), &id).expect("ours");
    made.name = "Quieter hour".into();
    assert!(made.remove_step(0, 0) && made.set_stay(1, Seconds(60), Seconds(120)));
    let command = procedures::save(&books, ledger.practice(), &made);
    let entry = act(&mut ledger, command.expect("sound").expect("changed"));
    act(&mut ledger, procedures::retire(&id, false));
    let second = open(&books, &mut ledger, person, today, &id);
    assert_eq!(
        record(&ledger, first).expect("a record").procedure,
        before.procedure
    );
    let after = record(&ledger, second).expect("a record").procedure;
    let after = after.expect("kept");
    assert_eq!(after.version, Version::Composed(entry));
    assert_ne!(
        after.version, version.version,
        "control: the edit is another version"
    );
    assert_eq!(
        EN.used(&after),
        format!("Quieter hour (our own, version {entry})")
    );
    // The version names the fact, and the fact still says all of it.
    let Version::Composed(old) = version.version else {
        panic!("composed")
    };
    let fact = ledger.journal().get(old).expect("never edited");
    assert!(fact.body.get().contains("Quiet hour") && fact.body.get().contains("LI4"));
    // One of Pinfold's is named by its content; a session of an old log by nothing.
    let ours = procedures::used(&books, ledger.practice(), "first_short").expect("ours");
    assert!(matches!(&ours.version, Version::BuiltIn(hash) if hash.len() == 16));
    // The journal reads back to the same.
    let again = Ledger::new(Journal::from_lines(&ledger.journal().to_lines()).journal);
    let procedure: Option<Used> = record(&again, second).and_then(|r| r.procedure);
    assert_eq!(procedure, Some(after));
}

fn file(modules: &str, procedures: &str) -> String {
    let modules = if modules.is_empty() {
        String::new()
    } else {
        format!("\"modules\":[{modules}],")
    };
    format!("{{\"pinfold\":\"procedures\",\"format\":1,{modules}\"procedures\":[{procedures}]}}")
}

const FIGURES: &str = r#""size":{"id":"0.16x25"},"technique":{"how":"perpendicular","direction":"none"},"sensation":{"sought":"mild"},"stay":{"least":1200,"most":1800},"seconds":{"place":20,"remove":6}"#;

fn hands(steps: &str) -> String {
    format!("{{\"module\":\"hands_arms\",{FIGURES},\"steps\":[{steps}]}}")
}

fn scalp(steps: &str) -> String {
    format!("{{\"module\":\"scalp\",{FIGURES},\"steps\":[{steps}]}}")
}

const LI4: &str = r#"{"point":"LI4","side":"both","keep":1}"#;
const GV20: &str = r#"{"point":"GV20","side":"centre","keep":1}"#;

fn procedure(name: &str, modules: &str) -> String {
    let name = serde_json::to_string(name).expect("text");
    format!("{{\"name\":{name},\"visit\":\"any\",\"modules\":[{modules}]}}")
}

fn named(name: &str, module: &str) -> String {
    module.replacen('{', &format!("{{\"name\":\"{name}\","), 1)
}

fn parts(name: &str, of: &[&str]) -> String {
    let of: Vec<String> = of.iter().map(|n| format!("\"{n}\"")).collect();
    format!("{{\"name\":\"{name}\",\"parts\":[{}]}}", of.join(","))
}

/// Reads a file into a ledger that is empty but for what `ledger` holds, taking all that is new.
fn bring(books: &Books, ledger: &mut Ledger, text: &str) -> Result<Vec<Brought>, Unusable> {
    let brought = procedures::read_file(books, ledger.practice(), text)?;
    if let Some(command) = procedures::take(&brought, false) {
        act(ledger, command);
    }
    Ok(brought)
}

#[test]
fn a_file_is_shared_and_brought_in_once() {
    let books = books();
    let mut ledger = Ledger::default();
    let id = keep(&books, &mut ledger);
    let text = procedures::share(&books, ledger.practice(), &[&id, "first_short", "nobody"]);
    let standings = |brought: &[Brought]| -> Vec<Standing> {
        brought.iter().map(|b| b.standing.clone()).collect()
    };
    // Here: already here. Elsewhere: new, then already here.
    let same = bring(&books, &mut ledger, &text).expect("sound");
    assert_eq!(standings(&same), [Standing::Here(id.clone())]);
    let mut other = Ledger::default();
    let before = other.journal().iter().count();
    let new = bring(&books, &mut other, &text).expect("sound");
    assert_eq!(standings(&new), [Standing::New]);
    assert_eq!(other.journal().iter().count(), before + 1);
    assert_eq!(procedures::share(&books, other.practice(), &[&id]), text);
    let again = bring(&books, &mut other, &text).expect("sound");
    assert_eq!(standings(&again), [Standing::Here(id.clone())]);
    assert_eq!(procedures::take(&again, true), None);
    // Edited there: differs here, and is taken only when that is asked for.
    let mut made = procedures::edit(&books, other.practice(), &id).expect("there");
    made.set_stay(0, Seconds(600), Seconds(900));
    let command = procedures::save(&books, other.practice(), &made);
    act(&mut other, command.expect("sound").expect("changed"));
    let text = procedures::share(&books, other.practice(), &[&id]);
    let differs = bring(&books, &mut ledger, &text).expect("sound");
    assert_eq!(
        standings(&differs),
        [Standing::Differs("Quiet hour".into())]
    );
    let stay = |ledger: &Ledger| {
        let found = procedures::find(&books, ledger.practice(), &id);
        found.expect("there").modules[0].stay.least
    };
    assert_eq!(stay(&ledger), Seconds(1200));
    act(&mut ledger, procedures::take(&differs, true).expect("one"));
    assert_eq!(stay(&ledger), Seconds(600));
    // The same content under another stable name is already here; twice in one file is new once.
    let one = procedure("Twin", &hands(LI4));
    let twins = bring(&books, &mut ledger, &file("", &format!("{one},{one}")));
    let twins = standings(&twins.expect("sound"));
    assert_eq!(twins, [Standing::New, Standing::Here(String::new())]);
    let third = bring(&books, &mut ledger, &file("", &one)).expect("sound");
    assert!(matches!(&third[0].standing, Standing::Here(id) if id.starts_with("OWN-")));
}

#[test]
fn shared_modules_are_taken_apart() {
    let books = books();
    let modules = [
        named("hands", &hands(LI4)),
        named("top", &scalp(GV20)),
        parts("before the face", &["hands", "top"]),
        parts("all", &["before the face"]),
    ];
    let face = r#"{"module":"forehead","size":{"id":"0.16x15","mark":"read"},"technique":{"how":"transverse","direction":"downward","mark":"memory"},"sensation":{"sought":"none"},"stay":{"least":1200,"most":1800,"mark":"common_practice"},"seconds":{"place":15,"remove":6,"mark":"read"},"steps":[{"point":"GB14","side":"left","keep":2,"how":"oblique","worn_home":true}]}"#;
    let text = file(
        &modules.join(","),
        &procedure("A", &format!("\"all\",{face}")),
    );
    let mut ledger = Ledger::default();
    let brought = bring(&books, &mut ledger, &text).expect("sound");
    let made = &brought[0].made;
    let names: Vec<ModuleName> = made.modules.iter().map(|m| m.module).collect();
    let expected = [
        ModuleName::HandsArms,
        ModuleName::Scalp,
        ModuleName::Forehead,
    ];
    assert_eq!((names, brought[0].needles), (expected.to_vec(), 4));
    // No mark is believed that Pinfold's own procedures do not bear out.
    let face = &made.modules[2];
    assert_eq!((face.size.mark, face.seconds.mark), (Mark::Own, Mark::Own));
    assert_eq!(
        (face.technique.mark, face.stay.mark),
        (Mark::Memory, Mark::CommonPractice)
    );
    assert_eq!(procedures::list(&books, ledger.practice()).len(), 5);
}

/// What is said of a file that cannot be used; nothing may have been changed by it.
fn refused(text: &str) -> String {
    let books = books();
    let mut ledger = Ledger::default();
    keep(&books, &mut ledger);
    let before = ledger.journal().to_lines();
    let why = bring(&books, &mut ledger, text).expect_err("it cannot be used");
    assert_eq!(ledger.journal().to_lines(), before, "nothing was changed");
    let words = EN.unusable(&why);
    assert!(words.contains("Nothing of the file was taken"), "{words}");
    words
}

#[test]
fn the_control_a_good_file_changes_something() {
    let books = books();
    let mut ledger = Ledger::default();
    keep(&books, &mut ledger);
    let before = ledger.journal().to_lines();
    let text = file("", &procedure("Ours", &hands(LI4)));
    bring(&books, &mut ledger, &text).expect("sound");
    assert_ne!(ledger.journal().to_lines(), before);
}

#[test]
fn markup_in_a_name_stays_text_and_what_cannot_be_seen_is_refused() {
    let books = books();
    let name = "<img src=x onerror=alert(1)> & \"co\"";
    let mut ledger = Ledger::default();
    bring(
        &books,
        &mut ledger,
        &file("", &procedure(name, &hands(LI4))),
    )
    .expect("text is text");
    let lines = procedures::list(&books, ledger.practice());
    assert_eq!(lines[4].name, name, "nothing is stripped");
    for odd in [
        "a\u{0}b",
        "a\nb",
        "\u{202e}abc",
        "x\u{9b}y",
        " \u{2066}",
        "",
    ] {
        let words = refused(&file("", &procedure(odd, &hands(LI4))));
        assert!(words.contains("name"), "{words}");
    }
    let empty = refused(&file("", &procedure(" ", &hands(LI4))));
    assert!(empty.contains("name: nothing is written"), "{empty}");
    let long = refused(&file("", &procedure(&"n".repeat(81), &hands(LI4))));
    assert!(long.contains("longer than 80 characters"), "{long}");
}

#[test]
fn ten_thousand_points_are_refused_with_words() {
    let many = vec![LI4; 10_000].join(",");
    let whole = file("", &procedure("Many", &hands(&many)));
    assert!(whole.len() > MOST_BYTES);
    assert!(refused(&whole).contains("more than 256000 bytes"));
    // As many as go into the bytes.
    let fewer = vec![LI4; 5_500].join(",");
    let words = refused(&file("", &procedure("Many", &hands(&fewer))));
    assert!(
        words.contains("procedures[0].modules[0]: steps: more than 300"),
        "{words}"
    );
    // Spread over modules that no procedure could use together.
    let module = hands(&vec![LI4; 300].join(","));
    let modules: Vec<String> = (0..17).map(|n| named(&format!("m{n}"), &module)).collect();
    let words = refused(&file(&modules.join(","), ""));
    assert!(words.contains("more than 5000 points in all"), "{words}");
    // The control: 300 different ones of 97 points cannot be, but all there are of the hand can.
    let one = procedure("p", &hands(""));
    let procedures = vec![one.as_str(); 51].join(",");
    assert!(refused(&file("", &procedures)).contains("more than 50 procedures"));
    let modules = vec!["{}"; 201].join(",");
    assert!(refused(&file(&modules, "")).contains("more than 200 modules"));
}

#[test]
fn modules_in_a_ring_or_multiplying_are_refused() {
    let ring = [
        parts("a", &["b"]),
        parts("b", &["c", "d"]),
        parts("c", &["a"]),
        named("d", &hands(LI4)),
    ];
    let words = refused(&file(&ring.join(","), &procedure("R", "\"d\"")));
    assert!(
        words.contains("in a ring: a \u{2192} b \u{2192} c \u{2192} a"),
        "{words}"
    );
    let own = refused(&file(&parts("a", &["a"]), ""));
    assert!(own.contains("in a ring: a \u{2192} a"), "{own}");
    // The control: without the last arrow it can be used.
    let sound = [
        parts("a", &["b"]),
        parts("b", &["d"]),
        named("d", &hands(LI4)),
    ];
    let text = file(&sound.join(","), &procedure("R", "\"a\""));
    assert!(bring(&books(), &mut Ledger::default(), &text).is_ok());
    // A long ring is still a ring, not too deep.
    let long: Vec<String> = (0..150)
        .map(|n| parts(&format!("m{n}"), &[&format!("m{}", (n + 1) % 150)]))
        .collect();
    assert!(refused(&file(&long.join(","), "")).contains("in a ring"));
    let chain: Vec<String> = (0..10)
        .map(|n| match n {
            9 => named("m9", &hands(LI4)),
            n => parts(&format!("m{n}"), &[&format!("m{}", n + 1)]),
        })
        .collect();
    assert!(refused(&file(&chain.join(","), "")).contains("too deep"));
    // Each made of the next one twice and of nothing in the end.
    let doubling: Vec<String> = (0..8)
        .map(|n| {
            let next = format!("m{}", n + 1);
            match n {
                7 => named("m7", &hands(LI4)),
                n => parts(&format!("m{n}"), &vec![next.as_str(); 40]),
            }
        })
        .collect();
    assert!(refused(&file(&doubling.join(","), "")).contains("modules in one place"));
    let missing = refused(&file("", &procedure("M", "\"nobody\"")));
    assert!(
        missing.contains("procedures[0].modules[0]: the file has no module"),
        "{missing}"
    );
    let twice = [named("a", &hands(LI4)), named("a", &scalp(GV20))].join(",");
    assert!(refused(&file(&twice, "")).contains("\u{201c}a\u{201d} is there twice"));
}

#[test]
fn what_does_not_fit_points_needles_or_time_is_named_by_field() {
    let one = |from: &str, to: &str| {
        let module = hands(LI4);
        assert!(module.contains(from), "{from}");
        refused(&file("", &procedure("Odd", &module.replacen(from, to, 1))))
    };
    for (from, to, field, what) in [
        (
            "LI4",
            "LI44",
            "modules[0].steps[0].point",
            "LI44 is not known here",
        ),
        (
            "LI4",
            "<b>",
            "modules[0].steps[0].point",
            "<b> is not known here",
        ),
        (
            "LI4",
            "ST3",
            "modules[0].steps[0].point",
            "elsewhere (Cheek)",
        ),
        (
            "both",
            "centre",
            "modules[0].steps[0].side",
            "not found on that side",
        ),
        ("0.16x25", "9x9", "modules[0].size", "9x9 is not known here"),
        (
            "1200",
            "1801",
            "modules[0].stay",
            "the least is above the most",
        ),
        (
            "1200",
            "59",
            "modules[0].stay",
            "outside 1 minute to 24 hours",
        ),
        (
            "1800",
            "86401",
            "modules[0].stay",
            "outside 1 minute to 24 hours",
        ),
        (
            "1800",
            "99999999999",
            "modules[0].stay",
            "outside 1 minute to 24 hours",
        ),
        (
            "\"place\":20",
            "\"place\":0",
            "seconds.place",
            "outside 1 to 600",
        ),
        (
            "\"remove\":6",
            "\"remove\":-6",
            "seconds.remove",
            "outside 1 to 600",
        ),
        (
            "\"keep\":1",
            "\"keep\":9",
            "steps[0].keep",
            "outside 1 to 3",
        ),
    ] {
        let words = one(from, to);
        assert!(words.contains(field) && words.contains(what), "{words}");
    }
    for (from, to, what) in [
        (
            "both",
            "sinister",
            "steps[0].side: a choice that is none of its choices",
        ),
        (
            "mild",
            "hot",
            "sensation.sought: a choice that is none of its choices",
        ),
        (
            "hands_arms",
            "toes",
            "modules[0].module: a choice that is none of its choices",
        ),
        ("\"side\":\"both\",", "", "steps[0]: missing: side"),
        (
            "\"keep\":1",
            "\"keep\":1,\"depth\":9",
            "steps[0]: a field that it does not have",
        ),
        (
            "\"least\":1200",
            "\"least\":\"long\"",
            "stay.least: not a whole number",
        ),
    ] {
        let words = one(from, to);
        assert!(
            words.contains("procedures[0].modules[0]") && words.contains(what),
            "{words}"
        );
    }
    let twice = refused(&file("", &procedure("T", &hands(&format!("{LI4},{LI4}")))));
    assert!(twice.contains("modules[0].steps[1].point") && twice.contains("there twice"));
    let module = refused(&file(
        "",
        &procedure("T", &format!("{},{}", hands(LI4), hands(""))),
    ));
    assert!(module.contains("modules[1].module") && module.contains("there twice"));
    let id = |id: &str| {
        let with = procedure("I", &hands(LI4)).replacen('{', &format!("{{\"id\":\"{id}\","), 1);
        file("", &with)
    };
    for bad in ["first_short", "OWN-", "OWN-a b", "OWN-<b>", "own-1"] {
        assert!(refused(&id(bad)).contains("no stable name"), "{bad}");
    }
    assert!(bring(&books(), &mut Ledger::default(), &id("OWN-1")).is_ok());
    // One bad procedure keeps a good one out as well.
    let good = procedure("Good", &hands(LI4));
    refused(&file("", &format!("{good},{}", procedure("", &hands(LI4)))));
}

#[test]
fn what_is_no_such_file_is_refused() {
    for text in [
        "",
        "no",
        "[]",
        "null",
        "{\"pinfold\":\"rules\",\"format\":1,\"rules\":[]}",
        "{\"pinfold\":\"procedures\",\"format\":2,\"procedures\":[]}",
        "{\"pinfold\":\"procedures\",\"format\":1,\"procedures\":{}}",
        "{\"pinfold\":\"procedures\",\"format\":1,\"procedures\":[],\"more\":1}",
        "{\"pinfold\":\"procedures\",\"format\":1,\"procedures\":[null]}",
        &"[".repeat(10_000),
    ] {
        assert!(
            refused(text).contains("cannot be read as procedures"),
            "{text:.60}"
        );
    }
}

#[test]
fn whatever_the_bytes_there_is_an_answer_and_a_refused_file_changes_nothing() {
    let books = books();
    let mut ledger = Ledger::default();
    let id = keep(&books, &mut ledger);
    let modules = [named("hands", &hands(LI4)), parts("all", &["hands"])].join(",");
    let good = file(&modules, &procedure("Good", "\"all\""));
    let shared = procedures::share(&books, ledger.practice(), &[&id]);
    let harm = (
        any::<bool>(),
        0..1000_usize,
        0..40_usize,
        "\\PC{0,6}|[\\[\\]{},:\"0-9a-z-]{0,6}",
    );
    property("mangled files", 2000, &harm, |(which, at, cut, put)| {
        let text: Vec<char> = if which { &good } else { &shared }.chars().collect();
        let at = at * text.len() / 1000;
        let mut text = text;
        let end = (at + cut).min(text.len());
        text.splice(at..end, put.chars());
        let text: String = text.into_iter().collect();
        match procedures::read_file(&books, ledger.practice(), &text) {
            Err(why) => prop_assert!(!EN.unusable(&why).is_empty()),
            Ok(brought) => {
                // What is taken can be planned with and shared again.
                for one in &brought {
                    let wrong = one.made.check(&books.atlas, &books.needles);
                    prop_assert!(wrong.is_empty());
                }
            }
        }
        Ok(())
    });
}
