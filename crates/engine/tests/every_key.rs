//! Every key of a rule changes something of what is sewn or told.

use laidwork_engine::{report_settings, sew};
use laidwork_recipe::table::{BORDER, STITCH};
use std::collections::BTreeSet;

/// A square under a disc, a bent bar, a leaf, a ring, a thin line and two lines that may lead or cross.
const SVG: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60">
    <rect id="square" x="2" y="2" width="30" height="30" fill="#335577"/>
    <circle id="disc" cx="30" cy="17" r="9" fill="#aa3344"/>
    <path id="bar" d="M45 5H57V30H54V8H45Z" fill="#ddaa33"/>
    <path id="leaf" d="M62 5Q74 12 76 30Q64 24 62 5Z" fill="#338844"/>
    <circle id="ring" cx="70" cy="46" r="4" fill="none" stroke="#662266" stroke-width="5"/>
    <path id="line" d="M4 40Q20 58 30 42a1.2 1.2 0 1 1 2 0Q34 50 40 42" fill="none" stroke="#111111" stroke-width="0.5"/>
    <path id="guide" d="M3 48C10 42 24 56 44 50" fill="none" stroke="#999999" stroke-width="0.4"/>
    <path id="across" d="M62 20L76 16" fill="none" stroke="#999999" stroke-width="0.4"/>
</svg>"##;

/// Keys, what they take beside them to be looked at, and a value that is not the usual one.
const STITCH_KEYS: [(&str, &str, &str); 43] = [
    ("method", "", "\"fill\""),
    ("thread", "", "\"#123456\""),
    ("material", "", "\"jersey\""),
    ("knock_out", "", "false"),
    ("overlap", "", "2.0"),
    ("border", "", "{ width = 2.0 }"),
    ("start", "", "[-40.0, 20.0]"),
    ("end", "", "[-40.0, 20.0]"),
    ("spacing", "", "0.3"),
    ("stitch_length", "", "2.2"),
    ("shortest_stitch", "", "1.2"),
    ("pull_compensation", "", "0.5"),
    ("pull_percent", "", "12.0"),
    ("pull_limit", "", "0.05"),
    ("push_compensation", "", "0.9"),
    ("seed", "shifts = \"irregular\"", "7"),
    ("underlay", "", "\"none\""),
    ("underlay_inset", "", "1.0"),
    ("underlay_spacing", "", "1.2"),
    ("underlay_stitch_length", "", "1.5"),
    ("underlay_narrow_below", "", "5.0"),
    ("underlay_wide_above", "", "1.0"),
    ("run", "", "\"triple\""),
    ("curve_stitch_length", "", "0.9"),
    ("min_width", "", "3.0"),
    ("max_width", "", "3.0"),
    ("split_length", "method = \"satin\"\nmax_width = 3.0", "2.0"),
    ("crossings", "method = \"satin\"", "\"across\""),
    ("short_stitches", "", "false"),
    ("closed_overlap", "", "3.0"),
    ("column_overlap", "", "2.0"),
    ("travel_length", "", "1.0"),
    ("angle", "", "33.0"),
    ("shifts", "", "\"irregular\""),
    ("flow", "", "\"contour\""),
    ("centre", "flow = \"radial\"", "[-20.0, 0.0]"),
    ("guides", "", "\"guide\""),
    ("spacing_to", "", "0.9"),
    ("spacing_angle", "spacing_to = 0.9", "45.0"),
    ("open", "spacing = 1.0", "true"),
    ("edge", "", "\"run\""),
    ("edge_width", "edge = \"satin\"", "2.5"),
    ("trim_to_outline", "", "true"),
];

const BORDER_KEYS: [(&str, &str, &str); 10] = [
    ("on", "", "false"),
    ("width", "", "2.0"),
    ("offset", "", "1.0"),
    ("side", "", "\"out\""),
    ("join", "", "\"mitre\""),
    ("mitre_limit", "join = \"mitre\", ", "1.0"),
    ("method", "", "\"fill\""),
    ("only", "", "true"),
    ("overlap", "", "0.1"),
    ("thread", "", "\"#123456\""),
];

/// What is sewn and told with `rule` for every shape but the lines that lead.
fn told(rule: &str) -> String {
    let drawing = laidwork_drawing::read(SVG.as_bytes(), &laidwork_drawing::Options::default()).unwrap().value;
    let lines = "[[rule]]\nmatch = [\"guide\", \"across\"]\nmethod = \"skip\"\n";
    let recipe =
        format!("[[rule]]\nmatch = [\"square\", \"disc\", \"bar\", \"leaf\", \"ring\", \"line\"]\n{rule}\n{lines}");
    let recipe = laidwork_recipe::parse(&recipe, "recipe.toml").unwrap().value;
    let sewn = sew(&drawing, &recipe).unwrap().value;
    assert_eq!(sewn.plan.sanity_check(), [], "{rule}");
    format!("{:?} {:?}", sewn.plan, report_settings(&recipe, &sewn))
}

fn names(keys: laidwork_recipe::keys::Keys) -> BTreeSet<&'static str> {
    keys.iter().flat_map(|part| part.iter()).map(|key| key.name).collect()
}

#[test]
fn every_key_of_a_rule_changes_something() {
    assert_eq!(STITCH_KEYS.iter().map(|key| key.0).collect::<BTreeSet<_>>(), names(STITCH));
    let idle =
        STITCH_KEYS.iter().filter(|(key, beside, value)| told(beside) == told(&format!("{beside}\n{key} = {value}")));
    assert_eq!(idle.map(|key| key.0).collect::<Vec<_>>(), [""; 0]);
}

#[test]
fn every_key_of_a_border_changes_something() {
    assert_eq!(BORDER_KEYS.iter().map(|key| key.0).collect::<BTreeSet<_>>(), names(BORDER));
    let border = |keys: &str| told(&format!("border = {{ {keys} }}"));
    let idle = BORDER_KEYS.iter().filter(|(key, beside, value)| {
        let plain = if beside.is_empty() { "on = true, " } else { beside };
        border(plain.trim_end_matches(", ")) == border(&format!("{beside}{key} = {value}"))
    });
    assert_eq!(idle.map(|key| key.0).collect::<Vec<_>>(), [""; 0]);
}
