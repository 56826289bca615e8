//! Finds the shapes that patterns pick, and tells of those that pick none.

use crate::nearest::nearest;
use crate::pattern::Pattern;
use crate::recipe::ShapeFacts;
use crate::source::Source;
use laidwork_plan::Warning;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Names looked up for patterns that pick nothing, at most.
const MOST_SUGGESTIONS: usize = 200;

/// Finds shapes, each list of patterns once.
pub(crate) struct Finder<'a> {
    source: &'a Source,
    shapes: &'a [ShapeFacts<'a>],
    known: BTreeMap<Vec<(usize, String)>, Arc<[usize]>>,
    pub(crate) warnings: Vec<Warning>,
}

impl<'a> Finder<'a> {
    pub(crate) fn new(source: &'a Source, shapes: &'a [ShapeFacts<'a>]) -> Finder<'a> {
        Finder { source, shapes, known: BTreeMap::new(), warnings: Vec::new() }
    }

    /// The numbers of the shapes that any of the patterns picks, ascending.
    pub(crate) fn find(&mut self, patterns: &[Pattern]) -> Arc<[usize]> {
        self.find_those(patterns, false)
    }

    /// The same of strokes alone; what else is picked cannot lead threads.
    pub(crate) fn find_strokes(&mut self, patterns: &[Pattern]) -> Arc<[usize]> {
        self.find_those(patterns, true)
    }

    fn find_those(&mut self, patterns: &[Pattern], strokes: bool) -> Arc<[usize]> {
        let key: Vec<_> = patterns.iter().map(|pattern| (pattern.start, pattern.as_str().to_owned())).collect();
        if let Some(known) = self.known.get(&key) {
            return known.clone();
        }
        let mut found = vec![false; self.shapes.len()];
        for pattern in patterns {
            let (mut any, mut fits) = (false, false);
            for (shape, found) in self.shapes.iter().zip(&mut found).filter(|(shape, _)| pattern.matches(shape.name)) {
                any = true;
                fits |= shape.stroke || !strokes;
                *found |= shape.stroke || !strokes;
            }
            if !any {
                let advice = nearest_shape(pattern, self.shapes, self.warnings.len());
                self.warn(pattern.start, &format!("\"{pattern}\" picks no shape"), &advice);
            } else if !fits {
                let what = format!("\"{pattern}\" is a filled outline and cannot lead threads");
                self.warn(pattern.start, &what, "draw the lines that lead them as strokes");
            }
        }
        let numbers: Arc<[usize]> = found.iter().enumerate().filter_map(|(i, found)| found.then_some(i)).collect();
        self.known.insert(key, numbers.clone());
        numbers
    }

    pub(crate) fn warn(&mut self, start: usize, what: &str, advice: &str) {
        let warning = Warning::at(self.source.place(start), what, advice);
        if !self.warnings.contains(&warning) {
            self.warnings.push(warning);
        }
    }
}

/// The way out for a pattern that picks nothing: the name that is most like it,
/// or most like it in its last part.
pub(crate) fn nearest_shape(pattern: &Pattern, shapes: &[ShapeFacts<'_>], told: usize) -> String {
    let written = pattern.as_str().replace('*', "");
    let last = |name: &str| name.rsplit('/').next().unwrap_or_default().to_owned();
    let looked = || -> Option<&str> {
        let by_path = nearest(&written, shapes.iter().map(|shape| shape.name));
        let by_last_part = || {
            let parts: Vec<String> = shapes.iter().map(|shape| last(shape.name)).collect();
            let near = nearest(&last(&written), parts.iter().map(String::as_str))?;
            shapes.iter().zip(&parts).find(|(_, part)| *part == near).map(|(shape, _)| shape.name)
        };
        by_path.or_else(by_last_part)
    };
    match if told < MOST_SUGGESTIONS { looked() } else { None } {
        Some(name) => format!("the nearest name is \"{name}\""),
        None => "name a shape of the drawing, or take it out".to_owned(),
    }
}
