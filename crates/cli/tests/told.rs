//! What is asked for is done, or it is told why not: options, tables and drawings that nothing would look at.

mod desk;

use desk::{Desk, LEAF, code, errors};
use std::fs;
use std::io::Write;
use std::process::Stdio;

/// A desk with a drawing, its list and a recipe that places it.
fn laid() -> Desk {
    let desk = Desk::new();
    desk.put("leaf.svg", LEAF);
    desk.put("ring.toml", "[[place]]\ndrawing = \"leaf.svg\"\nring = { count = 3, radius = 22.0 }\n");
    assert_eq!(code(&desk.run(&["sew", "leaf.svg"])), 0);
    desk
}

/// Each command ends with 2, says all of these, and leaves the desk as it was.
fn refused(desk: &Desk, cases: &[(&[&str], &[&str])]) {
    let before = desk.files();
    for (args, wanted) in cases {
        let output = desk.run(args);
        let said = errors(&output);
        assert_eq!(code(&output), 2, "{args:?}: {said}");
        wanted.iter().for_each(|wanted| assert!(said.contains(wanted), "{args:?}: {said}"));
        assert_eq!(desk.files(), before, "{args:?}");
    }
}

#[test]
fn a_drawing_that_no_place_takes_is_told() {
    let desk = laid();
    refused(&desk, &[(&["sew", "nope.svg", "-r", "ring.toml"], &["cannot read nope.svg"])]);
    for args in
        [&["sew", "leaf.svg", "-r", "ring.toml", "-o", "a.stitches"][..], &["report", "leaf.svg", "-r", "ring.toml"]]
    {
        let output = desk.run(args);
        assert_eq!(code(&output), 0, "{}", errors(&output));
        assert!(errors(&output).contains("leaf.svg: every `[[place]]` names a drawing of its own"), "{args:?}");
    }
    desk.put("own.toml", "[[place]]\n[[place]]\ndrawing = \"leaf.svg\"\nmove = [30.0, 0.0]\n");
    let output = desk.run(&["sew", "leaf.svg", "-r", "own.toml", "-o", "a.stitches"]);
    assert_eq!(errors(&output), "");
}

#[test]
fn places_are_told_with_their_lines() {
    let desk = laid();
    desk.put("missing.toml", "[design]\n\n[[place]]\ndrawing = \"petal.svg\"\n");
    desk.put("far.toml", "[[place]]\ndrawing = \"leaf.svg\"\nring = { count = 1000, radius = 2000.0 }\n");
    desk.put("on.toml", "[[place]]\ndrawing = \"leaf.svg\"\n[[place]]\ndrawing = \"leaf.svg\"\non = \"leef\"\n");
    refused(
        &desk,
        &[
            (&["sew", "-r", "missing.toml"], &["missing.toml:3", "petal.svg"]),
            (&["sew", "-r", "far.toml"], &["far.toml:1", "the limit is 2000 mm", "radius"]),
        ],
    );
    let output = desk.run(&["sew", "-r", "on.toml", "-o", "a.stitches"]);
    assert!(errors(&output).contains("on.toml:3: it is placed on \"leef\""), "{}", errors(&output));
}

#[test]
fn options_that_nothing_looks_at_are_refused() {
    let desk = laid();
    let list = "leaf.stitches";
    refused(
        &desk,
        &[
            (&["view", list, "--fabric", "#101010", "--fabric", "#f0f0f0", "-o", "x.png"], &["colourways"]),
            (&["view", list, "--show", "density", "-o", "x.html"], &["--show", ".svg or a .png"]),
            (&["view", list, "--scale", "40", "-o", "x.svg"], &["--scale", ".png"]),
            (&["report", "leaf.svg", "--sewn", "--scale", "40", "-o", "x.svg"], &["--scale", ".png"]),
            (&["sew", "leaf.svg", "--text", "a=K", "--text", "a=J"], &["--text a=", "twice"]),
            (&["sew", "leaf.svg", "-o", "-", "--json"], &["standard output", "check --json -"]),
            (&["sew", "leaf.svg", "--width", "0.5"], &["from 1 to 2000 mm"]),
            (&["sew", "leaf.svg", "--height", "2001"], &["up to 2000"]),
            (&["sew", "leaf.svg", "-o", "x.gcode"], &["`hoop = [WIDTH, HEIGHT]`", "`[design]`"]),
        ],
    );
    assert_eq!(code(&desk.run(&["view", list, "--show", "density", "-o", "x.html", "-o", "x.png"])), 0);
}

#[test]
fn what_is_asked_for_twice_is_written_once() {
    let desk = laid();
    let once = fs::read(desk.path("leaf.stitches")).unwrap();
    for args in [&["sew", "leaf.svg", "-o", "-", "-o", "-"], &["convert", "leaf.stitches", "-o", "-", "-o", "-"]] {
        let output = desk.run(args);
        assert_eq!(code(&output), 0, "{}", errors(&output));
        assert!(output.stdout == once, "{args:?}");
    }
}

#[test]
fn a_program_of_another_needle_is_refused() {
    let desk = laid();
    let program =
        ["convert", "leaf.stitches", "-o", "leaf.gcode", "--hoop", "100x100", "--needle", "M3 | G4 P0.03 | M5"];
    assert_eq!(code(&desk.run(&program)), 0);
    let before = fs::read(desk.path("leaf.stitches")).unwrap();
    refused(
        &desk,
        &[
            (&["convert", "leaf.gcode", "-o", "leaf.stitches"], &["leaf.gcode", "works the needle", "--needle"]),
            (&["check", "leaf.gcode"], &["works the needle"]),
        ],
    );
    assert!(fs::read(desk.path("leaf.stitches")).unwrap() == before);
}

#[test]
fn every_form_of_a_list_comes_from_standard_input() {
    let desk = laid();
    assert_eq!(code(&desk.run(&["convert", "leaf.stitches", "-o", "leaf.csv", "-o", "leaf.json"])), 0);
    let checked = |name: &str| {
        let mut command = desk.command(&["check", "-"]);
        let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        child.stdin.take().unwrap().write_all(&fs::read(desk.path(name)).unwrap()).unwrap();
        let output = child.wait_with_output().unwrap();
        assert_eq!(code(&output), 0, "{name}: {}", errors(&output));
        output.stdout
    };
    let list = checked("leaf.stitches");
    assert!(checked("leaf.csv") == list && checked("leaf.json") == list);
}

#[test]
fn an_open_quote_takes_no_rows() {
    let desk = laid();
    desk.put("open.csv", "cloth,name\n#efe6d0,\"Anna\n#efe6d0,Ben\n#efe6d0,Cleo\n");
    desk.put("chart.csv", "code,name,colour\na,\"Ash,#707070\nb,Birch,#f0f0f0\n");
    refused(
        &desk,
        &[
            (&["many", "leaf.svg", "--table", "open.csv"], &["open.csv: line 2: a quote is not closed"]),
            (&["threads", "leaf.svg", "--chart", "chart.csv"], &["line 2: a quote is not closed"]),
        ],
    );
}

#[test]
fn nothing_is_written_when_a_sheet_or_a_grid_cannot_be() {
    let desk = laid();
    desk.put(
        "grid.toml",
        "[[place]]\ndrawing = \"leaf.svg\"\ngrid = { columns = 1000, rows = 1000, step = [1.0, 1.0] }\n",
    );
    refused(
        &desk,
        &[
            (
                &["sew", "leaf.svg", "-o", "new.stitches", "-o", "new.colourways.png"],
                &["no colourways", "[[colourway]]"],
            ),
            (&["sew", "-r", "grid.toml", "-o", "new.stitches"], &["grid.toml:1:", "50000 shapes", "`rows`"]),
        ],
    );
}
