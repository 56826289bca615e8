//! The examples do what they say.

#[path = "../examples/compare_spacings.rs"]
mod compare_spacings;
#[path = "../examples/sew_a_patch.rs"]
mod sew_a_patch;

#[test]
fn the_patch_is_sewn_and_reads_back() {
    let (list, report) = sew_a_patch::run().unwrap();
    let plan = laidwork_list::read(list.as_bytes()).unwrap();
    assert_eq!(plan.stitches(), report.total.stitches);
    assert!(plan.pieces.iter().any(|piece| piece.name.starts_with("flower/")));
}

#[test]
fn closer_threads_take_more_thread_and_time() {
    let rows = compare_spacings::run(&[0.2, 0.3]).unwrap();
    let [(_, close, slow), (_, open, fast)] = rows[..] else { panic!("{rows:?}") };
    assert!(close > 1.3 * open && slow > fast, "{rows:?}");
}
