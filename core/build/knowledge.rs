//! Reads, checks and packs the questions, rules and topical products of `data/`.
//! A row without source or mark, or one that names something unknown, stops the build with words.

use crate::rule_text::{self, Kind, Names, thousandths};
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::Path;

type Checked<T> = Result<T, String>;

const MARKS: &[&str] = &["read", "memory", "common_practice", "derived", "policy"];
const OUTCOMES: &[&str] = &[
    "emergency",
    "stop",
    "ask",
    "refer",
    "omit",
    "no_topical",
    "no_electro",
    "limit",
    "record",
];
const REASONS: &[&str] = &["not_known", "not_measured"];
const AREAS: &[&str] = &[
    "hands_arms",
    "legs_feet",
    "trunk",
    "scalp",
    "ear",
    "forehead",
    "eye_rim",
    "cheek",
    "mouth_jaw",
    "neck",
];
const SIDES: &[&str] = &["left", "right", "both", "centre"];
const PLAIN_LIMITS: &[&str] = &[
    "lying",
    "gentle",
    "superficial",
    "thin",
    "press_after",
    "never_alone",
    "test_one",
    "warn_bruise",
    "warn_marks",
    "recheck",
    "oblique",
    "clean_strictly",
    "cream_clear",
];
const COUNTED_LIMITS: &[&str] = &["needles", "depth_mm", "minutes", "cream_minutes"];
const URGENCIES: &[&str] = &["same_day", "urgent", "two_weeks", "soon", "routine"];

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SourceFile {
    source: Vec<SourceRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SourceRow {
    key: String,
    text: String,
    mark: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CardFile {
    card: Vec<CardRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CardRow {
    id: String,
    title: String,
    lines: Vec<String>,
    source: Vec<String>,
    mark: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CallFile {
    call: Vec<CallRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CallRow {
    id: String,
    title: String,
    usual: Vec<String>,
    today: Vec<String>,
    now: Vec<String>,
    source: Vec<String>,
    mark: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FigureFile {
    figure: Vec<FigureRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct FigureRow {
    id: String,
    value: u32,
    unit: String,
    say: String,
    source: Vec<String>,
    mark: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct QuestionFile {
    group: Vec<GroupRow>,
    question: Vec<QuestionRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct GroupRow {
    id: String,
    title: String,
    #[serde(default)]
    no_to_all: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct QuestionRow {
    id: String,
    group: String,
    kind: String,
    say: String,
    why: String,
    #[serde(default)]
    by: Option<String>,
    #[serde(default)]
    options: Vec<(String, String)>,
    #[serde(default)]
    unit: Option<String>,
    #[serde(default)]
    range: Option<(i64, i64)>,
    #[serde(default)]
    decimals: u32,
    #[serde(default)]
    asked_when: Option<String>,
    #[serde(default)]
    valid_days: Option<u32>,
    #[serde(default)]
    renewed_by: Option<String>,
    #[serde(default)]
    covered_by: Option<String>,
    #[serde(default)]
    below: Option<String>,
    #[serde(default)]
    return_line: Option<u8>,
    #[serde(default)]
    return_title: Option<String>,
    #[serde(default)]
    exit: Vec<ExitRow>,
    source: Vec<String>,
    mark: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ExitRow {
    reason: String,
    rule: String,
    outcome: String,
    #[serde(default)]
    limits: Vec<String>,
    words: String,
    source: Vec<String>,
    mark: String,
    #[serde(default)]
    policy: bool,
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct RuleFile {
    #[serde(default)]
    setting: Vec<SettingRow>,
    #[serde(default)]
    area: Vec<AreaRow>,
    #[serde(default)]
    set: Vec<SetRow>,
    #[serde(default)]
    rule: Vec<RuleRow>,
    #[serde(default)]
    say: Vec<SayRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SayRow {
    id: String,
    words: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SettingRow {
    id: String,
    say: String,
    #[serde(default)]
    unit: Option<String>,
    default: String,
    range: (String, String),
    stricter: String,
    source: Vec<String>,
    mark: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AreaRow {
    name: String,
    points: Vec<String>,
    source: Vec<String>,
    mark: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SetRow {
    name: String,
    points: Vec<String>,
    #[serde(default)]
    areas: Vec<String>,
    why: String,
    source: Vec<String>,
    mark: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RuleRow {
    id: String,
    #[serde(default)]
    part: Option<String>,
    when: String,
    outcome: String,
    #[serde(default)]
    to: Vec<String>,
    #[serde(default)]
    limits: Vec<String>,
    #[serde(default)]
    hard: bool,
    #[serde(default)]
    whom: Option<String>,
    #[serde(default)]
    urgency: Option<String>,
    words: String,
    source: Vec<String>,
    mark: String,
    #[serde(default)]
    policy: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TopicalFile {
    #[serde(rename = "trait")]
    traits: Vec<TraitRow>,
    product: Vec<ProductRow>,
    injection: Vec<InjectionRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TraitRow {
    id: String,
    #[expect(dead_code, reason = "for the reader of the file")]
    why: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ProductRow {
    id: String,
    name: String,
    /// Drug and milligrams in each gram.
    contents: Vec<(String, u32)>,
    traits: Vec<String>,
    #[serde(default)]
    never_on: Vec<String>,
    note: String,
    source: Vec<String>,
    mark: String,
    #[serde(rename = "use")]
    uses: Vec<UseRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct UseRow {
    rule: String,
    who: String,
    when: String,
    #[serde(default)]
    max_g: Option<String>,
    #[serde(default)]
    max_mg_per_kg: Option<String>,
    #[serde(default)]
    max_area_cm2: Option<u32>,
    #[serde(default)]
    grams_per_10_cm2: Option<(String, String)>,
    #[serde(default)]
    earliest_min: Option<u32>,
    #[serde(default)]
    typical_latest_min: Option<u32>,
    #[serde(default)]
    latest_min: Option<u32>,
    words: String,
    source: Vec<String>,
    mark: String,
    #[serde(default)]
    policy: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct InjectionRow {
    id: String,
    name: String,
    max_mg_per_kg: String,
    max_mg: u32,
    source: Vec<String>,
    mark: String,
}

struct House {
    sources: BTreeSet<String>,
    names: Names,
    codes: BTreeSet<String>,
}

impl House {
    fn cited(&self, source: &[String], mark: &str) -> Checked<()> {
        if source.is_empty() {
            return Err("it names no source".into());
        }
        for key in source {
            if !self.sources.contains(key) {
                return Err(format!("there is no source `{key}` in sources.toml"));
            }
        }
        one_of(mark, MARKS, "mark")
    }

    fn limits(&self, rows: &[String]) -> Checked<Value> {
        let mut out = Vec::new();
        for row in rows {
            match row.split_once(' ') {
                None => {
                    one_of(row, PLAIN_LIMITS, "limit")?;
                    out.push(json!(row));
                }
                Some((name, figure)) => {
                    one_of(name, COUNTED_LIMITS, "limit")?;
                    let setting = figure
                        .strip_prefix('$')
                        .ok_or("the figure of a limit is a $setting")?;
                    out.push(json!({ name: self.names.setting(setting)? }));
                }
            }
        }
        Ok(json!(out))
    }

    /// Cuts `{…}` out of words: an answer, a setting, days since, or what is left of a setting.
    fn words(&self, text: &str) -> Checked<Value> {
        if text.trim().is_empty() {
            return Err("it has no words".into());
        }
        if text
            .to_lowercase()
            .split(|c: char| !c.is_alphabetic())
            .any(|w| w == "safe")
        {
            return Err("its words say `safe`; Pinfold never does".into());
        }
        let mut out = Vec::new();
        let mut rest = text;
        while let Some((before, after)) = rest.split_once('{') {
            if !before.is_empty() {
                out.push(json!({ "t": before }));
            }
            let (hole, next) = after.split_once('}').ok_or("a `{` is never closed")?;
            let (setting, what) = match hole.split_once(" - ") {
                Some((s, q)) => (Some(s.trim()), q.trim()),
                None => (None, hole.trim()),
            };
            let since = what.strip_prefix("days(").and_then(|w| w.strip_suffix(')'));
            out.push(match (setting, what.strip_prefix('$'), since) {
                (None, Some(s), _) => json!({ "s": self.names.setting(s)? }),
                (None, None, Some(q)) => json!({ "d": self.names.question(q)?.0 }),
                (None, None, None) => json!({ "q": self.names.question(what)?.0 }),
                (Some(s), _, days) => {
                    let s = self.names.setting(s.trim_start_matches('$'))?;
                    let (q, key) = days.map_or((what, "left"), |d| (d, "left_days"));
                    json!({ key: [s, self.names.question(q)?.0] })
                }
            });
            rest = next;
        }
        if !rest.is_empty() {
            out.push(json!({ "t": rest }));
        }
        Ok(json!(out))
    }

    /// `LI4`, `BL31-BL34`, `ORBIT`, `ARM.left`, `area:cheek.left`, `places(question)`,
    /// `kind:intradermal`; each may end in ` if <condition>`.
    fn target(&self, text: &str, out: &mut Vec<Value>) -> Checked<()> {
        let (what, when) = match text.split_once(" if ") {
            Some((what, when)) => (what.trim(), Some(rule_text::read(when, &self.names)?.0)),
            None => (text.trim(), None),
        };
        if let Some(q) = what
            .strip_prefix("places(")
            .and_then(|w| w.strip_suffix(')'))
        {
            let (at, kind) = self.names.question(q)?;
            if !matches!(kind, Kind::Places) {
                return Err(format!("question `{q}` is not answered by regions"));
            }
            out.push(json!({ "to": { "places": at }, "if": when }));
            return Ok(());
        }
        if let Some(kind) = what.strip_prefix("kind:") {
            one_of(kind, &["filiform", "intradermal"], "kind of needle")?;
            out.push(json!({ "to": { "kind": kind }, "if": when }));
            return Ok(());
        }
        let (name, side) = match what.split_once('.') {
            Some((name, side)) => (name, Some(side)),
            None => (what, None),
        };
        if let Some(side) = side {
            one_of(side, SIDES, "side")?;
        }
        if let Some(area) = name.strip_prefix("area:") {
            one_of(area, AREAS, "area")?;
            let region = format!("{area}.{}", side.unwrap_or("both"));
            out.push(json!({ "to": { "region": region }, "if": when }));
        } else if let Ok(set) = self.names.set(name) {
            out.push(json!({ "to": { "set": [set, side] }, "if": when }));
        } else {
            for code in codes(name)? {
                if !self.codes.contains(&code) {
                    return Err(format!("`{code}` is neither a point nor a point set"));
                }
                out.push(json!({ "to": { "point": [code, side] }, "if": when }));
            }
        }
        Ok(())
    }
}

fn one_of(word: &str, list: &[&str], what: &str) -> Checked<()> {
    if list.contains(&word) {
        Ok(())
    } else {
        Err(format!(
            "`{word}` is no {what}; it is one of {}",
            list.join(", ")
        ))
    }
}

/// `BL31-BL34` as its four codes; a single code as itself.
fn codes(text: &str) -> Checked<Vec<String>> {
    let split = |code: &str| -> Checked<(String, u32)> {
        let at = code
            .rfind(|c: char| !c.is_ascii_digit())
            .map_or(0, |at| at + 1);
        let number = code.get(at..).unwrap_or("").parse();
        Ok((
            code.get(..at).unwrap_or("").to_string(),
            number.map_err(|_| format!("`{code}` is not a point code"))?,
        ))
    };
    let (first, last) = match text.rsplit_once('-') {
        // EX-HN3 has a hyphen of its own.
        Some((a, b)) if a.ends_with(|c: char| c.is_ascii_digit()) => (split(a)?, split(b)?),
        _ => {
            let one = split(text)?;
            (one.clone(), one)
        }
    };
    if first.0 != last.0 || first.1 > last.1 {
        return Err(format!("`{text}` is not a run of point codes"));
    }
    Ok((first.1..=last.1)
        .map(|n| format!("{}{n}", first.0))
        .collect())
}

fn all_codes(list: &[String]) -> Checked<Vec<String>> {
    let mut out = Vec::new();
    for text in list {
        out.extend(codes(text)?);
    }
    Ok(out)
}

fn read<T: serde::de::DeserializeOwned>(data: &Path, name: &str) -> Checked<T> {
    let text = std::fs::read_to_string(data.join(name)).map_err(|e| format!("{name}: {e}"))?;
    toml::from_str(&text).map_err(|e| format!("{name}: {e}"))
}

/// Emergency cards become a constant: nothing has to be read when somebody is unwell.
fn write_cards(house: &House, data: &Path, out: &Path) -> Checked<()> {
    let file: CardFile = read(data, "cards.toml")?;
    unique("card", file.card.iter().map(|c| c.id.as_str()))?;
    let mut text = String::from("&[");
    for card in &file.card {
        in_row("card", &card.id, house.cited(&card.source, &card.mark))?;
        if card.title.trim().is_empty() || card.lines.iter().all(|l| l.trim().is_empty()) {
            return Err(format!("card {}: it says nothing", card.id));
        }
        let mark: String = card.mark.split('_').map(capital).collect();
        text.push_str(&format!(
            "Card {{ id: {:?}, title: {:?}, lines: &{:?}, source: {:?}, mark: Mark::{mark} }},",
            card.id,
            card.title,
            card.lines,
            card.source.join(", "),
        ));
    }
    text.push(']');
    std::fs::write(out.join("cards.rs"), text).map_err(|e| e.to_string())
}

/// What to say on the phone becomes a constant too.
fn write_calls(house: &House, data: &Path, out: &Path) -> Checked<()> {
    let file: CallFile = read(data, "calls.toml")?;
    unique("call", file.call.iter().map(|c| c.id.as_str()))?;
    let mut text = String::from("&[");
    for call in &file.call {
        in_row("call", &call.id, house.cited(&call.source, &call.mark))?;
        if call.now.is_empty() {
            return Err(format!(
                "call {}: nothing in it needs the emergency number",
                call.id
            ));
        }
        let mark: String = call.mark.split('_').map(capital).collect();
        text.push_str(&format!(
            "Call {{ id: {:?}, title: {:?}, usual: &{:?}, today: &{:?}, now: &{:?}, source: {:?}, mark: Mark::{mark} }},",
            call.id,
            call.title,
            call.usual,
            call.today,
            call.now,
            call.source.join(", "),
        ));
    }
    text.push(']');
    std::fs::write(out.join("calls.rs"), text).map_err(|e| e.to_string())
}

/// Figures of the chair become constants, with their source and mark beside them.
fn write_figures(house: &House, data: &Path, out: &Path) -> Checked<()> {
    let file: FigureFile = read(data, "chair.toml")?;
    unique("figure", file.figure.iter().map(|f| f.id.as_str()))?;
    let mut text = String::new();
    for row in &file.figure {
        in_row("figure", &row.id, house.cited(&row.source, &row.mark))?;
        if row.value == 0 {
            return Err(format!("figure {}: it is 0", row.id));
        }
        text.push_str(&format!(
            "/// {}. In {}. Source: {}; {}.\npub const {}: u32 = {};\n",
            row.say,
            row.unit,
            row.source.join(", "),
            row.mark,
            row.id.to_uppercase(),
            row.value,
        ));
    }
    std::fs::write(out.join("chair.rs"), text).map_err(|e| e.to_string())
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RetentionFile {
    retention: Vec<RetentionRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RetentionRow {
    id: String,
    name: String,
    from: String,
    years: u16,
    #[serde(default)]
    minor_until: u16,
    source: Vec<String>,
    mark: String,
}

/// Examples of how long records are kept become a constant.
fn write_retention(house: &House, data: &Path, out: &Path) -> Checked<()> {
    let file: RetentionFile = read(data, "retention.toml")?;
    unique("retention", file.retention.iter().map(|r| r.id.as_str()))?;
    let mut text = String::from("&[");
    for row in &file.retention {
        in_row("retention", &row.id, house.cited(&row.source, &row.mark))?;
        one_of(&row.from, &["last_visit", "last_entry"], "from")?;
        if row.years == 0 {
            return Err(format!("retention {}: no years", row.id));
        }
        let mark: String = row.mark.split('_').map(capital).collect();
        text.push_str(&format!(
            "Example {{ id: {:?}, name: {:?}, keep: Retention {{ years: {}, from_entry: {}, minor_until: {} }}, source: {:?}, mark: Mark::{mark} }},",
            row.id,
            row.name,
            row.years,
            row.from == "last_entry",
            row.minor_until,
            row.source.join(", "),
        ));
    }
    text.push(']');
    std::fs::write(out.join("retention.rs"), text).map_err(|e| e.to_string())
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or(String::new(), |first| {
        first.to_uppercase().collect::<String>() + letters.as_str()
    })
}

fn rule_files(data: &Path) -> Checked<RuleFile> {
    let mut whole = RuleFile::default();
    let entries = std::fs::read_dir(data).map_err(|e| e.to_string())?;
    let mut names: Vec<String> = entries
        .filter_map(|e| e.ok()?.file_name().into_string().ok())
        .filter(|n| n.starts_with("rules") && n.ends_with(".toml"))
        .collect();
    names.sort();
    for name in names {
        let file: RuleFile = read(data, &name)?;
        whole.setting.extend(file.setting);
        whole.area.extend(file.area);
        whole.set.extend(file.set);
        whole.rule.extend(file.rule);
        whole.say.extend(file.say);
    }
    Ok(whole)
}

fn in_row<T>(what: &str, id: &str, result: Checked<T>) -> Checked<T> {
    result.map_err(|why| format!("{what} {id}: {why}"))
}

/// Thousandths with three decimals cut to the question's decimals.
fn step(decimals: u32) -> i64 {
    10_i64.pow(3_u32.saturating_sub(decimals))
}

fn kind_of(row: &QuestionRow) -> Checked<(Kind, Value)> {
    let options: Vec<String> = row.options.iter().map(|(id, _)| id.clone()).collect();
    let said: Vec<Value> = row
        .options
        .iter()
        .map(|(id, say)| json!([id, say]))
        .collect();
    if options.len() > 60 {
        return Err("more than 60 options".into());
    }
    let wants_options = matches!(row.kind.as_str(), "choice" | "side" | "several");
    if wants_options == options.is_empty() {
        return Err("options belong to choice, side and several, and to those always".into());
    }
    Ok(match row.kind.as_str() {
        "yes_no" => (
            Kind::Choice(vec!["no".into(), "yes".into()]),
            json!("yes_no"),
        ),
        "choice" => (Kind::Choice(options), json!({ "choice": said })),
        "side" => (Kind::Choice(options), json!({ "side": said })),
        "several" => (Kind::Several(options), json!({ "several": said })),
        "date" => (Kind::Date, json!("date")),
        "places" => (Kind::Places, json!("places")),
        "number" => {
            let (min, max) = row.range.ok_or("a number needs a range")?;
            let unit = row.unit.as_ref().ok_or("a number needs a unit")?;
            (
                Kind::Number,
                json!({ "number": {
                    "unit": unit, "min": min * 1000, "max": max * 1000, "step": step(row.decimals)
                } }),
            )
        }
        other => return Err(format!("`{other}` is not a kind of question")),
    })
}

fn question(
    row: &QuestionRow,
    at: usize,
    kind: &Value,
    house: &House,
    groups: &[String],
) -> Checked<Value> {
    house.cited(&row.source, &row.mark)?;
    house.words(&row.say)?;
    house.words(&row.why)?;
    let group = groups
        .iter()
        .position(|g| *g == row.group)
        .ok_or_else(|| format!("there is no group `{}`", row.group))?;
    let asked = match &row.asked_when {
        None => Value::Null,
        Some(text) => {
            let (tree, met) = rule_text::read(text, &house.names)?;
            if met.iter().any(|&m| m >= at) {
                return Err("it waits for a question that stands below it in the file".into());
            }
            tree
        }
    };
    let mut out = json!({ "id": row.id, "group": group, "kind": kind, "say": row.say,
        "why": row.why, "source": row.source, "mark": row.mark });
    let by = row.by.as_deref().unwrap_or("patient");
    one_of(by, &["patient", "practitioner"], "person who answers")?;
    let mut set = |key: &str, value: Value| {
        if let Some(map) = out.as_object_mut() {
            map.insert(key.into(), value);
        }
    };
    if by == "practitioner" {
        set("by", json!(by));
    }
    if !asked.is_null() {
        set("asked_when", asked);
    }
    if let Some(days) = row.valid_days {
        set("valid_days", json!(days));
    }
    if let Some(id) = &row.renewed_by {
        set("renewed_by", json!(house.names.question(id)?.0));
    }
    if let Some(id) = &row.covered_by {
        set("covered_by", json!(house.names.question(id)?.0));
    }
    if let Some(id) = &row.below {
        set("below", json!(house.names.question(id)?.0));
    }
    if let Some(line) = row.return_line {
        set(
            "return_line",
            json!([line, row.return_title.clone().unwrap_or_default()]),
        );
    }
    let mut exits = Vec::new();
    for exit in &row.exit {
        one_of(&exit.reason, REASONS, "reason for not answering")?;
        one_of(&exit.outcome, OUTCOMES, "outcome")?;
        house.cited(&exit.source, &exit.mark)?;
        exits.push(
            json!({ "reason": exit.reason, "rule": exit.rule, "outcome": exit.outcome,
            "limits": house.limits(&exit.limits)?, "words": house.words(&exit.words)?,
            "source": exit.source, "mark": exit.mark, "policy": exit.policy }),
        );
    }
    if !exits.is_empty() {
        if row.group == "red_flags" {
            return Err("a red flag has no way out".into());
        }
        set("exits", json!(exits));
    }
    Ok(out)
}

fn rule(row: &RuleRow, house: &House) -> Checked<Value> {
    house.cited(&row.source, &row.mark)?;
    one_of(&row.outcome, OUTCOMES, "outcome")?;
    let (when, _) = rule_text::read(&row.when, &house.names)?;
    let mut to = Vec::new();
    for text in &row.to {
        house.target(text, &mut to)?;
    }
    let outcome = row.outcome.as_str();
    if outcome == "omit" && to.is_empty() {
        return Err("an omission needs something to leave out".into());
    }
    if matches!(
        outcome,
        "stop" | "emergency" | "ask" | "refer" | "record" | "no_electro"
    ) && !to.is_empty()
    {
        return Err(format!(
            "`{outcome}` is for the whole visit; leave places out with `omit`"
        ));
    }
    if (outcome == "limit") == row.limits.is_empty() {
        return Err("limits belong to `limit`, and to it always".into());
    }
    if row.hard && outcome != "omit" {
        return Err("only an omission is marked hard; the others are what they are".into());
    }
    let refer = match (outcome, &row.whom, &row.urgency) {
        ("refer", Some(whom), Some(urgency)) => {
            one_of(urgency, URGENCIES, "urgency")?;
            json!([whom, urgency])
        }
        ("refer", ..) => return Err("a referral says to whom and how soon".into()),
        (_, None, None) => Value::Null,
        _ => return Err("`whom` and `urgency` belong to `refer`".into()),
    };
    let mut out = json!({ "id": row.id, "when": when, "outcome": row.outcome,
        "words": house.words(&row.words)?, "source": row.source, "mark": row.mark });
    if let Some(map) = out.as_object_mut() {
        for (key, value, keep) in [
            ("part", json!(row.part), row.part.is_some()),
            ("to", json!(to), !to.is_empty()),
            ("limits", house.limits(&row.limits)?, !row.limits.is_empty()),
            ("hard", json!(true), row.hard),
            ("refer", refer.clone(), !refer.is_null()),
            ("policy", json!(true), row.policy),
        ] {
            if keep {
                map.insert(key.into(), value);
            }
        }
    }
    Ok(out)
}

fn setting(row: &SettingRow, house: &House) -> Checked<Value> {
    house.cited(&row.source, &row.mark)?;
    one_of(
        &row.stricter,
        &["up", "down", "on", "off", "confirm"],
        "direction",
    )?;
    let (min, max) = (thousandths(&row.range.0)?, thousandths(&row.range.1)?);
    let default = thousandths(&row.default)?;
    if default < min || default > max {
        return Err("its default lies outside its range".into());
    }
    let up = match row.stricter.as_str() {
        "confirm" => Value::Null,
        word => json!(matches!(word, "up" | "on")),
    };
    Ok(
        json!({ "id": row.id, "say": row.say, "unit": row.unit, "default": default, "min": min,
        "max": max, "stricter_up": up, "source": row.source, "mark": row.mark }),
    )
}

/// Words without holes, as one text.
fn plain(house: &House, text: &str) -> Checked<String> {
    if text.contains('{') {
        return Err("these words cannot hold a figure in braces".into());
    }
    house.words(text)?;
    Ok(text.to_string())
}

fn product(row: &ProductRow, house: &House) -> Checked<Value> {
    house.cited(&row.source, &row.mark)?;
    let mut never_on = Vec::new();
    for text in &row.never_on {
        house.target(text, &mut never_on)?;
    }
    let traits: Checked<Vec<usize>> = row
        .traits
        .iter()
        .map(|t| {
            let at = house.names.traits.iter().position(|n| n == t);
            at.ok_or_else(|| format!("there is no trait `{t}`"))
        })
        .collect();
    let milli = |text: &Option<String>| text.as_deref().map(thousandths).transpose();
    let mut uses = Vec::new();
    for u in &row.uses {
        house.cited(&u.source, &u.mark)?;
        let dose = match &u.grams_per_10_cm2 {
            Some((a, b)) => json!([thousandths(a)?, thousandths(b)?]),
            None => Value::Null,
        };
        uses.push(json!({ "rule": u.rule, "who": u.who,
            "when": rule_text::read(&u.when, &house.names)?.0,
            "max_mg": milli(&u.max_g)?, "max_ug_per_kg": milli(&u.max_mg_per_kg)?,
            "max_area_cm2": u.max_area_cm2, "mg_per_10_cm2": dose,
            "earliest_min": u.earliest_min, "typical_latest_min": u.typical_latest_min,
            "latest_min": u.latest_min, "words": plain(house, &u.words)?,
            "source": u.source, "mark": u.mark, "policy": u.policy }));
    }
    Ok(
        json!({ "id": row.id, "name": row.name, "contents": row.contents, "traits": traits?,
        "never_on": never_on, "note": row.note, "source": row.source, "mark": row.mark,
        "uses": uses }),
    )
}

fn unique<'a>(what: &str, ids: impl Iterator<Item = &'a str>) -> Checked<()> {
    let mut seen = BTreeSet::new();
    for id in ids {
        let plain = !id.is_empty()
            && id
                .chars()
                .all(|c| c.is_ascii_alphanumeric() || "_-.".contains(c));
        if !plain || !seen.insert(id) {
            return Err(format!("{what} `{id}` stands twice or is not a plain word"));
        }
    }
    Ok(())
}

/// Reads everything this module owns and writes `bank.json`, `rules.json` (with the sources) and
/// `topical.json` into `out`.
///
/// # Errors
/// Names the file and row at fault and says what is wrong.
pub fn write(data: &Path, out: &Path) -> Checked<()> {
    let sources: SourceFile = read(data, "sources.toml")?;
    let bank: QuestionFile = read(data, "questions.toml")?;
    let topical: TopicalFile = read(data, "topical.toml")?;
    let rules = rule_files(data)?;

    unique("source", sources.source.iter().map(|s| s.key.as_str()))?;
    unique("question", bank.question.iter().map(|q| q.id.as_str()))?;
    unique("setting", rules.setting.iter().map(|s| s.id.as_str()))?;
    unique("set", rules.set.iter().map(|s| s.name.as_str()))?;
    unique("area", rules.area.iter().map(|s| s.name.as_str()))?;
    unique("product", topical.product.iter().map(|p| p.id.as_str()))?;
    let rule_names: Vec<String> = rules
        .rule
        .iter()
        .map(|r| {
            r.part
                .as_ref()
                .map_or(r.id.clone(), |p| format!("{}.{p}", r.id))
        })
        .collect();
    unique("rule", rule_names.iter().map(String::as_str))?;

    let mut house = House {
        sources: sources.source.iter().map(|s| s.key.clone()).collect(),
        names: Names {
            questions: Vec::new(),
            settings: rules.setting.iter().map(|s| s.id.clone()).collect(),
            sets: rules.set.iter().map(|s| s.name.clone()).collect(),
            traits: topical.traits.iter().map(|t| t.id.clone()).collect(),
        },
        codes: BTreeSet::new(),
    };
    write_cards(&house, data, out)?;
    write_calls(&house, data, out)?;
    write_figures(&house, data, out)?;
    write_retention(&house, data, out)?;
    let mut areas = Vec::new();
    for row in &rules.area {
        in_row("area", &row.name, one_of(&row.name, AREAS, "area"))?;
        in_row("area", &row.name, house.cited(&row.source, &row.mark))?;
        let points = in_row("area", &row.name, all_codes(&row.points))?;
        for code in &points {
            if !house.codes.insert(code.clone()) {
                return Err(format!("area {}: {code} lies in two areas", row.name));
            }
        }
        areas.push(json!([row.name, points]));
    }
    let mut sets = Vec::new();
    for row in &rules.set {
        in_row("set", &row.name, house.cited(&row.source, &row.mark))?;
        let mut points = in_row("set", &row.name, all_codes(&row.points))?;
        for area in &row.areas {
            in_row("set", &row.name, one_of(area, AREAS, "area"))?;
            for other in rules.area.iter().filter(|a| a.name == *area) {
                points.extend(all_codes(&other.points)?);
            }
        }
        if let Some(code) = points.iter().find(|c| !house.codes.contains(*c)) {
            return Err(format!("set {}: {code} lies in no area", row.name));
        }
        sets.push(json!({ "name": row.name, "points": points, "why": row.why,
            "source": row.source, "mark": row.mark }));
    }
    for row in &sources.source {
        in_row("source", &row.key, one_of(&row.mark, MARKS, "mark"))?;
    }

    let mut kinds = Vec::new();
    for row in &bank.question {
        let (kind, json) = in_row("question", &row.id, kind_of(row))?;
        house.names.questions.push((row.id.clone(), kind));
        kinds.push(json);
    }
    let groups: Vec<String> = bank.group.iter().map(|g| g.id.clone()).collect();
    if bank
        .group
        .iter()
        .any(|g| g.id == "red_flags" && g.no_to_all)
    {
        return Err("red flags are never answered `no to all of these`".into());
    }
    let mut questions = Vec::new();
    for (at, (row, kind)) in bank.question.iter().zip(&kinds).enumerate() {
        questions.push(in_row(
            "question",
            &row.id,
            question(row, at, kind, &house, &groups),
        )?);
    }
    let group_rows: Vec<Value> = bank
        .group
        .iter()
        .map(|g| json!({ "id": g.id, "title": g.title, "no_to_all": g.no_to_all }))
        .collect();
    let mut settings = Vec::new();
    for row in &rules.setting {
        settings.push(in_row("setting", &row.id, setting(row, &house))?);
    }
    let mut rule_rows = Vec::new();
    for (row, name) in rules.rule.iter().zip(&rule_names) {
        rule_rows.push(in_row("rule", name, rule(row, &house))?);
    }
    let mut products = Vec::new();
    for row in &topical.product {
        products.push(in_row("product", &row.id, product(row, &house))?);
    }
    let mut injections = Vec::new();
    for row in &topical.injection {
        in_row("injection", &row.id, house.cited(&row.source, &row.mark))?;
        injections.push(json!({ "id": row.id, "name": row.name,
            "max_ug_per_kg": thousandths(&row.max_mg_per_kg)?, "max_mg": row.max_mg,
            "source": row.source, "mark": row.mark }));
    }
    unique("sentence", rules.say.iter().map(|s| s.id.as_str()))?;
    let says: Vec<Value> = rules.say.iter().map(|s| json!([s.id, s.words])).collect();
    let source_rows: Vec<Value> = sources
        .source
        .iter()
        .map(|s| json!({ "key": s.key, "text": s.text, "mark": s.mark }))
        .collect();

    for (name, value) in [
        (
            "bank.json",
            json!({ "groups": group_rows, "questions": questions }),
        ),
        (
            "rules.json",
            json!({ "settings": settings, "areas": areas, "sets": sets, "says": says,
            "sources": source_rows, "rules": rule_rows }),
        ),
        (
            "topical.json",
            json!({ "products": products, "injections": injections }),
        ),
    ] {
        std::fs::write(out.join(name), value.to_string()).map_err(|e| format!("{name}: {e}"))?;
    }
    Ok(())
}
