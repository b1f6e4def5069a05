//! Points of the practice's own: what may be written down, that rules about places and sets hold for them
//! as for others, and that nothing is claimed of them that Pinfold did not look at.

use pinfold_core::atlas::{Area, Group, Kind as PointKind, Reach, Side};
use pinfold_core::base::cite::Mark;
use pinfold_core::base::date::Date;
use pinfold_core::base::id::{EntryId, Replica};
use pinfold_core::base::stamp::{Stamp, Wall, When};
use pinfold_core::event::person::{Answered, Chose, Named, Told};
use pinfold_core::event::point::{Described, is_own};
use pinfold_core::event::practice::Set;
use pinfold_core::intake::{Kind, Milli, Reply, Value};
use pinfold_core::journal::Journal;
use pinfold_core::ledger::{Command, DeskCommand, Hand, Ledger};
use pinfold_core::practice::points;
use pinfold_core::procedure::{Composition, ModuleName, Slip, compose};
use pinfold_core::view::points::{atlas, list, save, sets, take_away};
use pinfold_core::view::procedures;
use pinfold_core::view::visit::{Books, VisitView, visit};
use pinfold_core::words::points::EN;

fn act(ledger: &mut Ledger, command: DeskCommand) -> EntryId {
    let hand = Hand {
        replica: Replica(1),
        stamp: Stamp {
            wall: Wall(1_800_000_000_000),
            mono: 0,
            zone: 0,
        },
        when: When::Now,
    };
    let facts = ledger.decide(&Command::Desk(command), &hand).expect("done");
    ledger.append(&facts);
    facts.entries()[0].id
}

fn books() -> Books {
    Books::load().expect("sound")
}

fn described(code: &str, area: Area, within: &[&str]) -> Described {
    Described {
        code: code.into(),
        name: "Beside the dimple".into(),
        area,
        reach: Reach::Pair,
        words: "A finger beside the dimple, felt with the mouth half open.".into(),
        sets: within.iter().map(ToString::to_string).collect(),
        at: None,
        depth: None,
        source: String::new(),
    }
}

#[test]
fn each_slip_is_named_by_its_field() {
    let books = books();
    let rules = &books.knowledge.rules;
    let sound = described("OWN-B1", Area::Cheek, &["PERIORAL"]);
    let with = |edit: &dyn Fn(&mut Described)| {
        let mut point = sound.clone();
        edit(&mut point);
        let wrong = points::check(&point, &books.atlas, rules);
        for one in &wrong {
            assert!(EN.wrong(one).contains("Nothing was changed"));
        }
        let fields = wrong.into_iter().map(|w| (w.field, w.slip));
        fields.collect::<Vec<_>>()
    };
    use points::Field as F;
    assert_eq!(with(&|_| {}), [], "the control");
    for code in [
        "LI4",
        "B1",
        "OWN-",
        "OWN-b1",
        "OWN-A.B",
        "OWN-1234567890123",
        "OWN-<B>",
    ] {
        let slip = Slip::Unknown(code.into());
        assert_eq!(with(&|p| p.code = code.into()), [(F::Code, slip)], "{code}");
        assert!(!is_own(code));
    }
    assert_eq!(with(&|p| p.name = " ".into()), [(F::Name, Slip::Empty)]);
    let long = with(&|p| p.name = "n".repeat(81));
    assert_eq!(long, [(F::Name, Slip::TooLong(80))]);
    assert_eq!(with(&|p| p.words.clear()), [(F::Words, Slip::Empty)]);
    let unseen = with(&|p| p.words.push('\u{0}'));
    assert_eq!(unseen, [(F::Words, Slip::Unseen)]);
    assert_eq!(with(&|p| p.name = "<b>x</b>".into()), [], "text is text");
    let four = with(&|p| p.reach = Reach::Four);
    assert_eq!(four, [(F::Reach, Slip::Unknown("four".into()))]);
    let other = with(&|p| p.sets = vec!["NECK-A".into()]);
    assert_eq!(other, [(F::Sets, Slip::Unknown("NECK-A".into()))]);
    let twice = with(&|p| p.sets.push("PERIORAL".into()));
    assert_eq!(twice, [(F::Sets, Slip::Twice)]);
    // A depth needs words where it is from.
    let depth = with(&|p| p.depth = Some((3_000, 5_000)));
    assert_eq!(depth, [(F::Source, Slip::Empty)]);
    let sourced = |least, most| {
        with(&|p| {
            p.depth = Some((least, most));
            p.source = "taught at our school".into();
        })
    };
    assert_eq!(sourced(3_000, 5_000), []);
    assert_eq!(sourced(5_000, 3_000), [(F::Depth, Slip::Crossed)]);
    assert_eq!(sourced(0, 3_000), [(F::Depth, Slip::Outside(1, 75_000))]);
    // On the map: in its own area, on the patient's left half for a pair.
    let cheek = books.face.place("ST3", Side::Left).expect("drawn").at;
    assert_eq!(with(&|p| p.at = Some((cheek.x, cheek.y))), []);
    let mirrored = with(&|p| p.at = Some((-cheek.x, cheek.y)));
    assert_eq!(mirrored, [(F::At, Slip::Crossed)]);
    let brow = books.face.place("GB14", Side::Left).expect("drawn").at;
    let elsewhere = with(&|p| p.at = Some((brow.x, brow.y)));
    assert_eq!(elsewhere, [(F::At, Slip::Elsewhere(Area::Forehead))]);
    let off = with(&|p| p.at = Some((i16::MAX, i16::MIN)));
    assert_eq!(off, [(F::At, Slip::Unknown(String::new()))]);
    // Near the eye and at the neck it must be said what lies there.
    for (area, good) in [
        (Area::EyeRim, "ORBIT"),
        (Area::EyeRim, "RIM"),
        (Area::Neck, "NECK-P"),
    ] {
        let unsaid = points::check(&described("OWN-E", area, &[]), &books.atlas, rules);
        assert_eq!(unsaid[0].slip, Slip::Empty, "{area:?}");
        let said = points::check(&described("OWN-E", area, &[good]), &books.atlas, rules);
        assert_eq!(said, [], "{area:?}");
    }
    let names =
        |area| -> Vec<String> { sets(&books, area).iter().map(|s| s.name.clone()).collect() };
    assert_eq!(names(Area::Cheek), ["RIM", "PERIORAL", "ARTERY-FACE"]);
    assert_eq!(names(Area::Ear), [""; 0]);
}

#[test]
fn a_point_is_kept_drawn_taken_away_and_put_back() {
    let books = books();
    let mut ledger = Ledger::default();
    let cheek = books.face.place("ST3", Side::Left).expect("drawn").at;
    let mut point = described("OWN-B1", Area::Cheek, &["RIM"]);
    point.at = Some((cheek.x, cheek.y));
    assert!(atlas(&books, ledger.practice()).get("OWN-B1").is_none());
    let command = save(&books, ledger.practice(), &point).expect("sound");
    act(&mut ledger, command.expect("new"));
    assert_eq!(
        save(&books, ledger.practice(), &point),
        Ok(None),
        "as it is"
    );
    let own = atlas(&books, ledger.practice());
    let found = own.get("OWN-B1").expect("there");
    assert!(found.is_in(Group::Rim) && found.kind == PointKind::Own);
    assert_eq!((found.mark, found.depth), (Mark::Own, None));
    assert!(found.hazards[0].words.contains("not looked at by Pinfold"));
    assert_eq!(own.search("dimple")[0].code, "OWN-B1");
    let places = own.face().places("OWN-B1");
    assert_eq!(places.len(), 2);
    assert!(places[0].side == Side::Right && places[0].at.x == -cheek.x);
    assert_eq!(own.points().count(), books.atlas.points().count() + 1);
    act(&mut ledger, take_away("OWN-B1", false));
    assert!(atlas(&books, ledger.practice()).get("OWN-B1").is_none());
    assert!(list(&books, ledger.practice())[0].away);
    act(&mut ledger, take_away("OWN-B1", true));
    let again = Ledger::new(Journal::from_lines(&ledger.journal().to_lines()).journal);
    assert!(atlas(&books, again.practice()).get("OWN-B1").is_some());
    // A code of the standard cannot be taken.
    let li4 = DeskCommand::Describe(described("LI4", Area::Cheek, &[]));
    let hand = Hand {
        replica: Replica(1),
        stamp: Stamp::default(),
        when: When::Now,
    };
    assert!(ledger.decide(&Command::Desk(li4), &hand).is_err());
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

/// Somebody with nothing to report who is to have a procedure of two own points and one of Pinfold's.
fn somebody(books: &Books) -> (Ledger, EntryId, Date) {
    let mut ledger = Ledger::default();
    for point in [
        described("OWN-B1", Area::Cheek, &["PERIORAL"]),
        described("OWN-E1", Area::EyeRim, &["ORBIT"]),
    ] {
        let command = save(books, ledger.practice(), &point).expect("sound");
        act(&mut ledger, command.expect("new"));
    }
    let mut made = Composition::empty();
    made.name = "Ours".into();
    for (at, module, code) in [
        (0, ModuleName::EyeRim, "OWN-E1"),
        (1, ModuleName::Cheek, "OWN-B1"),
    ] {
        made.add_module(procedures::part(books, module));
        made.add_step(at, compose::step(code, Side::Both));
    }
    made.add_step(1, compose::step("ST3", Side::Both));
    let command = procedures::save(books, ledger.practice(), &made).expect("sound");
    let entry = act(&mut ledger, command.expect("new"));
    let date: Date = "2027-01-15".parse().expect("a date");
    let named = Named {
        name: "Wren".into(),
        birth_date: "1984-02-29".parse().ok(),
        contact: None,
        came_for: None,
    };
    let person = act(&mut ledger, DeskCommand::Meet(named));
    let chose = Chose {
        date,
        procedure: format!("OWN-{entry}"),
        cream: None,
        electro: false,
        most: None,
        instead: Vec::new(),
    };
    act(&mut ledger, DeskCommand::Choose(person, chose));
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
        tell(&mut ledger, person, date, id, value);
    }
    (ledger, person, date)
}

fn left(view: &VisitView) -> Vec<String> {
    let plan = view.plan.as_ref().expect("a plan");
    let left = plan.left_out.iter();
    left.map(|l| format!("{}.{} {}", l.point, l.side.name(), l.rule()))
        .collect()
}

#[test]
fn rules_about_places_and_sets_hold_for_them_as_for_others() {
    let books = books();
    let (mut ledger, person, date) = somebody(&books);
    let seen = |ledger: &Ledger| visit(ledger, &books, person, date, 0).expect("a visit");
    let view = seen(&ledger);
    assert_eq!(view.fault, None);
    // Points inside the orbit are left out for everyone (safety reference; policy).
    let gone = left(&view);
    assert_eq!(gone.len(), 2, "{gone:?}");
    assert!(gone.iter().all(|l| l.starts_with("OWN-E1.")), "{gone:?}");
    assert_eq!(view.plan.expect("a plan").needles, 4);
    // A lesion on the left cheek takes what lies there out, own or not (SK14, common practice).
    for (question, value) in [
        ("mole", Value::Yes(true)),
        (
            "mole_where",
            Value::Places(["cheek.left".parse().expect("a region")].into()),
        ),
        ("mole_explained", Value::Yes(true)),
        ("mole_width", Value::Number(Milli::whole(3))),
    ] {
        tell(&mut ledger, person, date, question, value);
    }
    let gone = left(&seen(&ledger));
    for point in ["OWN-B1.left SK14.omit", "ST3.left SK14.omit"] {
        assert!(gone.contains(&point.to_string()), "{gone:?}");
    }
    assert!(
        !gone.iter().any(|l| l.starts_with("OWN-B1.right")),
        "{gone:?}"
    );
}

#[test]
fn a_point_taken_away_is_left_out_with_words_and_stops_nothing_else() {
    let books = books();
    let (mut ledger, person, date) = somebody(&books);
    act(&mut ledger, take_away("OWN-B1", false));
    let view = visit(&ledger, &books, person, date, 0).expect("a visit");
    assert_eq!(view.fault, None);
    let plan = view.plan.expect("a plan");
    assert_eq!(plan.needles, 2, "ST3 is left");
    let unknown = plan
        .left_out
        .iter()
        .filter(|l| l.why.contains(&pinfold_core::plan::Why::UnknownPoint));
    assert_eq!(unknown.count(), 2);
    let lines = procedures::list(&books, ledger.practice());
    let line = lines.iter().find(|l| l.own).expect("listed");
    assert!(
        line.trouble.contains("OWN-B1 is not known here"),
        "{}",
        line.trouble
    );
}

#[test]
fn a_rule_of_the_practice_can_name_one_that_is_there() {
    let books = books();
    let (mut ledger, person, date) = somebody(&books);
    let rule = |code: &str| {
        let text = format!(
            r#"{{"id":"OWN-1","when":[[{{"question":"eaten","is":["yes"]}}]],"outcome":"omit","to":["{code}"],"words":"Not today.","source":"ours"}}"#
        );
        DeskCommand::Set(Set {
            name: "rule.OWN-1".into(),
            value: text,
            reason: String::new(),
        })
    };
    act(&mut ledger, rule("OWN-B1"));
    let view = visit(&ledger, &books, person, date, 0).expect("a visit");
    let gone = left(&view);
    assert!(gone.contains(&"OWN-B1.left OWN-1".to_string()), "{gone:?}");
    assert_eq!(view.unusable, []);
    // One that names nobody is said to be no rule.
    act(&mut ledger, rule("OWN-B9"));
    let view = visit(&ledger, &books, person, date, 0).expect("a visit");
    assert_eq!(view.unusable.len(), 1);
    assert_eq!(view.unusable[0].field, "OWN-1.to");
}
