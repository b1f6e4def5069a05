//! Reads the conditions of the rule files. A practitioner writes
//! `blood_thinner has warfarin and inr > $inr_stop`; what ships is a small tree in JSON.
//!
//! ```text
//! either  := both { "or" both }
//! both    := one { "and" one }
//! one     := "not" one | "(" either ")" | fact
//! fact    := "always" | "first_visit" | "left_in" | "electro" | "cream" | "wrap"
//!          | "cream has" trait | "plan has" SET | "plan has" ("filiform" | "intradermal")
//!          | "on" $setting | "off" $setting
//!          | question "is" option { "|" option } | question "has" option { "|" option }
//!          | question "has_any" | question compare figure
//!          | ("days" | "months" | "years") "(" question ")" compare figure
//!          | "count" "(" question ")" ">=" number
//!          | "score" "(" weight "*" one { "," weight "*" one } ")" ">=" number
//! compare := "<" | "<=" | ">" | ">="        figure := number | $setting
//! ```
//! `and` binds closer than `or`; a mixture without brackets is refused, since people read it both
//! ways. Figures are kept in thousandths.

use serde_json::{Value, json};

/// What kind of answer a question takes, as far as a condition needs to know.
pub enum Kind {
    /// One of these, by position.
    Choice(Vec<String>),
    /// Any of these.
    Several(Vec<String>),
    /// A number.
    Number,
    /// A date.
    Date,
    /// Regions of the body.
    Places,
}

/// The names a condition may use.
#[derive(Default)]
pub struct Names {
    /// Questions in order.
    pub questions: Vec<(String, Kind)>,
    /// Settings in order.
    pub settings: Vec<String>,
    /// Point sets in order.
    pub sets: Vec<String>,
    /// Traits a topical product can have.
    pub traits: Vec<String>,
}

impl Names {
    /// Position and kind of a question.
    pub fn question(&self, id: &str) -> Result<(usize, &Kind), String> {
        self.questions
            .iter()
            .position(|(name, _)| name == id)
            .and_then(|at| self.questions.get(at).map(|(_, kind)| (at, kind)))
            .ok_or_else(|| format!("there is no question `{id}`"))
    }

    fn at(list: &[String], what: &str, name: &str) -> Result<usize, String> {
        list.iter()
            .position(|n| n == name)
            .ok_or_else(|| format!("there is no {what} `{name}`"))
    }

    /// Position of a set.
    pub fn set(&self, name: &str) -> Result<usize, String> {
        Self::at(&self.sets, "point set", name)
    }

    /// Position of a setting.
    pub fn setting(&self, name: &str) -> Result<usize, String> {
        Self::at(&self.settings, "setting", name)
    }
}

/// Thousandths of a decimal number of at most three places.
pub fn thousandths(text: &str) -> Result<i64, String> {
    let bad = || format!("`{text}` is not a number with at most three decimals");
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    if part.len() > 3 || !part.bytes().all(|b| b.is_ascii_digit()) {
        return Err(bad());
    }
    let whole: i64 = whole.parse().map_err(|_| bad())?;
    let part: i64 = format!("{part:0<3}").parse().map_err(|_| bad())?;
    Ok(whole * 1000 + if text.starts_with('-') { -part } else { part })
}

fn tokens(text: &str) -> Result<Vec<String>, String> {
    let mut out: Vec<String> = Vec::new();
    let mut chars = text.chars().peekable();
    while let Some(&c) = chars.peek() {
        if c.is_whitespace() {
            chars.next();
        } else if c.is_alphanumeric() || "_$.-".contains(c) {
            let mut word = String::new();
            while let Some(&c) = chars.peek() {
                if c.is_alphanumeric() || "_$.-".contains(c) {
                    word.push(c);
                    chars.next();
                } else {
                    break;
                }
            }
            out.push(word);
        } else if "()|,*".contains(c) {
            chars.next();
            out.push(c.to_string());
        } else if "<>".contains(c) {
            chars.next();
            let mut op = c.to_string();
            if chars.peek() == Some(&'=') {
                chars.next();
                op.push('=');
            }
            out.push(op);
        } else {
            return Err(format!("`{c}` has no meaning in a condition"));
        }
    }
    Ok(out)
}

struct Reader<'a> {
    names: &'a Names,
    tokens: Vec<String>,
    at: usize,
    /// Questions met so far.
    met: Vec<usize>,
}

impl Reader<'_> {
    fn peek(&self) -> &str {
        self.tokens.get(self.at).map_or("", String::as_str)
    }

    fn next(&mut self) -> Result<String, String> {
        let token = self
            .tokens
            .get(self.at)
            .cloned()
            .ok_or("the condition ends too early")?;
        self.at += 1;
        Ok(token)
    }

    fn expect(&mut self, want: &str) -> Result<(), String> {
        let got = self.next()?;
        if got == want {
            Ok(())
        } else {
            Err(format!("expected `{want}`, found `{got}`"))
        }
    }

    fn either(&mut self) -> Result<Value, String> {
        let mut parts = vec![self.one()?];
        let word = self.peek().to_string();
        if word == "and" || word == "or" {
            while self.peek() == word {
                self.next()?;
                parts.push(self.one()?);
            }
            if matches!(self.peek(), "and" | "or") {
                return Err("put brackets round a mixture of `and` and `or`".into());
            }
        }
        Ok(match (word.as_str(), parts.len()) {
            ("and", _) => json!({ "all": parts }),
            ("or", _) => json!({ "any": parts }),
            _ => parts.remove(0),
        })
    }

    fn one(&mut self) -> Result<Value, String> {
        match self.peek() {
            "not" => {
                self.next()?;
                Ok(json!({ "not": self.one()? }))
            }
            "(" => {
                self.next()?;
                let inner = self.either()?;
                self.expect(")")?;
                Ok(inner)
            }
            _ => self.fact(),
        }
    }

    fn figure(&mut self) -> Result<Value, String> {
        let token = self.next()?;
        match token.strip_prefix('$') {
            Some(name) => Ok(json!({ "s": self.names.setting(name)? })),
            None => Ok(json!({ "n": thousandths(&token)? })),
        }
    }

    fn compare(&mut self) -> Result<&'static str, String> {
        Ok(match self.next()?.as_str() {
            "<" => "lt",
            "<=" => "le",
            ">" => "gt",
            ">=" => "ge",
            other => return Err(format!("`{other}` does not compare")),
        })
    }

    fn options(&mut self, known: &[String], id: &str) -> Result<Vec<usize>, String> {
        let mut out = Vec::new();
        loop {
            let option = self.next()?;
            out.push(
                known
                    .iter()
                    .position(|o| *o == option)
                    .ok_or_else(|| format!("question `{id}` has no answer `{option}`"))?,
            );
            if self.peek() != "|" {
                return Ok(out);
            }
            self.next()?;
        }
    }

    fn meet(&mut self, at: usize) {
        if !self.met.contains(&at) {
            self.met.push(at);
        }
    }

    #[expect(clippy::too_many_lines, reason = "one arm for each kind of fact")]
    fn fact(&mut self) -> Result<Value, String> {
        let word = self.next()?;
        match word.as_str() {
            "always" => return Ok(json!({ "all": [] })),
            "first_visit" | "left_in" | "electro" | "wrap" => return Ok(json!(word)),
            "cream" => {
                if self.peek() != "has" {
                    return Ok(json!("cream"));
                }
                self.next()?;
                let name = self.next()?;
                let at = Names::at(&self.names.traits, "product trait", &name)?;
                return Ok(json!({ "trait": at }));
            }
            "plan" => {
                self.expect("has")?;
                let name = self.next()?;
                return Ok(match name.as_str() {
                    "filiform" | "intradermal" => json!({ "kind": name }),
                    _ => json!({ "plan": self.names.set(&name)? }),
                });
            }
            "on" | "off" => {
                let name = self.next()?;
                let name = name.strip_prefix('$').unwrap_or(&name);
                let on = json!({ "on": self.names.setting(name)? });
                return Ok(if word == "on" {
                    on
                } else {
                    json!({ "not": on })
                });
            }
            "days" | "months" | "years" => {
                self.expect("(")?;
                let id = self.next()?;
                self.expect(")")?;
                let compare = self.compare()?;
                let figure = self.figure()?;
                if id == "last_visit" {
                    return Ok(json!({ "gap": [word, compare, figure] }));
                }
                let (at, kind) = self.names.question(&id)?;
                if !matches!(kind, Kind::Date) {
                    return Err(format!("question `{id}` is not answered by a date"));
                }
                self.meet(at);
                return Ok(json!({ "since": [at, word, compare, figure] }));
            }
            "count" => {
                self.expect("(")?;
                let id = self.next()?;
                self.expect(")")?;
                self.expect(">=")?;
                let least = thousandths(&self.next()?)? / 1000;
                let (at, kind) = self.names.question(&id)?;
                let Kind::Several(options) = kind else {
                    return Err(format!("question `{id}` does not take several answers"));
                };
                let parts: Vec<Value> = (0..options.len())
                    .map(|option| json!([1, { "has": [at, option] }]))
                    .collect();
                self.meet(at);
                return Ok(json!({ "score": [least, parts] }));
            }
            "score" => {
                self.expect("(")?;
                let mut parts = Vec::new();
                loop {
                    let weight = thousandths(&self.next()?)? / 1000;
                    self.expect("*")?;
                    parts.push(json!([weight, self.one()?]));
                    match self.next()?.as_str() {
                        "," => {}
                        ")" => break,
                        other => return Err(format!("`{other}` inside a score")),
                    }
                }
                self.expect(">=")?;
                let least = thousandths(&self.next()?)? / 1000;
                return Ok(json!({ "score": [least, parts] }));
            }
            _ => {}
        }
        let (at, kind) = self.names.question(&word)?;
        self.meet(at);
        match (self.peek().to_string().as_str(), kind) {
            ("is", Kind::Choice(options)) => {
                self.next()?;
                let mut mask = 0_u64;
                for option in self.options(options, &word)? {
                    mask |= 1 << option;
                }
                Ok(json!({ "is": [at, mask] }))
            }
            ("has", Kind::Several(options)) => {
                self.next()?;
                let mut parts: Vec<Value> = self
                    .options(options, &word)?
                    .into_iter()
                    .map(|option| json!({ "has": [at, option] }))
                    .collect();
                Ok(if parts.len() == 1 {
                    parts.remove(0)
                } else {
                    json!({ "any": parts })
                })
            }
            ("has_any", Kind::Several(options)) => {
                self.next()?;
                let parts: Vec<Value> = (0..options.len())
                    .map(|option| json!({ "has": [at, option] }))
                    .collect();
                Ok(json!({ "any": parts }))
            }
            ("<" | "<=" | ">" | ">=", Kind::Number) => {
                let compare = self.compare()?;
                let figure = self.figure()?;
                Ok(json!({ "num": [at, compare, figure] }))
            }
            (other, _) => Err(format!(
                "`{word} {other}` is not a fact about that question"
            )),
        }
    }
}

/// Reads one condition. Gives its tree and the questions it names, by position.
///
/// # Errors
/// Says what is wrong with the text.
pub fn read(text: &str, names: &Names) -> Result<(Value, Vec<usize>), String> {
    let mut reader = Reader {
        names,
        tokens: tokens(text)?,
        at: 0,
        met: Vec::new(),
    };
    let tree = reader.either()?;
    if reader.at < reader.tokens.len() {
        return Err(format!("`{}` is left over", reader.peek()));
    }
    Ok((tree, reader.met))
}
