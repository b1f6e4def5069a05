//! Reads a case out of JSON, as `screen` and `plan` take it: what cannot be used names its field.

use pinfold_core::atlas::{Region, Side};
use pinfold_core::base::date::Date;
use pinfold_core::base::flat;
use pinfold_core::intake::{
    Answer, Fault, Kind, Milli, Question, Reason, Reply, Slip, Value as Said,
};
use pinfold_core::needle;
use pinfold_core::practice::{self, own};
use pinfold_core::screening::{Case, Knowledge, Planned};
use pinfold_core::topical::Cream;
use serde_json::{Map, Value, json};

/// A field and what is wrong with it.
pub struct Wrong(pub String, pub String);

/// What reading comes to.
pub type Read_<T> = Result<T, Wrong>;

pub fn wrong<T>(field: &str, what: impl Into<String>) -> Read_<T> {
    Err(Wrong(field.to_string(), what.into()))
}

pub fn problem(fault: &Fault) -> String {
    match &fault.slip {
        Slip::Unheard => "there is no such thing".into(),
        Slip::WrongKind => "this question takes another kind of answer".into(),
        Slip::NoSuchOption(option) => format!("it has no option `{option}`"),
        Slip::OutOfRange(min, max) => format!("it must lie from {min} to {max}"),
        Slip::TooFine(step) => format!("it is given in steps of {step}"),
        Slip::InFuture => "it lies in the future".into(),
        Slip::BeforeBirth => "it lies before the date of birth".into(),
        Slip::Against(other) => format!("it contradicts `{other}`"),
        Slip::NoReason => "it is looser than the default and no reason is written".into(),
    }
}

pub fn object<'v>(value: &'v Value, field: &str, known: &[&str]) -> Read_<&'v Map<String, Value>> {
    let Some(map) = value.as_object() else {
        return wrong(field, "it must be an object");
    };
    for key in map.keys() {
        if !known.is_empty() && !known.contains(&key.as_str()) {
            let path = if field == "input" {
                key.clone()
            } else {
                format!("{field}.{key}")
            };
            return wrong(&path, "there is no such field");
        }
    }
    Ok(map)
}

pub fn present<'v>(map: &'v Map<String, Value>, key: &str) -> Option<&'v Value> {
    map.get(key).filter(|v| !v.is_null())
}

pub fn text<'v>(value: &'v Value, field: &str) -> Read_<&'v str> {
    value
        .as_str()
        .map_or_else(|| wrong(field, "it must be text"), Ok)
}

fn date(value: &Value, field: &str) -> Read_<Date> {
    text(value, field)?
        .parse()
        .map_err(|why| Wrong(field.into(), format!("{why}")))
}

fn optional_date(map: &Map<String, Value>, key: &str, field: &str) -> Read_<Option<Date>> {
    present(map, key).map(|v| date(v, field)).transpose()
}

pub fn flag(value: &Value, field: &str) -> Read_<bool> {
    match value {
        Value::Bool(b) => Ok(*b),
        Value::String(s) if s == "yes" => Ok(true),
        Value::String(s) if s == "no" => Ok(false),
        _ => wrong(field, "it must be true or false"),
    }
}

/// A number or its decimal text, in thousandths.
pub fn milli(value: &Value, field: &str) -> Read_<Milli> {
    let text = match value {
        Value::Number(n) => n.to_string(),
        Value::String(s) => s.clone(),
        Value::Bool(b) => u8::from(*b).to_string(),
        _ => return wrong(field, "it must be a number"),
    };
    let text = text.strip_suffix(".0").unwrap_or(&text);
    text.parse()
        .map_err(|why| Wrong(field.into(), format!("{why}")))
}

pub fn count(value: &Value, field: &str, most: u32) -> Read_<u32> {
    let n = milli(value, field)?;
    let whole = n.0 / 1000;
    match u32::try_from(whole) {
        Ok(count) if n.0 % 1000 == 0 && count <= most => Ok(count),
        _ => wrong(field, format!("it must be a whole number from 0 to {most}")),
    }
}

fn options(value: &Value, field: &str) -> Read_<Vec<String>> {
    match value {
        Value::String(one) => Ok(vec![one.clone()]),
        Value::Array(many) => many
            .iter()
            .map(|v| text(v, field).map(String::from))
            .collect(),
        _ => wrong(field, "it must be a list of words"),
    }
}

fn said(question: &Question, value: &Value, field: &str) -> Read_<Said> {
    Ok(match &question.kind {
        Kind::YesNo => Said::Yes(flag(value, field)?),
        Kind::Choice(_) | Kind::Side(_) => Said::Choice(text(value, field)?.to_string()),
        Kind::Several(_) => Said::Several(options(value, field)?.into_iter().collect()),
        Kind::Number { .. } if value.is_boolean() => return wrong(field, "it must be a number"),
        Kind::Number { .. } => Said::Number(milli(value, field)?),
        Kind::Date => Said::Date(date(value, field)?),
        Kind::Places => {
            let mut places = flat::Set::new();
            for name in options(value, field)? {
                match name.parse::<Region>() {
                    Ok(region) => places.insert(region),
                    Err(_) => {
                        return wrong(
                            field,
                            format!("`{name}` is not a region such as cheek.left"),
                        );
                    }
                };
            }
            Said::Places(places)
        }
    })
}

fn answer(question: &Question, value: &Value, field: &str, today: Date) -> Read_<Answer> {
    let map = object(value, field, &["value", "unknown", "date"])?;
    let given = present(map, "value");
    let unknown = present(map, "unknown");
    let reply = match (given, unknown) {
        (Some(value), None) => Reply::Known(said(question, value, &format!("{field}.value"))?),
        (None, Some(reason)) => {
            let field = format!("{field}.unknown");
            Reply::Unknown(match text(reason, &field)? {
                "not_asked" => Reason::NotAsked,
                "not_known" => Reason::NotKnown,
                "not_measured" => Reason::NotMeasured,
                _ => return wrong(&field, "it must be not_asked, not_known or not_measured"),
            })
        }
        _ => return wrong(field, "it must have either `value` or `unknown`"),
    };
    let date = optional_date(map, "date", &format!("{field}.date"))?.unwrap_or(today);
    Ok(Answer { reply, date })
}

fn point(value: &Value, field: &str) -> Read_<Planned> {
    let map = object(value, field, &["code", "side", "kind"])?;
    let code = match map.get("code") {
        Some(code) => text(code, &format!("{field}.code"))?.to_string(),
        None => return wrong(&format!("{field}.code"), "it is missing"),
    };
    let side_field = format!("{field}.side");
    let side = match map.get("side") {
        Some(side) => Side::from_name(text(side, &side_field)?).map_or_else(
            || wrong(&side_field, "it must be left, right, both or centre"),
            Ok,
        )?,
        None => return wrong(&side_field, "it is missing"),
    };
    let kind_field = format!("{field}.kind");
    let kind = match map.get("kind").map(|k| text(k, &kind_field)).transpose()? {
        None | Some("filiform") => needle::Kind::Filiform,
        Some("intradermal") => needle::Kind::Intradermal,
        Some(_) => return wrong(&kind_field, "it must be filiform or intradermal"),
    };
    Ok(Planned { code, side, kind })
}

fn cream(value: &Value) -> Read_<Cream> {
    let map = object(
        value,
        "topical",
        &["product", "grams", "area_cm2", "minutes", "wrap"],
    )?;
    let need = |key: &str| {
        let field = format!("topical.{key}");
        match map.get(key) {
            Some(value) => Ok((value, field)),
            None => wrong(&field, "it is missing"),
        }
    };
    let (product, product_field) = need("product")?;
    let (amount, amount_field) = need("grams")?;
    let (area, area_field) = need("area_cm2")?;
    let (minutes, minutes_field) = need("minutes")?;
    let mg = milli(amount, &amount_field)?.0;
    let Some(mg) = u32::try_from(mg).ok().filter(|mg| *mg <= 1_000_000) else {
        return wrong(&amount_field, "it must lie from 0 to 1000 g");
    };
    Ok(Cream {
        product: text(product, &product_field)?.to_string(),
        mg,
        area_cm2: count(area, &area_field, 20_000)?,
        minutes: count(minutes, &minutes_field, 1440)?,
        wrap: map.get("wrap").is_some_and(|w| w == &Value::Bool(true)),
    })
}

pub fn case(value: &Value, knowledge: &Knowledge) -> Read_<Case> {
    let map = object(
        value,
        "input",
        &[
            "date", "person", "answers", "points", "topical", "electro", "settings", "rules",
        ],
    )?;
    let today = match map.get("date") {
        Some(value) => date(value, "date")?,
        None => return wrong("date", "it is missing"),
    };
    let mut case = Case::new(today);
    if let Some(person) = present(map, "person") {
        let person = object(person, "person", &["birth_date", "last_visit", "left_in"])?;
        case.birth_date = optional_date(person, "birth_date", "person.birth_date")?;
        case.last_visit = optional_date(person, "last_visit", "person.last_visit")?;
        if let Some(left) = present(person, "left_in") {
            let left = count(left, "person.left_in", 500)?;
            case.left_in = u16::try_from(left).unwrap_or(u16::MAX);
        }
    }
    if let Some(answers) = present(map, "answers") {
        for (id, value) in object(answers, "answers", &[])? {
            let field = format!("answers.{id}");
            let Some(question) = knowledge.bank.question(id) else {
                return wrong(&field, "there is no such question");
            };
            let answer = answer(question, value, &field, today)?;
            case.answers.insert(id.clone(), answer);
        }
    }
    if let Some(points) = present(map, "points") {
        let Some(points) = points.as_array() else {
            return wrong("points", "it must be a list");
        };
        for (at, value) in points.iter().enumerate() {
            case.points.push(point(value, &format!("points[{at}]"))?);
        }
    }
    case.topical = present(map, "topical").map(cream).transpose()?;
    if let Some(electro) = present(map, "electro") {
        case.electro = flag(electro, "electro")?;
    }
    if let Some(settings) = present(map, "settings") {
        for (id, value) in object(settings, "settings", &[])? {
            let field = format!("settings.{id}");
            if !value.is_object() {
                case.settings.insert(id.clone(), milli(value, &field)?);
                continue;
            }
            let map = object(value, &field, &["value", "reason"])?;
            let figure = match map.get("value") {
                Some(value) => milli(value, &format!("{field}.value"))?,
                None => return wrong(&format!("{field}.value"), "it is missing"),
            };
            let reason = present(map, "reason");
            let reason = reason.map_or(Ok(""), |r| text(r, &format!("{field}.reason")))?;
            let set = practice::figure(&knowledge.rules, id, Some(figure), reason)
                .map_err(|fault| Wrong(fault.field.clone(), problem(&fault)))?;
            case.settings.insert(id.clone(), figure);
            if !set.reason.is_empty() {
                case.reasons.insert(id.clone(), set.reason);
            }
        }
    }
    if let Some(rules) = present(map, "rules") {
        let file = json!({ "pinfold": "rules", "format": 1, "rules": rules }).to_string();
        let (bank, built_in) = (&knowledge.bank, &knowledge.rules);
        let unusable = |fault: &Fault| Wrong(format!("rules.{}", fault.field), problem(fault));
        let own = own::read(&file, bank, built_in).map_err(|why| match why {
            own::Unusable::NotRules(words) => Wrong("rules".into(), words),
            own::Unusable::Rule(fault) => unusable(&fault),
        })?;
        for rule in own {
            let rule = rule.read(bank, built_in).map_err(|f| unusable(&f))?;
            case.own.push(rule);
        }
    }
    Ok(case)
}
