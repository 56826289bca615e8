//! Lines that touch, sewn as one chain.

use crate::RunSettings;
use crate::sew::sew;
use kurbo::Point;
use laidwork_plan::{Pass, Warned};

/// Where the sewing of a network begins and ends, where the caller cares.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ends {
    /// Begin as near to this as possible.
    pub start: Option<Point>,
    /// End as near to this as possible.
    pub end: Option<Point>,
}

/// Sews several lines (points in mm, whether closed) as few unbroken chains:
/// one for each set of lines that touch. Chains come nearest first from `ends.start`.
pub fn network(name: &str, lines: &[(Vec<Point>, bool)], settings: &RunSettings, ends: Ends) -> Warned<Vec<Vec<Pass>>> {
    let mut warnings = Vec::new();
    let mut chains = Vec::new();
    for (path, closed) in lines {
        let passes = sew(name, path, *closed, settings, ends.start).take(&mut warnings);
        if !passes.is_empty() {
            chains.push(passes);
        }
    }
    Warned { value: chains, warnings }
}
