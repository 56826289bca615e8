//! A damaged list is refused with its line, whatever was damaged.

mod common;

use common::{example, plans};
use laidwork_list::{ReadError, ReadLimits, WriteOptions, read, read_within, to_text};
use laidwork_plan::{Hoop, Plan, Rect};
use proptest::prelude::*;

const EXAMPLE: &str = include_str!("example.stitches");

/// The line and the message with which a list is refused.
fn refused(list: &str) -> (u64, String) {
    let error = read(list.as_bytes()).expect_err(list);
    (error.line().expect("a line"), error.to_string())
}

/// The example with its line `number` replaced.
fn with_line(number: usize, line: &str) -> String {
    let mut lines: Vec<&str> = EXAMPLE.lines().collect();
    lines[number - 1] = line;
    lines.join("\n") + "\n"
}

#[test]
fn every_truncation_is_refused() {
    for length in 0..EXAMPLE.len() {
        let cut = &EXAMPLE[..length];
        let (line, message) = refused(cut);
        assert!(line as usize <= cut.lines().count() + 1, "{message}");
    }
    assert!(read(EXAMPLE.as_bytes()).is_ok());
}

#[test]
fn every_other_count_is_refused() {
    for count in (0..20).filter(|&count| count != 4) {
        let (line, message) = refused(&EXAMPLE.replace("end 4", &format!("end {count}")));
        assert_eq!(line, 21);
        assert!(message.contains("wanted `end 4`"), "{message}");
    }
}

#[test]
fn a_lost_or_doubled_point_is_refused() {
    let lines: Vec<&str> = EXAMPLE.lines().collect();
    let points = [11, 12, 14, 20];
    for point in points {
        let mut lost = lines.clone();
        lost.remove(point - 1);
        assert_eq!(refused(&(lost.join("\n") + "\n")).0, 20);
        let mut doubled = lines.clone();
        doubled.insert(point, lines[point - 1]);
        assert_eq!(refused(&(doubled.join("\n") + "\n")).0, 22);
    }
}

#[test]
fn text_after_the_end_is_refused() {
    for after in ["\n", " ", "# remark\n", "end 4\n", "1.00 1.00\n", "\0"] {
        let (line, message) = refused(&format!("{EXAMPLE}{after}"));
        assert_eq!(line, 22, "{after:?}");
        assert!(message.contains("nothing after `end`"), "{message}");
    }
}

#[test]
fn the_error_says_what_was_found_and_what_was_wanted() {
    assert_eq!(
        refused(&with_line(12, "-11.2x 4.30")).1,
        "line 12: found `-11.2x 4.30`, wanted `X Y`: two decimals of at most three digits after the point, \
         at most 1000000 mm"
    );
    assert_eq!(
        refused(&with_line(9, "pass over")).1,
        "line 9: found `pass over`, wanted `pass underlay`, `pass top`, `pass travel` or `pass tie`"
    );
    assert_eq!(refused("").1, "line 1: found the end of the file, wanted `stitch-list 1`");
}

/// One bad line a row: line of the example to replace, and what it is replaced by.
#[test]
fn bad_lines_are_refused_where_they_stand() {
    let cases = [
        (1, "stitch-list 2"),
        (1, "stitch-list 1 "),
        (1, "\u{feff}stitch-list 1"),
        (1, "# remark"),
        (2, "title"),
        (2, "title "),
        (2, "title a\tb"),
        (2, "title a\u{2028}b"),
        (2, "Title Patch"),
        (4, "unit mm"),
        (2, "stitch-list 1"),
        (2, "pass top"),
        (2, "jump 1.00 1.00"),
        (2, "1.00 1.00"),
        (2, "trim"),
        (3, "unit inch"),
        (3, "unit"),
        (3, " unit mm"),
        (3, "unit mm\r"),
        (4, "drawing 0 0 10"),
        (4, "drawing 0 0 10 10 10"),
        (4, "drawing 0 0 -10 10"),
        (4, "drawing 0  0 10 10"),
        (4, "drawing 900000 0 900000 10"),
        (5, "hoop 100.000"),
        (5, "hoop 100.000 -1"),
        (5, "drawing 0 0 1 1"),
        (6, "thread 2 #e0a21b"),
        (6, "thread 1 #E0A21B"),
        (6, "thread 1 e0a21b"),
        (6, "thread 1 #e0a21b "),
        (6, "thread one #e0a21b"),
        (8, "piece 2 thread 1 method fill name petal"),
        (8, "piece 1 thread 3 method fill name petal"),
        (8, "piece 1 thread 0 method fill name petal"),
        (8, "piece 1 thread 1 method weave name petal"),
        (8, "piece 1 thread 1 method fill name "),
        (8, "piece 1 thread 1 name petal method fill"),
        (9, "pass"),
        (9, "pass  top"),
        (9, "trim"),
        (9, "stop"),
        (10, "jump"),
        (10, "jump 1.00"),
        (10, "jump 1.00 2.00 3.00"),
        (11, "1.0000 2.00"),
        (11, "1e2 2.00"),
        (11, "+1.00 2.00"),
        (11, "1,00 2,00"),
        (11, "1.00\t2.00"),
        (11, "1.00 2.00 "),
        (11, " 1.00 2.00"),
        (11, "1.00 1000000.01"),
        (11, "nan inf"),
        (11, "title Late"),
        (11, "thread 3 #000000"),
        (15, "trim 1"),
        (15, "cut"),
        (16, "stop now"),
        (21, "end"),
        (21, "end four"),
        (21, "end -4"),
        (21, "end 4 "),
        (21, "end 99999999999999999999999"),
    ];
    for (line, text) in cases {
        assert_eq!(refused(&with_line(line, text)).0 as usize, line, "{text:?}");
    }
}

#[test]
fn what_must_stand_in_a_list_is_missed() {
    let without = |line: &str| EXAMPLE.replace(line, "");
    assert_eq!(refused(&without("unit mm\n")).0, 7);
    assert_eq!(refused(&without("pass top\njump 3.00 9.00\n")).0, 18);
    let waiting = EXAMPLE.replace("pass top\njump 3.00 9.00\n3.00 9.00\nend 4", "jump 3.00 9.00\nend 3");
    let (line, message) = refused(&waiting);
    assert_eq!(line, 19);
    assert!(message.contains("a `pass` after the jumps"), "{message}");
}

#[test]
fn bytes_that_are_no_text_are_refused() {
    for line in [&b"# caf\xe9"[..], b"title caf\xe9", b"1.00 \xff"] {
        let mut list = b"stitch-list 1\nunit mm\n".to_vec();
        list.extend_from_slice(line);
        list.extend_from_slice(b"\nend 0\n");
        assert_eq!(read(list.as_slice()).unwrap_err().line(), Some(3));
    }
}

#[test]
fn limits_are_kept() {
    let limits = |line_bytes, lines| read_within(EXAMPLE.as_bytes(), ReadLimits { line_bytes, lines });
    assert!(limits(60, 21).is_ok());
    assert_eq!(limits(60, 20).unwrap_err().line(), Some(21));
    // The longest line is line 8, with 49 bytes and its line feed.
    assert!(limits(49, 21).is_ok());
    assert_eq!(limits(48, 21).unwrap_err().line(), Some(8));
    let endless = std::io::BufReader::new(std::io::repeat(b'7'));
    assert!(matches!(read(endless), Err(ReadError::Damaged { line: 1, .. })));
}

#[test]
fn remarks_and_empty_lines_carry_nothing() {
    let list = EXAMPLE.replace("pass", "# remark\n\n#\npass");
    assert_eq!(read(list.as_bytes()).unwrap(), example());
}

#[test]
fn a_plan_that_no_list_can_carry_is_refused_before_a_byte_is_written() {
    let change = |change: &dyn Fn(&mut Plan)| {
        let mut plan = example();
        change(&mut plan);
        let mut out = Vec::new();
        let error = laidwork_list::write(&plan, &mut out, WriteOptions::default()).unwrap_err();
        assert!(out.is_empty());
        error.to_string()
    };
    let message = change(&|plan| plan.pieces[1].name = "ste\nm".into());
    assert!(message.starts_with("piece 2 (ste\\nm): \"ste\\nm\" is not one line"), "{message}");
    let message = change(&|plan| plan.pieces[1].passes[0].points[0].y = f64::NAN);
    assert!(message.starts_with("piece 2 (stem): NaN is not a coordinate"), "{message}");
    let message = change(&|plan| plan.pieces[0].passes[0].jumps[0].x = 2e6);
    assert!(message.starts_with("piece 1 (flower/petal-1): 2000000 is not"), "{message}");
    let message = change(&|plan| plan.pieces[0].thread = 7);
    assert_eq!(message, "piece 1 (flower/petal-1): thread 8 is not in the plan, which has 2");
    for (expected, spoil) in [
        ("the title", &(|plan: &mut Plan| plan.title = Some(String::new())) as &dyn Fn(&mut Plan)),
        ("thread 2", &|plan: &mut Plan| plan.threads[1].name = Some("a\rb".into())),
        ("the hoop", &|plan: &mut Plan| plan.hoop = Some(Hoop { width: -1.0, height: 2.0 })),
        ("the drawing", &|plan: &mut Plan| plan.drawing = Some(Rect::new(1.0, 0.0, 0.0, 1.0))),
    ] {
        let message = change(spoil);
        assert!(message.starts_with(expected), "{message}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn any_truncation_of_any_list_is_refused(plan in plans(100), at in any::<prop::sample::Index>()) {
        let text = to_text(&plan, WriteOptions::default()).unwrap();
        let length = at.index(text.len());
        prop_assert!(read(&text.as_bytes()[..length]).is_err());
    }

    #[test]
    fn no_bytes_make_the_reader_panic(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let list = [b"stitch-list 1\nunit mm\n", bytes.as_slice()].concat();
        let _ = read(list.as_slice());
    }

    #[test]
    fn a_changed_byte_is_refused_or_read_as_another_sound_list(
        plan in plans(100), at in any::<prop::sample::Index>(), byte in any::<u8>()
    ) {
        let mut bytes = to_text(&plan, WriteOptions::default()).unwrap().into_bytes();
        let at = at.index(bytes.len());
        bytes[at] = byte;
        if let Ok(read_back) = read(bytes.as_slice()) {
            let again = to_text(&read_back, WriteOptions::default()).unwrap();
            prop_assert_eq!(read(again.as_bytes()).unwrap().stitches(), plan.stitches());
        }
    }
}
