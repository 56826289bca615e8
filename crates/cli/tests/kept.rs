//! Nothing that a command reads is written over, and nothing that somebody may have edited.

mod desk;

use desk::{Desk, LEAF, code, errors, fixture};
use std::fs;

const TABLE: &str = "name,cloth\nPea,#5d9a4a\n";
const RING: &str = "[[place]]\ndrawing = \"petal.svg\"\nring = { count = 4, radius = 22.0 }\n";
const CHART: &str = "code,name,colour\ng1,Green,#4f8a3c\n";

/// A desk with one of each file.
fn laid() -> Desk {
    let desk = Desk::new();
    for name in ["leaf.svg", "petal.svg"] {
        desk.put(name, LEAF);
    }
    for name in ["summary.csv", "n.csv"] {
        desk.put(name, TABLE);
    }
    desk.put("ring.toml", RING);
    desk.put("named.toml", "[[place]]\ndrawing = \"{name}.svg\"\n");
    desk.put("drawings.csv", "name\nleaf\npetal\n");
    desk.put("chart.html", CHART);
    fs::copy(fixture("fonts/Inconsolata.otf"), desk.path("letters.svg")).unwrap();
    fs::create_dir(desk.path("sewn")).unwrap();
    desk
}

/// Every file of the desk with what it holds.
fn all(desk: &Desk) -> Vec<(String, Vec<u8>)> {
    let files = desk.files().into_iter().filter(|name| name != "sewn");
    files.map(|name| (name.clone(), fs::read(desk.path(&name)).unwrap())).collect()
}

#[test]
fn no_command_writes_over_what_it_reads() {
    let desk = laid();
    let before = all(&desk);
    let cases: &[(&[&str], &str)] = &[
        (&["many", "leaf.svg", "--table", "summary.csv", "-o", "."], "summary.csv"),
        (&["many", "leaf.svg", "--table", "n.csv", "--write", "csv", "--name", "n", "-o", "."], "n.csv"),
        (&["many", "leaf.svg", "--table", "n.csv", "--write", "svg", "--name", "leaf", "-o", "."], "leaf.svg"),
        (&["many", "-r", "ring.toml", "--table", "n.csv", "--write", "svg", "--name", "petal", "-o", "."], "petal.svg"),
        // The first row would be written over what the second reads.
        (&["many", "-r", "named.toml", "--table", "drawings.csv", "--write", "svg", "-o", "."], "leaf.svg"),
        (
            &[
                "many",
                "leaf.svg",
                "--table",
                "n.csv",
                "--font",
                "letters.svg",
                "--write",
                "svg",
                "--name",
                "letters",
                "-o",
                ".",
            ],
            "letters.svg",
        ),
        (&["sew", "-r", "ring.toml", "-o", "petal.svg"], "petal.svg"),
        (&["sew", "-r", "ring.toml", "-o", "ring.stitches", "-o", "./sewn/../petal.svg"], "petal.svg"),
        (&["sew", "leaf.svg", "-o", "leaf.svg"], "leaf.svg"),
        (&["sew", "leaf.svg", "--font", "letters.svg", "-o", "letters.svg"], "letters.svg"),
        (&["report", "-r", "ring.toml", "--sewn", "-o", "petal.svg"], "petal.svg"),
        (&["recipe", "leaf.svg", "-o", "leaf.svg"], "leaf.svg"),
        (&["threads", "leaf.svg", "--chart", "chart.html", "-o", "chart.html"], "chart.html"),
    ];
    for (args, file) in cases {
        let output = desk.run(args);
        assert_eq!(code(&output), 2, "{args:?}: {}", errors(&output));
        let wanted = format!("{file} is read here; choose another name for what is written");
        assert!(errors(&output).contains(&wanted), "{args:?}: {}", errors(&output));
        assert!(all(&desk) == before, "{args:?}");
    }
}

#[test]
#[cfg(unix)]
fn a_link_to_what_is_read_is_no_way_round() {
    let desk = laid();
    std::os::unix::fs::symlink("petal.svg", desk.path("other.svg")).unwrap();
    let output = desk.run(&["sew", "-r", "ring.toml", "-o", "other.svg"]);
    assert_eq!(code(&output), 2, "{}", errors(&output));
    assert_eq!(fs::read_to_string(desk.path("petal.svg")).unwrap(), LEAF);
}

#[test]
fn what_a_run_has_written_is_written_again() {
    let desk = laid();
    let runs: &[&[&str]] = &[
        &["sew", "-r", "ring.toml", "-o", "ring.svg", "-o", "ring.stitches"],
        &["many", "leaf.svg", "--table", "n.csv", "-o", "."],
        &["sew", "--demo", "-o", "out/"],
    ];
    for args in runs {
        let codes = [code(&desk.run(args)), code(&desk.run(args))];
        assert!(codes[0] <= 1 && codes[0] == codes[1], "{args:?}: {codes:?}");
    }
}

#[test]
fn a_recipe_that_somebody_edited_is_kept() {
    let desk = laid();
    let args = ["recipe", "leaf.svg", "-o", "leaf.toml"];
    assert_eq!(code(&desk.run(&args)), 0);
    assert_eq!(code(&desk.run(&args)), 0, "nobody has changed it");
    desk.put("leaf.svg", &LEAF.replace("r=\"8\"", "r=\"7\""));
    assert_eq!(code(&desk.run(&args)), 0, "nobody has changed it, though the drawing is another");
    assert_eq!(code(&desk.run(&["sew", "leaf.svg", "-r", "leaf.toml"])), 0);
    let mine = fs::read_to_string(desk.path("leaf.toml")).unwrap() + "\n[[rule]]\nmethod = \"fill\"\n";
    desk.put("leaf.toml", &mine);
    for args in [&args[..], &["recipe", "--schema", "-o", "leaf.toml"]] {
        let output = desk.run(args);
        assert_eq!(code(&output), 2);
        let said = errors(&output);
        assert!(said.contains("leaf.toml is there already") && said.contains("another file with -o"), "{said}");
        assert_eq!(fs::read_to_string(desk.path("leaf.toml")).unwrap(), mine);
    }
    for _ in 0..2 {
        assert_eq!(code(&desk.run(&["recipe", "--schema", "-o", "schema.json"])), 0);
    }
}
