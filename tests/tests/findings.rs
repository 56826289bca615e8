//! Seeds, damaged copies of them, and every input that ever broke a promise, through the same targets on every run.

use laidwork_tests::fuzzed::{TARGETS, Target};
use std::fs;
use std::path::Path;

/// Damaged copies of each input.
const COPIES: u64 = 40;

/// A small generator of numbers; the same ones on every run.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % most.max(1)
    }
}

/// A copy with some bytes changed, taken out or doubled.
fn damaged(input: &[u8], dice: &mut Dice) -> Vec<u8> {
    let mut copy = input.to_vec();
    for _ in 0..=dice.below(6) {
        let place = dice.below(copy.len());
        let end = copy.len().min(place + 1 + dice.below(8));
        match dice.below(4) {
            0 if !copy.is_empty() => copy[place] = dice.below(256) as u8,
            1 => copy.truncate(place),
            2 => drop(copy.drain(place..end)),
            _ => copy.extend_from_within(place..end),
        }
    }
    copy
}

/// Feeds `target` with every input of its folder and the damaged copies; how many there were.
fn feed(name: &str, target: Target) -> usize {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/findings").join(name);
    let mut files: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let mut dice = Dice(20_261_125);
    for file in &files {
        let input = fs::read(file).unwrap();
        target(&input);
        (0..COPIES).for_each(|_| target(&damaged(&input, &mut dice)));
    }
    files.len()
}

#[test]
fn what_was_found_stays_mended() {
    for (name, target) in TARGETS {
        assert!(feed(name, target) > 0, "{name} has no input");
    }
}
