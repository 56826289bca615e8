//! `laidwork convert` as a user meets it.

use std::fs;
use std::path::PathBuf;
use std::process::{Command, Output};

struct Desk {
    folder: tempfile::TempDir,
}

impl Desk {
    fn new() -> Desk {
        let desk = Desk { folder: tempfile::tempdir().unwrap() };
        desk.put("bean.stitches", LIST);
        desk
    }

    fn put(&self, name: &str, text: &str) {
        fs::write(self.path(name), text).unwrap();
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn convert(&self, args: &[&str]) -> (i32, String) {
        let output: Output = Command::new(env!("CARGO_BIN_EXE_laidwork"))
            .arg("convert")
            .args(args)
            .current_dir(self.folder.path())
            .output()
            .unwrap();
        (output.status.code().unwrap(), String::from_utf8(output.stderr).unwrap())
    }

    fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap()
    }
}

const LIST: &str = "stitch-list 1\n# climbing French bean\ntitle Bean\nunit mm\nhoop 100.000 100.000\n\
    thread 1 #4f8a3c Leaf green\npiece 1 thread 1 method run name tendril\npass top\njump 0.00 0.00\n\
    0.00 0.00\n2.50 1.25\n4.00 3.00\ntrim\nend 3\n";

#[test]
fn twins_come_back_byte_for_byte() {
    let desk = Desk::new();
    let (code, said) = desk.convert(&["bean.stitches", "-o", "bean.csv", "-o", "bean.json"]);
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("1 comment lines"), "{said}");
    for twin in ["bean.csv", "bean.json"] {
        let (code, said) = desk.convert(&[twin, "-o", "back.stitches"]);
        assert_eq!((code, said.as_str()), (0, ""));
        assert_eq!(desk.read("back.stitches"), LIST.replace("# climbing French bean\n", ""));
    }
}

#[test]
fn all_outputs_are_written_or_none_and_never_over_the_input() {
    let desk = Desk::new();
    let (code, said) = desk.convert(&["bean.stitches", "-o", "bean.csv", "-o", "missing/bean.json"]);
    assert_eq!(code, 2, "{said}");
    assert!(!desk.path("bean.csv").exists());
    let (code, said) = desk.convert(&["bean.stitches", "-o", "./bean.stitches"]);
    assert_eq!(code, 2);
    assert!(said.contains("choose another name"), "{said}");
    assert_eq!(desk.read("bean.stitches"), LIST);
}

#[test]
fn a_third_digit_is_kept() {
    let desk = Desk::new();
    desk.put("fine.stitches", &LIST.replace("2.50 1.25", "2.505 1.25").replace("# climbing French bean\n", ""));
    assert_eq!(desk.convert(&["fine.stitches", "-o", "fine.csv"]), (0, String::new()));
    assert!(desk.read("fine.csv").contains("2.505"));
}

#[test]
fn a_program_is_written_and_read_and_the_loss_is_told() {
    let desk = Desk::new();
    let needle = ["--needle", "M3 | G4 P0.03 | M5"];
    let (code, said) = desk.convert(&[&["bean.stitches", "-o", "bean.ngc"], &needle[..]].concat());
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("become comments"), "{said}");
    assert!(desk.read("bean.ngc").contains("G1 X2.500 Y-1.250\nM3\nG4 P0.03\nM5\n"));
    let (code, said) = desk.convert(&[&["bean.ngc", "-o", "back.stitches", "--hoop", "100x100"], &needle[..]].concat());
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("does not tell pieces"), "{said}");
    let wanted =
        LIST.replace("# climbing French bean\n", "").replace("method run name tendril", "method manual name thread 1");
    assert_eq!(desk.read("back.stitches"), wanted);
}

#[test]
fn wrong_input_names_the_way_out_and_leaves_no_file() {
    let desk = Desk::new();
    desk.put("bare.stitches", &LIST.replace("hoop 100.000 100.000\n", ""));
    desk.put("cut.gcode", "G21\nG0 X1\n");
    for (args, wanted) in [
        (vec!["bean.stitches", "-o", "x.gcode", "--hoop", "5x5"], "out of the hoop"),
        (vec!["bare.stitches", "-o", "x.gcode"], "--hoop"),
        (vec!["bean.stitches", "-o", "x.gcode", "--needle", "G1 X3"], "move the hoop"),
        (vec!["bean.stitches", "-o", "x.png"], "laidwork view"),
        (vec!["bean.stitches", "-o", "x.csv", "-o", "x.gcode", "--hoop", "5x5"], "out of the hoop"),
        (vec!["cut.gcode", "-o", "x.csv"], "cut short"),
        (vec!["bean.stitches", "-o", "x.gcode", "--feed", "0"], "--feed"),
        (vec!["nothing.stitches", "-o", "x.csv"], "nothing.stitches"),
    ] {
        let (code, said) = desk.convert(&args);
        assert_eq!(code, 2, "{args:?}: {said}");
        assert!(said.contains(wanted), "{args:?}: {said}");
    }
    assert!(!desk.path("x.gcode").exists() && !desk.path("x.csv").exists());
}
