//! Points and measures against what stands outside this program. Each row names its source and mark.
//!
//! WHO 2008 is: World Health Organization, Western Pacific Region. WHO Standard Acupuncture Point
//! Locations in the Western Pacific Region, 2008. "p.153 (text)" means that page's text was read;
//! "from p.45" means only the chapter's start page was read and the point itself in the source named.

use pinfold_core::atlas::{Atlas, Group, Point, Reach, Unit};
use pinfold_core::base::cite::Mark;
use pinfold_core::base::units::Micrometres;
use pinfold_core::measure::{self, Measures, offset_in_um, tape_error_um};

fn atlas() -> Atlas {
    Atlas::load().expect("the atlas is sound")
}

fn has(point: &Point, hundredths: u16, landmark: &str, axis: &str) -> bool {
    point.sites.iter().any(|site| {
        site.landmark.contains(landmark)
            && site.axis.as_deref() == Some(axis)
            && site
                .offset
                .is_some_and(|o| o.hundredths == hundredths && o.unit == Unit::BCun)
    })
}

/// code, hundredths of a B-cun, landmark, axis, the words the row's source must hold.
const OFFSETS: &[(&str, u16, &str, &str, &str)] = &[
    (
        "PC4",
        500,
        "palmar wrist crease",
        "proximal",
        "WHO08 p.153 (text)",
    ),
    (
        "PC5",
        300,
        "palmar wrist crease",
        "proximal",
        "WHO08 p.154 (text)",
    ),
    (
        "GV20",
        500,
        "anterior hairline",
        "superior",
        "WHO08 p.213 (text)",
    ),
    (
        "PC6",
        200,
        "palmar wrist crease",
        "proximal",
        "WHO08 PC from p.151",
    ),
    (
        "TE5",
        200,
        "dorsal wrist crease",
        "proximal",
        "WHO08 TE from p.157",
    ),
    (
        "TE6",
        300,
        "dorsal wrist crease",
        "proximal",
        "WHO08 TE from p.157",
    ),
    (
        "TE8",
        400,
        "dorsal wrist crease",
        "proximal",
        "WHO08 TE from p.157",
    ),
    (
        "BL4",
        150,
        "anterior median line",
        "lateral",
        "WHO08 BL from p.99",
    ),
    (
        "BL6",
        250,
        "anterior hairline",
        "superior",
        "WHO08 BL from p.99",
    ),
    (
        "BL6",
        150,
        "anterior median line",
        "lateral",
        "WHO08 BL from p.99",
    ),
    (
        "GB14",
        100,
        "eyebrow above the pupil",
        "superior",
        "WHO08 GB from p.171",
    ),
    (
        "GB13",
        300,
        "anterior median line",
        "lateral",
        "WHO08 GB from p.171",
    ),
    (
        "ST8",
        450,
        "anterior median line",
        "lateral",
        "WHO08 ST from p.45",
    ),
    ("ST36", 300, "ST35", "distal", "WHO08 ST from p.45"),
    (
        "SP6",
        300,
        "medial malleolus",
        "proximal",
        "WHO08 SP from p.69",
    ),
    ("SP10", 200, "patella", "proximal", "WHO08 SP from p.69"),
    (
        "LI10",
        200,
        "cubital crease",
        "distal",
        "WHO08 LI from p.33",
    ),
    (
        "LU7",
        150,
        "palmar wrist crease",
        "proximal",
        "WHO08 LU from p.25",
    ),
    (
        "GV21",
        350,
        "anterior hairline",
        "superior",
        "WHO08 GV from p.203",
    ),
    (
        "GV22",
        200,
        "anterior hairline",
        "superior",
        "WHO08 GV from p.203",
    ),
    (
        "GV23",
        100,
        "anterior hairline",
        "superior",
        "WHO08 GV from p.203",
    ),
    (
        "GV24",
        50,
        "anterior hairline",
        "superior",
        "WHO08 GV from p.203",
    ),
    (
        "GB1",
        50,
        "outer canthus",
        "lateral",
        "WHO08 wording quoted in S-RK",
    ),
    (
        "GB8",
        150,
        "temporal hairline",
        "superior",
        "WHO08 wording quoted in S-RK",
    ),
];

#[test]
fn offsets_are_the_standards() {
    let atlas = atlas();
    for &(code, hundredths, landmark, axis, source) in OFFSETS {
        let point = atlas.get(code).expect(code);
        assert!(
            has(point, hundredths, landmark, axis),
            "{code}: {:?}",
            point.sites
        );
        assert!(point.source.contains(source), "{code}: {}", point.source);
        assert_eq!(point.mark, Mark::Read, "{code}: mark as in the reference");
    }
    // Control: an offset that no source gives is not found.
    assert!(!has(
        atlas.get("PC4").expect("PC4"),
        400,
        "palmar wrist crease",
        "proximal"
    ));
}

#[test]
fn the_five_recalled_points_stay_recalled() {
    // The reference counts 92 points read and 5 from memory, by name.
    let atlas = atlas();
    let recalled: Vec<&str> = atlas
        .points()
        .filter(|point| point.mark == Mark::Memory)
        .map(|point| point.code.as_str())
        .collect();
    assert_eq!(recalled, ["GV26", "CV23", "PC8", "BL67", "EX-HN2"]);
    let read = atlas
        .points()
        .filter(|point| point.mark == Mark::Read)
        .count();
    assert_eq!(read, 92);
    let depths = atlas.points().filter(|point| point.depth.is_some()).count();
    assert_eq!(depths, 53, "depths are filled only where one was read");
}

#[test]
fn finger_units_stay_finger_units() {
    // 0.4 finger-cun at ST4 (S-X1, read); 0.1 at BL67 (recalled).
    for (code, hundredths) in [("ST4", 40), ("BL67", 10)] {
        let atlas = atlas();
        let offset = atlas.get(code).and_then(|p| p.sites[0].offset).expect(code);
        assert_eq!((offset.hundredths, offset.unit), (hundredths, Unit::FCun));
    }
}

#[test]
fn points_barred_in_pregnancy_by_custom_say_so() {
    // LI4 and SP6: custom read (S-LH, S-AQ). BL60 and BL67: memory. Common practice, not proof of harm.
    let atlas = atlas();
    for (code, mark) in [
        ("LI4", Mark::Read),
        ("SP6", Mark::Read),
        ("BL60", Mark::Memory),
        ("BL67", Mark::Memory),
    ] {
        let point = atlas.get(code).expect(code);
        let hazard = point
            .hazards
            .iter()
            .find(|hazard| hazard.words.contains("pregnancy"))
            .expect(code);
        assert_eq!(hazard.mark, mark, "{code}");
        assert!(point.is_in(Group::PregnancyCustom), "{code}");
    }
    // The set and the hazard cells agree over the whole atlas, both ways.
    for point in atlas.points() {
        let says = point.hazards.iter().any(|h| h.words.contains("pregnancy"));
        assert_eq!(says, point.is_in(Group::PregnancyCustom), "{}", point.code);
    }
}

#[test]
fn the_sets_that_screening_names_are_whole() {
    // Point sets as our safety reference groups them (policy), so far as the atlas has the points.
    let atlas = atlas();
    for (group, codes) in [
        (Group::Orbit, vec!["BL1", "EX-HN7", "ST1"]),
        (Group::NeckFront, vec!["CV22", "CV23", "SI17"]),
        (Group::NeckBack, vec!["BL10", "GB12", "GB20", "GV16"]),
        (Group::Rim, vec!["BL2", "EX-HN4", "GB1", "ST2", "TE23"]),
    ] {
        let mut found: Vec<&str> = atlas
            .points()
            .filter(|point| point.is_in(group) && point.mark != Mark::Policy)
            .map(|point| point.code.as_str())
            .collect();
        found.sort_unstable();
        assert_eq!(found, codes);
    }
}

#[test]
fn segments_count_as_the_training_tables_say() {
    // WHO 2008's own table was not seen; training tables and GB/T 12346-2006 preface (S-GB), read,
    // except 18 to the base of the patella, memory.
    let segments = measure::segments().expect("sound");
    for (id, cun) in [
        ("scalp_length", 12),
        ("forehead_height", 3),
        ("forehead_width", 9),
        ("mastoid_width", 9),
        ("sternum", 9),
        ("upper_belly", 8),
        ("lower_belly", 5),
        ("nipples", 8),
        ("upper_arm", 9),
        ("forearm", 12),
        ("thigh", 18),
        ("shin_inner", 15),
        ("shin_condyle", 13),
        ("inner_ankle_sole", 3),
        ("outer_thigh", 19),
        ("back_thigh", 14),
        ("shin_outer", 16),
    ] {
        let segment = segments.iter().find(|s| s.id == id).expect(id);
        assert_eq!(segment.cun, cun, "{id}");
        let mark = if id == "thigh" {
            Mark::Memory
        } else {
            Mark::Read
        };
        assert_eq!(segment.mark, mark, "{id}");
    }
}

#[test]
fn distances_on_a_person_are_the_worked_ones() {
    // Arithmetic: unit = segment / count, distance = offset x unit. Lengths in micrometres; worked by
    // hand in our points reference, section 2.3 (derived).
    for (segment_um, cun, hundredths, expected_um) in [
        (252_000, 12, 400, 84_000),  // forearm 25.2 cm, TE8: 8.40 cm
        (252_000, 12, 200, 42_000),  // PC6
        (252_000, 12, 300, 63_000),  // TE6
        (252_000, 12, 500, 105_000), // PC4
        (384_000, 16, 300, 72_000),  // ST36
        (360_000, 15, 300, 72_000),  // SP6
        (414_000, 18, 200, 46_000),  // SP10
        (300_000, 12, 500, 125_000), // GV20
        (63_000, 3, 100, 21_000),    // GB14
        (189_000, 9, 150, 31_500),   // BL4
        (189_000, 9, 225, 47_250),   // GB15, printed as 4.73 cm
        (189_000, 9, 300, 63_000),   // GB13
        (189_000, 9, 450, 94_500),   // ST8
        (432_000, 18, 300, 72_000),  // a lost hairline from the glabella
    ] {
        assert_eq!(
            offset_in_um(Micrometres(segment_um), cun, hundredths),
            Ok(Micrometres(expected_um))
        );
    }
    // The check of GV20 from the other side: 1 cun in front of the middle of 30 cm.
    let middle = 150_000;
    let one = offset_in_um(Micrometres(300_000), 12, 100)
        .expect("whole")
        .0;
    assert_eq!(middle - one, 125_000);
    // A tape 5 mm off on the 12-cun forearm is 1.7 mm off at 4 cun.
    let off = tape_error_um(Micrometres::from_mm(5), 12, 400)
        .expect("whole")
        .0;
    assert_eq!((off + 50) / 100, 17);
    // A middle-finger cun of 2.0 cm puts ST4 0.80 cm from the mouth corner.
    assert_eq!(
        measure::finger_in_um(Micrometres::from_mm(20), 40),
        Ok(Micrometres::from_mm(8))
    );
}

#[test]
fn a_points_own_bearing_gives_its_distance() {
    let atlas = atlas();
    let segments = measure::segments().expect("sound");
    let mut measures = Measures::default();
    measures
        .segments
        .insert("forearm".into(), Micrometres::from_mm(252));
    let te8 = &atlas.get("TE8").expect("TE8").sites[0];
    let found = measure::distance(te8, &segments, &measures, false).expect("measured");
    assert_eq!(found.um, Micrometres::from_mm(84));
    // Control: another segment's length does not serve.
    let st36 = &atlas.get("ST36").expect("ST36").sites[0];
    assert!(measure::distance(st36, &segments, &measures, false).is_err());
}

#[test]
fn only_sishencong_is_four() {
    // WHO nomenclature 1991/93 (first cited by GB/T 12346-2006 preface, read): four points round GV20.
    let atlas = atlas();
    let four: Vec<&str> = atlas
        .points()
        .filter(|point| point.reach == Reach::Four)
        .map(|point| point.code.as_str())
        .collect();
    assert_eq!(four, ["EX-HN1"]);
    for code in ["GV20", "CV24", "GV26", "EX-HN3", "CV22"] {
        assert_eq!(atlas.get(code).expect(code).reach, Reach::Midline, "{code}");
    }
}
