//! Points, face positions, segments, needles and procedures: from the reviewable files to JSON.
//! Every row is checked here, so a row without source and mark, with an offset that does not parse
//! or in an area that does not exist stops the build with its name.

use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

type Row = BTreeMap<String, String>;

const MARKS: &[&str] = &["read", "memory", "common_practice", "derived", "policy"];
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

/// Reads a CSV file whose comment lines start with `#`.
fn rows(name: &str) -> Vec<Row> {
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_path(Path::new("data").join(name))
        .unwrap_or_else(|why| panic!("{name}: {why}"));
    reader
        .deserialize()
        .map(|row| row.unwrap_or_else(|why| panic!("{name}: {why}")))
        .collect()
}

/// The text of a column, or nothing when the cell is empty.
fn cell<'a>(row: &'a Row, column: &str) -> Option<&'a str> {
    filled(
        row.get(column)
            .unwrap_or_else(|| panic!("no column {column}"))
            .trim(),
    )
}

fn filled(text: &str) -> Option<&str> {
    (!text.is_empty()).then_some(text)
}

/// The text of a column that must not be empty.
fn must<'a>(row: &'a Row, column: &str, name: &str) -> &'a str {
    cell(row, column).unwrap_or_else(|| panic!("{name}: {column} is empty"))
}

/// A decimal number as a whole number of its `places`-th part: "1.5" with 2 places is 150. Exact:
/// more places than that are refused rather than rounded.
fn whole(text: &str, places: u32, name: &str) -> i64 {
    let (sign, digits) = match text.strip_prefix('-') {
        Some(rest) => (-1, rest),
        None => (1, text),
    };
    let (int, frac) = digits.split_once('.').unwrap_or((digits, ""));
    let frac = frac.trim_end_matches('0');
    assert!(
        frac.len() <= places as usize
            && !int.is_empty()
            && int.bytes().chain(frac.bytes()).all(|b| b.is_ascii_digit()),
        "{name}: {text} is not a decimal number with at most {places} places"
    );
    let scale = 10_i64.pow(places - u32::try_from(frac.len()).expect("short"));
    let joined: i64 = format!("{int}{frac}").parse().expect("digits");
    sign * joined * scale
}

fn mark<'a>(text: &'a str, name: &str) -> &'a str {
    assert!(MARKS.contains(&text), "{name}: {text} is not a mark");
    text
}

fn area<'a>(text: &'a str, name: &str) -> &'a str {
    assert!(AREAS.contains(&text), "{name}: {text} is not an area");
    text
}

/// `[R] one thing [M] another` as a list with a mark each.
fn hazards(text: &str, name: &str) -> Vec<Value> {
    let mut found = Vec::new();
    for part in text.split('[').skip(1) {
        let (letter, words) = part
            .split_once(']')
            .unwrap_or_else(|| panic!("{name}: a hazard without its mark"));
        let mark = match letter {
            "R" => "read",
            "M" => "memory",
            _ => panic!("{name}: [{letter}] is no hazard mark"),
        };
        found.push(json!({"mark": mark, "words": words.trim()}));
    }
    assert!(
        text.is_empty() || (!found.is_empty() && text.starts_with('[')),
        "{name}: hazard text without a mark"
    );
    found
}

/// A measured place: landmark, direction and, where one is given, an offset with its unit.
fn site(
    row: &Row,
    prefix: &str,
    name: &str,
    unit: &str,
    segments: &BTreeSet<String>,
) -> Option<Value> {
    let landmark = cell(row, &format!("{prefix}landmark"))?;
    let mut site = json!({"landmark": landmark});
    if let Some(axis) = cell(row, &format!("{prefix}axis")) {
        site["axis"] = json!(axis);
    }
    let offset = format!("{prefix}offset_cun");
    if let Some(text) = cell(row, &offset) {
        let unit = match unit {
            "B" => "b_cun",
            "F" => "f_cun",
            _ => panic!("{name}: an offset without a unit"),
        };
        site["offset"] = json!({"hundredths": whole(text, 2, name), "unit": unit});
    }
    let segment = format!("{prefix}segment");
    if let Some(id) = cell(row, &segment) {
        assert!(segments.contains(id), "{name}: no segment {id}");
        assert!(
            site.get("offset").is_some(),
            "{name}: a segment without an offset"
        );
        site["segment"] = json!(id);
    }
    Some(site)
}

/// The range in a pair of columns, in whole parts; nothing when both are empty.
fn range(row: &Row, least: &str, most: &str, places: u32, name: &str) -> Option<Value> {
    match (cell(row, least), cell(row, most)) {
        (None, None) => None,
        (Some(a), Some(b)) => {
            let (a, b) = (whole(a, places, name), whole(b, places, name));
            assert!(a <= b, "{name}: {least} is above {most}");
            Some(json!([a, b]))
        }
        _ => panic!("{name}: half a range in {least}, {most}"),
    }
}

/// What lies under the skin at each point, by code.
fn muscles() -> BTreeMap<String, (Vec<Value>, Vec<Value>)> {
    let mut out = BTreeMap::new();
    for row in rows("points-muscles.csv") {
        let codes = must(&row, "points", "points-muscles.csv");
        let layer = hazards(must(&row, "layer", codes), codes);
        let nearby = hazards(must(&row, "nearby", codes), codes);
        for code in codes.split(' ') {
            let there = out.insert(code.to_owned(), (layer.clone(), nearby.clone()));
            assert!(there.is_none(), "points-muscles.csv: {code} is there twice");
        }
    }
    out
}

fn points(segments: &BTreeSet<String>, sources: &BTreeSet<String>) -> Vec<Value> {
    let mut muscles = muscles();
    let mut seen = BTreeSet::new();
    let mut out = Vec::new();
    for (file, own) in [("points.csv", false), ("points-own.csv", true)] {
        for row in rows(file) {
            let code = must(&row, "code", file).to_owned();
            assert!(seen.insert(code.clone()), "{code} is there twice");
            let source = must(&row, "source", &code);
            for key in source
                .split(|c: char| !(c.is_ascii_alphanumeric() || c == '-'))
                .filter(|word| word.starts_with("S-") || word.starts_with("WHO0"))
            {
                assert!(sources.contains(key), "{code}: no source {key}");
            }
            let unit = cell(&row, "unit").unwrap_or("");
            let sites: Vec<Value> = [
                site(&row, "", &code, unit, segments),
                site(&row, "second_", &code, unit, segments),
            ]
            .into_iter()
            .flatten()
            .collect();
            assert!(!sites.is_empty(), "{code}: no landmark");
            let mut point = json!({
                "code": code,
                "name": must(&row, "pinyin", &code),
                "kind": if own { "own" } else if code.starts_with("EX-") { "extra" } else { "channel" },
                "area": area(must(&row, "area", &code), &code),
                "reach": match must(&row, "paired", &code) {
                    "yes" => "pair",
                    "no" => "midline",
                    "four" => "four",
                    other => panic!("{code}: paired is {other}"),
                },
                "words": must(&row, "words", &code),
                "sites": sites,
                "source": source,
                "mark": mark(must(&row, "mark", &code), &code),
            });
            if let Some(groups) = cell(&row, "groups") {
                point["groups"] = json!(groups.split(' ').collect::<Vec<_>>());
            }
            if let Some(depth) = range(&row, "depth_min_mm", "depth_max_mm", 3, &code) {
                point["depth"] = depth;
            }
            if let Some(angle) = range(&row, "angle_deg_min", "angle_deg_max", 0, &code) {
                point["angle"] = angle;
            }
            let hazards = hazards(cell(&row, "hazard").unwrap_or(""), &code);
            if !hazards.is_empty() {
                point["hazards"] = json!(hazards);
            }
            if let Some((layer, nearby)) = muscles.remove(&code) {
                point["layer"] = json!(layer);
                point["nearby"] = json!(nearby);
            }
            out.push(point);
        }
    }
    let left: Vec<_> = muscles.keys().collect();
    assert!(left.is_empty(), "points-muscles.csv: no point {left:?}");
    out
}

/// Thousandths of the face's height as tenths of a millimetre of the drawing. The canon has equal
/// thirds, the drawing does not (hairline -970, brow -380, nose base 300, chin 940), so each third
/// is stretched on its own. Above the hairline the forehead's scale goes on; below the chin the
/// lower third's. Rounded half away from zero.
fn drawn_y(thousandths: i64) -> i64 {
    let (from, y0, y1, span) = match thousandths {
        ..=333 => (0, -970, -380, 333),
        334..=667 => (333, -380, 300, 334),
        _ => (667, 300, 940, 333),
    };
    y0 + round_div((thousandths - from) * (y1 - y0), span)
}

fn round_div(n: i64, d: i64) -> i64 {
    let half = if n < 0 { -d } else { d };
    (2 * n + half) / (2 * d)
}

/// Where the points are drawn, and the outlines of the areas.
fn face(codes: &BTreeSet<String>) -> Value {
    let mut spots = Vec::new();
    for file in ["face-positions.csv", "face-positions-own.csv"] {
        for row in rows(file) {
            let name = must(&row, "code", file).to_owned();
            // EX-HN1 is four needles: its rows are EX-HN1/ant, /post and /lat.
            let code = name.split('/').next().unwrap_or_default();
            assert!(codes.contains(code), "{name}: no such point");
            mark(must(&row, "location_mark", &name), &name);
            let (Some(x), Some(y)) = (cell(&row, "x"), cell(&row, "y")) else {
                assert_eq!(cell(&row, "basis"), Some("not placed"), "{name}");
                continue;
            };
            let mut spot = json!({
                "code": code,
                "x": round_div(whole(x, 3, &name) * 710, 1000),
                "y": drawn_y(whole(y, 3, &name)),
                "mirrored": must(&row, "paired", &name) == "yes",
                "view": must(&row, "view", &name),
                "seen": must(&row, "visible_front", &name),
                "basis": must(&row, "basis", &name).replace('+', "_"),
                "tolerance": round_div(whole(must(&row, "tolerance", &name), 3, &name) * 710, 1000),
            });
            let flat = whole(must(&row, "y_unrolled", &name), 3, &name);
            if flat < 0 {
                // y_unrolled is -cun / 9 in thousandths; wanted in hundredths of a B-cun.
                spot["behind"] = json!(round_div(-flat * 900, 1000));
            }
            spots.push(spot);
        }
    }
    for row in rows("hand-positions.csv") {
        let code = must(&row, "code", "hand-positions.csv").to_owned();
        assert!(codes.contains(&code), "{code}: no such point");
        spots.push(json!({
            "code": code,
            "x": whole(must(&row, "x", &code), 0, &code),
            "y": whole(must(&row, "y", &code), 0, &code),
            "mirrored": true,
            "view": "hand",
            "seen": must(&row, "seen", &code),
            "basis": must(&row, "basis", &code),
            "tolerance": 30,
        }));
    }
    let skin: Vec<Value> = rows("face-skin.csv")
        .iter()
        .map(|row| {
            let name = area(must(row, "area", "face-skin.csv"), "face-skin.csv");
            json!({
                "area": name,
                "cm2": whole(must(row, "cm2", name), 0, name),
                "source": must(row, "source", name),
                "mark": mark(must(row, "mark", name), name),
            })
        })
        .collect();
    let mut outlines: Vec<(String, Vec<Value>)> = Vec::new();
    for row in rows("face-areas.csv") {
        let name = area(must(&row, "area", "face-areas.csv"), "face-areas.csv").to_owned();
        let corner = json!([
            whole(must(&row, "x", &name), 0, &name),
            whole(must(&row, "y", &name), 0, &name)
        ]);
        match outlines.last_mut() {
            Some((last, corners)) if *last == name => corners.push(corner),
            _ => outlines.push((name, vec![corner])),
        }
    }
    let outlines: Vec<Value> = outlines
        .into_iter()
        .map(|(area, corners)| json!({"area": area, "corners": corners}))
        .collect();
    json!({"spots": spots, "outlines": outlines, "skin": skin})
}

fn segments() -> Vec<Value> {
    rows("segments.csv")
        .iter()
        .map(|row| {
            let id = must(row, "id", "segments.csv");
            json!({
                "id": id,
                "from": must(row, "from", id),
                "to": must(row, "to", id),
                "cun": whole(must(row, "cun", id), 0, id),
                "width": must(row, "way", id) == "width",
                "least": whole(must(row, "least_mm", id), 0, id) * 1000,
                "most": whole(must(row, "most_mm", id), 0, id) * 1000,
                "source": must(row, "source", id),
                "mark": mark(must(row, "mark", id), id),
            })
        })
        .collect()
}

fn label(row: &Row, column: &str, name: &str) -> Option<Value> {
    let text = cell(row, column)?;
    let marked = must(row, &format!("{column}_mark"), name);
    Some(json!({"label": text, "mark": mark(marked, name)}))
}

fn needles() -> Value {
    let gauges: Vec<Value> = rows("needles-gauges.csv")
        .iter()
        .map(|row| {
            let name = must(row, "diameter_mm", "needles-gauges.csv");
            let mut gauge = json!({
                "diameter": whole(name, 3, name),
                "source": must(row, "source", name),
            });
            for system in ["west", "japanese", "domestic"] {
                if let Some(value) = label(row, system, name) {
                    gauge[system] = value;
                }
            }
            if let Some(also) = cell(row, "also") {
                gauge["also"] = json!(also);
            }
            gauge
        })
        .collect();
    let sizes: Vec<Value> = rows("needles-sizes.csv")
        .iter()
        .map(|row| {
            let id = must(row, "id", "needles-sizes.csv");
            json!({
                "id": id,
                "size": {
                    "kind": must(row, "kind", id),
                    "diameter": whole(must(row, "diameter_mm", id), 3, id),
                    "length": whole(must(row, "length_mm", id), 3, id),
                },
                "packs": must(row, "packs", id)
                    .split(' ')
                    .map(|n| whole(n, 0, id))
                    .collect::<Vec<_>>(),
                "use": must(row, "use", id),
                "source": must(row, "source", id),
                "mark": mark(must(row, "mark", id), id),
            })
        })
        .collect();
    json!({"gauges": gauges, "sizes": sizes})
}

fn toml_file(name: &str) -> toml::Table {
    let text = fs::read_to_string(Path::new("data").join(name))
        .unwrap_or_else(|why| panic!("{name}: {why}"));
    text.parse().unwrap_or_else(|why| panic!("{name}: {why}"))
}

fn list<'a>(table: &'a toml::Table, key: &str, name: &str) -> &'a Vec<toml::Value> {
    table
        .get(key)
        .and_then(toml::Value::as_array)
        .unwrap_or_else(|| panic!("{name}: no {key}"))
}

fn text<'a>(value: &'a toml::Value, path: &[&str], name: &str) -> &'a str {
    let mut at = value;
    for key in path {
        at = at
            .get(key)
            .unwrap_or_else(|| panic!("{name}: no {}", path.join(".")));
    }
    at.as_str()
        .and_then(filled)
        .unwrap_or_else(|| panic!("{name}: {} is empty", path.join(".")))
}

fn number(value: &toml::Value, path: &[&str], name: &str) -> i64 {
    let mut at = value;
    for key in path {
        at = at
            .get(key)
            .unwrap_or_else(|| panic!("{name}: no {}", path.join(".")));
    }
    at.as_integer()
        .unwrap_or_else(|| panic!("{name}: {} is no whole number", path.join(".")))
}

fn sources() -> Vec<Value> {
    let table = toml_file("points-sources.toml");
    list(&table, "source", "points-sources.toml")
        .iter()
        .map(|row| {
            let key = text(row, &["key"], "points-sources.toml");
            json!({"key": key, "text": text(row, &["text"], key), "seen": text(row, &["seen"], key)})
        })
        .collect()
}

/// A module of a procedure as flat figures with their marks.
fn module(
    row: &toml::Value,
    name: &str,
    codes: &BTreeSet<String>,
    sizes: &BTreeSet<String>,
) -> Value {
    let module = text(row, &["module"], name);
    let name = &format!("{name}/{module}");
    let size = text(row, &["size", "id"], name);
    assert!(sizes.contains(size), "{name}: no needle size {size}");
    for figure in ["size", "technique", "sensation", "stay", "seconds"] {
        mark(text(row, &[figure, "mark"], name), name);
    }
    let steps: Vec<Value> = list(row.as_table().expect("a table"), "steps", name)
        .iter()
        .map(|step| {
            let point = text(step, &["point"], name);
            assert!(codes.contains(point), "{name}: no point {point}");
            let mut out = json!({
                "point": point,
                "side": text(step, &["side"], name),
                "keep": number(step, &["keep"], name),
            });
            for key in ["how", "direction", "size"] {
                if let Some(value) = step.get(key) {
                    out[key] = json!(value.as_str());
                }
            }
            if step.get("worn_home").and_then(toml::Value::as_bool) == Some(true) {
                out["worn_home"] = json!(true);
            }
            out
        })
        .collect();
    json!({
        "module": module,
        "apart": match text(row, &["sides"], name) {
            "apart" => true,
            "together" => false,
            other => panic!("{name}: sides is {other}"),
        },
        "size": {"id": size, "mark": text(row, &["size", "mark"], name)},
        "technique": {
            "how": text(row, &["technique", "how"], name),
            "direction": text(row, &["technique", "direction"], name),
            "mark": text(row, &["technique", "mark"], name),
        },
        "sensation": {
            "sought": text(row, &["sensation", "sought"], name),
            "mark": text(row, &["sensation", "mark"], name),
        },
        "stay": {
            "least": number(row, &["stay", "least_minutes"], name) * 60,
            "most": number(row, &["stay", "most_minutes"], name) * 60,
            "mark": text(row, &["stay", "mark"], name),
        },
        "seconds": {
            "place": number(row, &["seconds", "place"], name),
            "remove": number(row, &["seconds", "remove"], name),
            "mark": text(row, &["seconds", "mark"], name),
        },
        "steps": steps,
    })
}

fn procedures(codes: &BTreeSet<String>, sizes: &BTreeSet<String>) -> Vec<Value> {
    let table = toml_file("procedures.toml");
    list(&table, "procedure", "procedures.toml")
        .iter()
        .map(|row| {
            let id = text(row, &["id"], "procedures.toml");
            let modules: Vec<Value> = list(row.as_table().expect("a table"), "module", id)
                .iter()
                .map(|m| module(m, id, codes, sizes))
                .collect();
            let claimed = number(row, &["needles"], id);
            let counted: i64 = modules
                .iter()
                .flat_map(|m| m["steps"].as_array().expect("a list"))
                .map(|step| match step["side"].as_str() {
                    Some("both") => 2,
                    _ if step["point"] == "EX-HN1" => 4,
                    _ => 1,
                })
                .sum();
            assert_eq!(claimed, counted, "{id}: claims {claimed} needles");
            json!({
                "id": id,
                "needles": claimed,
                "name": text(row, &["name"], id),
                "visit": text(row, &["visit"], id),
                "about": text(row, &["about"], id),
                "evidence": text(row, &["evidence"], id),
                "evidence_mark": mark(text(row, &["evidence_mark"], id), id),
                "source": text(row, &["source"], id),
                "mark": mark(text(row, &["mark"], id), id),
                "modules": modules,
            })
        })
        .collect()
}

/// The figures that a session's pace is read by.
fn learning() -> Value {
    let name = "learning";
    let table = toml_file("procedures.toml");
    let row = table
        .get(name)
        .unwrap_or_else(|| panic!("procedures.toml: no [{name}]"));
    assert!(
        !text(row, &["source"], name).is_empty(),
        "{name}: no source"
    );
    json!({
        "fastest_place": number(row, &["fastest_place_seconds"], name),
        "slowest": number(row, &["slowest_seconds"], name),
        "interruption": number(row, &["interruption_minutes"], name) * 60,
        "written_after": number(row, &["written_after_minutes"], name) * 60,
        "sessions": number(row, &["sessions"], name),
        "observations": number(row, &["observations"], name),
        "mark": mark(text(row, &["mark"], name), name),
    })
}

fn names(rows: &[Value], key: &str) -> BTreeSet<String> {
    rows.iter()
        .filter_map(|row| row[key].as_str().map(str::to_owned))
        .collect()
}

fn write(out: &Path, name: &str, value: &Value) {
    fs::write(out.join(name), value.to_string()).unwrap_or_else(|why| panic!("{name}: {why}"));
}

/// Checks and writes everything this file is about into `out`.
pub fn write_all(out: &Path) {
    let segments = segments();
    let sources = sources();
    let points = points(&names(&segments, "id"), &names(&sources, "key"));
    let codes = names(&points, "code");
    let needles = needles();
    let sizes = names(needles["sizes"].as_array().expect("a list"), "id");
    write(out, "face.json", &face(&codes));
    write(out, "procedures.json", &json!(procedures(&codes, &sizes)));
    write(out, "learning.json", &learning());
    write(out, "points.json", &json!(points));
    write(out, "segments.json", &json!(segments));
    write(out, "point-sources.json", &json!(sources));
    write(out, "needles.json", &needles);
}
