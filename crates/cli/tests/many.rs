//! `laidwork many` as a user meets it: good rows, bad rows, runs taken up again.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

struct Desk {
    folder: tempfile::TempDir,
}

impl Desk {
    fn new(table: &str) -> Desk {
        let desk = Desk { folder: tempfile::tempdir().unwrap() };
        desk.put("marker.svg", MARKER);
        desk.put("beds.csv", table);
        desk
    }

    fn put(&self, name: &str, text: &str) {
        fs::write(self.path(name), text).unwrap();
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn many(&self, args: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_laidwork"))
            .args(["many", "marker.svg", "--table", "beds.csv"])
            .args(args)
            .current_dir(self.folder.path())
            .output()
            .unwrap()
    }

    fn files(&self, folder: &str) -> Vec<String> {
        let entries = fs::read_dir(self.path(folder)).unwrap();
        let mut names: Vec<_> = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    fn summary(&self) -> Vec<Vec<String>> {
        let text = fs::read_to_string(self.path("beds/summary.csv")).unwrap();
        text.lines().skip(1).map(|line| line.split(',').map(str::to_owned).collect()).collect()
    }
}

/// A leaf whose colour and size come from the table.
const MARKER: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">
  <title>{plant}</title>
  <circle id="leaf" cx="10" cy="10" r="{radius}" fill="{leaf}"/>
</svg>"##;

const BEDS: &str = "plant,radius,leaf\nBroad bean,8,#4f8a3c\nPea,7,#5d9a4a\nKale,9,#2d5a33\n";

fn code(output: &Output) -> i32 {
    output.status.code().expect("the command was killed")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

#[test]
fn every_row_becomes_a_design() {
    let desk = Desk::new(BEDS);
    let output = desk.many(&["--write", "stitches,report"]);
    assert_eq!(code(&output), 0, "{}", text(&output.stderr));
    assert!(text(&output.stdout).starts_with("3 rows: 3 sewn, 0 done before, 0 bad"));
    let files = desk.files("beds");
    assert_eq!(files.len(), 8, "{files:?}");
    let list = fs::read(desk.path("beds/Pea.stitches")).unwrap();
    let plan = laidwork_list::read(list.as_slice()).unwrap();
    assert_eq!(plan.title.as_deref(), Some("Pea"));
    assert_eq!(plan.threads[0].color.to_string(), "#5d9a4a");
    assert!((plan.bounds().unwrap().width() - 14.4).abs() < 0.3);
    // No terminal watches, so nothing is drawn over.
    assert!(!text(&output.stderr).contains('\r'));
}

#[test]
fn bad_rows_are_told_and_passed_over() {
    let desk =
        Desk::new("plant,radius,leaf\nBean,4,#4f8a3c\nPea,4\nLeek,0,#2d5a33\n../../up,4,#4f8a3c\nbean,4,#4f8a3c\n");
    let output = desk.many(&[]);
    assert_eq!(code(&output), 1);
    let said = text(&output.stderr);
    assert!(said.contains("row 2 (line 3)") && said.contains("row 3 (line 4)"), "{said}");
    assert!(said.contains("row 5 would be called as row 1 is"), "{said}");
    assert_eq!(
        desk.files("beds"),
        [".laidwork-many.jsonl", "Bean.stitches", "bean-2.stitches", "summary.csv", "up.stitches"]
    );
    assert_eq!(desk.files("."), ["beds", "beds.csv", "marker.svg"]);
    let states: Vec<_> = desk.summary().iter().map(|row| row[2].clone()).collect();
    assert_eq!(states, ["sewn", "bad", "bad", "sewn", "sewn"]);
}

#[test]
fn what_many_rows_have_in_common_is_told_once() {
    let desk = Desk::new("plant,radius,leaf\nBean,4,#4f8a3c\nPea,4,#4f8a3c\nLeek\n");
    desk.put("marker.toml", "[design]\nmaterial = \"mud\"\n");
    let output = desk.many(&["-r", "marker.toml"]);
    assert_eq!(code(&output), 1);
    let said = text(&output.stderr);
    let wanted =
        "2 rows, row 1 (line 2) first, were not sewn: marker.toml:2:12: there is no material \"mud\"; the materials";
    assert!(said.starts_with(wanted), "{said}");
    assert!(said.contains("row 3 (line 4) was not sewn: the row has 1 fields"), "{said}");
    assert_eq!(said.lines().count(), 2, "{said}");
}

#[test]
fn names_need_a_font() {
    let desk = Desk::new(BEDS);
    desk.put("marker.svg", &MARKER.replace("</svg>", "<text x=\"2\" y=\"9\" font-size=\"9\">{plant}</text></svg>"));
    let output = desk.many(&[]);
    assert_eq!(code(&output), 2);
    assert!(text(&output.stderr).contains("name a font file, or a folder of them, with --font"));
    assert_eq!(desk.files("."), ["beds.csv", "marker.svg"]);
}

#[test]
fn text_left_out_for_want_of_a_font_fails_its_designs() {
    let desk = Desk::new(BEDS);
    desk.put("marker.svg", &MARKER.replace("</svg>", "<text x=\"2\" y=\"9\" font-size=\"9\">bed</text></svg>"));
    for state in ["3 sewn, 0 done before", "0 sewn, 3 done before"] {
        let output = desk.many(&[]);
        assert_eq!(code(&output), 1, "{}", text(&output.stderr));
        let wanted = format!("3 rows: {state}, 0 bad, 3 with warnings, 3 with failed checks");
        assert!(text(&output.stdout).starts_with(&wanted), "{}", text(&output.stdout));
        let said = text(&output.stderr);
        assert!(said.starts_with("warning: 3 rows, row 1 first: “bed”: is text, and there are no fonts"), "{said}");
    }
    let summary = fs::read_to_string(desk.path("beds/summary.csv")).unwrap();
    assert_eq!(summary.matches("all that is drawn").count(), 3, "{summary}");
}

#[test]
fn a_letter_that_the_font_lacks_fails_its_design() {
    let desk = Desk::new("plant,radius,leaf\nPea,7,#5d9a4a\n豆,8,#4f8a3c\n");
    let name = "<text x=\"2\" y=\"9\" font-size=\"9\" font-family=\"Inconsolata\">A{plant}</text></svg>";
    desk.put("marker.svg", &MARKER.replace("</svg>", name));
    let fonts = concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/fonts");
    let output = desk.many(&["--font", fonts]);
    assert_eq!(code(&output), 1, "{}", text(&output.stderr));
    assert!(text(&output.stderr).contains("no font has the characters 豆"), "{}", text(&output.stderr));
    let summary = fs::read_to_string(desk.path("beds/summary.csv")).unwrap();
    let lost: Vec<bool> = summary.lines().skip(1).map(|row| row.contains("all that is drawn")).collect();
    assert_eq!(lost, [false, true], "{summary}");
}

#[test]
fn programs_are_written_for_the_machine_that_the_command_names() {
    let desk = Desk::new(BEDS);
    let program = |args: &[&str]| {
        let output = desk.many(&[&["--write", "gcode", "--hoop", "100x100"], args].concat());
        assert_eq!(code(&output), 0, "{}", text(&output.stderr));
        (text(&output.stdout), fs::read_to_string(desk.path("beds/Pea.gcode")).unwrap())
    };
    let (_, usual) = program(&[]);
    assert!(usual.contains("\nG0 Z-5\nG0 Z5\n") && !usual.contains("M3\n"));
    let needle = ["--needle", "M3 | G4 P0.03 | M5", "--feed", "1234"];
    let (told, own) = program(&needle);
    // Another machine makes another program, so that no row is done before.
    assert!(told.starts_with("3 rows: 3 sewn, 0 done before"), "{told}");
    assert!(own.contains("\nM3\nG4 P0.03\nM5\n") && own.contains("F1234") && !own.contains("Z-5"));
    assert!(program(&needle).0.starts_with("3 rows: 0 sewn, 3 done before"));
    let wrong = desk.many(&["--write", "gcode", "--needle", "G1 X3"]);
    assert_eq!(code(&wrong), 2);
    assert!(text(&wrong.stderr).contains("move the hoop"), "{}", text(&wrong.stderr));
}

#[test]
fn a_run_is_taken_up_where_it_ended() {
    let desk = Desk::new(BEDS);
    assert_eq!(code(&desk.many(&[])), 0);
    let whole = fs::read(desk.path("beds/Pea.stitches")).unwrap();
    // What a run that was cut short leaves: one row unfinished in the journal, one file gone, one damaged.
    let journal = fs::read_to_string(desk.path("beds/.laidwork-many.jsonl")).unwrap();
    fs::write(desk.path("beds/.laidwork-many.jsonl"), &journal[..journal.len() - 30]).unwrap();
    fs::write(desk.path("beds/Pea.stitches"), &whole[..whole.len() / 2]).unwrap();
    let output = desk.many(&[]);
    assert!(text(&output.stdout).starts_with("3 rows: 2 sewn, 1 done before"), "{}", text(&output.stdout));
    assert_eq!(fs::read(desk.path("beds/Pea.stitches")).unwrap(), whole);
    assert!(text(&desk.many(&[]).stdout).starts_with("3 rows: 0 sewn, 3 done before"));
    assert!(text(&desk.many(&["--afresh"]).stdout).starts_with("3 rows: 3 sewn"));
}

#[test]
fn what_a_killed_run_left_half_written_is_swept() {
    let desk = Desk::new(BEDS);
    assert_eq!(code(&desk.many(&[])), 0);
    let files = desk.files("beds");
    let two_days_ago = std::time::SystemTime::now() - std::time::Duration::from_secs(48 * 3600);
    for name in ["beds/.laidwork-12345-a1B2c3", "beds/.laidwork-keep"] {
        desk.put(name, "half a li");
        fs::File::options().write(true).open(desk.path(name)).unwrap().set_modified(two_days_ago).unwrap();
    }
    assert_eq!(code(&desk.many(&[])), 0);
    assert!(!desk.path("beds/.laidwork-12345-a1B2c3").exists());
    assert_eq!(desk.files("beds").len(), files.len() + 1);
}

#[test]
fn a_row_that_changed_is_sewn_again() {
    let desk = Desk::new(BEDS);
    assert_eq!(code(&desk.many(&[])), 0);
    desk.put("beds.csv", &BEDS.replace("Pea,7", "Pea,8"));
    assert!(text(&desk.many(&[]).stdout).starts_with("3 rows: 1 sewn, 2 done before"));
    assert!(text(&desk.many(&["--width", "40"]).stdout).starts_with("3 rows: 3 sewn"));
}

#[test]
fn recipes_take_cells_too() {
    let desk = Desk::new("plant,radius,leaf,cloth\nBean,4,#4f8a3c,canvas\nPea,4,#4f8a3c,jersey\nLeek,4,#4f8a3c,mud\n");
    desk.put("marker.toml", "[design]\ntitle = \"the {plant}\"\nmaterial = {cloth}\nhoop = { round = 90.0 }\n");
    let output = desk.many(&["-r", "marker.toml", "--name", "{row} {plant}"]);
    assert_eq!(code(&output), 1);
    assert!(text(&output.stderr).contains("there is no material \"mud\""), "{}", text(&output.stderr));
    let list = |name: &str| {
        let bytes = fs::read(desk.path("beds").join(name)).unwrap();
        laidwork_list::read(bytes.as_slice()).unwrap()
    };
    let (bean, pea) = (list("1-Bean.stitches"), list("2-Pea.stitches"));
    assert_eq!(bean.title.as_deref(), Some("the Bean"));
    // Jersey asks for more pull compensation than canvas.
    assert!(pea.bounds().unwrap().width() > bean.bounds().unwrap().width());
}

#[test]
fn slips_of_the_pen_stop_the_run_before_it_starts() {
    let desk = Desk::new(BEDS);
    for (args, wanted) in [
        (vec!["--name", "{plnat}"], "plnat"),
        (vec!["--write", "stiches"], "stiches"),
        (vec!["-r", "nothing.toml"], "nothing.toml"),
        (vec!["--text", "leaf={colour}"], "colour"),
    ] {
        let output = desk.many(&args);
        assert_eq!(code(&output), 2, "{args:?}");
        assert!(text(&output.stderr).contains(wanted), "{args:?}: {}", text(&output.stderr));
    }
    assert_eq!(desk.files("."), ["beds.csv", "marker.svg"]);
}

#[test]
fn the_example_of_the_documents_runs() {
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures");
    let folder = tempfile::tempdir().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_laidwork"))
        .args(["many", "many/bed-marker.svg", "--table", "many/beds.csv", "-r", "many/bed-marker.toml"])
        .args(["--font", "fonts", "--name", "{bed}-{plant}", "-o"])
        .arg(folder.path())
        .current_dir(fixtures)
        .output()
        .unwrap();
    assert!(code(&output) <= 1, "{}", text(&output.stderr));
    assert!(text(&output.stdout).starts_with("5 rows: 5 sewn, 0 done before, 0 bad"), "{}", text(&output.stdout));
    assert!(folder.path().join("3-Kale-Nero.stitches").exists());
}
