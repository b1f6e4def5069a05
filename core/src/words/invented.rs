//! The invented practice: a scenario of our own. Nobody and nothing in it exists.

/// Somebody invented.
#[expect(missing_docs, reason = "each field is what it is named")]
pub struct Invented {
    pub name: &'static str,
    pub birth_date: &'static str,
    pub came_for: &'static str,
}

/// The whole of it.
#[expect(missing_docs, reason = "each field is what it is named")]
pub struct InventedPractice {
    pub practitioner: &'static str,
    pub registration: &'static str,
    pub emergency_number: &'static str,
    pub people: &'static [Invented],
}

/// English.
pub const EN: InventedPractice = InventedPractice {
    practitioner: "Practitioner of Reed Street (invented)",
    registration: "no registration: invented",
    emergency_number: "(your local emergency number)",
    people: &[
        Invented {
            name: "Wren Fold (invented)",
            birth_date: "1984-02-29",
            came_for: "a rested look about the eyes",
        },
        Invented {
            name: "Tarn Hurdle (invented)",
            birth_date: "1971-07-03",
            came_for: "lines at the brow",
        },
        Invented {
            name: "Sedge Wattle (invented)",
            birth_date: "1990-11-16",
            came_for: "jaw that is held tight",
        },
    ],
};
