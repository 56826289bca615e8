//! Every plan that can be written comes back equal.

mod common;

use common::{example, plans};
use laidwork_list::{Digits, WriteOptions, read, rounded, to_text};
use proptest::prelude::*;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn plans_on_the_hundredth_grid_come_back(plan in plans(100)) {
        let text = to_text(&plan, WriteOptions { digits: Digits::Two }).unwrap();
        prop_assert_eq!(read(text.as_bytes()).unwrap(), plan);
    }

    #[test]
    fn plans_on_the_thousandth_grid_come_back(plan in plans(1000)) {
        let text = to_text(&plan, WriteOptions { digits: Digits::Three }).unwrap();
        prop_assert_eq!(read(text.as_bytes()).unwrap(), plan);
    }

    #[test]
    fn rounding_a_plan_is_what_writing_does(plan in plans(1000)) {
        let text = to_text(&plan, WriteOptions::default()).unwrap();
        prop_assert_eq!(read(text.as_bytes()).unwrap(), rounded(&plan, Digits::Two).unwrap());
    }
}

#[test]
fn the_example_is_written_as_expected() {
    let text = to_text(&example(), WriteOptions::default()).unwrap();
    assert_eq!(text, include_str!("example.stitches"));
    assert_eq!(read(text.as_bytes()).unwrap(), example());
}
