//! One hour as a problem to solve: the groups of needles, the creams, and the rules between them, as
//! read from a file of the open format `pinfold-sched-1`, kind `session`.
//!
//! Every figure is checked here, with the name of its field, so that the solver meets none it cannot
//! add up.

use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;
use serde_json::{Map, Value};

/// No figure in a file may be longer than this many seconds (about 115 days): sums then always fit.
pub const LONGEST: u32 = 10_000_000;
/// No more needles than this in one instance.
pub const MOST_NEEDLES: u32 = 20_000;
/// No more groups than this in one instance.
pub const MOST_GROUPS: usize = 100;
/// No more creams than this in one instance.
pub const MOST_TOPICALS: usize = 20;

/// From least to most, in seconds, ends included.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// Not shorter.
    pub least: u32,
    /// Not longer.
    pub most: u32,
}

/// Equal needles that go in one after the other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Group {
    /// Its name in the file.
    pub id: String,
    /// Where it goes; creams name areas.
    pub area: String,
    /// How many.
    pub needles: u32,
    /// Hands busy before the first of them, in seconds.
    pub setup: u32,
    /// To place one.
    pub insert: u32,
    /// To take one out.
    pub remove: u32,
    /// How long each stays: from in to being taken hold of.
    pub stay: Window,
}

/// A cream: on, left, off, and then the needles of its areas.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Topical {
    /// Its name in the file; also names its two operations.
    pub id: String,
    /// Areas it covers. An area without needles is allowed.
    pub areas: Vec<String>,
    /// To put it on.
    pub apply: u32,
    /// From on to being wiped.
    pub dwell: Window,
    /// To wipe it off.
    pub wipe: u32,
    /// From wiped to the first needle in its areas.
    pub first: Window,
    /// From wiped until the last needle in its areas is in, at most.
    pub last: Option<u32>,
}

/// Whether needles may come out before all are in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Removal {
    /// At any time.
    Any,
    /// All in before any out: one block.
    AfterLastInsertion,
}

/// Whether the order of the groups is given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GroupOrder {
    /// As listed.
    Strict,
    /// One whole group after the other, in whichever order is shortest. Ours; not in the format.
    Free,
}

/// One hour to be ordered. Times in whole seconds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Instance {
    /// Its name in the file.
    pub id: String,
    /// Before anything else.
    pub open: u32,
    /// After everything else.
    pub close: u32,
    /// In the order they go in.
    pub groups: Vec<Group>,
    /// Creams.
    pub topicals: Vec<Topical>,
    /// The order of the groups.
    pub order: GroupOrder,
    /// When needles may come out.
    pub removal: Removal,
}

/// What is wrong with an instance, and where.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{field}: {what}")]
pub struct Flaw {
    /// Path of the field, as in `groups[2].retention.min`.
    pub field: String,
    /// What is wrong with it.
    pub what: String,
}

fn flaw(field: impl Into<String>, what: impl Into<String>) -> Flaw {
    Flaw {
        field: field.into(),
        what: what.into(),
    }
}

/// An object of the file and the path to it.
struct Node<'a> {
    path: String,
    map: &'a Map<String, Value>,
}

impl<'a> Node<'a> {
    fn of(value: &'a Value, path: String) -> Result<Self, Flaw> {
        match value {
            Value::Object(map) => Ok(Self { path, map }),
            _ => Err(flaw(path, "must be an object")),
        }
    }

    fn name(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_string()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    fn value(&self, key: &str) -> Result<&'a Value, Flaw> {
        self.map
            .get(key)
            .ok_or_else(|| flaw(self.name(key), "is missing"))
    }

    fn node(&self, key: &str) -> Result<Node<'a>, Flaw> {
        Node::of(self.value(key)?, self.name(key))
    }

    fn text(&self, key: &str) -> Result<&'a str, Flaw> {
        self.value(key)?
            .as_str()
            .ok_or_else(|| flaw(self.name(key), "must be text"))
    }

    fn list(&self, key: &str) -> Result<&'a [Value], Flaw> {
        match self.value(key)? {
            Value::Array(list) => Ok(list),
            _ => Err(flaw(self.name(key), "must be a list")),
        }
    }

    fn number(&self, key: &str, most: u32) -> Result<u32, Flaw> {
        let value = self.value(key)?;
        let Some(number) = value.as_u64() else {
            return Err(flaw(self.name(key), "must be a whole number, 0 or more"));
        };
        u32::try_from(number)
            .ok()
            .filter(|number| *number <= most)
            .ok_or_else(|| flaw(self.name(key), format!("is more than {most}")))
    }

    fn seconds(&self, key: &str) -> Result<u32, Flaw> {
        self.number(key, LONGEST)
    }

    fn window(&self, key: &str) -> Result<Window, Flaw> {
        let node = self.node(key)?;
        let (least, most) = (node.seconds("min")?, node.seconds("max")?);
        if least > most {
            return Err(flaw(
                node.path,
                format!("min {least} is more than max {most}"),
            ));
        }
        Ok(Window { least, most })
    }

    fn one_of<T>(&self, key: &str, known: &[(&str, T)]) -> Result<T, Flaw>
    where
        T: Copy,
    {
        let text = self.text(key)?;
        if let Some((_, found)) = known.iter().find(|(name, _)| *name == text) {
            return Ok(*found);
        }
        let names: Vec<&str> = known.iter().map(|(name, _)| *name).collect();
        Err(flaw(
            self.name(key),
            format!("must be {}", names.join(" or ")),
        ))
    }
}

fn group(node: &Node<'_>) -> Result<Group, Flaw> {
    Ok(Group {
        id: node.text("id")?.to_string(),
        area: node.text("area")?.to_string(),
        needles: node.number("needles", MOST_NEEDLES)?,
        setup: node.seconds("setup")?,
        insert: node.seconds("insert")?,
        remove: node.seconds("remove")?,
        stay: node.window("retention")?,
    })
}

fn topical(node: &Node<'_>) -> Result<Topical, Flaw> {
    let mut areas = Vec::new();
    for (at, area) in node.list("areas")?.iter().enumerate() {
        let Some(area) = area.as_str() else {
            return Err(flaw(
                format!("{}[{at}]", node.name("areas")),
                "must be text",
            ));
        };
        areas.push(area.to_string());
    }
    Ok(Topical {
        id: node.text("id")?.to_string(),
        areas,
        apply: node.seconds("apply")?,
        dwell: node.window("dwell")?,
        wipe: node.seconds("wipe")?,
        first: node.window("first_needle_lag")?,
        last: match node.map.get("last_needle_lag_max") {
            None | Some(Value::Null) => None,
            Some(_) => Some(node.seconds("last_needle_lag_max")?),
        },
    })
}

fn listed<T>(
    root: &Node<'_>,
    key: &str,
    most: usize,
    read: impl Fn(&Node<'_>) -> Result<T, Flaw>,
) -> Result<Vec<T>, Flaw> {
    let list = root.list(key)?;
    if list.len() > most {
        return Err(flaw(key, format!("has more than {most} entries")));
    }
    let entry = |(at, value)| read(&Node::of(value, format!("{key}[{at}]"))?);
    list.iter().enumerate().map(entry).collect()
}

impl Instance {
    /// Reads one instance.
    ///
    /// # Errors
    /// Text that is not JSON, another format or kind, a field that is missing or of the wrong kind,
    /// a least above its most, two creams of one name, or a figure above [`LONGEST`],
    /// [`MOST_NEEDLES`], [`MOST_GROUPS`] or [`MOST_TOPICALS`]: the field is named.
    pub fn read(text: &str) -> Result<Self, Flaw> {
        let value: Value = serde_json::from_str(text)
            .map_err(|why| flaw("file", format!("is not JSON: {why}")))?;
        let root =
            Node::of(&value, String::new()).map_err(|_| flaw("file", "must hold one object"))?;
        root.one_of("format", &[("pinfold-sched-1", ())])?;
        root.one_of("kind", &[("session", ())])?;
        root.one_of("time_unit", &[("second", ())])?;
        if let Some(levels) = root.map.get("objective")
            && *levels != serde_json::json!(["chair_time"])
        {
            return Err(flaw("objective", "must be [\"chair_time\"]"));
        }
        let policy = root.node("policy")?;
        let read = Self {
            id: root.text("id")?.to_string(),
            open: root.node("open")?.seconds("duration")?,
            close: root.node("close")?.seconds("duration")?,
            groups: listed(&root, "groups", MOST_GROUPS, group)?,
            topicals: match root.map.get("topical") {
                None => Vec::new(),
                Some(_) => listed(&root, "topical", MOST_TOPICALS, topical)?,
            },
            order: policy.one_of(
                "group_order",
                &[("strict", GroupOrder::Strict), ("free", GroupOrder::Free)],
            )?,
            removal: policy.one_of(
                "removal_start",
                &[
                    ("any", Removal::Any),
                    ("after_last_insertion", Removal::AfterLastInsertion),
                ],
            )?,
        };
        let mut needles = 0_u32;
        for (at, group) in read.groups.iter().enumerate() {
            needles = needles.saturating_add(group.needles);
            if needles > MOST_NEEDLES {
                return Err(flaw(
                    format!("groups[{at}].needles"),
                    format!("make more than {MOST_NEEDLES} in all"),
                ));
            }
        }
        for (at, topical) in read.topicals.iter().enumerate() {
            if read.topicals.iter().take(at).any(|t| t.id == topical.id) {
                return Err(flaw(format!("topical[{at}].id"), "is used twice"));
            }
        }
        Ok(read)
    }
}
