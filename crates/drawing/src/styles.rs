//! The properties of an element that the reader looks at itself, with CSS applied.
//!
//! The resolver applies CSS again on its own; here only what names other
//! things (paints, clip paths, markers, masks, filters) is wanted, and where
//! it is written, so that it can be edited.

use roxmltree::Node;
use simplecss::{AttributeOperator, DeclarationTokenizer, Element, PseudoClass, StyleSheet};
use std::ops::Range;

/// The most rules that a style sheet may apply, times the elements they apply to.
pub(crate) const MOST_MATCHES: usize = 20_000_000;
/// The most declarations that grouped selectors may unfold to.
const MOST_DECLARATIONS: usize = 200_000;
/// The most declarations of a text, times its length in bytes, summed over all texts: the reader of CSS goes through the
/// whole text for the place of every end of a value. So much takes about two seconds.
const MOST_EFFORT: u64 = 3_000_000_000;
/// The most rules, counted once for every `<style>` from theirs on: with each of them all rules so far are sorted again.
const MOST_SORTED: usize = 20_000_000;
/// The most parts that one selector may have.
const LONGEST_SELECTOR: usize = 6;

/// Where a property is written.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Source {
    /// As an attribute of its own, at these bytes.
    Attribute(Range<usize>),
    /// In the `style` attribute at these bytes.
    Style(Range<usize>),
    /// In a style sheet.
    Sheet,
}

/// The style sheets of a document.
pub(crate) struct Styles<'a> {
    sheet: StyleSheet<'a>,
}

/// How long a mitre may be, in stroke widths.
pub(crate) const MITRE_LIMIT: &str = "stroke-miterlimit";

/// Properties that are read.
const READ: [&str; 12] = [
    "fill",
    "stroke",
    "clip-path",
    "mask",
    "filter",
    "marker",
    "marker-start",
    "marker-mid",
    "marker-end",
    "mix-blend-mode",
    "display",
    MITRE_LIMIT,
];

impl<'a> Styles<'a> {
    /// Reads every `<style>`; the error says what is too large.
    pub fn read(document: &'a roxmltree::Document) -> Result<Styles<'a>, String> {
        let texts = || {
            let styles = document.descendants().filter(|node| node.has_tag_name("style"));
            styles
                .filter(|node| matches!(node.attribute("type"), None | Some("text/css")))
                .filter_map(|node| node.text())
        };
        if texts().map(unfolded_declarations).sum::<usize>() > MOST_DECLARATIONS {
            return Err(format!("the style sheet unfolds to more than {MOST_DECLARATIONS} declarations"));
        }
        let own = document.descendants().filter_map(|node| node.attribute("style"));
        if texts().chain(own).map(effort).fold(0, u64::saturating_add) > MOST_EFFORT {
            return Err("its styles have too many declarations in one place".into());
        }
        let mut sheet = StyleSheet::new();
        let mut sorted = 0usize;
        for text in texts() {
            sheet.parse_more(text);
            sorted = sorted.saturating_add(sheet.rules.len());
            if sorted > MOST_SORTED {
                return Err("its style sheets are too many".into());
            }
        }
        let longest = sheet.rules.iter().map(|rule| rule.selector.to_string().split_whitespace().count()).max();
        if longest.is_some_and(|parts| parts > LONGEST_SELECTOR) {
            return Err(format!("a selector of the style sheet has more than {LONGEST_SELECTOR} parts"));
        }
        Ok(Styles { sheet })
    }

    /// How many rules there are.
    pub fn len(&self) -> usize {
        self.sheet.rules.len()
    }

    /// Those of the properties in [`READ`] that are set on `node` itself.
    pub fn properties<'n>(&'n self, node: Node<'n, 'n>) -> Vec<(&'static str, &'n str, Source)> {
        let mut found: Vec<(&'static str, &str, Source, bool)> = Vec::new();
        let mut set = |name: &str, value, source: Source, important: bool| {
            let Some(name) = READ.into_iter().find(|read| *read == name) else { return };
            match found.iter_mut().find(|known| known.0 == name) {
                Some(known) if known.3 && !important => {}
                Some(known) => *known = (name, value, source, important),
                None => found.push((name, value, source, important)),
            }
        };
        for attribute in node.attributes().filter(|attribute| attribute.namespace().is_none()) {
            set(attribute.name(), attribute.value(), Source::Attribute(attribute.range_value()), false);
        }
        for rule in self.sheet.rules.iter().filter(|rule| rule.selector.matches(&Matched(node))) {
            for declaration in &rule.declarations {
                set(declaration.name, declaration.value, Source::Sheet, declaration.important);
            }
        }
        if let Some(style) = node.attribute_node("style") {
            for declaration in DeclarationTokenizer::from(style.value()) {
                set(declaration.name, declaration.value, Source::Style(style.range_value()), declaration.important);
            }
        }
        found.into_iter().map(|(name, value, source, _)| (name, value, source)).collect()
    }
}

/// What it takes to read the declarations of `text`.
fn effort(text: &str) -> u64 {
    let declarations = text.bytes().filter(|byte| matches!(byte, b';' | b'}')).count() as u64 + 1;
    declarations.saturating_mul(text.len() as u64)
}

/// How many declarations `a, b, c { x; y }` and its like make: grouped
/// selectors get a copy of the block each.
fn unfolded_declarations(text: &str) -> usize {
    let mut total = 0usize;
    for rule in text.split('}') {
        let (selectors, block) = rule.split_once('{').unwrap_or((rule, ""));
        let selectors = selectors.matches(',').count() + 1;
        total = total.saturating_add(selectors.saturating_mul(block.matches(';').count() + 1));
    }
    total
}

/// An element as the style sheet sees it.
struct Matched<'a>(Node<'a, 'a>);

impl Element for Matched<'_> {
    fn parent_element(&self) -> Option<Self> {
        self.0.parent_element().map(Matched)
    }

    fn prev_sibling_element(&self) -> Option<Self> {
        self.0.prev_sibling_element().map(Matched)
    }

    fn has_local_name(&self, name: &str) -> bool {
        self.0.tag_name().name() == name
    }

    fn attribute_matches(&self, local_name: &str, operator: AttributeOperator<'_>) -> bool {
        self.0.attribute(local_name).is_some_and(|value| operator.matches(value))
    }

    fn pseudo_class_matches(&self, class: PseudoClass<'_>) -> bool {
        matches!(class, PseudoClass::FirstChild) && self.prev_sibling_element().is_none()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn style_beats_sheet_beats_attribute() {
        let text = r#"<svg xmlns="http://www.w3.org/2000/svg"><style>.a{fill:blue} rect{stroke:red!important}</style>
            <rect class="a" fill="green" stroke="black" style="stroke:white"/><rect class="a" style="fill:url(#p)"/></svg>"#;
        let document = roxmltree::Document::parse(text).unwrap();
        let styles = Styles::read(&document).unwrap();
        let rects: Vec<_> = document.descendants().filter(|node| node.has_tag_name("rect")).collect();
        let first = styles.properties(rects[0]);
        assert_eq!(
            first.iter().map(|(name, value, _)| (*name, *value)).collect::<Vec<_>>(),
            [("fill", "blue"), ("stroke", "red")]
        );
        let second = styles.properties(rects[1]);
        assert!(second.iter().any(|(name, value, source)| {
            *name == "fill"
                && *value == "url(#p)"
                && matches!(source, Source::Style(range) if &text[range.clone()] == "fill:url(#p)")
        }));
    }

    #[test]
    fn selectors_that_multiply_are_refused() {
        let text = format!("<svg><style>{}x{{{}}}</style></svg>", "a,".repeat(1000), "fill:red;".repeat(1000));
        let document = roxmltree::Document::parse(&text).unwrap();
        assert!(Styles::read(&document).is_err());
    }
}
