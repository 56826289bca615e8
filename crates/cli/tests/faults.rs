//! When the machine fails: nothing is lost, nothing is half written, and the exit code says so.
#![cfg(unix)]

mod desk;

use desk::{Desk, LEAF, code, errors};
use std::fs::{self, File, Permissions};
use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};
use std::os::unix::process::{CommandExt, ExitStatusExt};
use std::process::{Command, Output, Stdio};
use std::thread::sleep;
use std::time::Instant;

/// What a file held before.
const OLD: &str = "what was here before\n";

/// The signal of a file that grows over its limit; the same number on every Unix.
const SIGXFSZ: i32 = 25;

/// A desk with a drawing, and old files of the given names.
fn desk(old: &[&str]) -> Desk {
    let desk = Desk::new();
    desk.put("leaf.svg", LEAF);
    old.iter().for_each(|name| desk.put(name, OLD));
    desk
}

/// Runs the command where no file may grow beyond some 16 kilobytes (32 where the shell counts in whole ones); `first` is said to the shell before.
fn cramped(desk: &Desk, first: &str, args: &[&str]) -> Output {
    let script = format!("{first} ulimit -c 0; ulimit -f 32; exec \"$0\" \"$@\"");
    let mut shell = Command::new("sh");
    shell.args(["-c", &script, env!("CARGO_BIN_EXE_laidwork")]).args(args);
    shell.current_dir(desk.path("")).output().unwrap()
}

#[test]
fn a_write_that_fails_half_way_leaves_every_file_as_it_was() {
    let desk = desk(&["leaf.report.txt", "leaf.stitches"]);
    // The report fits under the limit, the list does not.
    let args = ["sew", "--demo", "-o", "leaf.report.txt", "-o", "leaf.stitches"];
    let output = cramped(&desk, "trap '' XFSZ;", &args);
    assert_eq!(code(&output), 2, "{}", errors(&output));
    assert!(errors(&output).contains("leaf.stitches"), "{}", errors(&output));
    for name in ["leaf.report.txt", "leaf.stitches"] {
        assert_eq!(fs::read_to_string(desk.path(name)).unwrap(), OLD, "{name}");
    }
    assert_eq!(desk.files(), ["leaf.report.txt", "leaf.stitches", "leaf.svg"]);
}

#[test]
fn a_run_killed_while_it_writes_leaves_the_old_file() {
    let desk = desk(&["leaf.stitches"]);
    let output = cramped(&desk, "", &["sew", "--demo", "-o", "leaf.stitches"]);
    assert_eq!(output.status.signal(), Some(SIGXFSZ), "{}", errors(&output));
    assert_eq!(fs::read_to_string(desk.path("leaf.stitches")).unwrap(), OLD);
}

#[test]
fn a_run_killed_at_any_time_leaves_the_old_file_or_the_new() {
    let names = ["leaf.stitches", "leaf.svg.svg"];
    let desk = desk(&names);
    let args = ["sew", "leaf.svg", "-o", names[0], "-o", names[1]];
    let start = Instant::now();
    assert_eq!(code(&desk.run(&args)), 0);
    let whole_run = start.elapsed();
    let new = names.map(|name| fs::read_to_string(desk.path(name)).unwrap());
    for tenth in 1..=10 {
        names.iter().for_each(|name| desk.put(name, OLD));
        let mut run = desk.command(&args).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        sleep(whole_run * tenth / 10);
        run.kill().unwrap();
        run.wait().unwrap();
        for (name, new) in names.iter().zip(&new) {
            let found = fs::read_to_string(desk.path(name)).unwrap();
            assert!(found == OLD || found == *new, "{name} is half written: {} bytes", found.len());
        }
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_behind_standard_output_is_told() {
    let desk = desk(&[]);
    let full = || File::options().write(true).open("/dev/full").unwrap();
    for args in [vec!["sew", "leaf.svg", "-o", "-"], vec!["recipe", "leaf.svg"], vec!["check", "--schema"]] {
        let output = desk.command(&args).stdout(full()).output().unwrap();
        assert_eq!(code(&output), 2, "{args:?}");
        assert!(errors(&output).contains("standard output"), "{args:?}: {}", errors(&output));
    }
    assert_eq!(desk.files(), ["leaf.svg"]);
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_behind_a_device_is_told() {
    let desk = desk(&[]);
    symlink("/dev/full", desk.path("leaf.stitches")).unwrap();
    let output = desk.run(&["sew", "leaf.svg", "-o", "leaf.stitches"]);
    assert_eq!(code(&output), 2);
    assert!(errors(&output).contains("leaf.stitches"), "{}", errors(&output));
    assert!(fs::symlink_metadata(desk.path("leaf.stitches")).unwrap().is_symlink());
}

#[test]
fn a_folder_that_may_not_be_written_is_told() {
    let desk = desk(&["old.stitches"]);
    let folder = desk.path("");
    // A root user writes everywhere; then the command runs as somebody else, from where everybody may run it.
    let shop = tempfile::tempdir().unwrap();
    let program = shop.path().join("laidwork");
    fs::copy(env!("CARGO_BIN_EXE_laidwork"), &program).unwrap();
    for path in [&program, &shop.path().to_path_buf()] {
        fs::set_permissions(path, Permissions::from_mode(0o755)).unwrap();
    }
    fs::set_permissions(desk.path("leaf.svg"), Permissions::from_mode(0o644)).unwrap();
    fs::set_permissions(&folder, Permissions::from_mode(0o555)).unwrap();
    for name in ["new.stitches", "old.stitches"] {
        let mut command = Command::new(&program);
        command.args(["sew", "leaf.svg", "-o", name]).current_dir(&folder);
        if fs::metadata(&folder).unwrap().uid() == 0 {
            command.uid(65_534).gid(65_534);
        }
        let output = command.output().unwrap();
        assert_eq!(code(&output), 2, "{}", errors(&output));
        assert!(errors(&output).contains(name) && errors(&output).contains("ermission"), "{}", errors(&output));
    }
    fs::set_permissions(&folder, Permissions::from_mode(0o755)).unwrap();
    assert_eq!(desk.files(), ["leaf.svg", "old.stitches"]);
    assert_eq!(fs::read_to_string(desk.path("old.stitches")).unwrap(), OLD);
}

#[test]
fn a_folder_in_the_place_of_a_file_is_told() {
    let desk = desk(&[]);
    assert_eq!(code(&desk.run(&["sew", "leaf.svg"])), 0);
    fs::create_dir_all(desk.path("leaf.png")).unwrap();
    let output = desk.run(&["view", "leaf.stitches", "-o", "leaf.html", "-o", "leaf.png"]);
    assert_eq!(code(&output), 2);
    assert!(errors(&output).contains("leaf.png") && errors(&output).contains("folder"), "{}", errors(&output));
    assert_eq!(desk.files(), ["leaf.png", "leaf.stitches", "leaf.svg"]);
    fs::create_dir_all(desk.path("out/leaf.html")).unwrap();
    let output = desk.run(&["sew", "leaf.svg", "-o", "out/"]);
    assert_eq!(code(&output), 2);
    assert_eq!(fs::read_dir(desk.path("out")).unwrap().count(), 1, "{}", errors(&output));
}

#[test]
fn a_file_in_the_place_of_a_folder_is_told() {
    let desk = desk(&["out"]);
    let output = desk.run(&["sew", "leaf.svg", "-o", "out/"]);
    assert_eq!(code(&output), 2);
    assert!(errors(&output).contains("out"), "{}", errors(&output));
    assert_eq!(fs::read_to_string(desk.path("out")).unwrap(), OLD);
}

#[test]
fn what_cannot_be_read_is_told() {
    let desk = desk(&[]);
    fs::create_dir(desk.path("folder.svg")).unwrap();
    for args in [["sew", "folder.svg"], ["check", "folder.svg"], ["threads", "folder.svg"]] {
        assert_eq!(code(&desk.run(&args)), 2, "{args:?}");
    }
}

#[test]
fn a_reader_that_goes_away_is_no_fault() {
    let desk = desk(&[]);
    for args in [vec!["sew", "leaf.svg", "-o", "-"], vec!["recipe", "leaf.svg"], vec!["--help"]] {
        let mut run = desk.command(&args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        drop(run.stdout.take());
        drop(run.stderr.take());
        let status = run.wait().unwrap();
        assert_eq!(status.code(), Some(0), "{args:?}: {status}");
    }
    let mut run = desk.command(&["sew", "nothing.svg"]).stderr(Stdio::piped()).spawn().unwrap();
    drop(run.stderr.take());
    assert_eq!(run.wait().unwrap().code(), Some(2));
}

#[test]
fn of_runs_on_one_output_one_wins_whole() {
    let desk = desk(&[]);
    desk.put("petal.svg", &LEAF.replace("circle", "ellipse").replace("r=\"8\"", "rx=\"8\" ry=\"5\""));
    let drawings = ["leaf.svg", "petal.svg"];
    let wanted = drawings.map(|drawing| {
        assert_eq!(code(&desk.run(&["sew", drawing, "-o", "one.stitches"])), 0);
        fs::read_to_string(desk.path("one.stitches")).unwrap()
    });
    assert_ne!(wanted[0], wanted[1]);
    for _ in 0..3 {
        let start = |drawing: &&str| {
            let args = ["sew", drawing, "-o", "one.stitches"];
            desk.command(&args).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap()
        };
        let mut runs: Vec<_> = drawings.iter().cycle().take(6).map(start).collect();
        while runs.iter_mut().any(|run| run.try_wait().unwrap().is_none()) {
            let seen = fs::read_to_string(desk.path("one.stitches")).unwrap();
            assert!(wanted.contains(&seen), "a reader saw {} bytes of neither", seen.len());
        }
        assert!(runs.iter_mut().all(|run| run.wait().unwrap().success()));
    }
    assert_eq!(desk.files(), ["leaf.svg", "one.stitches", "petal.svg"]);
}
