//! Words of the page that gives files to other programs.

/// Fixed words.
#[expect(missing_docs, reason = "each field is the sentence it holds")]
pub struct ExportWords {
    pub page: &'static str,
    pub what: &'static str,
    pub names: &'static str,
    pub names_no: &'static str,
    pub names_yes: &'static str,
    pub given: &'static str,
    pub server: &'static str,
    pub server_what: &'static str,
    pub server_give: &'static str,
    pub calendar: &'static str,
    pub calendar_what: &'static str,
    pub calendar_give: &'static str,
    pub nothing_booked: &'static str,
    pub tables: &'static str,
    pub tables_what: &'static str,
    /// In the order of the tables.
    pub table: [&'static str; 8],
}

/// English.
pub const EN: ExportWords = ExportWords {
    page: "Files for other programs",
    what: "Files are made here and leave this phone only by your hand. Whoever has a file reads it: it is not locked. These files cannot be brought back in; take a copy out for that.",
    names: "Names in the files",
    names_no: "without names",
    names_yes: "with names",
    given: "The file is ready.",
    server: "For a clinic's own server",
    server_what: "This person's visits as a FHIR R4 transaction. It carries the name and birth date, whatever was chosen above. Send visits that are closed: a server that has one already keeps it as it was sent.",
    server_give: "Make the bundle",
    calendar: "For a calendar",
    calendar_what: "Booked visits as an iCalendar file. Other programs and other people may see a calendar.",
    calendar_give: "Make the calendar file",
    nothing_booked: "Nothing is booked from now on. No file was made.",
    tables: "For a spreadsheet",
    tables_what: "Tables with a header row. A text that a spreadsheet could take for a formula has an apostrophe before it.",
    table: [
        "Visits",
        "Regions",
        "Needles",
        "Packets and lots",
        "Creams",
        "Answers",
        "Scores",
        "Booked visits",
    ],
};
