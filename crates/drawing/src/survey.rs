//! One look over the document's elements before the resolver gets it.
//!
//! Notes what cannot be sewn, gives every nameless shape an id by which it is
//! found again, and lists what refers to what.

use crate::edit::Edits;
use crate::error::{Place, quote};
use crate::links::MOST_CORNERS;
use crate::names::clean;
use crate::notes::{Kind, Notes};
use crate::styles::{MITRE_LIMIT, Source, Styles};
use crate::{arcs, closes};
use roxmltree::{Document, Node};
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

/// The namespace of SVG.
pub(crate) const SVG: &str = "http://www.w3.org/2000/svg";
const XLINK: &str = "http://www.w3.org/1999/xlink";

/// How a reference multiplies what it refers to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Link {
    /// Once.
    Once,
    /// For each shape below, because shapes inherit their paint.
    EachShape,
    /// For each corner below.
    EachCorner,
    /// A gradient: it is not unfolded, but prepared for each shape.
    Gradient,
}

/// A reference from one element to another.
#[derive(Clone, Debug)]
pub(crate) struct Reference {
    /// The element referred to, as its place in [`Survey::items`].
    pub to: usize,
    /// How often.
    pub link: Link,
    /// Where it is written.
    pub source: Source,
    /// Whether it is an `href`.
    pub href: bool,
    /// The id.
    pub id: String,
}

/// An element.
#[derive(Clone, Debug)]
pub(crate) struct Item<'a> {
    /// The element itself.
    pub node: Node<'a, 'a>,
    /// Elements inside it.
    pub children: Vec<usize>,
    /// What it refers to.
    pub references: Vec<Reference>,
    /// Whether it is a shape or a text.
    pub shape: bool,
    /// About how many corners its outline has.
    pub corners: u64,
    /// How many letters its text has, if it is a text.
    pub letters: u64,
}

/// What an id of the prepared text stands for.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Label {
    /// The part it adds to a name.
    pub name: String,
    /// Whether it is a `<use>`.
    pub is_use: bool,
}

/// Everything that was seen.
pub(crate) struct Survey<'a> {
    /// The elements, in the order of the text; the root is the first.
    pub items: Vec<Item<'a>>,
    /// What the ids stand for.
    pub labels: BTreeMap<String, Label>,
    /// Ids of shapes that must come out of the resolver.
    pub expected: Vec<(String, Node<'a, 'a>)>,
    /// Ids of shapes whose place or size is no number: they are not drawn.
    pub broken: BTreeSet<String>,
    /// A text that occurs nowhere in the drawing, with which given ids begin.
    pub prefix: String,
}

/// The place of an element.
pub(crate) fn place(node: Node) -> Place {
    let at = node.document().text_pos_at(node.range().start);
    Place { line: at.row, column: at.col, id: quote(node.attribute("id").unwrap_or("")) }
}

/// An element in words: its id, or what it is and where.
pub(crate) fn words(node: Node) -> String {
    match node.attribute("id").and_then(clean) {
        Some(id) => id,
        None => format!("<{}> in line {}", quote(node.tag_name().name()), place(node).line),
    }
}

/// Looks over `document`, the parsed form of `text`.
pub(crate) fn survey<'a>(
    document: &'a Document<'a>,
    text: &str,
    styles: &'a Styles<'a>,
    has_fonts: bool,
    edits: &mut Edits,
    notes: &mut Notes,
) -> Survey<'a> {
    let mut prefix = String::from("shape-");
    while text.contains(&prefix) {
        prefix.insert(0, 'x');
    }
    let nodes: Vec<Node> = document.root_element().descendants().filter(Node::is_element).collect();
    let by_id = nodes.iter().enumerate().rev().filter_map(|(i, node)| Some((node.attribute("id")?, i))).collect();
    let survey = Survey {
        items: Vec::with_capacity(nodes.len()),
        labels: BTreeMap::new(),
        expected: vec![],
        broken: BTreeSet::new(),
        prefix,
    };
    let mut surveyor = Surveyor {
        styles,
        has_fonts,
        edits,
        notes,
        by_id,
        root_start: document.root_element().range().start,
        places: BTreeMap::new(),
        corners: 0,
        full: 0.0,
        counts: BTreeMap::new(),
        text,
        nodes: &nodes,
        survey,
        path: None,
        beside: String::new(),
        attributes: String::new(),
    };
    for (i, &node) in nodes.iter().enumerate() {
        surveyor.element(i, node);
    }
    surveyor.rename_doubles();
    surveyor.survey
}

/// The largest mitre limit that is asked of the resolver: a spike of it is longer than any drawing.
const LONGEST_MITRE: f64 = 1e9;

/// What an element lies in.
#[derive(Clone, Copy, Debug, Default)]
struct Inside {
    /// Something that is drawn only where it is referred to.
    template: bool,
    /// Something that is never drawn as it is: a mask or a filter.
    unseen: bool,
    /// Something that is not displayed, or perhaps not.
    hidden: bool,
    /// A text, whose letters are counted once, for the outermost.
    text: bool,
}

struct Surveyor<'a, 's> {
    styles: &'a Styles<'a>,
    has_fonts: bool,
    edits: &'s mut Edits,
    notes: &'s mut Notes,
    by_id: BTreeMap<&'a str, usize>,
    root_start: usize,
    /// For each element its place among the items, and what its children lie in.
    places: BTreeMap<usize, (usize, Inside)>,
    /// The corners of all elements so far.
    corners: u64,
    /// The most user units that 100 % were so far.
    full: f64,
    /// How many elements of each kind there were.
    counts: BTreeMap<&'a str, usize>,
    text: &'s str,
    nodes: &'s [Node<'a, 'a>],
    survey: Survey<'a>,
    /// Of the element that is looked at: its path data, without radii that are too large,
    path: Option<Cow<'a, str>>,
    /// ... declarations that go into its `style`,
    beside: String,
    /// ... and attributes that it gets.
    attributes: String,
}

impl<'a> Surveyor<'a, '_> {
    fn element(&mut self, i: usize, node: Node<'a, 'a>) {
        let parent = node.parent_element().and_then(|parent| self.places.get(&parent.id().get_usize()).copied());
        let (parent, mut inside) = parent.map_or((None, Inside::default()), |(place, inside)| (Some(place), inside));
        if let Some(parent) = parent.and_then(|parent| self.survey.items.get_mut(parent)) {
            parent.children.push(i);
        }
        let name = if matches!(node.tag_name().namespace(), None | Some(SVG)) { node.tag_name().name() } else { "" };
        let properties = self.styles.properties(node);
        inside.hidden |= properties.iter().any(|(name, value, _)| *name == "display" && value.trim() == "none");
        inside.hidden |= name == "switch";
        inside.unseen |= matches!(name, "mask" | "filter");
        let letters = if name == "text" && !inside.text { all_text(node).len() as u64 } else { 0 };
        let is_inner_text = inside.text;
        inside.text |= name == "text";
        inside.template |=
            matches!(name, "defs" | "symbol" | "clipPath" | "marker" | "pattern" | "linearGradient" | "radialGradient");
        self.places.insert(node.id().get_usize(), (i, inside));
        let shape =
            matches!(name, "path" | "rect" | "circle" | "ellipse" | "line" | "polyline" | "polygon" | "text" | "image");
        let corners = self.corners(node, name);
        self.corners = self.corners.saturating_add(corners);
        let item = Item { node, children: vec![], references: vec![], shape, corners, letters };
        self.survey.items.push(item);
        self.references(i, node, name, &properties, inside);
        for (_, value, source) in properties.iter().filter(|property| property.0 == MITRE_LIMIT) {
            self.lower_mitre_limit(node, value, source);
        }
        if !inside.unseen && !inside.hidden {
            self.note(node, if is_inner_text { "" } else { name }, &properties);
        }
        if shape || matches!(name, "use" | "g" | "a" | "svg") {
            self.label(node, name, inside);
        }
        self.write_beside(node);
        self.write_attributes(node);
    }

    /// About how many corners an element's outline has; path data that would have too many is changed.
    fn corners(&mut self, node: Node<'a, 'a>, name: &str) -> u64 {
        let attribute = |name: &str| node.attribute(name).unwrap_or("");
        self.path = None;
        let full = self.full;
        if matches!(name, "svg" | "symbol" | "marker" | "pattern") {
            let sizes = attribute("viewBox").split([' ', ',']).chain([attribute("width"), attribute("height")]);
            self.full = sizes.map(|size| arcs::radius(size, full)).fold(full, f64::max);
        }
        // Two numbers make a point, and each takes two characters at least.
        let points = |data: &str| data.len() as u64 / 4 + 1;
        match name {
            "path" => {
                let Some(data) = node.attributes().find(|attribute| attribute.name() == "d") else { return 1 };
                let count = |data: &str| points(data).saturating_add(arcs::corners_of_path(data));
                let closed = closes::single(data.value());
                let closed_once = closed.is_some();
                let lowered = arcs::lowered(closed.as_deref().unwrap_or(data.value())).or(closed);
                let Some(changed) = lowered else {
                    self.path = Some(Cow::Borrowed(data.value()));
                    return count(data.value());
                };
                // What comes out of an entity stays as it is, and the drawing is refused for it.
                let corners = match data.range().start >= self.root_start {
                    true => count(&changed),
                    false if closed_once => u64::MAX,
                    false => count(data.value()),
                };
                if data.range().start >= self.root_start {
                    self.edits.replace(data.range_value(), changed.clone());
                }
                self.path = Some(Cow::Owned(changed));
                corners
            }
            "polyline" | "polygon" => points(attribute("points")),
            "line" => 8,
            "rect" | "circle" | "ellipse" => {
                let radii = ["r", "rx", "ry"].map(|name| arcs::radius(attribute(name), full));
                arcs::corners(radii.into_iter().fold(0.0, f64::max)).max(8)
            }
            _ => 0,
        }
    }

    /// The resolver fails at a mitre limit beyond single precision; one above [`LONGEST_MITRE`] says no more than that.
    fn lower_mitre_limit(&mut self, node: Node, value: &str, source: &Source) {
        if value.trim().parse::<f64>().is_ok_and(|limit| limit > LONGEST_MITRE) {
            self.set(node, (MITRE_LIMIT, value), source, &LONGEST_MITRE.to_string());
        }
    }

    /// The resolver takes a paint of another file for black; what is to stand for it is said behind.
    fn take_fallback(&mut self, node: Node, (name, value): (&str, &str), source: &Source) -> bool {
        let fallback = fallback(value);
        fallback.is_some_and(|fallback| self.set(node, (name, value), source, fallback))
    }

    /// Sets what was `value` before in the text; whether that can be done.
    fn set(&mut self, node: Node, (name, value): (&str, &str), source: &Source, new: &str) -> bool {
        let (Source::Attribute(range) | Source::Style(range)) = source else { return self.set_beside(node, name, new) };
        let value = value.trim();
        if range.start < self.root_start {
            return false;
        }
        let Some(at) = self.text.get(range.clone()).and_then(|text| text.find(value)) else { return false };
        let start = range.start + at;
        self.edits.replace(start..start + value.len(), new);
        true
    }

    /// Sets on the element itself what a style sheet sets otherwise, once all of it is seen.
    fn set_beside(&mut self, node: Node, name: &str, new: &str) -> bool {
        let own = node.attribute_node("style").map_or(node.range().start, |style| style.range_value().start);
        if own < self.root_start {
            return false;
        }
        self.beside.push_str(&format!("{name}:{new};"));
        true
    }

    /// Writes what was set beside into the element's `style`, behind other declarations of the same.
    fn write_beside(&mut self, node: Node) {
        if self.beside.is_empty() {
            return;
        }
        let set = std::mem::take(&mut self.beside);
        match node.attribute_node("style") {
            Some(style) => self.edits.insert(style.range_value().end, format!(";{set}")),
            None => self.attributes.push_str(&format!(" style=\"{set}\"")),
        }
    }

    /// Writes new attributes into the element's tag.
    fn write_attributes(&mut self, node: Node) {
        let start = node.range().start;
        let attributes = std::mem::take(&mut self.attributes);
        if attributes.is_empty() {
            return;
        }
        if let Some(rest) = self.text.get(start + 1..) {
            let tag = rest.find(|c: char| c.is_whitespace() || matches!(c, '/' | '>')).unwrap_or(rest.len());
            self.edits.insert(start + 1 + tag, attributes);
        }
    }

    /// Says what of this element cannot be sewn as drawn.
    fn note(&mut self, node: Node, name: &str, properties: &[(&'static str, &str, Source)]) {
        let words = || words(node);
        for (property, value, source) in properties {
            let set = !matches!(value.trim(), "none" | "normal" | "inherit" | "initial" | "");
            match *property {
                "fill" | "stroke"
                    if svgtypes::Paint::from_str(value).is_err()
                        && !self.take_fallback(node, (property, value), source) =>
                {
                    self.notes.add(Kind::BadColour, words)
                }
                "filter" if set => self.notes.add(Kind::Filter, words),
                "mix-blend-mode" if set => self.notes.add(Kind::Blend, words),
                _ => {}
            }
        }
        match name {
            "image" => self.notes.add(Kind::Image, words),
            "foreignObject" => self.notes.add(Kind::ForeignObject, words),
            "text" if !self.has_fonts && !all_text(node).trim().is_empty() => {
                let sample = clean(&all_text(node)).unwrap_or_default();
                self.notes.add(Kind::NoFonts, || format!("“{sample}”"));
            }
            "style" if node.text().is_some_and(|text| text.contains("@import") || text.contains("@font-face")) => {
                self.notes.add(Kind::StyleImport, words);
            }
            // Of a drawing that is about to be refused nothing is read.
            "path" if self.corners <= MOST_CORNERS && self.path.as_deref().is_some_and(arcs::is_broken) => {
                self.notes.add(Kind::BadNumbers, words)
            }
            _ => {}
        }
        if node.parent_element().is_some() && has_broken_numbers(node) {
            self.notes.add(Kind::NoNumbers, words);
        }
    }

    /// Lists what the element refers to.
    fn references(
        &mut self,
        i: usize,
        node: Node<'a, 'a>,
        name: &str,
        properties: &[(&'static str, &str, Source)],
        inside: Inside,
    ) {
        let mut found = Vec::new();
        for (property, value, source) in properties {
            if matches!(*property, "display" | "mix-blend-mode" | MITRE_LIMIT) {
                continue;
            }
            for target in urls(value) {
                let skipped = *property == "filter";
                if let Some(to) = self.target(node, target, inside) {
                    let link = match *property {
                        _ if skipped => continue,
                        "fill" | "stroke" if self.is_gradient(to) => Link::Gradient,
                        "fill" | "stroke" => Link::EachShape,
                        "clip-path" | "mask" => Link::Once,
                        _ => Link::EachCorner,
                    };
                    found.push(Reference { to, link, source: source.clone(), href: false, id: target.into() });
                }
            }
        }
        let follows = matches!(name, "use" | "linearGradient" | "radialGradient" | "pattern" | "textPath" | "tref");
        let href = node.attributes().filter(|attribute| attribute.name() == "href");
        let href = href.filter(|attribute| matches!(attribute.namespace(), None | Some(XLINK)));
        if follows && let Some(attribute) = href.min_by_key(|attribute| attribute.namespace().is_some()) {
            let target = attribute.value().trim();
            if let Some(to) = self.target(node, target, inside) {
                let source = Source::Attribute(attribute.range_value());
                found.push(Reference { to, link: Link::Once, source, href: true, id: target.into() });
            }
        }
        if let Some(item) = self.survey.items.get_mut(i) {
            item.references = found;
        }
    }

    fn is_gradient(&self, to: usize) -> bool {
        self.nodes.get(to).is_some_and(|node| node.tag_name().name().ends_with("Gradient"))
    }

    /// Of several elements with the same id a reference means the first, but
    /// the resolver takes another one now and then: the others get ids of their own.
    fn rename_doubles(&mut self) {
        let items = &self.survey.items;
        let referenced: BTreeSet<usize> = items.iter().flat_map(|item| &item.references).map(|r| r.to).collect();
        let doubles = self.nodes.iter().enumerate().filter_map(|(i, node)| {
            let first = self.by_id.get(node.attribute("id")?)?;
            (*first != i && referenced.contains(first)).then_some(node)
        });
        for node in doubles {
            let Some(id) = node.attributes().find(|attribute| attribute.name() == "id") else { continue };
            if id.range().start < self.root_start {
                continue;
            }
            let new = format!("{}{}", self.survey.prefix, node.id().get_usize());
            self.edits.replace(id.range_value(), new.clone());
            if let Some(label) = self.survey.labels.get(id.value()).cloned() {
                self.survey.labels.insert(new, label);
            }
        }
    }

    /// The element that `#id` stands for; what cannot be found is said.
    fn target(&mut self, node: Node, target: &str, inside: Inside) -> Option<usize> {
        let Some(id) = target.strip_prefix('#') else {
            if !target.is_empty() && !inside.unseen {
                self.notes.add(Kind::OutsideFile, || words(node));
            }
            return None;
        };
        let found = self.by_id.get(id).copied();
        if found.is_none() && !inside.unseen && !inside.hidden {
            self.notes.add(Kind::Dangling, || words(node));
        }
        found
    }

    /// Remembers what an element is called, and gives it an id if it has none.
    fn label(&mut self, node: Node<'a, 'a>, name: &'a str, inside: Inside) {
        let count = self.counts.entry(name).or_insert(0);
        *count += 1;
        let count = *count;
        let is_use = name == "use";
        let group = matches!(name, "g" | "a" | "svg");
        let own = node.attribute("id");
        let cleaned = own.and_then(clean);
        if group && cleaned.is_none() {
            return;
        }
        let label = cleaned.unwrap_or_else(|| {
            let target = node.attributes().find(|attribute| is_use && attribute.name() == "href");
            let target = target.and_then(|attribute| attribute.value().trim().strip_prefix('#')).and_then(clean);
            target.unwrap_or_else(|| format!("{name}-{count}"))
        });
        let id = match own {
            Some(own) if !own.trim().is_empty() => own.to_string(),
            _ => self.give_id(node),
        };
        self.survey.labels.entry(id.clone()).or_insert(Label { name: label, is_use });
        if node.parent_element().is_some() && has_broken_numbers(node) {
            self.survey.broken.insert(id.clone());
        }
        let draws = !matches!(name, "text" | "image" | "use") && !group;
        if draws && !inside.template && !inside.unseen && !inside.hidden && has_geometry(node) {
            self.survey.expected.push((id, node));
        }
    }

    /// Gives the element an id.
    fn give_id(&mut self, node: Node) -> String {
        let id = format!("{}{}", self.survey.prefix, node.id().get_usize());
        let start = node.range().start;
        if start < self.root_start {
            return id; // it comes out of an entity, whose text is not touched
        }
        if let Some(empty) = node.attributes().find(|attribute| attribute.name() == "id") {
            self.edits.replace(empty.range_value(), id.clone());
            return id;
        }
        self.attributes.push_str(&format!(" id=\"{id}\""));
        id
    }
}

/// What every `url(...)` in a value refers to.
fn urls(value: &str) -> impl Iterator<Item = &str> {
    value.match_indices("url(").filter_map(move |(at, _)| {
        let rest = value.get(at + 4..)?;
        let end = rest.find(')')?;
        Some(rest.get(..end)?.trim().trim_matches(['"', '\'']).trim())
    })
}

/// What a paint of another file leaves its place to: `url(file.svg#id) red`.
fn fallback(value: &str) -> Option<&str> {
    let (url, rest) = value.trim().strip_prefix("url(")?.split_once(')')?;
    let (own, rest) = (url.trim().trim_matches(['"', '\'']).trim().starts_with('#'), rest.trim());
    (!own && !rest.contains("url(") && svgtypes::Paint::from_str(rest).is_ok()).then_some(rest)
}

fn all_text(node: Node) -> String {
    node.descendants().filter(Node::is_text).filter_map(|node| node.text()).collect()
}

/// Whether the author gave the element an outline at all.
fn has_geometry(node: Node) -> bool {
    match node.tag_name().name() {
        "path" => node.attribute("d").is_some_and(|d| !d.trim().is_empty()),
        "polyline" | "polygon" => node.attribute("points").is_some_and(|points| !points.trim().is_empty()),
        _ => true,
    }
}

/// Whether an attribute that says where the element is, or how large, is no number: the resolver would take the usual
/// value for it, and the shape would lie somewhere else.
fn has_broken_numbers(node: Node) -> bool {
    const LENGTHS: [&str; 13] = ["x", "y", "width", "height", "cx", "cy", "r", "rx", "ry", "x1", "y1", "x2", "y2"];
    let is_broken = |name: &str, reads: &dyn Fn(&str) -> bool| {
        node.attribute(name)
            .map(str::trim)
            .is_some_and(|value| has_no_number(value) || !value.is_empty() && !reads(value))
    };
    // Texts place every letter by a list.
    let is_text = matches!(node.tag_name().name(), "text" | "tspan");
    let is_length = |value: &str| is_text || value == "auto" || value.parse::<svgtypes::Length>().is_ok();
    LENGTHS.into_iter().any(|name| is_broken(name, &is_length))
        || is_broken("transform", &|value| value == "none" || value.parse::<svgtypes::Transform>().is_ok())
        || is_broken("points", &|_| true)
}

/// Whether a word of the value is `NaN`, `inf` or the like.
fn has_no_number(value: &str) -> bool {
    let words = value.split(|c: char| !c.is_ascii_alphanumeric());
    words.into_iter().any(|word| {
        word.eq_ignore_ascii_case("nan") || word.eq_ignore_ascii_case("inf") || word.eq_ignore_ascii_case("infinity")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn urls_in_values() {
        assert_eq!(urls("url(#a) red").collect::<Vec<_>>(), ["#a"]);
        assert_eq!(urls("url( '#a' ), url(\"b.svg#c\")").collect::<Vec<_>>(), ["#a", "b.svg#c"]);
        assert_eq!(urls("url(#a").count(), 0);
    }

    #[test]
    fn what_stands_behind_a_paint_elsewhere() {
        assert_eq!(fallback("url(a.svg#p) red"), Some("red"));
        assert_eq!(fallback(" url( 'a.svg#p' )  rgb(1, 2, 3) "), Some("rgb(1, 2, 3)"));
        for value in ["url(a.svg#p)", "url(#p) red", "url(a.svg#p) url(#q)", "url(a.svg#p) reddish", "red", "url(a red"]
        {
            assert_eq!(fallback(value), None, "{value}");
        }
    }

    #[test]
    fn places_and_sizes_that_cannot_be_read() {
        let broken = |element: &str| has_broken_numbers(Document::parse(element).unwrap().root_element());
        for bad in
            ["rect x='abc'", "circle r='3 4'", "g transform='rotate(20'", "g transform='foo(3)'", "line x1='NaN'"]
        {
            assert!(broken(&format!("<{bad}/>")), "{bad}");
        }
        let fine = ["rect x='' rx='auto' width='50%'", "text x='1 2 3'", "g transform='translate(1,2) scale(-1)'"];
        for good in fine.into_iter().chain(["circle cx='1e1mm' cy='.5' r='2'", "polygon points='1,2 3 4'"]) {
            assert!(!broken(&format!("<{good}/>")), "{good}");
        }
    }

    #[test]
    fn words_that_are_no_numbers() {
        assert!(has_no_number("translate(NaN 3)") && has_no_number("-Infinity") && !has_no_number("10 info"));
    }
}
