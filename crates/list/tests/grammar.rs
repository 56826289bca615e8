//! The grammar of `docs/stitch-list.md` and the reader agree.

mod common;

use common::{abnf::Grammar, example, plans};
use laidwork_list::{Digits, WriteOptions, read, to_text};
use proptest::prelude::*;
use std::sync::LazyLock;

const DOCS: &str = include_str!("../../../docs/stitch-list.md");

static GRAMMAR: LazyLock<Grammar> = LazyLock::new(|| Grammar::parse(block("abnf")));

/// The text of the one block of that kind in the docs.
fn block(kind: &str) -> &'static str {
    let (_, after) = DOCS.split_once(&format!("```{kind}\n")).expect(kind);
    let (block, rest) = after.split_once("```").expect(kind);
    assert!(!rest.contains(&format!("```{kind}\n")), "two blocks of {kind}");
    block
}

/// What the reader wants where the grammar is content: rules of context, which no grammar of lines has.
const CONTEXT: [&str; 8] = [
    "line, not two",
    "count up from 1",
    "threads of the header",
    "from 0 up",
    "within 1000000 mm",
    "`unit mm` before the first piece",
    "a `pass` after the jumps of a piece",
    "because that many needle penetrations",
];

#[test]
fn the_grammar_is_whole() {
    let (used, defined) = GRAMMAR.names();
    let missing: Vec<_> = used.difference(&defined).collect();
    assert!(missing.is_empty(), "{missing:?}");
    let idle: Vec<_> = defined.difference(&used).collect();
    assert_eq!(idle, [&"list"]);
}

#[test]
fn the_example_of_the_docs_is_read() {
    assert_eq!(read(block("stitches").as_bytes()).unwrap(), example());
    assert_eq!(to_text(&example(), WriteOptions::default()).unwrap(), block("stitches"));
    assert!(GRAMMAR.matches("list", block("stitches")));
}

#[test]
fn the_grammar_knows_what_a_line_is() {
    let lines = [
        ("stitch", "1.5 -2\n", true),
        ("stitch", "1.5  -2\n", false),
        ("stitch", "1. 2\n", false),
        ("stitch", ".5 2\n", false),
        ("stitch", "1.2345 2\n", false),
        ("stitch", "+1 2\n", false),
        ("skip", "\n", true),
        ("skip", "# remark\n", true),
        ("skip", " \n", false),
        ("thread", "thread 1 #e0a21b\n", true),
        ("thread", "thread 1 #E0A21B\n", false),
        ("thread", "thread 1 #e0a21b \n", false),
        ("title", "title a\tb\n", false),
        ("title", "title naïve 縫\n", true),
        ("title", "Title a\n", false),
        ("end", "end 4", false),
    ];
    for (rule, line, wanted) in lines {
        assert_eq!(GRAMMAR.matches(rule, line), wanted, "{rule}: {line:?}");
    }
}

/// What the grammar and the reader each say about `text`, when they disagree.
fn disagreement(text: &str) -> Option<String> {
    let grammar = GRAMMAR.matches("list", text);
    match read(text.as_bytes()) {
        Ok(_) if grammar => None,
        Ok(_) => Some("the reader takes what the grammar refuses".into()),
        Err(_) if !grammar => None,
        Err(error) => {
            let message = error.to_string();
            // Seven digits are within the grammar and may be beyond a million.
            let far = text.split(|c: char| !c.is_ascii_digit()).any(|digits| digits.len() == 7);
            if far && message.contains("1000000 mm") {
                return None;
            }
            (!CONTEXT.iter().any(|rule| message.contains(rule))).then_some(message)
        }
    }
}

/// Pieces of lists to splice in: records, parts of them and noise.
fn snippet() -> impl Strategy<Value = String> {
    prop_oneof![
        prop::sample::select(vec![
            "\n",
            " ",
            "#",
            "-",
            ".",
            "0",
            "7",
            "\r",
            "\t",
            "é",
            "\u{2028}",
            "pass top\n",
            "pass over\n",
            "trim\n",
            "stop\n",
            "jump 1 2\n",
            "jump 1\n",
            "1.5 2.25\n",
            "1 2 3\n",
            "title T\n",
            "unit mm\n",
            "hoop 1 2\n",
            "thread 2 #000000\n",
            "piece 2 thread 1 method run name b\n",
            "end 0\n",
            "# remark\n",
            "stitch-list 1\n",
        ])
        .prop_map(str::to_string),
        any::<char>().prop_map(String::from),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn every_written_list_is_of_the_grammar(plan in plans(1000)) {
        let text = to_text(&plan, WriteOptions { digits: Digits::Three }).unwrap();
        prop_assert!(GRAMMAR.matches("list", &text), "{}", text);
    }

    #[test]
    fn grammar_and_reader_agree_on_damaged_lists(
        edits in prop::collection::vec((any::<prop::sample::Index>(), 0usize..6, snippet()), 1..4)
    ) {
        let mut text: Vec<char> = block("stitches").chars().collect();
        for (at, cut, snippet) in edits {
            let at = at.index(text.len() + 1);
            let end = (at + cut).min(text.len());
            text.splice(at..end, snippet.chars());
        }
        let text: String = text.into_iter().collect();
        prop_assert_eq!(disagreement(&text), None, "{}", text);
    }

    #[test]
    fn grammar_and_reader_agree_on_shuffled_lines(
        lines in prop::collection::vec(prop::sample::select(block("stitches").lines().collect::<Vec<_>>()), 0..12)
    ) {
        let text = format!("stitch-list 1\nunit mm\nthread 1 #000000\n{}\nend 0\n", lines.join("\n"));
        prop_assert_eq!(disagreement(&text), None, "{}", text);
    }
}
