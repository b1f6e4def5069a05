//! Words of points of the practice's own.

use super::place;
use crate::practice::points::{Field, Wrong};
use crate::procedure::Slip;
use alloc::format;
use alloc::string::{String, ToString};

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct PointWords {
    pub unlooked: &'static str,
    pub nothing_changed: &'static str,
    pub code: &'static str,
    pub name: &'static str,
    pub area: &'static str,
    pub reach: &'static str,
    pub words: &'static str,
    pub sets: &'static str,
    pub at: &'static str,
    pub depth: &'static str,
    pub source: &'static str,
    pub own_points: &'static str,
    pub what: &'static str,
    pub write: &'static str,
    pub code_hint: &'static str,
    pub pair: &'static str,
    pub midline: &'static str,
    pub least: &'static str,
    pub most: &'static str,
    pub kept: &'static str,
    pub change: &'static str,
    pub take_away: &'static str,
    pub put_back: &'static str,
    pub away: &'static str,
}

/// English.
pub const EN: PointWords = PointWords {
    unlooked: "Set by a practice. What lies near it was not looked at by Pinfold.",
    nothing_changed: "Nothing was changed; what you entered is still here.",
    code: "code",
    name: "name",
    area: "area",
    reach: "pair or midline",
    words: "where it is",
    sets: "what it lies in",
    at: "place on the map",
    depth: "depth",
    source: "where that is from",
    own_points: "Points of our own",
    what: "Sites that no standard has. Rules about areas and sets of points hold for them; rules that name single points do not, pregnancy among them. What lies near them was not looked at by Pinfold.",
    write: "Write one down, or change one",
    code_hint: "OWN- and up to 12 capital letters or digits",
    pair: "a pair",
    midline: "on the midline",
    least: "least depth, mm",
    most: "greatest depth, mm",
    kept: "Kept.",
    change: "Change",
    take_away: "Take away",
    put_back: "Put back",
    away: "taken away",
};

impl PointWords {
    /// A field.
    #[must_use]
    pub const fn field(&self, field: Field) -> &'static str {
        match field {
            Field::Code => self.code,
            Field::Name => self.name,
            Field::Area => self.area,
            Field::Reach => self.reach,
            Field::Words => self.words,
            Field::Sets => self.sets,
            Field::At => self.at,
            Field::Depth => self.depth,
            Field::Source => self.source,
        }
    }

    /// What is wrong with a field of a point, and that nothing was changed.
    #[must_use]
    pub fn wrong(&self, wrong: &Wrong) -> String {
        format!("{} {}", self.trouble(wrong), self.nothing_changed)
    }

    /// What is wrong with a field of a point.
    #[must_use]
    pub fn trouble(&self, wrong: &Wrong) -> String {
        let what = match (wrong.field, &wrong.slip) {
            (Field::Code, Slip::Unknown(_)) => {
                "OWN- and 1 to 12 capital letters or digits".to_string()
            }
            (Field::Code, _) => "another point has it".to_string(),
            (Field::Sets, Slip::Empty) => {
                "here it must be said: inside the orbit or on its rim, front of the neck or back"
                    .to_string()
            }
            (Field::Source, Slip::Empty) => "a depth needs words where it is from".to_string(),
            (Field::At, Slip::Crossed) => {
                "a pair is put on the patient's left half, a midline point on the midline"
                    .to_string()
            }
            (Field::At, Slip::Unknown(_)) => "outside every area of the face".to_string(),
            (Field::Depth, Slip::Outside(..)) => "outside 0.001 to 75 mm".to_string(),
            (_, Slip::Empty) => "nothing is written".to_string(),
            (_, Slip::TooLong(most)) => format!("longer than {most} characters"),
            (_, Slip::Unseen) => "a character that cannot be seen".to_string(),
            (_, Slip::Unknown(what)) => format!("{what} is not a choice here"),
            (_, Slip::Elsewhere(area)) => {
                format!("that lies in another area ({})", place::EN.area(*area))
            }
            (_, Slip::Crossed) => "the least is above the most".to_string(),
            (_, Slip::Twice) => "there twice".to_string(),
            (_, _) => "does not fit".to_string(),
        };
        let field = self.field(wrong.field);
        format!("{field}: {what}.")
    }
}
