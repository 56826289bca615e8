//! What a drawing unfolds to: circular references are cut, and one that would
//! unfold beyond measure is refused.
//!
//! The resolver copies what `<use>` and markers refer to and walks clip paths
//! and patterns wherever they are used, so a few lines of text can stand for
//! any number of shapes, and a long chain of references overflows the stack.
//! One depth-first pass over elements and references finds circles, the
//! deepest chain and the number of shapes after all copying; each element is
//! visited once, sums saturate. (R. Tarjan, "Depth-first search and linear
//! graph algorithms", 1972, for back edges.)

use crate::Error;
use crate::edit::Edits;
use crate::notes::{Kind, Notes};
use crate::styles::Source;
use crate::survey::{Link, Reference, Survey, place, words};
use std::collections::BTreeSet;

/// The most elements that a drawing may unfold to.
pub(crate) const MOST_UNFOLDED: u64 = 500_000;
/// How deep elements and references may nest.
pub(crate) const DEEPEST: u32 = 256;
/// So many corners of an outline count as an element.
const CORNERS: u64 = 32;
/// The most corners that a drawing may have.
pub(crate) const MOST_CORNERS: u64 = MOST_UNFOLDED * CORNERS;
/// So many elements a letter counts as.
const LETTER: u64 = 2;
/// The most letters that one text may have: the resolver takes quadratic time for it.
pub(crate) const MOST_LETTERS: u64 = 10_000;
/// A gradient that is prepared for a shape counts as so many elements: the
/// resolver looks through all the others each time.
const GRADIENT: u64 = 10;

#[derive(Clone, Copy, Default, PartialEq, Eq)]
enum State {
    #[default]
    Unseen,
    Open,
    Done,
}

/// What an element unfolds to.
#[derive(Clone, Copy, Default)]
struct Size {
    state: State,
    depth: u32,
    elements: u64,
    shapes: u64,
    corners: u64,
    letters: u64,
}

/// Checks the references in `survey`; circular ones are cut by `edits`, which
/// apply to `text`. Gives the number of elements the drawing unfolds to.
pub(crate) fn check(survey: &Survey, text: &str, edits: &mut Edits, notes: &mut Notes) -> Result<u64, Error> {
    let mut sizes = vec![Size::default(); survey.items.len()];
    // What is open: an element, and the place of the edge to follow next.
    let mut open: Vec<(usize, usize)> = vec![(0, 0)];
    let mut cut: BTreeSet<(usize, usize)> = BTreeSet::new();
    while let Some(&mut (i, ref mut edge)) = open.last_mut() {
        let (Some(item), Some(size)) = (survey.items.get(i), sizes.get_mut(i)) else { break };
        size.state = State::Open;
        let next = *edge;
        *edge += 1;
        let reference = next.checked_sub(item.children.len());
        let to = match reference {
            None => item.children.get(next).copied(),
            Some(r) => item.references.get(r).map(|reference| reference.to),
        };
        let Some(to) = to else {
            let whole = unfold(survey, i, &sizes, &cut);
            refuse_excess(survey, i, &whole)?;
            if let Some(size) = sizes.get_mut(i) {
                *size = whole;
            }
            open.pop();
            continue;
        };
        match (sizes.get(to).map(|size| size.state), reference) {
            (Some(State::Unseen), _) => open.push((to, 0)),
            (Some(State::Open), Some(r)) => {
                cut_reference(survey, (i, r), text, edits, notes)?;
                cut.insert((i, r));
            }
            _ => {}
        }
    }
    Ok(sizes.first().map_or(0, |size| size.elements))
}

/// The size of element `i`, all it holds and refers to being known.
fn unfold(survey: &Survey, i: usize, sizes: &[Size], cut: &BTreeSet<(usize, usize)>) -> Size {
    let mut whole = Size { state: State::Done, depth: 1, elements: 1, ..Size::default() };
    let Some(item) = survey.items.get(i) else { return whole };
    whole.shapes = u64::from(item.shape);
    whole.corners = item.corners;
    whole.elements += item.corners / CORNERS + item.letters.saturating_mul(LETTER);
    whole.letters = item.letters;
    let known = |to: usize| sizes.get(to).copied().unwrap_or_default();
    for part in item.children.iter().map(|&child| known(child)) {
        whole.depth = whole.depth.max(part.depth.saturating_add(1));
        whole.elements = whole.elements.saturating_add(part.elements);
        whole.shapes = whole.shapes.saturating_add(part.shapes);
        whole.corners = whole.corners.saturating_add(part.corners);
    }
    let kept = |(r, reference): (usize, &'_ Reference)| {
        let done = known(reference.to).state == State::Done;
        (done && !cut.contains(&(i, r))).then(|| (reference.link, known(reference.to)))
    };
    let references: Vec<(Link, Size)> = item.references.iter().enumerate().filter_map(kept).collect();
    for (link, part) in references {
        whole.depth = whole.depth.max(part.depth.saturating_add(1));
        let elements = match link {
            Link::Once => {
                whole.shapes = whole.shapes.saturating_add(part.shapes);
                whole.corners = whole.corners.saturating_add(part.corners);
                part.elements
            }
            Link::EachShape => part.elements.saturating_mul(whole.shapes),
            Link::EachCorner => part.elements.saturating_mul(whole.corners),
            Link::Gradient => GRADIENT.saturating_mul(whole.shapes),
        };
        whole.elements = whole.elements.saturating_add(elements);
    }
    whole
}

fn refuse_excess(survey: &Survey, i: usize, size: &Size) -> Result<(), Error> {
    let what = if size.depth > DEEPEST {
        format!("elements and references nest deeper than {DEEPEST}")
    } else if size.letters > MOST_LETTERS {
        format!("the text has more than {MOST_LETTERS} letters")
    } else if size.elements > MOST_UNFOLDED {
        format!("with all it refers to it unfolds to more than {MOST_UNFOLDED} elements")
    } else {
        return Ok(());
    };
    let place = survey.items.get(i).map_or(String::new(), |item| format!("{}: ", place(item.node)));
    Err(Error::TooLarge { place, what, advice: "simplify the drawing, or turn it to plain outlines".into() })
}

/// Takes a circular reference out of the text.
fn cut_reference(
    survey: &Survey,
    (i, r): (usize, usize),
    text: &str,
    edits: &mut Edits,
    notes: &mut Notes,
) -> Result<(), Error> {
    let Some(item) = survey.items.get(i) else { return Ok(()) };
    let Some(reference) = item.references.get(r) else { return Ok(()) };
    notes.add(Kind::Circular, || words(item.node));
    let root = survey.items.first().map_or(0, |root| root.node.range().start);
    match &reference.source {
        Source::Attribute(range) if range.start >= root => {
            let none = if reference.href { format!("#{}none", survey.prefix) } else { "none".into() };
            edits.replace(range.clone(), none);
            return Ok(());
        }
        Source::Style(range) if range.start >= root => {
            let style = text.get(range.clone()).unwrap_or("");
            for (at, _) in style.match_indices("url(") {
                let end = style.get(at..).and_then(|rest| rest.find(')')).map(|end| at + end + 1);
                if let Some(end) = end
                    && style.get(at..end).is_some_and(|url| url.contains(&reference.id))
                {
                    edits.replace(range.start + at..range.start + end, "none");
                    return Ok(());
                }
            }
        }
        _ => {}
    }
    Err(Error::Unreadable { what: format!("{}: it refers to itself", place(item.node)) })
}
