//! Letters as a person would draw them, sewn and measured.

mod common;

use common::{figures, letters, turned};
use kurbo::Point;
use laidwork_geometry::{Locator, Region};
use laidwork_satin::{Ends, SatinSettings, decompose, from_outline};

#[test]
fn letters_have_the_columns_a_person_would_draw() {
    let settings = SatinSettings::default();
    for (letter, polygon, wanted) in letters() {
        let parts = decompose(&polygon, &settings);
        assert_eq!(parts.columns.len(), wanted, "{letter}");
        // Lines may cover a small spot at a corner, but no part of a letter.
        assert!(parts.fills.is_empty() && parts.runs.iter().all(|run| run.length() < 1.5), "{letter}");
    }
}

#[test]
fn turning_a_letter_changes_nothing() {
    let settings = SatinSettings::default();
    let graph = |polygon: &_| {
        let parts = decompose(polygon, &settings);
        let mut meet: Vec<usize> = parts.graph.iter().map(|g| g.1).collect();
        meet.sort_unstable();
        (parts.columns.len(), meet)
    };
    for (letter, polygon, _) in letters() {
        for turn in [7.0, 13.0, 31.0, 50.0, 90.0] {
            assert_eq!(graph(&polygon), graph(&turned(&polygon, turn)), "{letter} turned by {turn}");
        }
    }
}

#[test]
fn letters_are_covered_in_one_chain() {
    let settings = SatinSettings::default();
    for (letter, polygon, _) in letters() {
        let sewn = from_outline("letter", &polygon, &settings, Ends::default());
        assert!(sewn.warnings.is_empty(), "{letter}: {:?}", sewn.warnings);
        assert!(sewn.value.iter().all(|pass| pass.jumps.is_empty() && !pass.trim), "{letter}");
        let figures = figures(&polygon, &sewn.value);
        assert!(figures.coverage >= 0.985, "{letter} {figures:?}");
        assert!(figures.showing <= 0.01, "{letter} {figures:?}");
        assert!(figures.farthest_out <= 0.45, "{letter} {figures:?}");
        assert!(figures.longest <= 8.0 && figures.shortest >= 0.3, "{letter} {figures:?}");
        assert!(figures.crowd <= 12, "{letter} {figures:?}");
    }
}

#[test]
fn letters_end_where_asked() {
    let settings = SatinSettings::default();
    for (letter, polygon, _) in letters() {
        let bounds = polygon.bounds().unwrap();
        let locator = Locator::new(&Region::from(polygon.clone()));
        for corner in [(bounds.x0, bounds.y0), (bounds.x1, bounds.y1)] {
            let ends = Ends { start: Some((bounds.x0, bounds.y1).into()), end: Some(corner.into()) };
            let sewn = from_outline("letter", &polygon, &settings, ends).value;
            let first = sewn.first().and_then(|pass| pass.points.first()).unwrap();
            let last = sewn.last().and_then(|pass| pass.points.last()).unwrap();
            // As near as any point of the letter is, and the width of two columns.
            let near = |p: Point, wish: Point| p.distance(wish) <= locator.distance_to_outline(wish) + 7.0;
            assert!(near(*last, ends.end.unwrap()), "{letter} ends at {last}, not at {corner:?}");
            assert!(near(*first, ends.start.unwrap()), "{letter} starts at {first}");
        }
    }
}

#[test]
fn the_same_letter_gives_the_same_stitches() {
    let settings = SatinSettings::default();
    for (_, polygon, _) in letters() {
        let sew = || from_outline("letter", &polygon, &settings, Ends::default());
        assert_eq!(sew(), sew());
    }
}
