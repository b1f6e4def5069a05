//! The build refuses a row that cannot be trusted, and says which row and why. Each case breaks one
//! thing in a copy of the data; the untouched copy is the control.

#[path = "../../core/build/knowledge.rs"]
mod knowledge;
#[path = "../../core/build/rule_text.rs"]
mod rule_text;

use std::fs;
use std::path::{Path, PathBuf};

/// What the build says of the data after `from` became `to` in one file, each time it stands there.
fn build(name: &str, file: &str, from: &str, to: &str) -> Result<(), String> {
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("../core/data");
    let copy: PathBuf = std::env::temp_dir().join(format!("pinfold-{}-{name}", std::process::id()));
    fs::create_dir_all(&copy).expect("a folder");
    for entry in fs::read_dir(&data).expect("data").flatten() {
        let path = entry.path();
        if path.extension().is_some_and(|e| e == "toml") {
            let mut text = fs::read_to_string(&path).expect("a file");
            if entry.file_name() == file {
                assert!(text.contains(from), "{file} has no `{from}`");
                text = text.replacen(from, to, 1);
            }
            fs::write(copy.join(entry.file_name()), text).expect("a copy");
        }
    }
    let said = knowledge::write(&copy, &copy);
    fs::remove_dir_all(&copy).expect("the copy goes");
    said
}

#[test]
fn a_row_that_cannot_be_trusted_stops_the_build() {
    assert_eq!(build("control", "rules-body.toml", "PR1", "PR1"), Ok(()));
    let rule = r#"source = ["AACP12", "CARR15"]"#;
    let cases = [
        (
            "card",
            "cards.toml",
            r#"source = ["STICK"]"#,
            "source = []",
            "card stick: it names no source",
        ),
        (
            "source",
            "rules-body.toml",
            rule,
            "source = []",
            "PR1: it names no source",
        ),
        (
            "key",
            "rules-body.toml",
            rule,
            r#"source = ["NOBODY"]"#,
            "no source `NOBODY`",
        ),
        (
            "mark",
            "rules-body.toml",
            r#"mark = "read""#,
            r#"mark = "sure""#,
            "`sure` is no mark",
        ),
        (
            "no mark",
            "rules-body.toml",
            "mark = \"read\"\n",
            "",
            "missing field `mark`",
        ),
        (
            "question",
            "rules-body.toml",
            "pregnant is yes",
            "pregnent is yes",
            "no question `pregnent`",
        ),
        (
            "option",
            "rules-body.toml",
            "pregnant is yes",
            "pregnant is perhaps",
            "no answer `perhaps`",
        ),
        (
            "outcome",
            "rules-body.toml",
            r#"outcome = "omit""#,
            r#"outcome = "skip""#,
            "`skip` is no outcome",
        ),
        (
            "setting",
            "rules-body.toml",
            "$inr_stop",
            "$inr_halt",
            "no setting `inr_halt`",
        ),
        (
            "point",
            "rules-body.toml",
            r#""LI4""#,
            r#""LI44""#,
            "`LI44` is neither",
        ),
        (
            "mixture",
            "rules-body.toml",
            "pregnant is yes",
            "pregnant is yes or eaten is yes and eaten is no",
            "brackets",
        ),
        (
            "safe",
            "rules-body.toml",
            "Leave out LI4",
            "It is safe without LI4",
            "Pinfold never does",
        ),
        (
            "flags",
            "questions.toml",
            "id = \"red_flags\"\ntitle = \"Right now\"\nno_to_all = false",
            "id = \"red_flags\"\ntitle = \"Right now\"\nno_to_all = true",
            "red flags are never",
        ),
        (
            "gate",
            "questions.toml",
            "asked_when = \"rf_face_weak is yes\"",
            "asked_when = \"mole is yes\"",
            "stands below it",
        ),
        (
            "figure without source",
            "rules-settings.toml",
            "source = [\"LAW-CA\", \"LAW-WA\"]",
            "source = []",
            "setting cream_scope_confirmed: it names no source",
        ),
        (
            "figure without mark",
            "rules-settings.toml",
            "mark = \"read\"\n",
            "",
            "missing field `mark`",
        ),
        (
            "label without mark",
            "topical.toml",
            "words = \"UK label, larger surface: at most 900 cm2, 30 to 60 minutes.\"\nsource = [\"UK-4\"]\nmark = \"read\"",
            "words = \"UK label, larger surface: at most 900 cm2, 30 to 60 minutes.\"\nsource = [\"UK-4\"]",
            "missing field `mark`",
        ),
        (
            "way out without source",
            "questions.toml",
            "source = [\"WHO99\", \"POLICY\"]",
            "source = []",
            "question pregnant: it names no source",
        ),
        (
            "point set without source",
            "rules-places.toml",
            "source = [\"PHY-AU\", \"POLICY\"]",
            "source = []",
            "set ORBIT: it names no source",
        ),
        (
            "twice",
            "questions.toml",
            "id = \"breastfeeding\"",
            "id = \"pregnant\"",
            "stands twice",
        ),
        (
            "default",
            "rules-settings.toml",
            "default = \"3.5\"",
            "default = \"35\"",
            "outside its range",
        ),
        (
            "cream",
            "topical.toml",
            "source = [\"UK-4\"]",
            "source = []",
            "it names no source",
        ),
    ];
    for (name, file, from, to, want) in cases {
        match build(name, file, from, to) {
            Err(said) => assert!(said.contains(want), "{name}: {said}"),
            Ok(()) => panic!("{name}: the build did not notice"),
        }
    }
}
