//! Every sequence of records that the grammar allows is read with its meaning.

use laidwork_list::{WriteOptions, read, to_text};
use laidwork_plan::{Pass, PassKind, Plan};
use proptest::prelude::*;

/// A list of one piece with these records.
fn list(records: &[&str]) -> String {
    let count = records.iter().filter(|record| record.starts_with(char::is_numeric)).count();
    format!(
        "stitch-list 1\nunit mm\nthread 1 #000000\npiece 1 thread 1 method run name a\n{}\nend {count}\n",
        records.join("\n")
    )
}

fn passes(records: &[&str]) -> Vec<Pass> {
    read(list(records).as_bytes()).unwrap().pieces.remove(0).passes
}

/// A pass as `kind jumps/points trim? stop?`.
fn told(pass: &Pass) -> String {
    let flag = |set: bool, word: &'static str| if set { word } else { "" };
    let (jumps, points) = (pass.jumps.len(), pass.points.len());
    format!("{} {jumps}/{points}{}{}", pass.kind.word(), flag(pass.trim, " trim"), flag(pass.stop, " stop"))
}

fn tell(records: &[&str]) -> Vec<String> {
    passes(records).iter().map(told).collect()
}

#[test]
fn jumps_points_trim_and_stop_make_one_pass() {
    assert_eq!(tell(&["pass top", "jump 1 1", "jump 2 2", "3 3", "4 4", "trim", "stop"]), ["top 2/2 trim stop"]);
}

#[test]
fn a_jump_after_points_begins_a_pass_of_the_same_kind() {
    assert_eq!(tell(&["pass tie", "1 1", "jump 2 2", "2 2"]), ["tie 0/1", "tie 1/1"]);
}

#[test]
fn points_after_a_trim_begin_a_pass_of_the_same_kind() {
    assert_eq!(tell(&["pass top", "1 1", "trim", "2 2", "stop", "3 3"]), ["top 0/1 trim", "top 0/1 stop", "top 0/1"]);
}

#[test]
fn trims_and_stops_in_any_order_are_kept() {
    assert_eq!(tell(&["pass top", "stop", "trim", "trim"]), ["top 0/0 stop", "top 0/0 trim", "top 0/0 trim"]);
}

#[test]
fn jumps_before_the_first_pass_of_a_piece_belong_to_it() {
    assert_eq!(tell(&["jump 1 1", "pass underlay", "1 1"]), ["underlay 1/1"]);
}

/// The commands of a plan, one after the other, as the machine sees them.
fn commands(plan: &Plan) -> Vec<String> {
    let mut all = Vec::new();
    for (piece, pass) in plan.passes() {
        all.extend(pass.jumps.iter().map(|p| format!("{piece} jump {} {}", p.x, p.y)));
        all.extend(pass.points.iter().map(|p| format!("{piece} {} {} {}", pass.kind.word(), p.x, p.y)));
        all.extend(pass.trim.then(|| format!("{piece} trim")));
        all.extend(pass.stop.then(|| format!("{piece} stop")));
    }
    all
}

/// What the records of one piece say, read by a rule of thumb: every record in its order.
fn expected(records: &[String]) -> Vec<String> {
    let mut kind = PassKind::Top.word();
    let mut all = Vec::new();
    for record in records {
        match record.split_once(' ') {
            Some(("pass", word)) => kind = PassKind::ALL.into_iter().find(|k| k.word() == word).unwrap().word(),
            Some(("jump", point)) => all.push(format!("0 jump {point}")),
            Some(_) => all.push(format!("0 {kind} {record}")),
            None => all.push(format!("0 {record}")),
        }
    }
    all
}

proptest! {
    #[test]
    fn no_sequence_loses_its_meaning(records in prop::collection::vec(prop_oneof![
        prop::sample::select(PassKind::ALL.to_vec()).prop_map(|kind| format!("pass {}", kind.word())),
        (0..9, 0..9).prop_map(|(x, y)| format!("jump {x} {y}")),
        (0..9, 0..9).prop_map(|(x, y)| format!("{x} {y}")),
        Just("trim".to_string()),
        Just("stop".to_string()),
    ], 0..20)) {
        let mut all = vec!["pass top".to_string()];
        all.extend(records);
        let plan = read(list(&all.iter().map(String::as_str).collect::<Vec<_>>()).as_bytes()).unwrap();
        prop_assert_eq!(commands(&plan), expected(&all));
        let text = to_text(&plan, WriteOptions::default()).unwrap();
        prop_assert_eq!(read(text.as_bytes()).unwrap(), plan);
    }
}
