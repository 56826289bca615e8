//! Limits that are checked on the bare text, before any parser sees it.
//!
//! One pass over the tags and entity declarations. It judges size alone and
//! leaves well-formedness to the XML parser, which takes quadratic time for
//! attributes of one element and has no limit on what entities unfold to at
//! the top level.

use crate::Error;
use crate::error::quote;
use std::collections::BTreeMap;

/// The most elements a drawing may have in its text.
pub(crate) const MOST_ELEMENTS: usize = 250_000;
/// The most attributes one element may have.
const MOST_ATTRIBUTES: usize = 256;
/// The most attributes a drawing may have in its text: each takes some 170 bytes of memory.
const MOST_IN_ALL: usize = 1_000_000;
/// The longest outline, in bytes: it takes half a gigabyte to resolve.
const LONGEST_OUTLINE: usize = 16 << 20;
/// The longest value of any other attribute, in bytes.
const LONGEST_VALUE: usize = 1 << 20;
/// The most characters that all entities of a drawing may unfold to.
const MOST_ENTITY_TEXT: u64 = 4 << 20;
/// How deep entities may nest; the XML parser has the same limit.
const DEEPEST_ENTITY: usize = 10;

/// Refuses a text that would cost a parser too much.
pub(crate) fn skim(text: &str) -> Result<(), Error> {
    let mut skim = Skim { text, at: 0, elements: 0, attributes: 0, entities: BTreeMap::new(), unfolded: 0 };
    skim.run()
}

struct Skim<'a> {
    text: &'a str,
    at: usize,
    elements: usize,
    attributes: usize,
    /// What each entity stands for, in bytes.
    entities: BTreeMap<&'a str, u64>,
    unfolded: u64,
}

impl<'a> Skim<'a> {
    fn run(&mut self) -> Result<(), Error> {
        while let Some(rest) = self.text.get(self.at..).filter(|rest| !rest.is_empty()) {
            let Some(next) = rest.find(['<', '&']) else { break };
            self.at += next;
            let rest = rest.get(next..).unwrap_or("");
            if rest.starts_with('&') {
                self.reference()?;
            } else if rest.starts_with("<!--") {
                self.skip_past("-->");
            } else if rest.starts_with("<![CDATA[") {
                self.skip_past("]]>");
            } else if rest.starts_with("<?") {
                self.skip_past("?>");
            } else if rest.starts_with("<!DOCTYPE") {
                self.doctype()?;
            } else if rest.starts_with("</") {
                self.skip_past(">");
            } else {
                self.element()?;
            }
        }
        Ok(())
    }

    fn skip_past(&mut self, end: &str) {
        let rest = self.text.get(self.at..).unwrap_or("");
        self.at = rest.find(end).map_or(self.text.len(), |found| self.at + found + end.len());
    }

    /// A start tag: its attributes, and the entities in their values.
    fn element(&mut self) -> Result<(), Error> {
        let start = self.at;
        self.elements += 1;
        if self.elements > MOST_ELEMENTS {
            return Err(self.too_large(start, format!("the drawing has more than {MOST_ELEMENTS} elements")));
        }
        self.at += 1;
        let mut attributes = 0;
        let mut mark = None;
        // Where the value that is being read begins, or the name before the next one.
        let mut from = self.at;
        let mut name = "";
        while let Some(&byte) = self.text.as_bytes().get(self.at) {
            match (byte, mark) {
                (b'>', None) => break,
                (b'"' | b'\'', None) => {
                    mark = Some(byte);
                    attributes += 1;
                    name = name_before_value(self.text.get(from..self.at).unwrap_or(""));
                    from = self.at + 1;
                }
                (b'&', _) => {
                    self.reference()?;
                    continue;
                }
                (_, Some(open)) if open == byte => {
                    mark = None;
                    self.value(start, name, self.at - from)?;
                    from = self.at + 1;
                }
                _ => {}
            }
            self.at += 1;
        }
        self.attributes += attributes;
        if self.attributes > MOST_IN_ALL {
            return Err(self.too_large(start, format!("the drawing has more than {MOST_IN_ALL} attributes")));
        }
        if attributes > MOST_ATTRIBUTES {
            let what = format!("an element has {attributes} attributes, more than {MOST_ATTRIBUTES}");
            return Err(self.too_large(start, what));
        }
        Ok(())
    }

    /// Refuses an attribute with a value too long, in bytes. What an image holds is not looked at.
    fn value(&self, start: usize, name: &str, length: usize) -> Result<(), Error> {
        let most = match name {
            "href" | "xlink:href" => usize::MAX,
            "d" | "points" => LONGEST_OUTLINE,
            _ => LONGEST_VALUE,
        };
        if length <= most {
            return Ok(());
        }
        let what = format!("the attribute {} is {} kB long, more than {} kB", quote(name), length >> 10, most >> 10);
        Err(self.too_large(start, what))
    }

    /// An `&name;`, counted by what it unfolds to.
    fn reference(&mut self) -> Result<(), Error> {
        let start = self.at;
        self.at += 1;
        let rest = self.text.get(self.at..).unwrap_or("");
        if let Some(size) = entity_name(rest).and_then(|name| self.entities.get(name)) {
            self.unfolded = self.unfolded.saturating_add(*size);
            if self.unfolded > MOST_ENTITY_TEXT {
                let what = format!("the entities of the drawing unfold to more than {} MB", MOST_ENTITY_TEXT >> 20);
                return Err(self.too_large(start, what));
            }
        }
        Ok(())
    }

    /// The document type: entity declarations, up to the closing `>`.
    fn doctype(&mut self) -> Result<(), Error> {
        let start = self.at;
        self.at += "<!DOCTYPE".len();
        let mut declared: BTreeMap<&'a str, &'a str> = BTreeMap::new();
        let mut inside = false;
        let mut mark = None;
        while let Some(rest) = self.text.get(self.at..).filter(|rest| !rest.is_empty()) {
            let byte = rest.as_bytes().first().copied().unwrap_or(b' ');
            if mark.is_none() && rest.starts_with("<!--") {
                self.skip_past("-->");
                continue;
            }
            if mark.is_none()
                && let Some((name, value, length)) = rest.strip_prefix("<!ENTITY").and_then(declaration)
            {
                declared.entry(name).or_insert(value);
                self.at += "<!ENTITY".len() + length;
                continue;
            }
            match (byte, mark) {
                (b'"' | b'\'', None) => mark = Some(byte),
                (_, Some(open)) if open == byte => mark = None,
                (b'[', None) => inside = true,
                (b']', None) => inside = false,
                (b'>', None) if !inside => break,
                _ => {}
            }
            self.at += rest.chars().next().map_or(1, char::len_utf8);
        }
        for name in declared.keys() {
            let size = unfolded_size(name, &declared, &mut self.entities, 0);
            if size.is_none() {
                let what = format!("the entity {} refers to itself or nests too deep", quote(name));
                return Err(self.too_large(start, what));
            }
        }
        Ok(())
    }

    fn too_large(&self, at: usize, what: String) -> Error {
        let before = self.text.get(..at).unwrap_or("");
        let line = before.bytes().filter(|&byte| byte == b'\n').count() + 1;
        Error::TooLarge {
            place: format!("line {line}: "),
            what,
            advice: "simplify the drawing, or save it as plain SVG".into(),
        }
    }
}

/// The name of an attribute in the text of its tag before its value.
fn name_before_value(text: &str) -> &str {
    let name = text.trim_end().trim_end_matches('=').trim_end();
    name.rsplit(char::is_whitespace).next().unwrap_or("")
}

/// The name of an entity at the start of `rest`, which follows an ampersand.
fn entity_name(rest: &str) -> Option<&str> {
    let end = rest.bytes().take(256).position(|byte| byte == b';')?;
    rest.get(..end).filter(|name| !name.starts_with('#'))
}

/// Name, value and length of the declaration that goes on with `rest`.
fn declaration(rest: &str) -> Option<(&str, &str, usize)> {
    let body = rest.trim_start();
    let name_end = body.find(|c: char| c.is_whitespace())?;
    let name = body.get(..name_end)?;
    let value = body.get(name_end..)?.trim_start();
    let mark = value.chars().next().filter(|c| matches!(c, '"' | '\''))?;
    let text = value.get(1..)?;
    let end = text.find(mark)?;
    let length = rest.len() - text.len() + end + 1;
    Some((name, text.get(..end)?, length))
}

/// How many bytes an entity unfolds to; `None` for one that nests too deep.
fn unfolded_size<'a>(
    name: &'a str,
    declared: &BTreeMap<&'a str, &'a str>,
    known: &mut BTreeMap<&'a str, u64>,
    depth: usize,
) -> Option<u64> {
    if let Some(&size) = known.get(name) {
        return Some(size);
    }
    if depth > DEEPEST_ENTITY {
        return None;
    }
    let value: &'a str = declared.get(name)?;
    let mut size = value.len() as u64;
    for (at, _) in value.match_indices('&') {
        let inner = value.get(at + 1..).and_then(entity_name);
        if let Some((inner, _)) = inner.and_then(|inner| declared.get_key_value(inner)) {
            size = size.saturating_add(unfolded_size(inner, declared, known, depth + 1)?);
        }
    }
    known.insert(name, size);
    Some(size)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(text: &str) -> String {
        skim(text).expect_err("too large").to_string()
    }

    #[test]
    fn ordinary_texts_pass() {
        let text = r#"<?xml version="1.0"?><!DOCTYPE svg PUBLIC "a>b" "c" [<!ENTITY ns "http://x"> <!-- ' -->]>
            <svg xmlns="&ns;" a="1 > 0"><!-- < --><![CDATA[ <x> ]]>a &amp; b &#233;</svg>"#;
        assert_eq!(skim(text), Ok(()));
    }

    #[test]
    fn laughs_and_long_entities_are_refused() {
        let mut text = String::from("<!DOCTYPE svg [<!ENTITY a0 'ha'>");
        for i in 1..9 {
            text += &format!("<!ENTITY a{i} '{}'>", format!("&a{};", i - 1).repeat(10));
        }
        assert!(refused(&(text + "]><svg>&a8;</svg>")).contains("unfold"));
        let long = format!("<!DOCTYPE svg [<!ENTITY a '{}'>]><svg>{}</svg>", "x".repeat(50_000), "&a;".repeat(20_000));
        assert!(refused(&long).contains("unfold"));
        let attribute = format!("<!DOCTYPE svg [<!ENTITY a '{}'>]><svg b='{}'/>", "x".repeat(50_000), "&a;".repeat(99));
        assert!(refused(&attribute).contains("unfold"));
    }

    #[test]
    fn loops_of_entities_are_refused() {
        assert!(refused("<!DOCTYPE s [<!ENTITY a '&b;'><!ENTITY b '&a;'>]><s/>").contains("itself"));
    }

    #[test]
    fn many_elements_and_attributes_are_refused() {
        assert!(refused(&"<a/>".repeat(MOST_ELEMENTS + 1)).contains("elements"));
        let many: String = (0..300).map(|i| format!(" a{i}='1'")).collect();
        assert!(refused(&format!("<svg{many}/>")).contains("attributes"));
        let element = format!("<g{}/>", " a='1'".repeat(200));
        assert!(refused(&element.repeat(5_001)).contains("more than 1000000 attributes"));
    }

    #[test]
    fn long_values_are_refused() {
        let outline = |data: &str| format!("<svg><path fill = 'red' d\n= \"{data}\"/></svg>");
        assert!(refused(&outline(&"L1 1".repeat(5_000_000))).contains("attribute d is 19531 kB long"));
        assert_eq!(skim(&outline(&"L1 1".repeat(2_000_000))), Ok(()));
        assert!(
            refused(&format!("<text font-family='{}'/>", "a,".repeat(1_000_000))).contains("attribute font-family")
        );
        assert_eq!(skim(&format!("<image xlink:href='data:{}'/>", "A".repeat(20_000_000))), Ok(()));
    }

    #[test]
    fn text_that_is_cut_short_ends() {
        for text in ["<svg a='", "<!DOCTYPE svg [", "<!--", "<svg &", "<![CDATA[", "<!ENTITY", "&", "<"] {
            assert_eq!(skim(text), Ok(()), "{text}");
        }
    }
}
