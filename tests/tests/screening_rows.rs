//! Check rows of the screening: an input, what must come out, and where the row is from. Everybody
//! in these rows is 45, was here two months ago and has nothing else to report, unless the row says
//! otherwise; the control shows that this gives nothing at all.
//!
//! Rows with a number are the check values of the reference; rows named `own` were written here so
//! that every rule is seen to fire. `mark` is that of the fact behind the row.

use pinfold_core::atlas::{Region, Side};
use pinfold_core::base::cite::Mark;
use pinfold_core::base::date::Date;
use pinfold_core::base::flat;
use pinfold_core::intake::{Answer, Expr, Kind, Milli, Outcome, Question, Reason, Reply, Value};
use pinfold_core::needle;
use pinfold_core::screening::{Case, Finding, Knowledge, Override, Planned, Screening};
use pinfold_core::topical::Cream;

#[derive(Clone, Copy)]
struct Row {
    name: &'static str,
    source: &'static str,
    mark: &'static str,
    /// Answers and circumstances: see [`case`].
    given: &'static str,
    /// Points: `LI4` both sides, `LI4.left`, `GV24.centre`, `ST6*` with an intradermal.
    plan: &'static str,
    /// `RULE outcome [targets] [never]`, joined by `;`. `!RULE` must not be found, `verdict ...`.
    want: &'static str,
}

const fn row(
    name: &'static str,
    source: &'static str,
    mark: &'static str,
    given: &'static str,
    plan: &'static str,
    want: &'static str,
) -> Row {
    Row {
        name,
        source,
        mark,
        given,
        plan,
        want,
    }
}

const ROWS: &[Row] = &[
    // The numbered check values of the reference.
    row(
        "1",
        "AACP12, WHO99",
        "read",
        "pregnant=yes; pregnant_weeks=10",
        "LI4 ST6 EX-HN3.centre",
        "PR1 omit LI4 never; PR5.ask ask; !PR2.points; verdict ask",
    ),
    row(
        "2",
        "AACP12",
        "read",
        "pregnant=yes; pregnant_weeks=20",
        "SP6",
        "PR1 omit SP6 never",
    ),
    row(
        "3",
        "WHO99",
        "read",
        "pregnant=yes; pregnant_weeks=20",
        "CV12.centre",
        "PR4.points omit CV12",
    ),
    row(
        "4",
        "WHO99",
        "read",
        "pregnant=yes; pregnant_weeks=8",
        "CV4.centre",
        "PR3 omit CV4",
    ),
    row(
        "5",
        "PHY-AU",
        "read",
        "pregnant=yes; pregnant_weeks=20",
        "LR3",
        "PR2.points omit LR3; !PR1; words PR2.points one list",
    ),
    row(
        "6",
        "POLICY",
        "policy",
        "pregnant=?",
        "LI4",
        "PR1.not_known ask; PR1 omit LI4 never; verdict ask",
    ),
    row(
        "6 not asked",
        "POLICY",
        "policy",
        "pregnant=-",
        "LI4",
        "open pregnant; verdict ask",
    ),
    row(
        "7",
        "TW23",
        "read",
        "blood_thinner=warfarin; inr=-; inr_date=-",
        "ST6",
        "open inr; verdict ask",
    ),
    row(
        "7 not measured",
        "TW23",
        "read",
        "blood_thinner=warfarin; inr=?m; inr_date=?",
        "ST6",
        "BD2.not_known ask; verdict ask",
    ),
    row(
        "8",
        "INR-P",
        "policy",
        "blood_thinner=warfarin; inr=4.2; inr_date=-3d",
        "ST6",
        "BD3.stop stop; BD3.refer refer; verdict stop",
    ),
    row(
        "9",
        "TW23, PHY-AU",
        "read",
        "blood_thinner=doac",
        "BL2 ST1",
        "BD4.omit omit ST1; BD4.rim limit BL2; !BD5.rim; verdict omit",
    ),
    row(
        "10",
        "TW23",
        "read",
        "blood_thinner=aspirin",
        "ST6",
        "BD5.limit limit; verdict limit",
    ),
    row(
        "11",
        "JP23",
        "read",
        "platelets_low=yes; platelets=35",
        "ST6",
        "BD8.ask ask; BD8.limit limit; verdict ask",
    ),
    row(
        "12",
        "MCM",
        "read",
        "bleeding_disorder=yes",
        "ST6",
        "BD1.stop stop; BD1.refer refer; verdict stop",
    ),
    row(
        "13",
        "DEV-B",
        "read",
        "device=pacemaker",
        "ST6 GB14",
        "CX1 no_electro never; !CX1.over; verdict omit",
    ),
    row(
        "14",
        "DEV-B, DEV-S",
        "read",
        "device=icd; electro",
        "ST6",
        "CX1 no_electro never; verdict omit",
    ),
    row(
        "own CX1 over it",
        "DEV-B",
        "policy",
        "device=pacemaker",
        "LU1 ST6",
        "CX1 no_electro never; CX1.over omit LU1; verdict omit",
    ),
    row(
        "15",
        "BP-CA",
        "read",
        "systolic=182; diastolic=98",
        "ST6",
        "CX3.stop stop; CX3.refer refer; verdict stop",
    ),
    row(
        "16",
        "BP-CA",
        "read",
        "systolic=150; diastolic=112",
        "ST6",
        "CX3.stop stop; verdict stop",
    ),
    row(
        "17",
        "BP-CA",
        "read",
        "systolic=179; diastolic=109",
        "ST6",
        "CX5.limit limit; !CX5.stop; !CX3.stop; verdict limit",
    ),
    row(
        "18",
        "BP-CA",
        "read",
        "systolic=165; diastolic=95; diabetes=yes",
        "ST6",
        "CX5.stop stop; CX5.refer refer; verdict stop",
    ),
    row(
        "19",
        "BP-US",
        "read",
        "systolic=190; diastolic=125; rf_bp_signs=yes",
        "ST6",
        "CX4 emergency; verdict emergency",
    ),
    row(
        "20",
        "PHY-AU",
        "read",
        "lymph=left_arm",
        "LI4",
        "LY1 omit LI4.left never; verdict omit",
    ),
    row(
        "21",
        "CARD19, MCM",
        "read",
        "valve=mechanical",
        "ST6* GB14",
        "CX2.retained omit ST6 never; CX2.ask ask; CX2.skin limit; verdict ask",
    ),
    row(
        "22",
        "WHO99",
        "read",
        "never here",
        "ST6",
        "NE4.limit limit; cap NE4.limit Lying; verdict limit",
    ),
    row(
        "23",
        "DN-BOOK",
        "read",
        "last visit=-7m",
        "ST6",
        "NE4.limit limit; verdict limit",
    ),
    row(
        "24",
        "CL-A, CL-B",
        "read",
        "sore_today=yes; cold_sore=yes",
        "ST6",
        "SK4 stop; verdict stop",
    ),
    row(
        "25",
        "NG12",
        "read",
        "mole=yes; mole_where=cheek.left; mole_changes=size; mole_width=8; mole_explained=yes",
        "ST7",
        "SK11.refer refer two_weeks; SK11.omit omit ST7.left; verdict refer",
    ),
    row(
        "26",
        "NG12",
        "read",
        "mole=yes; mole_where=cheek.left; mole_changes=sensation; mole_width=8",
        "ST7",
        "!SK11.refer; SK14.omit omit ST7.left; SK14.ask ask; verdict ask",
    ),
    row(
        "27",
        "NG12",
        "read",
        "mole=yes; mole_where=cheek.left; mole_kind=pearly; mole_width=3; mole_explained=yes",
        "ST7",
        "SK12.refer refer routine; SK12.omit omit ST7.left",
    ),
    row(
        "28",
        "CL-C, COMB16",
        "read",
        "procedures=toxin; toxin_date=-10d; toxin_where=forehead.both",
        "GB14 ST6",
        "RP1.stop omit GB14 never; !RP1.ask; verdict omit",
    ),
    row(
        "29",
        "CL-C, CL-B",
        "read",
        "procedures=toxin; toxin_date=-20d; toxin_where=forehead.both",
        "GB14",
        "RP1.ask ask; !RP1.stop; words RP1.ask 2 weeks to 3 months; verdict ask",
    ),
    row(
        "30",
        "MN-B, CL-B",
        "read",
        "procedures=filler; filler_date=-60d; filler_where=cheek.left",
        "ST7 ST6",
        "RP2.omit omit ST7.left; !RP2.stop; verdict omit",
    ),
    row(
        "31",
        "CL-A, CL-B",
        "read",
        "procedures=laser; laser_date=-25d; laser_where=forehead.both; laser_healed=yes",
        "GB14",
        "RP4.stop omit GB14 never; words RP4.stop 21 to 30",
    ),
    row(
        "32",
        "ISO-T",
        "read",
        "isotretinoin=stopped; isotretinoin_stopped=-4m",
        "ST6",
        "SK15.ask ask; SK15.limit limit; verdict ask",
    ),
    row(
        "33",
        "BELL13",
        "derived",
        "age=40; rf_face_weak=yes; rf_forehead_moves=no; rf_palsy_hours=30; rf_palsy_assessed=no",
        "ST6",
        "RF3.stop stop; RF3.same_day refer same_day; words RF3.same_day 42 hours left; verdict stop",
    ),
    row(
        "34",
        "BELL13",
        "read",
        "rf_face_weak=yes; rf_forehead_moves=no; rf_palsy_hours=90; rf_palsy_assessed=no",
        "ST6",
        "RF3.stop stop; RF3.late refer urgent; !RF3.same_day; verdict stop",
    ),
    row(
        "35",
        "RECALL",
        "memory",
        "rf_stroke=yes",
        "ST6",
        "RF1 emergency; verdict emergency",
    ),
    row(
        "36",
        "HEAD",
        "read",
        "rf_thunderclap=yes",
        "ST6",
        "RF6 emergency; verdict emergency",
    ),
    row(
        "37",
        "UK-4",
        "read",
        "cream=lidocaine_4_uk_larger 20 100 60",
        "ST6",
        "TL1.upper_end record; !TL1.time; !TP2",
    ),
    row(
        "37 over",
        "UK-4",
        "read",
        "cream=lidocaine_4_uk_larger 20 100 61",
        "ST6",
        "TL1.time no_topical; TP2 limit",
    ),
    row(
        "38",
        "UK-4",
        "derived",
        "cream=lidocaine_4_uk_larger 30 200 45",
        "ST6",
        "TL1.needed record; words TL1.needed 30 to 40 g; !TP1",
    ),
    row(
        "39",
        "UK-4",
        "read",
        "cream=lidocaine_4_uk_larger 30 950 45",
        "ST6",
        "TL1.area no_topical; TP1 limit; verdict omit",
    ),
    row(
        "40",
        "US-5O",
        "read",
        "cream=lidocaine_5_ointment_us 6 30 20",
        "ST6",
        "TL8.amount no_topical; verdict omit",
    ),
    row(
        "42",
        "US-5C, FDA24",
        "read",
        "cream=lidocaine_5_us_otc 5 50 20",
        "ST6",
        "TA12.barred no_topical; TA12.lot record; verdict omit",
    ),
    row(
        "43",
        "US-LP",
        "derived",
        "age=8; weight=18; cream=mix_2_5_us 11 90 120",
        "ST6",
        "TL16.amount no_topical; words TL16.amount 10 g, 100 cm2, 4 hours; !TL17.label; GE1.child stop",
    ),
    row(
        "44",
        "US-LP",
        "read",
        "age months=2; weight=5.5; preterm=no; cream=mix_2_5_us 1 11 61",
        "ST6",
        "TL14.area no_topical; TL14.time no_topical; !TL14.amount; !TL15.label",
    ),
    row(
        "47",
        "US-LP",
        "read",
        "inducers=dapsone; cream=mix_2_5_uk 20 100 60",
        "ST6",
        "TA5.prilocaine no_topical; TA5.ask ask; verdict ask",
    ),
    row(
        "48",
        "UK-LP",
        "read",
        "atopic=yes; cream=mix_2_5_uk 20 100 60",
        "ST6",
        "SK7 limit; cap SK7 CreamMinutes(30)",
    ),
    row(
        "49",
        "FDA24",
        "read",
        "cream=lidocaine_4_uk_larger 20 100 45; wrap",
        "ST6",
        "TA13 no_topical never; verdict omit",
    ),
    row(
        "56",
        "EYE25",
        "read",
        "eye_risk=high_myopia",
        "BL1 BL2 ST6",
        "SK17 omit BL1 BL2 never; SK18 omit BL1; verdict omit",
    ),
    // Our own, so that every row of every rule is seen to fire.
    row(
        "own PR2",
        "PHY-AU",
        "read",
        "pregnant=yes; pregnant_weeks=20; letters=pregnancy",
        "GB21 CV8.centre EX-HN6",
        "PR2.points omit GB21 CV8 EX-HN6; PR2.electro no_electro; PR4.strong limit; !PR5.ask; verdict omit",
    ),
    row(
        "own PR3 and PR4 together",
        "WHO99",
        "read",
        "pregnant=yes; pregnant_weeks=?",
        "CV4.centre CV12.centre",
        "PR3 omit CV4; PR4.points omit CV12; PR4.not_known ask; verdict ask",
    ),
    row(
        "own PR3 and PR4 at 13 and 14 weeks",
        "WHO99",
        "read",
        "pregnant=yes; pregnant_weeks=13; letters=pregnancy",
        "CV4.centre CV12.centre",
        "PR3 omit CV4; !PR4.points",
    ),
    row(
        "own PR4 from 14 weeks",
        "WHO99",
        "read",
        "pregnant=yes; pregnant_weeks=14; letters=pregnancy",
        "CV4.centre CV12.centre",
        "!PR3; PR4.points omit CV12",
    ),
    row(
        "own PR5",
        "WHO99",
        "read",
        "pregnant=yes; pregnant_weeks=20; letters=pregnancy; $pregnancy_stop=1",
        "ST6",
        "PR5.stop stop; !PR5.ask; verdict stop",
    ),
    row(
        "own PR6",
        "US-LP",
        "read",
        "breastfeeding=yes",
        "ST6",
        "PR6 no_topical never; verdict omit",
    ),
    row(
        "own BD2",
        "TW23",
        "read",
        "blood_thinner=warfarin; inr=2.5; inr_date=-29d",
        "BL1 BL2 ST9 GB20",
        "BD2.inr ask; words BD2.inr 29 days; BD2.limit limit; BD2.omit omit BL1 ST9 GB20; BD2.rim limit BL2",
    ),
    row(
        "own BD2 recent",
        "TW23",
        "read",
        "blood_thinner=warfarin; inr=2.5; inr_date=-28d",
        "ST6",
        "!BD2.inr; BD2.limit limit; verdict limit",
    ),
    row(
        "own BD3",
        "POLICY",
        "policy",
        "blood_thinner=warfarin; inr=3.5; inr_date=-1d",
        "ST6",
        "BD3.ask ask; !BD3.stop; verdict ask",
    ),
    row(
        "own BD3 setting",
        "POLICY",
        "policy",
        "blood_thinner=warfarin; inr=3.1; inr_date=-1d; $inr_stop=3",
        "ST6",
        "BD3.stop stop; verdict stop",
    ),
    row(
        "own BD4",
        "TW23",
        "read",
        "blood_thinner=heparin",
        "ST6",
        "BD4.limit limit; verdict limit",
    ),
    row(
        "own BD5",
        "EYE25",
        "read",
        "blood_thinner=antiplatelet",
        "ST1 BL2",
        "BD5.omit omit ST1; BD5.rim limit BL2; SK18 omit ST1",
    ),
    row(
        "own BD6",
        "MCC15",
        "read",
        "blood_thinner=aspirin+doac",
        "ST6",
        "BD6.ask ask; verdict ask",
    ),
    row(
        "own BD6 stop",
        "MCC15",
        "policy",
        "blood_thinner=aspirin+antiplatelet; $two_thinners_stop=1",
        "ST6",
        "BD6.stop stop; verdict stop",
    ),
    row(
        "own BD7",
        "JP23",
        "read",
        "platelets_low=yes; platelets=19",
        "ST6",
        "BD7 stop; !BD8.ask; verdict stop",
    ),
    row(
        "own BD8",
        "JP23",
        "read",
        "platelets_low=yes; platelets=20; letters=platelets",
        "BL1 BL2",
        "BD8.omit omit BL1 BL2; !BD8.ask; !BD7; verdict omit",
    ),
    row(
        "own BD9",
        "JP23, CYB15",
        "read",
        "platelets_low=yes; platelets=50",
        "ST6",
        "BD9 limit; !BD8.ask; verdict limit",
    ),
    row(
        "own BD10",
        "TW23, UK-4",
        "read",
        "liver=severe",
        "ST6",
        "BD10.ask ask; BD10.limit limit; BD10.cream no_topical",
    ),
    row(
        "own CX4 headache",
        "BP-US",
        "read",
        "systolic=180; diastolic=80; rf_headache=yes",
        "ST6",
        "CX4 emergency; HD1.stop stop",
    ),
    row(
        "own CX3 with diabetes",
        "BP-CA",
        "read",
        "systolic=190; diastolic=95; diabetes=yes",
        "ST6",
        "CX3.stop stop; CX3.refer refer same_day; !CX5.stop; !CX5.refer",
    ),
    row(
        "own CX7",
        "PHYSIO",
        "common_practice",
        "heart_unstable=yes",
        "ST6",
        "CX7.stop stop; CX7.refer refer urgent",
    ),
    row(
        "own NE1",
        "WHITE01",
        "policy",
        "epilepsy=yes; seizure_date=-11m; seizure_uncontrolled=no",
        "ST6",
        "NE1.stop stop; NE1.refer refer; NE1.limit limit; NE1.electro no_electro; verdict stop",
    ),
    row(
        "own NE1 a year",
        "WHITE01",
        "policy",
        "epilepsy=yes; seizure_date=-12m; seizure_uncontrolled=no; seizure_triggers=lights",
        "ST6",
        "!NE1.stop; NE1.limit limit; NE1.triggers record; verdict omit",
    ),
    row(
        "own NE2 now",
        "CUSTOM",
        "common_practice",
        "migraine=yes; migraine_now=yes",
        "ST6",
        "NE2.now stop",
    ),
    row(
        "own NE2",
        "CL-A",
        "read",
        "migraine=yes; migraine_features=aura",
        "ST6",
        "NE2.record record; NE2.triggers limit; verdict limit",
    ),
    row(
        "own NE3",
        "WHO99",
        "read",
        "fainted=yes",
        "ST6",
        "NE3.faint limit; cap NE3.faint Needles(20)",
    ),
    row(
        "own NE3 hungry",
        "WHO99",
        "read",
        "eaten=no",
        "ST6",
        "NE3.fasting limit",
    ),
    row(
        "own NE3 drained",
        "WHO99",
        "read",
        "drained=alcohol",
        "ST6",
        "NE3.drained limit",
    ),
    row(
        "own NE4 LR3",
        "WHO99",
        "read",
        "never here",
        "LR3",
        "NE4.lr3 limit LR3",
    ),
    row(
        "own ME1",
        "MCM",
        "policy",
        "diabetes=yes; diabetes_detail=slow_wound",
        "ST6",
        "ME1.stop stop; ME1.refer refer; ME1.limit limit",
    ),
    row(
        "own ME1 numb",
        "CUSTOM",
        "common_practice",
        "diabetes=yes; diabetes_detail=numb_skin",
        "ST6",
        "ME1.ask ask; verdict ask",
    ),
    row(
        "own IM1",
        "MCM",
        "read",
        "immune=transplant",
        "ST6* GB14",
        "IM1.ask ask; IM1.limit limit; IM1.retained omit ST6",
    ),
    row(
        "own IM1 neutrophils",
        "RECALL",
        "memory",
        "immune=medicine; neutrophils=0.4; letters=immune",
        "ST6",
        "IM1.stop stop; verdict stop",
    ),
    row(
        "own CA1",
        "DV24",
        "read",
        "cancer=yes; neutrophils=3; cancer_where=neck.right",
        "GB20 ST6",
        "CA1.ask ask; CA1.limit limit; CA1.omit omit GB20.right",
    ),
    row(
        "own IN1",
        "CL-A, CL-B",
        "read",
        "ill_today=yes",
        "ST6",
        "IN1 stop; verdict stop",
    ),
    row(
        "own GE1",
        "CUSTOM",
        "policy",
        "age=15",
        "ST6",
        "GE1.child stop; !GE1.young",
    ),
    row(
        "own GE1 16",
        "CUSTOM",
        "policy",
        "age=16; guardian=yes",
        "ST6",
        "GE1.young stop; !GE1.child",
    ),
    row(
        "own GE1 17",
        "CUSTOM",
        "common_practice",
        "age=17; guardian=no; $minors_stop=0",
        "ST6",
        "GE1.guardian ask; ST1.minors_stop record; !GE1.young; verdict ask",
    ),
    row(
        "own GE3",
        "PHY-AU",
        "read",
        "understands=no",
        "ST6",
        "GE3 stop",
    ),
    row(
        "own GE4",
        "CUSTOM",
        "common_practice",
        "pressure=distress",
        "ST6",
        "GE4.ask ask; GE4.refer refer routine",
    ),
    row(
        "own GE4 hopes",
        "CUSTOM",
        "common_practice",
        "pressure=unreal",
        "ST6",
        "GE4.ask ask; GE4.refer refer routine",
    ),
    row(
        "own GE5",
        "MACP05",
        "read",
        "drive_after=yes",
        "ST6",
        "GE5 record; verdict record",
    ),
    row(
        "own RV1",
        "CUSTOM",
        "common_practice",
        "since_last=yes; since_last_what=faint+bruise",
        "ST6",
        "RV1.faint limit; RV1.record record",
    ),
    row(
        "own RV1 skin",
        "US-LP",
        "policy",
        "since_last=yes; since_last_what=skin",
        "ST6",
        "RV1.skin no_topical",
    ),
    row(
        "own RV1 infection",
        "MCM",
        "policy",
        "since_last=yes; since_last_what=infection",
        "ST6",
        "RV1.infection stop",
    ),
    row(
        "own RV2",
        "CNT-q",
        "read",
        "left in=2; left_in_out=no",
        "ST6",
        "RV2 ask; verdict ask",
    ),
    row(
        "own SK1",
        "MCM, US-4",
        "read",
        "sore_today=yes; skin_broken=yes; skin_broken_where=cheek.right",
        "ST7 ST6",
        "SK1.omit omit ST7.right never; SK1.cream no_topical ST7.right",
    ),
    row(
        "own SK1 spreads",
        "MCM",
        "read",
        "rf_skin_spreads=yes",
        "ST6",
        "SK1.stop stop; SK1.refer refer same_day",
    ),
    row(
        "own SK3",
        "MN-C, MN-D",
        "read",
        "acne=some; acne_where=mouth_jaw.both",
        "ST6 ST7",
        "SK3.omit omit ST6",
    ),
    row(
        "own SK3 much",
        "MN-C, MN-D",
        "read",
        "acne=widespread",
        "ST6",
        "SK3.stop stop",
    ),
    row(
        "own SK5",
        "INJ-P",
        "read",
        "cold_sores_often=yes; cold_sores_advice=no",
        "ST4 ST6",
        "SK5.limit limit ST4; SK5.refer refer routine; verdict refer",
    ),
    row(
        "own SK5 not asked",
        "INJ-P",
        "read",
        "cold_sores_often=yes; cold_sores_advice=-",
        "ST6",
        "open cold_sores_advice; verdict ask",
    ),
    row(
        "own SK6",
        "FDA09",
        "read",
        "sore_today=yes; flare=patch; flare_where=forehead.both",
        "GB14",
        "SK6.omit omit GB14; SK6.cream no_topical",
    ),
    row(
        "own SK6 much",
        "CL-B",
        "read",
        "sore_today=yes; flare=widespread",
        "ST6",
        "SK6.stop stop",
    ),
    row(
        "own SK8",
        "UK-P",
        "read",
        "keloid=yes; keloid_where=ear.left",
        "EX-HN6 ST6",
        "SK8.region omit EX-HN6.left never; SK8.limit limit",
    ),
    row(
        "own SK8 numb",
        "UK-P",
        "read",
        "numb_skin=yes; numb_skin_where=hands_arms.right",
        "LI4",
        "SK8.numb omit LI4.right never",
    ),
    row(
        "own SK9",
        "MIAO11",
        "read",
        "pigment=yes",
        "ST6",
        "SK9 limit; cap SK9 WarnMarks",
    ),
    row(
        "own SK10",
        "PHYSIO",
        "read",
        "metal=needles",
        "ST6",
        "SK10.stop stop",
    ),
    row(
        "own SK10 mild",
        "CUSTOM",
        "common_practice",
        "metal=mild",
        "ST6",
        "SK10.limit limit; cap SK10.limit Minutes(15)",
    ),
    row(
        "own SK12 urgent",
        "NG12",
        "read",
        "mole=yes; mole_where=eye_rim.left; mole_kind=pearly+fast_or_near_eye; mole_width=3; mole_explained=yes",
        "BL2",
        "SK12.urgent refer urgent; !SK12.refer",
    ),
    row(
        "own SK13",
        "NG12",
        "read",
        "mole=yes; mole_where=cheek.left; mole_kind=crusted; mole_width=3; mole_explained=yes",
        "ST7",
        "SK13 refer two_weeks; SK12.omit omit ST7.left",
    ),
    row(
        "own SK15 long ago",
        "ISO-T",
        "read",
        "isotretinoin=stopped; isotretinoin_stopped=-6m",
        "ST6",
        "!SK15.ask; !SK15.limit; verdict none",
    ),
    row(
        "own SK16",
        "CUSTOM",
        "common_practice",
        "implant=yes; implant_where=scalp.right; implant_electronic=yes",
        "GB8 GV20.centre",
        "SK16.omit omit GB8.right GV20 never; SK16.electro no_electro",
    ),
    row(
        "own SK18",
        "PHY-AU",
        "read",
        "",
        "ST1",
        "SK18 omit ST1; verdict omit",
    ),
    row("own HZ1", "PHY-AU", "memory", "", "ST9", "HZ1 omit ST9"),
    row(
        "own HZ2",
        "DEP-GV16",
        "policy",
        "",
        "GV16.centre",
        "HZ2.depth limit GV16; cap HZ2.depth Depth(Micrometres(15000))",
    ),
    row(
        "own HZ3",
        "DEP-GB21",
        "read",
        "",
        "GB21",
        "HZ3 limit GB21; cap HZ3 Depth(Micrometres(10000))",
    ),
    row(
        "own HZ4",
        "DZ17",
        "memory",
        "",
        "ST5",
        "HZ4 record; verdict record",
    ),
    row(
        "own RP1 last day",
        "CL-C",
        "read",
        "procedures=toxin; toxin_date=-13d; toxin_where=forehead.both",
        "GB14",
        "RP1.stop omit GB14 never",
    ),
    row(
        "own RP1 14 days",
        "CL-C",
        "read",
        "procedures=toxin; toxin_date=-14d; toxin_where=forehead.both",
        "GB14",
        "!RP1.stop; RP1.ask ask",
    ),
    row(
        "own RP1 90 days",
        "CL-B",
        "read",
        "procedures=toxin; toxin_date=-90d; toxin_where=forehead.both",
        "GB14",
        "!RP1.ask; verdict none",
    ),
    row(
        "own RP2",
        "MN-B",
        "read",
        "procedures=filler; filler_date=-27d; filler_where=cheek.left",
        "ST7",
        "RP2.stop omit ST7.left never; !RP2.omit",
    ),
    row(
        "own RP3",
        "CUSTOM",
        "common_practice",
        "procedures=threads; threads_date=-89d; threads_where=cheek.both",
        "ST7",
        "RP3.stop omit ST7 never",
    ),
    row(
        "own RP4 not whole",
        "CL-A",
        "read",
        "procedures=laser; laser_date=-40d; laser_where=forehead.both; laser_healed=no",
        "GB14",
        "RP4.skin omit GB14 never; !RP4.stop",
    ),
    row(
        "own RP5",
        "CL-B, MN-C",
        "read",
        "procedures=peel; peel_date=-29d; peel_where=forehead.both",
        "GB14",
        "RP5.stop omit GB14 never",
    ),
    row(
        "own RP6",
        "CL-A",
        "read",
        "procedures=microderm; microderm_date=-6d; microderm_where=forehead.both",
        "GB14",
        "RP6.stop omit GB14 never",
    ),
    row(
        "own RP6 ask",
        "CL-B",
        "read",
        "procedures=microderm; microderm_date=-7d; microderm_where=forehead.both",
        "GB14",
        "RP6.ask ask; !RP6.stop",
    ),
    row(
        "own RP7",
        "MN-REV",
        "common_practice",
        "procedures=microneedling; microneedling_date=-13d; microneedling_where=forehead.both",
        "GB14",
        "RP7.stop omit GB14 never",
    ),
    row(
        "own RP8",
        "CL-B",
        "read",
        "procedures=surgery; surgery_date=-179d; surgery_where=eye_rim.both",
        "BL2",
        "RP8.stop omit BL2 never; RP8.ask ask",
    ),
    row(
        "own RP9",
        "DENT",
        "read",
        "dental=yes; dental_numb=left",
        "ST6 GB14",
        "RP9.omit omit ST6.left never; RP9.record record; verdict omit",
    ),
    row(
        "own RP10",
        "RECALL",
        "memory",
        "rf_filler=yes",
        "ST6",
        "RP10 emergency",
    ),
    row(
        "own RF2",
        "RECALL",
        "memory",
        "rf_face_weak=yes; rf_forehead_moves=yes; rf_palsy_hours=2; rf_palsy_assessed=no",
        "ST6",
        "RF2 emergency",
    ),
    row(
        "own RF5",
        "BELL13",
        "memory",
        "rf_face_weak=yes; rf_forehead_moves=no; rf_palsy_hours=72; rf_palsy_assessed=yes; rf_palsy_other=ear_rash",
        "ST6",
        "RF5 refer urgent; RF5.stop stop; RF3.same_day refer same_day",
    ),
    row(
        "own RF7",
        "HEAD",
        "read",
        "rf_headache=yes; rf_headache_signs=fever",
        "ST6",
        "RF7 emergency",
    ),
    row(
        "own RF8",
        "EYE23",
        "memory",
        "rf_vision=yes",
        "ST6",
        "RF8 emergency",
    ),
    row(
        "own RF9",
        "RECALL",
        "memory",
        "age=50; rf_headache=yes; rf_temple=jaw",
        "ST6",
        "RF9.stop stop; RF9.refer refer same_day",
    ),
    row(
        "own RF9 younger",
        "RECALL",
        "memory",
        "age=49; rf_headache=yes; rf_temple=jaw",
        "ST6",
        "!RF9.stop; HD1.stop stop",
    ),
    row(
        "own RF10",
        "EYE-B",
        "read",
        "rf_lid=yes",
        "ST6",
        "RF10 emergency",
    ),
    row(
        "own RF11",
        "RECALL",
        "memory",
        "rf_chest=yes",
        "ST6",
        "RF11 emergency",
    ),
    row(
        "own TX1",
        "LAST",
        "read",
        "rf_numb_toxic=yes",
        "ST6",
        "TX1 emergency",
    ),
    row(
        "own TA1",
        "US-LP, US-5O",
        "read",
        "amide_allergy=yes; cream=mix_2_5_uk 20 100 60",
        "ST6",
        "TA1 no_topical never",
    ),
    row(
        "own TA2",
        "UK-4",
        "read",
        "soya_allergy=yes; cream=lidocaine_4_uk_larger 20 100 45",
        "ST6",
        "TA2 no_topical never",
    ),
    row(
        "own TA2 no soya",
        "UK-4",
        "read",
        "soya_allergy=yes; cream=mix_2_5_uk 20 100 60",
        "ST6",
        "!TA2",
    ),
    row(
        "own TA3",
        "US-LP",
        "read",
        "methaem=yes; cream=mix_2_5_uk 20 100 60",
        "ST6",
        "TA3 no_topical",
    ),
    row(
        "own TA4",
        "US-LP",
        "read",
        "g6pd=yes; cream=mix_2_5_uk 20 100 60",
        "ST6",
        "TA4.prilocaine no_topical; TA4.lidocaine ask",
    ),
    row(
        "own TA6",
        "US-LP",
        "read",
        "antiarrhythmic=class_1; cream=lidocaine_4_us 5 50 30",
        "ST6",
        "TA6 no_topical; TL5.label record",
    ),
    row(
        "own TA7",
        "US-LP",
        "read",
        "antiarrhythmic=class_3; cream=lidocaine_4_us 5 50 30",
        "ST6",
        "TA7 no_topical",
    ),
    row(
        "own TA8",
        "UK-4",
        "read",
        "liver=severe; letters=liver; cream=lidocaine_4_us 5 50 30",
        "ST6",
        "TA8 no_topical",
    ),
    row(
        "own TA9",
        "US-LP, US-4",
        "read",
        "cream=lidocaine_4_us 5 50 30",
        "BL2",
        "TA9 limit BL2",
    ),
    row(
        "own TA10",
        "US-5O",
        "read",
        "heart_block=yes; cream=lidocaine_4_us 5 50 30",
        "ST6",
        "TA10 ask",
    ),
    row(
        "own TA11",
        "US-LP",
        "read",
        "other_lidocaine=yes; other_lidocaine_mg=40; cream=lidocaine_4_us 5 50 30",
        "ST6",
        "TA11 ask; TA11.content record; words TA11.content 5 g of this cream hold 200 mg lidocaine; TA11.sum record; words TA11.sum 200 mg on the skin and 40 mg otherwise, 240 mg in all; words TA11.sum not measured by what may be injected",
    ),
    row(
        "own TA11 dentist",
        "US-LP, DENT",
        "read",
        "dental=yes; dental_numb=left; other_lidocaine_mg=36; cream=mix_2_5_uk 20 100 60",
        "GB14",
        "TA11 ask; words TA11.content 500 mg lidocaine, 500 mg prilocaine; words TA11.sum 500 mg on the skin and 36 mg otherwise, 536 mg in all; words TA11.sum plain 300 mg at most, 4.5 mg for each kg; words TA11.sum adrenaline 500 mg at most, 7 mg for each kg",
    ),
    row(
        "own TA11 weighed",
        "US-LP, US-INJ",
        "derived",
        "other_lidocaine=yes; other_lidocaine_mg=40; weight=60; letters=cream; cream=lidocaine_4_us 5 50 30",
        "ST6",
        "!TA11; TA11.amount limit; words TA11.sum plain 270 mg at 60 kg; words TA11.sum adrenaline 420 mg at 60 kg; verdict limit",
    ),
    row(
        "own TA11 not asked",
        "US-LP",
        "read",
        "other_lidocaine=yes; other_lidocaine_mg=-; letters=cream; cream=lidocaine_4_us 5 50 30",
        "ST6",
        "open other_lidocaine_mg; verdict ask",
    ),
    row(
        "own TA11 not known",
        "US-LP",
        "read",
        "other_lidocaine=yes; other_lidocaine_mg=?; letters=cream; cream=lidocaine_4_us 5 50 30",
        "ST6",
        "TA11.not_known ask; words TA11.sum 200 mg on the skin and (not known) mg otherwise, (not known) mg in all",
    ),
    row(
        "own TA11 nothing else",
        "US-LP",
        "read",
        "cream=lidocaine_4_us 5 50 30",
        "ST6",
        "!TA11; !TA11.sum; TA11.content record; verdict record",
    ),
    row(
        "own TA14",
        "LAW-CA, LAW-WA",
        "read",
        "cream=lidocaine_4_us 5 50 30; $cream_scope_confirmed=0",
        "ST6",
        "TA14 no_topical never",
    ),
    row(
        "own TA15",
        "US-LP",
        "read",
        "cream=mix_2_5_uk 20 100 60",
        "ST6",
        "TA15.label_wrap record; TA15.redness record; TL18.needed record; !TL18.time",
    ),
    row(
        "own TL2",
        "UK-4",
        "read",
        "cream=lidocaine_4_uk_site 3 6 60",
        "ST6",
        "TL2.amount no_topical",
    ),
    row(
        "own TL2 area",
        "UK-4",
        "read",
        "cream=lidocaine_4_uk_site 2 7 60",
        "ST6",
        "TL2.area no_topical; !TL2.amount",
    ),
    row(
        "own TL3",
        "UK-4",
        "read",
        "age months=6; cream=lidocaine_4_uk_site 2 6 241",
        "ST6",
        "TL3.amount no_topical; TL3.time no_topical; !TL2.time",
    ),
    row(
        "own TL4",
        "UK-4",
        "read",
        "age months=2; cream=lidocaine_4_uk_site 1 6 61",
        "ST6",
        "TL4.time no_topical; !TL4.amount; !TL3.label",
    ),
    row(
        "own TL11",
        "LEAFLET",
        "derived",
        "age=8; weight=19; cream=lidocaine_5_ointment_other 2 30 10",
        "ST6",
        "TL11.weight no_topical",
    ),
    row(
        "own TL12",
        "US-LP",
        "read",
        "cream=mix_2_5_us_site 3 26 59",
        "ST6",
        "TL12.amount no_topical; TL12.area no_topical; TL12.early record",
    ),
    row(
        "own TL15",
        "US-LP",
        "read",
        "age months=8; weight=8; preterm=no; cream=mix_2_5_us 3 21 241",
        "ST6",
        "TL15.amount no_topical; TL15.area no_topical; TL15.time no_topical; !TL16.amount",
    ),
    row(
        "own TL17",
        "US-LP",
        "read",
        "age=9; weight=25; cream=mix_2_5_us 21 200 60",
        "ST6",
        "TL17.amount no_topical; !TL17.area; !TL16.area",
    ),
    row(
        "own TL8 at 17",
        "US-5O",
        "read",
        "age=17; cream=lidocaine_5_ointment_us 2 30 10",
        "ST6",
        "TL0 no_topical; !TL8.needed",
    ),
    row(
        "own TA15 face",
        "UK-4, FDA24",
        "read",
        "cream=lidocaine_4_uk_larger 20 100 45",
        "ST6",
        "TA15.label_amount record; !TA15.label_wrap",
    ),
    row(
        "own TA9 is not lifted",
        "US-LP, US-4",
        "read",
        "cream=lidocaine_4_us 5 50 30",
        "BL2",
        "TA9 limit BL2 never",
    ),
    row(
        "own TL6",
        "USPH09",
        "read",
        "age=5; weight=18; cream=lidocaine_4_liposomal 3 101 25",
        "ST6",
        "TL6.area no_topical",
    ),
    row(
        "own TL9",
        "US-5O",
        "read",
        "age=8; weight=20; cream=lidocaine_5_ointment_us 2 30 10",
        "ST6",
        "TL9.weight no_topical",
    ),
    row(
        "own TL9 heavier",
        "US-5O",
        "read",
        "age=8; weight=22.3; cream=lidocaine_5_ointment_us 2 30 10",
        "ST6",
        "!TL9.weight",
    ),
    row(
        "own TL10",
        "LEAFLET",
        "read",
        "cream=lidocaine_5_ointment_other 21 30 10",
        "ST6",
        "TL10.amount no_topical",
    ),
    row(
        "own TL13",
        "US-LP",
        "read",
        "cream=mix_2_5_us 61 401 60",
        "ST6",
        "TL13.amount no_topical; TL13.area no_topical; TL13.early record",
    ),
    row(
        "own TL0",
        "US-4",
        "read",
        "age=1; weight=10; cream=lidocaine_4_us 1 10 30",
        "ST6",
        "TL0 no_topical",
    ),
];

const TODAY: &str = "2026-03-09";

fn today() -> Date {
    TODAY.parse().expect("a date")
}

fn ago(text: &str) -> Date {
    let text = text.strip_prefix('-').expect("a span ago");
    let (n, unit) = text.split_at(text.len() - 1);
    let n: i32 = n.parse().expect("a number");
    match unit {
        "d" => Date::from_days(today().days() - n).expect("a date"),
        "m" => today().months_back(n as u32),
        _ => panic!("{text}"),
    }
}

/// What somebody with nothing to report answers.
fn quiet(question: &Question) -> Option<Value> {
    match (&question.kind, question.id.as_str()) {
        (Kind::YesNo, id) => Some(Value::Yes(matches!(
            id,
            "eaten" | "understands" | "left_in_out" | "laser_healed"
        ))),
        (Kind::Choice(_) | Kind::Side(_), _) => Some(Value::Choice("no".into())),
        (Kind::Several(_), _) => Some(Value::Several(flat::Set::new())),
        (Kind::Number { .. }, "systolic") => Some(Value::Number(Milli::whole(120))),
        (Kind::Number { .. }, "diastolic") => Some(Value::Number(Milli::whole(80))),
        _ => None,
    }
}

fn known(value: Value) -> Answer {
    Answer {
        reply: Reply::Known(value),
        date: today(),
    }
}

fn value(question: &Question, text: &str) -> Value {
    let parts = || text.split('+').filter(|p| !p.is_empty());
    match &question.kind {
        Kind::YesNo => Value::Yes(text == "yes"),
        Kind::Choice(_) | Kind::Side(_) => Value::Choice(text.into()),
        Kind::Several(_) => Value::Several(parts().map(String::from).collect()),
        Kind::Number { .. } => Value::Number(text.parse().expect("a number")),
        Kind::Date => Value::Date(ago(text)),
        Kind::Places => Value::Places(
            parts()
                .map(|p| p.parse::<Region>().expect("a region"))
                .collect(),
        ),
    }
}

fn case(knowledge: &Knowledge, row: &Row) -> Case {
    let mut case = Case::new(today());
    case.birth_date = Some(today().months_back(45 * 12));
    case.last_visit = Some(ago("-2m"));
    case.settings
        .insert("cream_scope_confirmed".into(), Milli::whole(1));
    for question in &knowledge.bank.questions {
        if let Some(value) = quiet(question) {
            case.answers.insert(question.id.clone(), known(value));
        }
    }
    for given in row
        .given
        .split(';')
        .map(str::trim)
        .filter(|g| !g.is_empty())
    {
        let (key, text) = given.split_once('=').unwrap_or((given, ""));
        match key {
            "never here" => case.last_visit = None,
            "last visit" => case.last_visit = Some(ago(text)),
            "left in" => case.left_in = text.parse().expect("a count"),
            "age" => {
                case.birth_date =
                    Some(today().months_back(text.parse::<u32>().expect("years") * 12))
            }
            "age months" => {
                case.birth_date = Some(today().months_back(text.parse().expect("months")))
            }
            "electro" => case.electro = true,
            "wrap" => case.topical.as_mut().expect("a cream").wrap = true,
            "cream" => {
                let parts: Vec<&str> = text.split(' ').collect();
                let n = |at: usize| parts[at].parse::<u32>().expect("a number");
                case.topical = Some(Cream {
                    product: parts[0].into(),
                    mg: n(1) * 1000,
                    area_cm2: n(2),
                    minutes: n(3),
                    wrap: false,
                });
            }
            _ if key.starts_with('$') => {
                case.settings
                    .insert(key[1..].into(), text.parse().expect("a figure"));
            }
            id => {
                let question = knowledge
                    .bank
                    .question(id)
                    .unwrap_or_else(|| panic!("{id}"));
                match text {
                    "-" => {
                        case.answers.remove(id);
                    }
                    "?" | "?m" => {
                        let reason = if text == "?" {
                            Reason::NotKnown
                        } else {
                            Reason::NotMeasured
                        };
                        let reply = Reply::Unknown(reason);
                        case.answers.insert(
                            id.into(),
                            Answer {
                                reply,
                                date: today(),
                            },
                        );
                    }
                    _ => {
                        case.answers.insert(id.into(), known(value(question, text)));
                    }
                }
            }
        }
    }
    for point in row.plan.split_whitespace() {
        let (point, kind) = match point.strip_suffix('*') {
            Some(point) => (point, needle::Kind::Intradermal),
            None => (point, needle::Kind::Filiform),
        };
        let (code, side) = point.split_once('.').unwrap_or((point, "both"));
        case.points.push(Planned {
            code: code.into(),
            side: Side::from_name(side).expect("a side"),
            kind,
        });
    }
    case
}

fn name(finding: &Finding) -> String {
    match &finding.part {
        Some(part) => format!("{}.{part}", finding.rule),
        None => finding.rule.clone(),
    }
}

/// What a row asks for that is not so.
fn missed(row: &Row, screening: &Screening) -> Vec<String> {
    let sure: Vec<&Finding> = screening
        .findings
        .iter()
        .filter(|f| f.could_be.is_none())
        .collect();
    let found = |rule: &str| sure.iter().find(|f| name(f) == rule).copied();
    let mut missed = Vec::new();
    for want in row.want.split(';').map(str::trim) {
        let mut words = want.split(' ');
        let first = words.next().unwrap_or_default();
        let rest: Vec<&str> = words.collect();
        let holds = match first {
            "verdict" => {
                let verdict = screening.verdict.map_or("none", |v| match v {
                    Outcome::NoElectro | Outcome::NoTopical => "omit",
                    other => other.name(),
                });
                verdict == rest[0]
            }
            "open" => screening.open.iter().any(|q| q == rest[0]),
            "words" => found(rest[0]).is_some_and(|f| f.words.contains(&rest[1..].join(" "))),
            "cap" => found(rest[0]).is_some_and(|f| format!("{:?}", f.caps).contains(rest[1])),
            _ if first.starts_with('!') => found(&first[1..]).is_none(),
            _ => found(first).is_some_and(|f| {
                let mut targets: flat::Set<String> = f.targets.iter().map(|t| t.name()).collect();
                let mut fits = f.outcome.name() == rest[0];
                for word in &rest[1..] {
                    fits &= match *word {
                        "never" => f.overriding == Override::Never,
                        "routine" | "urgent" | "same_day" | "two_weeks" | "soon" => {
                            let urgency = f.refer.as_ref().map(|(_, u)| format!("{u:?}"));
                            urgency.is_some_and(|u| u.to_lowercase() == word.replace('_', ""))
                        }
                        target => targets.remove(target),
                    };
                }
                fits && (targets.is_empty()
                    || !rest[1..]
                        .iter()
                        .any(|w| w.chars().next().is_some_and(char::is_uppercase)))
            }),
        };
        if !holds {
            missed.push(want.to_string());
        }
    }
    missed
}

#[test]
fn every_row_comes_out() {
    let knowledge = Knowledge::load().expect("knowledge");
    let mut wrong = Vec::new();
    for row in ROWS {
        let screening = knowledge
            .screen(&case(&knowledge, row))
            .unwrap_or_else(|fault| panic!("row {}: {fault:?}", row.name));
        for want in missed(row, &screening) {
            let all: Vec<String> = screening
                .findings
                .iter()
                .map(|f| {
                    format!(
                        "{} {} {:?}",
                        name(f),
                        f.outcome.name(),
                        f.targets.iter().map(|t| t.name()).collect::<Vec<_>>()
                    )
                })
                .collect();
            wrong.push(format!(
                "row {}: wanted `{want}`; verdict {:?}, open {:?}, found {all:?}",
                row.name, screening.verdict, screening.open
            ));
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
    println!("{} rows", ROWS.len());
}

/// The control for every row: with nothing to report nothing is found, and a row that asks for
/// what is not so is noticed.
#[test]
fn nothing_to_report_finds_nothing_and_a_wrong_row_is_noticed() {
    let knowledge = Knowledge::load().expect("knowledge");
    let nothing = row(
        "control",
        "",
        "policy",
        "",
        "ST6",
        "verdict none; !BD1.stop",
    );
    let screening = knowledge
        .screen(&case(&knowledge, &nothing))
        .expect("a case");
    assert_eq!(missed(&nothing, &screening), Vec::<String>::new());
    assert!(screening.findings.is_empty() && screening.open.is_empty());
    let wrong = row(
        "control",
        "",
        "policy",
        "",
        "ST6",
        "verdict stop; BD1.stop stop; open pregnant",
    );
    assert_eq!(missed(&wrong, &screening).len(), 3);
}

/// Everything that fires in some check row, by name; also the practice's labels and ways out.
fn fired(knowledge: &Knowledge, rows: &[Row]) -> flat::Set<String> {
    let mut fired = flat::Set::new();
    for row in rows {
        let screening = knowledge.screen(&case(knowledge, row)).expect("a case");
        let sure = screening.findings.iter().filter(|f| f.could_be.is_none());
        fired.extend(sure.map(name));
    }
    fired
}

/// Rules that fire in none of the rows: they lack a check row, or can never fire.
fn idle(knowledge: &Knowledge, rows: &[Row]) -> Vec<String> {
    let fired = fired(knowledge, rows);
    let names = knowledge.rules.rules.iter().map(|r| r.name());
    names.filter(|r| !fired.contains(r)).collect()
}

/// Every row of every rule and of every label fires in some check row, so none can never fire.
#[test]
fn every_rule_fires_in_some_row() {
    let mut knowledge = Knowledge::load().expect("knowledge");
    assert_eq!(
        idle(&knowledge, ROWS),
        [""; 0],
        "rules no check row makes fire"
    );
    let fired = fired(&knowledge, ROWS);
    for usage in knowledge.shelf.products.iter().flat_map(|p| &p.uses) {
        let ours = |f: &&String| f.split('.').next() == Some(&usage.rule);
        assert!(fired.iter().any(|f| ours(&f)), "{}", usage.rule);
    }
    // Controls: a rule that loses its row, and one that contradicts itself and can never fire.
    let less: Vec<Row> = ROWS
        .iter()
        .filter(|r| r.name != "own GE3")
        .copied()
        .collect();
    assert_eq!(idle(&knowledge, &less), ["GE3"]);
    let rules = &knowledge.rules.rules;
    let mut dead = rules.iter().find(|r| r.id == "GE3").expect("GE3").clone();
    dead.id = "DEAD".into();
    dead.when = Expr::All(vec![dead.when.clone(), Expr::Not(Box::new(dead.when))]);
    knowledge.rules.rules.push(dead);
    assert_eq!(idle(&knowledge, ROWS), ["DEAD"]);
}

/// What a screening does, without its sentences.
fn deeds(screening: &Screening) -> Vec<String> {
    let each = screening.findings.iter();
    each.map(|f| format!("{} {:?} {:?} {:?}", name(f), f.outcome, f.targets, f.caps))
        .collect()
}

/// Every figure that somebody chose decides some check row: given another value, a row comes out
/// otherwise. So no figure is without a check row, and none is without use.
#[test]
fn every_figure_decides_some_row() {
    let knowledge = Knowledge::load().expect("knowledge");
    let all = |knowledge: &Knowledge| -> Vec<Vec<String>> {
        let cases = ROWS.iter().map(|row| case(knowledge, row));
        cases
            .map(|case| deeds(&knowledge.screen(&case).expect("a case")))
            .collect()
    };
    let before = all(&knowledge);
    let decides = |id: &str| {
        let setting = knowledge.rules.setting(id).expect("a figure");
        let (low, high, now) = (setting.min, setting.max, setting.default);
        let near = [Milli(now.0 - 1000), Milli(now.0 + 1000)];
        [low, high].into_iter().chain(near).any(|figure| {
            let mut other = knowledge.clone();
            let settings = &mut other.rules.settings;
            for setting in settings.iter_mut().filter(|s| s.id == id) {
                // The default itself, so that rows with a figure of their own keep it.
                setting.default = figure;
            }
            all(&other) != before
        })
    };
    for setting in &knowledge.rules.settings {
        // The rows give this one themselves: row TA14 is without it.
        let given = setting.id == "cream_scope_confirmed";
        assert!(
            given || decides(&setting.id),
            "{} decides no row",
            setting.id
        );
    }
    // The control: a figure that no rule names decides none.
    let mut more = knowledge.clone();
    let mut idle = more.rules.settings[0].clone();
    idle.id = "idle".into();
    more.rules.settings.push(idle);
    assert_eq!(all(&more), before);
}

/// Every honest way out has its own consequence in some row: a question the row answers, answered
/// with "not known" or "not measured" instead.
#[test]
fn every_way_out_has_its_own_consequence() {
    let knowledge = Knowledge::load().expect("knowledge");
    let mut seen = 0;
    for question in &knowledge.bank.questions {
        for exit in &question.exits {
            seen += 1;
            let names = format!("{}=", question.id);
            let found = ROWS
                .iter()
                .filter(|row| row.given.contains(&names))
                .any(|row| {
                    let mut case = case(&knowledge, row);
                    let reply = Reply::Unknown(exit.reason);
                    let date = today();
                    case.answers
                        .insert(question.id.clone(), Answer { reply, date });
                    let screening = knowledge.screen(&case).expect("a case");
                    screening.findings.iter().any(|f| {
                        f.rule == exit.rule
                            && f.part.as_deref() == Some("not_known")
                            && f.outcome == exit.outcome
                            && f.because == [question.id.clone()]
                    })
                });
            assert!(found, "{} {:?}: no row shows it", question.id, exit.reason);
        }
    }
    assert!(seen > 20, "{seen} ways out");
}

/// Grams of cream are never set against what may be injected: with every injection forbidden the
/// screenings do the same. The control: the sentence that shows both does change.
#[test]
fn cream_is_not_measured_by_what_may_be_injected() {
    let knowledge = Knowledge::load().expect("knowledge");
    let mut none = knowledge.clone();
    for row in &mut none.shelf.injections {
        (row.max_mg, row.max_ug_per_kg) = (1, 1);
    }
    let mut said = 0;
    for row in ROWS {
        let case = case(&knowledge, row);
        let one = knowledge.screen(&case).expect("a case");
        let other = none.screen(&case).expect("a case");
        assert_eq!(deeds(&one), deeds(&other), "row {}", row.name);
        said += usize::from(one != other);
    }
    assert!(said >= 3, "{said}");
}

fn rank(mark: &str) -> usize {
    let order = ["policy", "memory", "common_practice", "derived", "read"];
    order.iter().position(|m| *m == mark).expect("a mark")
}

/// What the reference says of each of its rows: marks and source keys.
fn reference() -> flat::Map<String, (Vec<String>, Vec<String>)> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/data/reference-marks.csv");
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_path(path)
        .expect("the table");
    let rows = reader.deserialize::<(String, String, String, String)>();
    rows.map(|row| {
        let (id, _, marks, sources) = row.expect("a row");
        let list = |text: &str, by: char| text.split(by).map(String::from).collect();
        (id, (list(&marks, '+'), list(&sources, ' ')))
    })
    .collect()
}

/// Rules that are Pinfold's own and stand in no list of the reference.
const OWN: &[&str] = &["RV1", "RV2", "HD1"];

/// Why a rule says more than the reference: a better mark, or a source that its row does not name.
fn upgraded(id: &str, mark: Mark, source: &[String]) -> Option<String> {
    // These say less than any source does.
    let lesser = ["POLICY", "RECALL", "CUSTOM", "ANATOMY"];
    let mark = mark.word().replace(' ', "_");
    let read = mark == "read" && source.iter().all(|s| lesser.contains(&s.as_str()));
    if source.is_empty() || read {
        return Some(format!("{id}: {mark} without a source"));
    }
    let Some((marks, sources)) = reference().get(id).cloned() else {
        let own = OWN.contains(&id);
        return (!own).then(|| format!("{id}: not in the reference"));
    };
    let best = marks.iter().map(|m| rank(m)).max().unwrap_or(0);
    if rank(&mark) > best {
        return Some(format!("{id}: {mark}, the reference {marks:?}"));
    }
    let strange = source
        .iter()
        .find(|s| !sources.contains(s) && !lesser.contains(&s.as_str()));
    strange.map(|s| format!("{id}: {s} is not in its row of the reference"))
}

#[test]
fn no_mark_is_better_than_the_reference_and_every_row_of_it_is_carried() {
    let knowledge = Knowledge::load().expect("knowledge");
    let mut count: flat::Map<&str, usize> = flat::Map::new();
    let mut wrong = Vec::new();
    let mut carried = flat::Set::new();
    for rule in &knowledge.rules.rules {
        wrong.extend(upgraded(&rule.id, rule.mark, &rule.source));
        *count.or_default(rule.mark.word()) += 1;
        carried.insert(rule.id.clone());
    }
    for usage in knowledge.shelf.products.iter().flat_map(|p| &p.uses) {
        wrong.extend(upgraded(&usage.rule, usage.mark, &usage.source));
        carried.insert(usage.rule.clone());
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    println!("rules by mark: {count:?}");
    let missing: Vec<String> = reference()
        .keys()
        .filter(|id| !carried.contains(*id))
        .cloned()
        .collect();
    assert_eq!(missing, [""; 0], "rows of the reference without a rule");
    // Controls: a mark raised, a source that is not the row's, no source, an id nobody knows.
    let keys = |list: &[&str]| list.iter().map(ToString::to_string).collect::<Vec<_>>();
    assert!(upgraded("RF2", Mark::Memory, &keys(&["RECALL"])).is_none());
    assert!(upgraded("RF2", Mark::CommonPractice, &keys(&["RECALL"])).is_some());
    assert!(upgraded("RF6", Mark::Read, &keys(&["HEAD"])).is_none());
    assert!(upgraded("RF6", Mark::Read, &keys(&["HEAD", "NG12"])).is_some());
    assert!(upgraded("RF6", Mark::Read, &[]).is_some());
    assert!(upgraded("ZZ9", Mark::Policy, &keys(&["POLICY"])).is_some());
}

#[test]
fn every_row_names_source_and_mark() {
    let sources: flat::Set<String> = {
        let text = include_str!("../../core/data/sources.toml");
        let table: toml::Table = toml::from_str(text).expect("sources");
        table["source"]
            .as_array()
            .expect("rows")
            .iter()
            .map(|row| row["key"].as_str().expect("a key").to_string())
            .collect()
    };
    let mut numbers = flat::Set::new();
    for row in ROWS {
        assert!(
            matches!(
                row.mark,
                "read" | "memory" | "common_practice" | "derived" | "policy"
            ),
            "{}",
            row.name
        );
        for key in row.source.split(", ") {
            assert!(sources.contains(key), "row {}: {key}", row.name);
        }
        if let Some(Ok(n)) = row.name.split(' ').next().map(str::parse::<u32>) {
            numbers.insert(n);
        }
    }
    // 41, 45 and 46 are sums on labels, below; 50 to 55 and 57 belong to other rooms.
    let expected: flat::Set<u32> = (1..=49)
        .filter(|n| ![41, 45, 46].contains(n))
        .chain([56])
        .collect();
    assert_eq!(numbers, expected);
}

/// Check values 41, 45 and 46 and the amounts of 38: sums on labels.
#[test]
fn sums_on_labels() {
    let shelf = Knowledge::load().expect("knowledge").shelf;
    // 41: 5 g of 5 % ointment at 1.5 g on 10 cm2 covers 33 cm2 [derived].
    let ointment = shelf.product("lidocaine_5_ointment_us").expect("a product");
    assert_eq!(ointment.uses[0].covers_cm2(5_000), Some(33));
    // 38: 200 cm2 at 1.5 and at 2 g on 10 cm2 [UK-4, derived].
    let cream = shelf.product("lidocaine_4_uk_larger").expect("a product");
    assert_eq!(cream.uses[0].needed_mg(200), Some((30_000, 40_000)));
    // 45, 46: plain and with adrenaline, 60 and 80 kg [US-INJ, derived].
    for (id, grams, mg) in [
        ("lidocaine_plain", 60_000, 270),
        ("lidocaine_plain", 80_000, 300),
        ("lidocaine_adrenaline", 60_000, 420),
        ("lidocaine_adrenaline", 80_000, 500),
    ] {
        assert_eq!(shelf.injection_ceiling_mg(id, grams), Some(mg));
    }
}

#[test]
fn figures_that_are_not_known_are_said_to_be_so_once() {
    let knowledge = Knowledge::load().expect("knowledge");
    let said = |given: &'static str| {
        let row = row("own", "-", "-", given, "", "");
        let screening = knowledge.screen(&case(&knowledge, &row)).expect("a case");
        let words = screening.findings.into_iter().map(|f| f.words);
        let mut words: Vec<String> = words.filter(|w| w.contains("lying down, gentle")).collect();
        words.sort();
        words.join("|")
    };
    assert!(said("systolic=?; diastolic=?").contains("Blood pressure (not known): lying"));
    assert!(said("systolic=150; diastolic=?").contains("Blood pressure 150/(not known): lying"));
    assert!(said("systolic=?; diastolic=95").contains("Blood pressure (not known)/95: lying"));
    assert!(said("systolic=165; diastolic=95").contains("Blood pressure 165/95: lying"));
}
