//! Where packing, sealing and carrying meet: a practice that is packed away, plain or sealed, gives back
//! what it is, names nobody to a finder, erases what is packed, and is loaded before it is copied, merged
//! or erased. What is kept stands here as the texts that a phone keeps.

use base64ct::{Base64Unpadded, Encoding};
use pinfold_core::base::id::{EntryId, Stream};
use pinfold_core::base::stamp::Wall;
use pinfold_core::carry::{self, Part};
use pinfold_core::event::copies::Made;
use pinfold_core::event::person::Named;
use pinfold_core::event::session::{How, Mode};
use pinfold_core::journal::pack::PackName;
use pinfold_core::journal::{Carried, Entry, Journal, KeyId, Limits, Reading};
use pinfold_core::ledger::{
    ChairCommand, Command, DeskCommand, Index, Ledger, Read, Refusal, SheetName, Want,
};
use pinfold_core::seal::{self, How as Derived, Key, New, Nonce, Opened, Plain, Unlocked};
use pinfold_core::view::books::Books;
use pinfold_tests::check::property;
use pinfold_tests::wire::{Chance, invent};
use pinfold_tests::{demands, hand};
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::sync::LazyLock;

static BOOKS: LazyLock<Books> = LazyLock::new(|| Books::load().expect("sound"));

const NAME: &str = "Ottilie Quillmarsh";
const NOTE: &str = "spoke of xylophones";
const OTHER: &str = "Barnaby Fenwhistle";
const FOUND: &str = "humming at the window";

/// Nonces that differ. In tests only: outside them a nonce is random.
struct Nonces(u64);

impl Nonces {
    fn next(&mut self) -> Option<Nonce> {
        self.0 += 1;
        let mut bytes = [9; 24];
        bytes[..8].copy_from_slice(&self.0.to_le_bytes());
        Some(Nonce::from_random(bytes))
    }

    fn key(&mut self) -> Key {
        self.0 += 1;
        let mut bytes = [7; 32];
        bytes[..8].copy_from_slice(&self.0.to_le_bytes());
        Key::from_bytes(&bytes)
    }
}

/// What a phone keeps, as texts; with keys if it is sealed.
struct Phone {
    rows: BTreeMap<String, String>,
    packs: BTreeMap<String, String>,
    sheets: BTreeMap<String, String>,
    unlocked: Option<Unlocked>,
    nonces: Nonces,
    seq: u64,
}

impl Phone {
    fn new(sealed: bool) -> Self {
        let mut nonces = Nonces(0);
        let new = New {
            data: nonces.key(),
            practice: nonces.key(),
            nonces: [
                nonces.next().expect("one"),
                nonces.next().expect("one"),
                nonces.next().expect("one"),
            ],
        };
        let how = Derived::new("made-up").expect("a word");
        let set_up = Unlocked::set_up(new, how, &nonces.key(), None).expect("set up");
        Self {
            rows: BTreeMap::new(),
            packs: BTreeMap::new(),
            sheets: BTreeMap::new(),
            unlocked: sealed.then_some(set_up.unlocked),
            nonces,
            seq: 0,
        }
    }

    fn give_key(&mut self, key: KeyId) {
        if let (Some(unlocked), KeyId::Person(person)) = (&mut self.unlocked, key)
            && !unlocked.has_person(person)
        {
            let nonce = self.nonces.next().expect("one");
            let row = unlocked.add_person(person, self.nonces.key(), nonce);
            let row = row.expect("a key").to_string();
            self.rows.insert(format!("key.{key}"), row);
        }
    }

    fn keep(&mut self, entry: &Entry) {
        let bare = entry.body.get() == "null";
        if !bare && entry.erases().is_none() {
            self.give_key(entry.key);
        }
        let text = match &self.unlocked {
            None => Plain.close(entry),
            Some(unlocked) => {
                let nonce = self.nonces.next().expect("one");
                let closed = if bare {
                    unlocked.close_whole(entry, nonce)
                } else {
                    unlocked.close(entry, nonce)
                };
                closed.expect("sealed")
            }
        };
        self.rows.insert(entry.id.row_key(), text);
    }

    fn keep_pack(&mut self, packed: &pinfold_core::journal::pack::Packed) {
        for (key, _) in &packed.bodies {
            self.give_key(*key);
        }
        let nonces = &mut self.nonces;
        let text = match &self.unlocked {
            None => Plain.close_pack(packed),
            Some(unlocked) => unlocked
                .close_pack(packed, &mut || nonces.next())
                .expect("sealed"),
        };
        self.packs.insert(packed.name.to_string(), text);
    }

    /// A new base in the place of every sheet.
    fn base(&mut self, ledger: &Ledger) {
        self.seq += 1;
        self.sheets.clear();
        let groups = ledger.groups(3);
        for (at, group) in groups.iter().enumerate() {
            let of = u32::try_from(groups.len()).expect("few");
            let part = Some((u32::try_from(at).expect("few"), of));
            let name = SheetName {
                seq: self.seq,
                part,
            };
            let (key, bytes) = (name.to_string(), ledger.sheet(name, group));
            let text = match &self.unlocked {
                None => Plain.close_sheet(&bytes),
                Some(unlocked) => {
                    let nonce = self.nonces.next().expect("one");
                    unlocked.close_sheet(&key, &bytes, nonce).expect("sealed")
                }
            };
            self.sheets.insert(key, text);
        }
    }

    /// Packs whatever may be packed and lays a base.
    fn pack(&mut self, ledger: &mut Ledger) {
        for stream in ledger.packable() {
            if let Some(packing) = ledger.pack(stream) {
                self.keep_pack(&packing.packed);
                ledger.packed(&packing);
                for id in &packing.rows {
                    self.rows.remove(&id.row_key());
                }
            }
        }
        self.base(ledger);
    }

    fn tail(&self) -> Journal {
        let mut journal = Journal::new();
        for (key, text) in self.rows.iter().filter(|(key, _)| !key.starts_with("key.")) {
            let id = EntryId::from_row_key(key).expect("a name");
            let entry = match &self.unlocked {
                None => seal::open(&Plain, id, text).expect("an entry"),
                Some(unlocked) => match unlocked.open(id, text).expect("an entry") {
                    Opened::Whole(entry) | Opened::Residue(entry) => entry,
                },
            };
            let _ = journal.insert(entry);
        }
        journal
    }

    fn start(&self) -> Ledger {
        let open = |(key, text): (&String, &String)| -> (SheetName, Option<Vec<u8>>) {
            let sheet = match &self.unlocked {
                None => Plain.open_sheet(text),
                Some(unlocked) => unlocked.open_sheet(key, text),
            };
            (key.parse().expect("a name"), sheet.ok())
        };
        let sheets: Vec<_> = self.sheets.iter().map(open).collect();
        let index = Index::read(&sheets);
        assert!(index.sound);
        let mut ledger = Ledger::resume(index, self.tail());
        self.load(&mut ledger, &Want::Start);
        ledger
    }

    fn read(&self, name: PackName) -> Read {
        let text = &self.packs[&name.to_string()];
        let packed = match &self.unlocked {
            None => Plain.open_pack(name, text),
            Some(unlocked) => unlocked.open_pack(name, text),
        };
        let entries = packed.ok().and_then(|packed| packed.entries().ok());
        (name, entries.ok_or_else(|| text.clone()))
    }

    fn load(&self, ledger: &mut Ledger, want: &Want) {
        loop {
            let names = ledger.to_load(want);
            if names.is_empty() {
                return;
            }
            ledger.absorb(names.into_iter().map(|name| self.read(name)).collect());
        }
    }

    fn walk(&self, ledger: &Ledger, each: &mut dyn FnMut(&Journal)) {
        let mut walk = carry::Walk::new(ledger);
        while let Some(step) = walk.step(ledger) {
            let packs = step.packs.iter().map(|name| self.read(*name)).collect();
            each(&step.facts(ledger, packs));
        }
    }

    /// A file, and what is here beside it.
    fn beside<'a>(&self, ledger: &Ledger, file: &'a Carried) -> carry::Beside<'a> {
        let mut beside = carry::Beside::new(file);
        if beside.wanted() {
            self.walk(ledger, &mut |facts| beside.take(facts));
        }
        beside
    }

    /// A copy in files of so many bytes, read again, and what is to be written down of it.
    fn pieces(&self, ledger: &Ledger, part: Part, now: Wall, most: usize) -> (Vec<Carried>, Made) {
        let mut copying = carry::Copying::new(ledger, part, now, most).expect("there is one");
        let mut files = Vec::new();
        self.walk(ledger, &mut |facts| files.extend(copying.take(facts)));
        let (last, made) = copying.end().expect("it can be told");
        files.push(last);
        (files.iter().map(|file| read(&file.text)).collect(), made)
    }

    /// Loads whatever is asked for until it is decided.
    fn decided(&self, ledger: &mut Ledger, command: &Command) -> Result<(), Refusal> {
        loop {
            match ledger.decide(command, &hand(5, 9_000_000_000)) {
                Ok(facts) => {
                    ledger.append(&facts);
                    return Ok(());
                }
                Err(Refusal::LoadFirst(streams)) => self.load(ledger, &Want::Streams(streams)),
                Err(why) => return Err(why),
            }
        }
    }

    /// As the desk does it in one transaction.
    fn erase(&mut self, ledger: &mut Ledger, person: EntryId) -> Result<(), Refusal> {
        let before: Vec<EntryId> = ledger.journal().iter().map(|e| e.id).collect();
        self.decided(ledger, &Command::Desk(DeskCommand::Erase(person)))?;
        let facts: Vec<Entry> = ledger.journal().iter().cloned().collect();
        let burial = ledger.burial(&[person]).expect("all of it is read in");
        for entry in facts
            .iter()
            .filter(|e| e.stream == Stream::Practice && !before.contains(&e.id))
        {
            self.keep(entry);
        }
        let key = KeyId::Person(person);
        self.rows.remove(&format!("key.{key}"));
        for entry in &burial.rows {
            self.keep(entry);
        }
        for one in &burial.packs {
            assert!(one.flawed.is_empty());
            for name in &one.old {
                self.packs.remove(&name.to_string());
            }
            if let Some(packed) = &one.new {
                self.keep_pack(packed);
            }
        }
        ledger.bury(&burial, self.unlocked.is_none());
        self.base(ledger);
        if let Some(unlocked) = &mut self.unlocked {
            let _ = unlocked.forget(person);
        }
        Ok(())
    }

    /// Whether a finder who reads the whole profile finds a text: as it stands, or behind base64.
    fn gives_away(&self, text: &str) -> bool {
        let all = [&self.rows, &self.packs, &self.sheets]
            .into_iter()
            .flatten();
        let mut words = all.flat_map(|(key, row)| [key, row]);
        let has = |bytes: &[u8]| bytes.windows(text.len()).any(|w| w == text.as_bytes());
        words.any(|row| {
            let mut decoded = row
                .split(' ')
                .filter_map(|w| Base64Unpadded::decode_vec(w).ok());
            has(row.as_bytes()) || decoded.any(|bytes| has(&bytes))
        })
    }
}

/// Two people whose words are found nowhere else, with a closed visit each, in an invented practice.
struct Practice {
    ledger: Ledger,
    one: EntryId,
    two: EntryId,
    session: EntryId,
    now: i64,
}

impl Practice {
    fn act(&mut self, command: impl Into<Command>) -> EntryId {
        self.now += 60_000;
        let facts = self.ledger.decide(&command.into(), &hand(3, self.now));
        let facts = facts.expect("decided");
        self.ledger.append(&facts);
        facts.entries()[0].id
    }

    fn meet(&mut self, name: &str) -> EntryId {
        self.act(DeskCommand::Meet(Named {
            name: name.into(),
            birth_date: None,
            contact: None,
            came_for: None,
        }))
    }

    fn visit(&mut self, person: EntryId, note: &str) -> EntryId {
        let session = self.act(ChairCommand::Open {
            mode: Mode::CountOnly,
            person: Some(person),
            plan: Vec::new(),
            rehearsal: false,
            procedure: None,
        });
        let region = "cheek.left".parse().expect("a region");
        self.act(ChairCommand::OpenPack {
            session,
            held: 3,
            size: None,
            lot: Some("LOT-Q".into()),
        });
        self.act(ChairCommand::Place {
            session,
            region,
            count: 3,
            size: None,
            points: Vec::new(),
            stay: None,
        });
        self.act(ChairCommand::Note {
            session,
            text: note.into(),
            region: None,
        });
        self.act(ChairCommand::TakeOut {
            session,
            region,
            count: 3,
            how: How::Taken,
            first: None,
        });
        self.act(ChairCommand::CountStrips {
            session,
            size: None,
            left: 0,
        });
        let state = self.ledger.session(session).expect("open").state().clone();
        for command in demands(&state, session) {
            self.act(command);
        }
        self.act(ChairCommand::Close {
            session,
            words: Some("signed".into()),
        });
        session
    }

    fn new(seed: u64) -> Self {
        let mut practice = Self {
            ledger: invent(&BOOKS, seed),
            one: hand_id(),
            two: hand_id(),
            session: hand_id(),
            now: 5_000_000_000,
        };
        practice.one = practice.meet(NAME);
        practice.two = practice.meet(OTHER);
        let one = practice.one;
        practice.session = practice.visit(one, NOTE);
        let two = practice.two;
        practice.visit(two, FOUND);
        practice
    }

    /// On a phone, packed in two goes, so that a stream has more than one pack.
    fn on(&mut self, sealed: bool) -> (Ledger, Phone) {
        let mut phone = Phone::new(sealed);
        for entry in self.ledger.journal().iter() {
            phone.keep(entry);
        }
        let mut ledger = phone.start();
        phone.pack(&mut ledger);
        let one = self.one;
        for (person, text) in [(one, NAME), (self.two, OTHER)] {
            let named = Named {
                name: format!("{text} the second"),
                birth_date: None,
                contact: None,
                came_for: None,
            };
            let id = self.act(DeskCommand::Rename(person, named));
            let entry = self.ledger.journal().get(id).expect("there").clone();
            phone.keep(&entry);
        }
        let mut ledger = phone.start();
        phone.pack(&mut ledger);
        // And something that is still in a row.
        let named = Named {
            name: format!("{NAME} the third"),
            birth_date: None,
            contact: None,
            came_for: None,
        };
        let id = self.act(DeskCommand::Rename(one, named));
        let entry = self.ledger.journal().get(id).expect("there").clone();
        phone.keep(&entry);
        let ledger = phone.start();
        (ledger, phone)
    }
}

fn hand_id() -> EntryId {
    Ledger::default().journal().free()
}

fn read(bytes: &[u8]) -> Carried {
    Reading::whole(bytes, Limits::HERE).expect("a copy")
}

#[test]
fn a_finder_of_a_sealed_practice_reads_nobody_in_packs_and_sheets() {
    let (mut shelves, mut names) = ((0, 0), 0);
    for seed in 0..12 {
        let (_, plain) = Practice::new(seed).on(false);
        let (ledger, sealed) = Practice::new(seed).on(true);
        shelves = (
            shelves.0 + sealed.packs.len(),
            shelves.1 + sealed.sheets.len(),
        );
        for private in [NAME, OTHER, NOTE, FOUND, "cheek.left", "needle.placed"] {
            assert!(plain.gives_away(private), "control: {private} is found");
            assert!(!sealed.gives_away(private), "{private}");
        }
        // Short ones are found by luck, and some stand in rows with their signs escaped.
        for (_, person) in ledger.everybody().filter(|(_, p)| p.name.len() > 4) {
            names += usize::from(plain.gives_away(&person.name));
            assert!(!sealed.gives_away(&person.name), "{}", person.name);
        }
        let texts = sealed.packs.values().chain(sealed.sheets.values());
        assert!(texts.into_iter().all(|text| text.starts_with("sealed1 ")));
    }
    println!("{} packs and {} sheets", shelves.0, shelves.1);
    assert!(
        shelves.0 > 50 && shelves.1 > 20 && names > 20,
        "control: {names}"
    );
}

#[test]
fn a_sealed_practice_packed_away_is_the_same_practice() {
    property("sealed and packed", 30, &any::<u64>(), |seed| {
        let mut practice = Practice::new(seed);
        let (mut ledger, phone) = practice.on(true);
        prop_assert!(
            ledger.session(practice.session).is_none() && !ledger.has(&Want::Everything),
            "control: it is packed away"
        );
        let lines = |l: &Ledger| format!("{:?}", l.visits().collect::<Vec<_>>());
        prop_assert_eq!(lines(&ledger), lines(&practice.ledger));
        phone.load(&mut ledger, &Want::Everything);
        prop_assert_eq!(
            ledger.journal().to_lines(),
            practice.ledger.journal().to_lines()
        );
        Ok(())
    });
}

/// What was plain is sealed: packs as they stand, sheets anew.
#[test]
fn a_practice_that_is_sealed_later_has_its_packs_sealed() {
    for seed in 0..8 {
        let mut practice = Practice::new(seed);
        let (mut ledger, plain) = practice.on(false);
        let mut sealed = Phone::new(true);
        for entry in plain.tail().iter() {
            sealed.keep(entry);
        }
        for (name, text) in &plain.packs {
            let name: PackName = name.parse().expect("a name");
            let mut packed = Plain.open_pack(name, text).expect("a pack");
            let tombs = ledger.journal();
            packed.bodies.retain(|(key, _)| !tombs.destroyed(*key));
            sealed.keep_pack(&packed);
        }
        sealed.seq = plain.seq;
        sealed.base(&ledger);
        for private in [NAME, OTHER, NOTE, FOUND] {
            assert!(plain.gives_away(private), "control: {private}");
            assert!(!sealed.gives_away(private), "{private}");
        }
        let mut again = sealed.start();
        sealed.load(&mut again, &Want::Everything);
        plain.load(&mut ledger, &Want::Everything);
        assert_eq!(again.journal().to_lines(), ledger.journal().to_lines());
    }
}

#[test]
fn erasing_reaches_rows_packs_sheets_and_the_key() {
    let mut erased = 0;
    for (seed, sealed) in (0..16).flat_map(|seed| [(seed, false), (seed, true)]) {
        let mut practice = Practice::new(seed);
        let (mut ledger, mut phone) = practice.on(sealed);
        let packs = phone.packs.clone();
        let key = format!("key.{}", KeyId::Person(practice.one));
        assert_eq!(phone.rows.contains_key(&key), sealed, "control");
        assert!(phone.gives_away(NAME) != sealed, "control: {seed}");
        assert!(
            ledger.session(practice.session).is_none(),
            "control: it is packed away"
        );
        // What the whole ledger makes of it is the toy.
        let whole = DeskCommand::Erase(practice.one).into();
        let facts = practice.ledger.decide(&whole, &hand(5, 9_000_000_000));
        practice.ledger.append(&facts.expect("decided"));
        phone.erase(&mut ledger, practice.one).expect("erased");
        for private in [NAME, NOTE] {
            assert!(!phone.gives_away(private), "{seed} {sealed} {private}");
        }
        assert!(phone.gives_away(OTHER) != sealed, "control: others stay");
        assert!(!phone.rows.contains_key(&key));
        // A restart, and everything read in: the same as if nothing had ever been packed.
        let mut again = phone.start();
        assert!(again.who(practice.one).is_none_or(|p| p.name.is_empty()));
        phone.load(&mut again, &Want::Everything);
        let right = practice.ledger.journal().to_lines();
        assert_eq!(
            String::from_utf8(again.journal().to_lines()),
            String::from_utf8(right),
            "{seed} {sealed}"
        );
        assert!(!again.journal().to_lines().is_empty());
        let text = String::from_utf8(again.journal().to_lines()).expect("text");
        assert!(text.contains(OTHER) && text.contains(FOUND) && !text.contains(NOTE));
        erased += 1;

        // A pack of before, found on an old disk: its key is gone, and with it what was said.
        if let Some(unlocked) = &phone.unlocked {
            let theirs = packs.iter().find_map(|(name, text)| {
                let name: PackName = name.parse().expect("a name");
                (name.stream == Stream::Session(practice.session)).then_some((name, text))
            });
            let (name, text) = theirs.expect("it was packed");
            let entries = unlocked.open_pack(name, text).expect("its envelopes open");
            let entries = entries.entries().expect("entries");
            let of_them = |e: &&Entry| e.key == KeyId::Person(practice.one);
            assert!(entries.iter().filter(of_them).count() > 3);
            assert!(
                entries
                    .iter()
                    .filter(of_them)
                    .all(|e| e.body.get() == "null")
            );
        }
    }
    assert_eq!(erased, 32);
}

#[test]
fn an_erasing_that_could_not_be_kept_leaves_every_pack_listed() {
    let mut practice = Practice::new(3);
    let (mut ledger, phone) = practice.on(true);
    let command = Command::Desk(DeskCommand::Erase(practice.one));
    phone.decided(&mut ledger, &command).expect("decided");
    let names = |l: &Ledger| -> Vec<bool> {
        let names = phone.packs.keys().map(|n| n.parse().expect("a name"));
        names.map(|name: PackName| l.has_pack(name)).collect()
    };
    let burial = ledger.burial(&[practice.one]).expect("read in");
    assert!(!burial.packs.is_empty());
    assert!(names(&ledger).iter().all(|there| *there));
    ledger.bury(&burial, false);
    assert!(names(&ledger).iter().any(|there| !there), "control");
    ledger.unbury(&burial);
    assert!(names(&ledger).iter().all(|there| *there));
}

#[test]
fn a_burial_asks_for_what_is_packed_away() {
    let mut practice = Practice::new(4);
    let (mut ledger, phone) = practice.on(false);
    let asked = ledger.burial(&[practice.one]);
    assert!(matches!(asked, Err(Refusal::LoadFirst(streams)) if !streams.is_empty()));
    phone.load(&mut ledger, &Want::Person(practice.one, 0));
    assert!(ledger.burial(&[practice.one]).is_ok());
}

#[test]
fn a_fact_merged_into_a_packed_session_reopens_its_count() {
    for sealed in [false, true] {
        let mut practice = Practice::new(6);
        let session = practice.session;
        let (mut ledger, mut phone) = practice.on(sealed);
        // The other phone had not closed it.
        let open =
            |e: &Entry| !(e.stream == Stream::Session(session) && e.kind == "session.closed");
        let mut other = Ledger::new(practice.ledger.journal().part(&open));
        let place = ChairCommand::Place {
            session,
            region: "cheek.right".parse().expect("a region"),
            count: 1,
            size: None,
            points: Vec::new(),
            stay: None,
        };
        let facts = other.decide(&place.into(), &hand(8, 8_000_000_000));
        other.append(&facts.expect("a needle can always be counted"));
        let file = carry::take(
            &other,
            Part::Whole,
            other.journal().latest().expect("a time"),
        );
        let file = read(&file.expect("a copy").text);

        assert!(ledger.visit(session).expect("known").closed, "control");
        assert!(
            matches!(
                carry::summary(&ledger, phone.beside(&ledger, &file)),
                Err(Refusal::LoadFirst(_))
            ),
            "nothing is said of what is not read in"
        );
        let before = ledger.clone();
        assert!(matches!(
            ledger.merge(&file.journal),
            Err(Refusal::LoadFirst(_))
        ));
        assert_eq!(ledger.journal(), before.journal(), "nothing was taken in");
        let want = carry::wanted_for(&ledger, &file);
        phone.load(&mut ledger, &want);
        let seen = carry::summary(&ledger, phone.beside(&ledger, &file)).expect("read in");
        assert_eq!(
            seen.reopens.iter().map(|r| r.session).collect::<Vec<_>>(),
            [session]
        );
        assert_eq!(seen.checked.new, 1);
        let here = ledger.journal().clone();
        for entry in seen.journal.texts().filter(|e| !here.holds(e)) {
            phone.keep(entry);
        }
        assert_eq!(ledger.merge(&seen.journal), Ok(1));
        for ledger in [ledger, phone.start()] {
            assert!(ledger.open_sessions().any(|(id, _)| id == session));
            let line = ledger.visit(session).expect("known");
            assert!(line.open && !line.closed);
            assert!(ledger.pack(Stream::Session(session)).is_none());
        }
    }
}

#[test]
fn copies_take_what_is_packed_away() {
    let part_of_it = |ledger: &Ledger| ledger.whole().is_none();
    for sealed in [false, true] {
        let mut practice = Practice::new(7);
        let (ledger, phone) = practice.on(sealed);
        let now = practice.ledger.journal().latest().expect("a time");
        for part in [Part::Whole, Part::Person(practice.one)] {
            let right = carry::take(&practice.ledger, part, now).expect("a copy");
            let mut ledger = ledger.clone();
            assert!(part_of_it(&ledger), "control");
            assert!(
                carry::take(&ledger, part, now).is_none(),
                "never a copy of a part"
            );
            phone.load(&mut ledger, &carry::wanted(part));
            let taken = carry::take(&ledger, part, now).expect("a copy");
            assert_eq!(
                String::from_utf8(taken.text),
                String::from_utf8(right.text),
                "{part:?}"
            );
            let text = String::from_utf8(carry::take(&ledger, part, now).expect("one").text);
            let others = text.expect("text").contains(OTHER);
            assert_eq!(
                others,
                part == Part::Whole,
                "a person's copy is theirs alone"
            );
            assert_eq!(
                part_of_it(&ledger),
                part != Part::Whole,
                "and loads no more"
            );
        }
        // Since the last copy: what the base covers has to be here to be counted.
        let made = carry::take(&practice.ledger, Part::Whole, now).expect("a copy");
        let command = Command::Desk(DeskCommand::CopyMade(made.made.expect("a copy")));
        let mut ledger = ledger.clone();
        let facts = ledger.decide(&command, &hand(5, 9_000_000_000));
        ledger.append(&facts.expect("decided"));
        assert!(carry::take(&ledger, Part::Since, now).is_none());
        phone.load(&mut ledger, &carry::wanted(Part::Since));
        let since = carry::take(&ledger, Part::Since, now).expect("what came since");
        assert_eq!(since.entries, 1, "the note on the copy");
    }
}

/// A copy that is more than one file, taken from what is packed away without reading it in; brought into
/// another phone in any order.
#[test]
fn a_long_copy_is_several_files_that_come_together_in_any_order() {
    for sealed in [false, true] {
        let mut practice = Practice::new(11);
        for n in 0..150 {
            let person = practice.meet(&format!("Person {n}"));
            practice.visit(person, "nothing of note");
        }
        let erased = practice.meet("Somebody erased");
        practice.act(DeskCommand::Erase(erased));
        let (ledger, phone) = practice.on(sealed);
        let now = practice.ledger.journal().latest().expect("a time");
        let all = practice.ledger.journal();
        let lines = |journal: &Journal| {
            let mut lines = Vec::new();
            journal.lines(&mut |_, line| lines.push(line.to_owned()));
            lines.sort();
            lines
        };
        let wanted = lines(all);
        let (files, made) = phone.pieces(&ledger, Part::Whole, now, 40_000);
        assert!(files.len() > 3, "control: {} files", files.len());
        assert!(ledger.whole().is_none(), "and nothing was read in for it");
        let (one, _) = phone.pieces(&ledger, Part::Whole, now, usize::MAX);
        assert_eq!(one.len(), 1);
        assert_eq!(lines(&one[0].journal), wanted, "one file is all of it");
        assert_eq!(one[0].header.piece, None);
        assert_eq!(
            (made.covers.entries, made.covers.sum),
            all.sum_before(made.covers.before),
            "several files cover what one does"
        );
        let mut together: Vec<String> = files.iter().flat_map(|f| lines(&f.journal)).collect();
        together.sort();
        together.dedup();
        assert_eq!(together, wanted, "nothing is in none of them");
        for (n, file) in (1..).zip(&files) {
            let piece = file.header.piece.expect("it says which");
            assert_eq!((piece.number, file.missing()), (n, 0));
            assert_eq!(piece.all.is_some(), n as usize == files.len());
            assert!(
                file.journal.tombs().next().is_some(),
                "what erases is in each"
            );
            // Whoever is in it is there with all their visits.
            for stream in file.journal.streams().filter(|s| *s != Stream::Practice) {
                assert_eq!(file.journal.of(stream).count(), all.of(stream).count());
            }
        }
        // Beside the phone it was taken from it lacks nothing.
        for (last, file) in files.iter().rev().enumerate() {
            let mut here = ledger.clone();
            phone.load(&mut here, &carry::wanted_for(&ledger, file));
            let seen = carry::summary(&here, phone.beside(&here, file)).expect("read in");
            assert_eq!((seen.checked.new, seen.checked.lacking), (0, 0));
            assert_eq!(seen.checked.complete, (last == 0).then_some(true));
            assert!(here.whole().is_none(), "no more is read in than it touches");
        }
        // Another phone, in an order of its own.
        let mut other = Ledger::default();
        let middle = files.len() / 2;
        let order = files[middle..].iter().chain(&files[..middle]);
        let mut said = Vec::new();
        for file in order {
            let seen = carry::summary(&other, carry::Beside::of(&other, file)).expect("here");
            said.extend(seen.checked.complete);
            other.merge(&seen.journal).expect("all of it is here");
        }
        assert_eq!(said, [false], "control: the last file came before others");
        assert_eq!(other.journal(), all);
        let last = files.last().expect("one");
        let seen = carry::summary(&other, carry::Beside::of(&other, last)).expect("here");
        assert_eq!(seen.checked.complete, Some(true));

        // What came since goes on from it, whatever is read in; not if something is missing.
        practice.act(DeskCommand::CopyMade(made.clone()));
        let person = practice.meet("Somebody later");
        practice.visit(person, "later");
        let (ledger, mut phone) = practice.on(sealed);
        let (since, _) = phone.pieces(&ledger, Part::Since, now, 40_000);
        assert_eq!(since.len(), 1);
        let late = |entry: &Entry| entry.id >= made.covers.before || entry.erases().is_some();
        let late: Vec<String> = lines(&practice.ledger.journal().part(&late));
        assert!(late.len() > 5);
        assert_eq!(lines(&since[0].journal), late);
        let seen = carry::summary(&other, carry::Beside::of(&other, &since[0])).expect("here");
        assert_eq!(seen.checked.continues, Some(true));
        assert_eq!(seen.checked.lacking, 0);
        other.merge(&seen.journal).expect("all of it is here");
        assert_eq!(other.journal(), practice.ledger.journal());
        let half = Ledger::new(files[0].journal.clone());
        let seen = carry::summary(&half, carry::Beside::of(&half, &since[0])).expect("here");
        assert_eq!(
            seen.checked.continues,
            Some(false),
            "control: half is not all"
        );
        let lost = phone.packs.keys().next().expect("one").clone();
        phone.packs.insert(lost, "spoilt".into());
        let mut copying =
            carry::Copying::new(&ledger, Part::Since, now, 40_000).expect("there is a copy");
        phone.walk(&ledger, &mut |facts| drop(copying.take(facts)));
        assert!(
            copying.end().is_none(),
            "control: with a pack spoilt it cannot be told what came since"
        );
    }
}

/// What was read in for a copy is let go of again, and nothing that is open or unpacked with it.
#[test]
fn what_lies_in_packs_is_put_away_and_read_in_again() {
    for sealed in [false, true] {
        let mut practice = Practice::new(12);
        let (mut ledger, phone) = practice.on(sealed);
        let open = ChairCommand::Open {
            mode: Mode::CountOnly,
            person: Some(practice.two),
            plan: Vec::new(),
            rehearsal: false,
            procedure: None,
        };
        phone
            .decided(&mut ledger, &open.into())
            .expect("a chair can always be opened");
        let lines = |ledger: &Ledger| {
            let visits: Vec<_> = ledger.visits().map(|(id, l)| (id, l.clone())).collect();
            let people: Vec<_> = ledger.everybody().map(|(id, l)| (id, l.clone())).collect();
            (visits, people)
        };
        phone.load(&mut ledger, &Want::Everything);
        let (all, said) = (ledger.clone(), lines(&ledger));
        let one = Want::Person(practice.one, 0);
        ledger.put_away(std::slice::from_ref(&one));
        assert!(ledger.whole().is_none() && ledger.journal().len() < all.journal().len());
        assert!(ledger.has(&one) && ledger.has(&Want::Start));
        assert_eq!(lines(&ledger), said, "lists are as they were");
        let open = |ledger: &Ledger| ledger.open_sessions().map(|(id, _)| id).collect::<Vec<_>>();
        assert!(!open(&all).is_empty() && open(&ledger) == open(&all));
        let next = ledger.journal().free();
        assert_eq!(next, all.journal().free(), "no name is given twice");
        ledger.put_away(&[]);
        assert!(!ledger.has(&one), "control: nobody wanted them any more");
        assert!(ledger.has(&Want::Start));
        phone.load(&mut ledger, &Want::Everything);
        assert_eq!(ledger.journal().to_lines(), all.journal().to_lines());
        assert_eq!(lines(&ledger), said);
        assert_eq!(
            ledger.whole().expect("all").sessions().count(),
            all.visits().count()
        );
    }
}

/// A tombstone that comes in a file reaches what is packed here.
#[test]
fn an_erasing_that_comes_in_a_file_reaches_what_is_packed() {
    for sealed in [false, true] {
        let mut practice = Practice::new(9);
        let (mut ledger, phone) = practice.on(sealed);
        let mut other = practice.ledger.clone();
        let erase = DeskCommand::Erase(practice.one).into();
        let facts = other.decide(&erase, &hand(8, 8_000_000_000));
        other.append(&facts.expect("decided"));
        // Only the practice's own facts, as a file of procedures might have them.
        let part = other.journal().part(&|_| false);
        assert_eq!(ledger.erased_by(&part), [practice.one]);
        let streams = ledger.touched(&part);
        assert!(streams.contains(&Stream::Session(practice.session)));
        assert!(matches!(ledger.merge(&part), Err(Refusal::LoadFirst(_))));
        phone.load(&mut ledger, &Want::Streams(streams));
        assert_eq!(ledger.merge(&part), Ok(1));
        assert!(ledger.erased_by(&part).is_empty());
        let burial = ledger.burial(&[practice.one]).expect("read in");
        let left = burial.packs.iter().filter_map(|one| one.new.as_ref());
        let left: Vec<Entry> = left.flat_map(|p| p.entries().expect("sound")).collect();
        let theirs = |e: &&Entry| e.key == KeyId::Person(practice.one);
        assert!(left.iter().filter(theirs).count() > 3);
        assert!(left.iter().filter(theirs).all(|e| e.body.get() == "null"));
        // A start that finds a tombstone and an older summary does not believe the summary.
        let mut phone = phone;
        for tomb in part.iter() {
            phone.keep(tomb);
        }
        let again = phone.start();
        assert!(again.who(practice.one).is_none_or(|p| p.name.is_empty()));
        assert!(again.visit(practice.session).is_none_or(|v| v.erased));
    }
}

/// Luck in the order of things: erasing and packing in turns comes to what the whole comes to.
#[test]
fn erasing_and_packing_in_turns_comes_to_the_same() {
    property("erased and packed", 40, &any::<u64>(), |seed| {
        let mut chance = Chance::new(seed);
        let mut practice = Practice::new(seed);
        let (mut ledger, mut phone) = practice.on(chance.once_in(2));
        for _ in 0..3 {
            let people: Vec<EntryId> = ledger.everybody().map(|(id, _)| id).collect();
            let who = chance.of(&people);
            let command = Command::Desk(DeskCommand::Erase(who));
            let right = practice.ledger.decide(&command, &hand(5, 9_000_000_000));
            match phone.erase(&mut ledger, who) {
                Ok(()) => practice.ledger.append(&right.expect("decided there too")),
                Err(why) => prop_assert_eq!(right, Err(why)),
            }
            if chance.once_in(2) {
                phone.pack(&mut ledger);
            }
            if chance.once_in(2) {
                ledger = phone.start();
            }
        }
        let mut again = phone.start();
        phone.load(&mut again, &Want::Everything);
        prop_assert_eq!(
            String::from_utf8(again.journal().to_lines()),
            String::from_utf8(practice.ledger.journal().to_lines())
        );
        Ok(())
    });
}
