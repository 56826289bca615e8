//! `laidwork swatch` as a user meets it.

mod desk;

use desk::{Desk, code};
use std::fs;
use std::process::Output;

fn said(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// Fills in a table: every end is drawn in by 0.2 mm, every column ends 0.1 mm farther out at each end.
fn filled(table: &str) -> String {
    let lines = table.lines().enumerate().map(|(number, line)| {
        let mut fields: Vec<String> = line.split(',').map(str::to_owned).collect();
        if number > 0 {
            let size = |place: usize, more: f64| format!("{:.2}", fields[place].parse::<f64>().unwrap() + more);
            let off = [0.02, -0.03, 0.01][number % 3];
            let (along, across) = (size(6, off - 0.4), size(5, off + 0.2));
            for (place, value) in [(15, &along), (16, &along), (17, &along), (18, &across), (19, &across)] {
                if fields[place].is_empty() {
                    fields[place] = value.clone();
                }
            }
        }
        fields.join(",") + "\n"
    });
    lines.collect()
}

#[test]
fn a_swatch_is_written_measured_and_sewn_with() {
    let desk = Desk::new();
    let made = desk.run(&["swatch", "--material", "canvas"]);
    assert_eq!(code(&made), 0, "{}", said(&made));
    assert!(String::from_utf8_lossy(&made.stdout).contains("--read"));
    let path = |name: &str| desk.path("swatch").join(name);
    for name in
        ["swatch.stitches", "swatch.svg", "swatch.toml", "swatch.png", "swatch.report.txt", "swatch.worksheet.html"]
    {
        assert!(path(name).exists(), "{name}");
    }
    let sheet = fs::read_to_string(path("swatch.sheet.html")).unwrap();
    assert!(sheet.contains("selvedge") && sheet.contains("eye protection"));
    desk.put("measured.csv", &filled(&fs::read_to_string(path("swatch.csv")).unwrap()));
    let read = desk.run(&["swatch", "--read", "measured.csv", "--name", "apron", "-o", "row.toml"]);
    assert_eq!(code(&read), 0, "{}", said(&read));
    let row = fs::read_to_string(desk.path("row.toml")).unwrap();
    assert!(row.contains("[material.apron]") && row.contains("based_on = \"canvas\""), "{row}");
    let mine = format!("[design]\nmaterial = \"apron\"\n\n{row}");
    desk.put("row.toml", &mine);
    let again = desk.run(&["swatch", "--read", "measured.csv", "--name", "apron", "-o", "row.toml"]);
    assert_eq!(code(&again), 2);
    assert!(said(&again).contains("row.toml is there already and may have been edited"), "{}", said(&again));
    assert_eq!(fs::read_to_string(desk.path("row.toml")).unwrap(), mine);
    desk.put("leaf.svg", desk::LEAF);
    desk.put("leaf.toml", &mine);
    let sewn = desk.run(&["sew", "leaf.svg", "-r", "leaf.toml", "-o", "leaf.stitches"]);
    assert_eq!(code(&sewn), 0, "{}", said(&sewn));
}

#[test]
fn the_written_drawing_and_recipe_give_the_same_stitches() {
    let desk = Desk::new();
    let made = desk.run(&["swatch", "--hoop", "130x90", "--widths", "2..6:3", "--sizes", "8", "-o", "s/"]);
    assert_eq!(code(&made), 0, "{}", said(&made));
    let again = desk.run(&["sew", "s/swatch.svg", "-r", "s/swatch.toml", "-o", "again.stitches"]);
    assert_eq!(code(&again), 0, "{}", said(&again));
    let read = |name: &str| fs::read(desk.path(name)).unwrap();
    assert!(read("again.stitches") == read("s/swatch.stitches"));
}

#[test]
fn a_table_with_readings_is_never_written_over() {
    let desk = Desk::new();
    let args = ["swatch", "--widths", "3", "--sizes", "none", "-o", "s/"];
    assert_eq!(code(&desk.run(&args)), 0);
    assert_eq!(code(&desk.run(&args)), 0, "the same swatch again is no harm");
    desk.put("s/swatch.csv", "mine");
    let refused = desk.run(&args);
    assert_eq!(code(&refused), 2);
    assert!(said(&refused).contains("may hold readings"), "{}", said(&refused));
    assert_eq!(fs::read_to_string(desk.path("s/swatch.csv")).unwrap(), "mine");
}

#[test]
fn what_does_not_fit_is_refused_with_the_way_out() {
    let desk = Desk::new();
    for (args, part) in [
        (&["swatch", "--hoop", "60x60"][..], "a larger hoop"),
        (&["swatch", "--widths", "2,four"], "2,4,6"),
        (&["swatch", "--widths", "20"], "1 to 11 mm"),
        (&["swatch", "--material", "apron"], "woven-cotton"),
        (&["swatch", "-o", "-"], "a folder"),
        (&["swatch", "--read", "none.csv"], "none.csv"),
        (&["swatch", "--read", "a.csv", "--hoop", "100x100"], "cannot be used with"),
    ] {
        let refused = desk.run(args);
        assert_eq!(code(&refused), 2, "{args:?}");
        assert!(said(&refused).contains(part), "{args:?}: {}", said(&refused));
        assert!(desk.files().is_empty(), "{args:?}");
    }
}

#[test]
fn wrong_rows_and_too_few_are_refused_by_name() {
    let desk = Desk::new();
    assert_eq!(code(&desk.run(&["swatch", "-o", "s/"])), 0);
    let empty = desk.run(&["swatch", "--read", "s/swatch.csv"]);
    assert_eq!(code(&empty), 2);
    assert!(said(&empty).contains("no cell has a reading"), "{}", said(&empty));
    let table = filled(&fs::read_to_string(desk.path("s/swatch.csv")).unwrap());
    let mut lines: Vec<String> = table.lines().map(str::to_owned).collect();
    lines[3] = lines[3].replace(",satin,", ",stain,");
    desk.put("wrong.csv", &lines.join("\n"));
    let wrong = desk.run(&["swatch", "--read", "wrong.csv"]);
    assert_eq!(code(&wrong), 2);
    assert!(said(&wrong).contains("line 4: cell 3 has \"stain\""), "{}", said(&wrong));
}

#[test]
fn the_page_shows_what_its_example_gives() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let table = root.join("fixtures/swatch/apron.csv");
    let read = Desk::new().run(&["swatch", "--read", &table.to_string_lossy(), "--name", "apron"]);
    assert_eq!(code(&read), 0, "{}", said(&read));
    let page = fs::read_to_string(root.join("docs/swatch.md")).unwrap();
    let shown =
        |line: &&str| line.contains('±') || line.starts_with("pull_percent") || line.starts_with("[material.apron]");
    let rows = String::from_utf8(read.stdout.clone()).unwrap();
    // Of the rows the page shows those of any direction.
    let told = said(&read) + rows.split("\n# The grain matters").next().unwrap();
    let missing: Vec<&str> = told.lines().filter(shown).filter(|line| !page.contains(line.trim())).collect();
    let lines = told.lines().filter(shown).count();
    // What the page leaves out: the smaller effects below its table.
    assert!(lines > 8 && missing.iter().all(|line| line.contains(": ")), "{missing:#?}");
}
