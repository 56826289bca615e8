//! Where the product's dependencies come from, and under which licences: the registry and the permissive ones alone.
//!
//! Known faults of dependencies are a matter of `cargo audit` or `cargo deny check` (see `deny.toml`): they need a
//! database from the network, and say another thing every day.

use serde_json::Value;
use std::path::Path;
use std::process::Command;

/// Licences that let everyone use and pass on the product, with no duty beyond keeping the notice.
const PERMISSIVE: [&str; 11] = [
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "Unicode-3.0",
    "Zlib",
];

fn packages() -> Vec<Value> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let mut cargo = Command::new(env!("CARGO"));
    let output = cargo.args(["metadata", "--locked", "--format-version", "1"]).current_dir(root).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let found: Value = serde_json::from_slice(&output.stdout).unwrap();
    let packages = found["packages"].as_array().unwrap().clone();
    assert!(packages.len() > 100, "only {} packages were looked at", packages.len());
    packages
}

/// Whether an SPDX expression can be met with permissive licences: every part of an AND, some part of an OR.
fn is_permissive(expression: &str) -> bool {
    let expression = expression.replace('/', " OR ");
    expression.split(" AND ").all(|part| {
        let part = part.trim().trim_start_matches('(').trim_end_matches(')');
        part.split(" OR ").any(|licence| PERMISSIVE.contains(&licence.trim()))
    })
}

#[test]
fn every_dependency_is_permissive_and_from_the_registry() {
    let mut wrong = Vec::new();
    for package in packages() {
        let (name, licence) = (&package["name"], package["license"].as_str().unwrap_or("none"));
        let source = package["source"].as_str().unwrap_or("here");
        if !is_permissive(licence) {
            wrong.push(format!("{name}: {licence}"));
        }
        if source != "here" && source != "registry+https://github.com/rust-lang/crates.io-index" {
            wrong.push(format!("{name}: {source}"));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn the_test_of_licences_can_fail() {
    assert!(is_permissive("MIT/Apache-2.0") && is_permissive("(MIT OR GPL-3.0-only) AND Unicode-3.0"));
    assert!(!is_permissive("GPL-3.0-only") && !is_permissive("MIT AND GPL-3.0-only") && !is_permissive("none"));
}
