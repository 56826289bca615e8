//! A small interpreter of ABNF (RFC 5234 and RFC 7405): enough to run the grammar of the docs.
//!
//! Knows alternatives, concatenations, repeats, groups, options, rule names,
//! quoted strings and `%x` characters and ranges. Matches by following all ways
//! at once, so that no order of alternatives matters.

use std::collections::{BTreeMap, BTreeSet};

/// An element of a rule.
#[derive(Debug)]
enum Element {
    Either(Vec<Element>),
    Sequence(Vec<Element>),
    Repeat(usize, usize, Box<Element>),
    Rule(String),
    /// Characters, and whether their case matters.
    Text(Vec<char>, bool),
    Range(char, char),
}

/// A grammar: rules by name.
#[derive(Debug)]
pub struct Grammar(BTreeMap<String, Element>);

impl Grammar {
    /// Parses rules, one after the other; lines that begin with a space go on.
    pub fn parse(text: &str) -> Grammar {
        let mut rules: Vec<String> = Vec::new();
        for line in text.lines().filter(|line| !line.trim().is_empty()) {
            match rules.last_mut() {
                Some(rule) if line.starts_with(' ') => *rule += line,
                _ => rules.push(line.to_string()),
            }
        }
        let rule = |rule: &String| {
            let (name, definition) = rule.split_once('=').expect("a rule has a `=`");
            let mut parser = Parser { text: definition.chars().collect(), at: 0 };
            let element = parser.either();
            assert_eq!(parser.at, parser.text.len(), "{rule}");
            (name.trim().to_string(), element)
        };
        let parsed: Vec<_> = rules.iter().map(rule).collect();
        let grammar = Grammar(parsed.into_iter().collect());
        assert_eq!(grammar.0.len(), rules.len(), "a rule is defined twice");
        grammar
    }

    /// Names that rules use, and names they define.
    pub fn names(&self) -> (BTreeSet<&str>, BTreeSet<&str>) {
        fn used<'a>(element: &'a Element, names: &mut BTreeSet<&'a str>) {
            match element {
                Element::Either(all) | Element::Sequence(all) => all.iter().for_each(|one| used(one, names)),
                Element::Repeat(_, _, one) => used(one, names),
                Element::Rule(name) => {
                    names.insert(name);
                }
                Element::Text(..) | Element::Range(..) => {}
            }
        }
        let mut names = BTreeSet::new();
        self.0.values().for_each(|element| used(element, &mut names));
        (names, self.0.keys().map(String::as_str).collect())
    }

    /// True when `rule` matches all of `text`.
    pub fn matches(&self, rule: &str, text: &str) -> bool {
        let text: Vec<char> = text.chars().collect();
        let ends = self.ends(&self.0[rule], &text, &BTreeSet::from([0]));
        ends.contains(&text.len())
    }

    /// Where matches of `element` that begin at any of `starts` end.
    fn ends(&self, element: &Element, text: &[char], starts: &BTreeSet<usize>) -> BTreeSet<usize> {
        match element {
            Element::Either(all) => all.iter().flat_map(|one| self.ends(one, text, starts)).collect(),
            Element::Sequence(all) => all.iter().fold(starts.clone(), |starts, one| self.ends(one, text, &starts)),
            Element::Repeat(least, most, one) => {
                let (mut ends, mut now) = (BTreeSet::new(), starts.clone());
                for times in 0..=*most {
                    if times >= *least {
                        now = now.difference(&ends).copied().collect();
                        ends.extend(&now);
                    }
                    if now.is_empty() {
                        break;
                    }
                    now = self.ends(one, text, &now);
                }
                ends
            }
            Element::Rule(name) => self.ends(&self.0[name], text, starts),
            Element::Range(low, high) => {
                let inside = |&&at: &&usize| text.get(at).is_some_and(|c| (low..=high).contains(&c));
                starts.iter().filter(inside).map(|at| at + 1).collect()
            }
            Element::Text(wanted, case) => {
                let same = |&&at: &&usize| {
                    let found = text.get(at..at + wanted.len()).unwrap_or(&[]);
                    found.len() == wanted.len()
                        && found.iter().zip(wanted).all(|(a, b)| a == b || (!case && a.eq_ignore_ascii_case(b)))
                };
                starts.iter().filter(same).map(|at| at + wanted.len()).collect()
            }
        }
    }
}

struct Parser {
    text: Vec<char>,
    at: usize,
}

impl Parser {
    fn peek(&mut self) -> Option<char> {
        while self.text.get(self.at) == Some(&' ') {
            self.at += 1;
        }
        self.text.get(self.at).copied()
    }

    fn word(&mut self, inside: impl Fn(char) -> bool) -> String {
        let word: String = self.text[self.at..].iter().take_while(|&&c| inside(c)).collect();
        self.at += word.chars().count();
        word
    }

    fn either(&mut self) -> Element {
        let mut all = vec![self.sequence()];
        while self.peek() == Some('/') {
            self.at += 1;
            all.push(self.sequence());
        }
        Element::Either(all)
    }

    fn sequence(&mut self) -> Element {
        let mut all = Vec::new();
        while self.peek().is_some_and(|c| !matches!(c, '/' | ')' | ']')) {
            all.push(self.repeat());
        }
        assert!(!all.is_empty(), "an empty sequence");
        Element::Sequence(all)
    }

    fn repeat(&mut self) -> Element {
        let least = self.word(|c| c.is_ascii_digit());
        let bounds = if self.peek() == Some('*') {
            self.at += 1;
            let most = self.word(|c| c.is_ascii_digit());
            (least.parse().unwrap_or(0), most.parse().unwrap_or(usize::MAX))
        } else {
            let times = least.parse().unwrap_or(1);
            (times, times)
        };
        Element::Repeat(bounds.0, bounds.1, Box::new(self.element()))
    }

    fn element(&mut self) -> Element {
        let first = self.peek().expect("an element");
        self.at += 1;
        match first {
            '(' => {
                let inside = self.either();
                assert_eq!(self.peek(), Some(')'));
                self.at += 1;
                inside
            }
            '[' => {
                let inside = self.either();
                assert_eq!(self.peek(), Some(']'));
                self.at += 1;
                Element::Repeat(0, 1, Box::new(inside))
            }
            '"' => self.quoted(false),
            '%' if self.text[self.at] == 's' => {
                self.at += 2;
                self.quoted(true)
            }
            '%' => {
                assert_eq!(self.text[self.at], 'x');
                self.at += 1;
                let digits = self.word(|c| c.is_ascii_hexdigit() || c == '-');
                let (low, high) = digits.split_once('-').unwrap_or((&digits, &digits));
                let char = |hex| char::from_u32(u32::from_str_radix(hex, 16).unwrap()).unwrap();
                Element::Range(char(low), char(high))
            }
            _ => {
                self.at -= 1;
                let name = self.word(|c| c.is_ascii_alphanumeric() || c == '-');
                assert!(!name.is_empty(), "a rule's name at {:?}", &self.text[self.at..]);
                Element::Rule(name)
            }
        }
    }

    fn quoted(&mut self, case: bool) -> Element {
        let text = self.word(|c| c != '"');
        self.at += 1;
        Element::Text(text.chars().collect(), case)
    }
}
