//! The CSV and JSON twins are as complete and as strict as the list.

mod common;

use common::{example, plans};
use laidwork_list::{Digits, WriteOptions, from_csv, from_json, to_csv, to_json};
use laidwork_plan::Plan;
use proptest::prelude::*;
use serde_json::{Value, json};

fn csv(plan: &Plan, digits: Digits) -> String {
    let mut out = Vec::new();
    to_csv(plan, &mut out, WriteOptions { digits }).unwrap();
    String::from_utf8(out).unwrap()
}

fn json(plan: &Plan, digits: Digits) -> String {
    let mut out = Vec::new();
    to_json(plan, &mut out, WriteOptions { digits }).unwrap();
    String::from_utf8(out).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn a_plan_comes_back_from_csv(plan in plans(100)) {
        prop_assert_eq!(from_csv(csv(&plan, Digits::Two).as_bytes()).unwrap(), plan);
    }

    #[test]
    fn a_fine_plan_comes_back_from_csv(plan in plans(1000)) {
        prop_assert_eq!(from_csv(csv(&plan, Digits::Three).as_bytes()).unwrap(), plan);
    }

    #[test]
    fn a_plan_comes_back_from_json(plan in plans(100)) {
        prop_assert_eq!(from_json(json(&plan, Digits::Two).as_bytes()).unwrap(), plan);
    }

    #[test]
    fn a_fine_plan_comes_back_from_json(plan in plans(1000)) {
        prop_assert_eq!(from_json(json(&plan, Digits::Three).as_bytes()).unwrap(), plan);
    }
}

#[test]
fn the_table_can_be_read_by_eye() {
    let table = csv(&example(), Digits::Two);
    let expected = "\
record,piece,thread,pass,x,y,width,height,value,text\r
stitch-list,,,,,,,,1,\r
title,,,,,,,,,Allotment patch\r
unit,,,,,,,,mm,\r
drawing,,,,-40.000,-32.100,80.000,64.200,,\r
hoop,,,,,,100.000,100.000,,\r
thread,,1,,,,,,#e0a21b,Marigold\r
thread,,2,,,,,,#2f5d34,Leaf green\r
piece,1,1,,,,,,fill,flower/petal-1\r
pass,1,1,underlay,,,,,,\r
jump,1,1,underlay,-12.00,4.30,,,,\r
stitch,1,1,underlay,-12.00,4.30,,,,\r
stitch,1,1,underlay,-11.20,4.30,,,,\r
pass,1,1,top,,,,,,\r
stitch,1,1,top,-11.00,4.10,,,,\r
trim,1,1,top,,,,,,\r
stop,1,1,top,,,,,,\r
piece,2,2,,,,,,satin,stem\r
pass,2,2,top,,,,,,\r
jump,2,2,top,3.00,9.00,,,,\r
stitch,2,2,top,3.00,9.00,,,,\r
end,,,,,,,,4,\r
";
    assert_eq!(table, expected);
    assert_eq!(from_csv(expected.replace("\r\n", "\n").as_bytes()).unwrap(), example());
}

#[test]
fn a_shortened_table_is_refused() {
    let table = csv(&example(), Digits::Two);
    // RFC 4180 lets the last row go without its line break, so that much may be missing.
    let whole = table.len() - 2;
    for length in (0..whole).chain([whole + 1]) {
        assert!(from_csv(&table.as_bytes()[..length]).is_err(), "{length}");
    }
    assert_eq!(from_csv(&table.as_bytes()[..whole]).unwrap(), example());
}

#[test]
fn a_damaged_table_is_refused_where_it_is_damaged() {
    let table = csv(&example(), Digits::Two);
    let cases = [
        ("record,", "Record,", 1),
        ("stitch-list,,,,,,,,1", "stitch-list,,,,,,,,2", 2),
        (",mm,", ",inch,", 4),
        ("jump,1,1,underlay", "jump,2,1,underlay", 11),
        ("jump,1,1,underlay", "jump,1,2,underlay", 11),
        ("jump,1,1,underlay", "jump,1,1,top", 11),
        ("-11.20,4.30,,,,", "-11.20,4.30,1,,,", 13),
        ("-11.20,4.30,,,,", "-11.20,4.30,,,", 13),
        ("-11.20,4.30,,,,", "-11.20,4.30,,,,,", 13),
        ("-11.20,4.30,,,,", "-11.20,4.3000,,,,", 13),
        ("trim,1,1,top", "trim,,,", 16),
        ("end,,,,,,,,4", "end,,,,,,,,5", 22),
        ("flower/petal-1", "\"flower\r\npetal\"", 9),
        ("Leaf green", "\"Leaf\" green", 8),
    ];
    for (from, to, line) in cases {
        let damaged = table.replacen(from, to, 1);
        assert_ne!(damaged, table, "{from}");
        let error = from_csv(damaged.as_bytes()).unwrap_err();
        assert_eq!(error.line(), Some(line), "{to}: {error}");
    }
    let longer = format!("{table}end,,,,,,,,4,\r\n");
    assert_eq!(from_csv(longer.as_bytes()).unwrap_err().line(), Some(23));
}

#[test]
fn names_with_commas_and_quotes_stand_in_quotes() {
    let mut plan = example();
    plan.pieces[0].name = "say \"leaf\", softly".into();
    let table = csv(&plan, Digits::Two);
    assert!(table.contains(",\"say \"\"leaf\"\", softly\"\r\n"), "{table}");
    assert_eq!(from_csv(table.as_bytes()).unwrap(), plan);
}

#[test]
fn the_object_can_be_read_by_eye() {
    let value: Value = serde_json::from_str(&json(&example(), Digits::Two)).unwrap();
    let expected = json!({
        "stitch_list": 1,
        "title": "Allotment patch",
        "unit": "mm",
        "drawing": {"left": -40.0, "top": -32.1, "width": 80.0, "height": 64.2},
        "hoop": {"width": 100.0, "height": 100.0},
        "threads": [{"color": "#e0a21b", "name": "Marigold"}, {"color": "#2f5d34", "name": "Leaf green"}],
        "pieces": [
            {"name": "flower/petal-1", "method": "fill", "thread": 1, "passes": [
                {"kind": "underlay", "jumps": [[-12.0, 4.3]], "points": [[-12.0, 4.3], [-11.2, 4.3]]},
                {"kind": "top", "points": [[-11.0, 4.1]], "trim": true, "stop": true},
            ]},
            {"name": "stem", "method": "satin", "thread": 2, "passes": [
                {"kind": "top", "jumps": [[3.0, 9.0]], "points": [[3.0, 9.0]]},
            ]},
        ],
        "stitches": 4,
    });
    assert_eq!(value, expected);
}

#[test]
fn a_shortened_object_is_refused() {
    let text = json(&example(), Digits::Two);
    for length in 0..text.len() - 1 {
        assert!(from_json(&text.as_bytes()[..length]).is_err(), "{length}");
    }
}

#[test]
fn a_damaged_object_is_refused() {
    let damaged = |path: &str, value: Value| {
        let mut object: Value = serde_json::from_str(&json(&example(), Digits::Two)).unwrap();
        *object.pointer_mut(path).unwrap() = value;
        from_json(object.to_string().as_bytes()).expect_err(path).to_string()
    };
    for (path, value, expected) in [
        ("/stitch_list", json!(2), "stitch_list: wanted 1"),
        ("/stitches", json!(5), "stitches: wanted `end 4`"),
        ("/unit", json!("inch"), "unknown variant `inch`"),
        ("/title", json!(""), "title: wanted one line of text"),
        ("/hoop", json!({"width": 1.0, "height": -1.0}), "hoop: wanted a width and a height from 0 up"),
        ("/hoop", json!({"width": 1.0}), "missing field `height`"),
        ("/threads/0/color", json!("#E0A21B"), "thread 1: wanted a colour"),
        ("/threads/0", json!({"color": "#e0a21b", "colour": 1}), "unknown field `colour`"),
        ("/pieces/1/thread", json!(3), "piece 2: wanted one of the 2 threads"),
        ("/pieces/1/name", json!("a\nb"), "piece 2: wanted one line of text"),
        ("/pieces/1/method", json!("weave"), "unknown variant `weave`"),
        ("/pieces/1/passes/0/points/0", json!([1.0]), "invalid length 1"),
        ("/pieces/1/passes/0/points/0/0", json!(1.2345), "1.2345 is not a length"),
        ("/pieces/1/passes/0/points/0/0", json!(1e7), "10000000 is not a length"),
    ] {
        let message = damaged(path, value);
        assert!(message.contains(expected), "{path}: {message}");
    }
}

#[test]
fn text_after_the_object_is_refused() {
    let text = json(&example(), Digits::Two) + "{}";
    assert_eq!(from_json(text.as_bytes()).unwrap_err().line(), Some(2));
}

#[test]
fn the_published_schema_is_the_one_in_the_code() {
    let published: Value = serde_json::from_str(include_str!("../../../docs/stitch-list.schema.json")).unwrap();
    assert_eq!(published, laidwork_list::json_schema().to_value());
}
