//! The house keeps its own rules: documents name what is there.

use std::fs;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().to_path_buf()
}

fn crates() -> Vec<String> {
    let entries = fs::read_dir(root().join("crates")).unwrap().map(|entry| entry.unwrap());
    let mut names: Vec<_> = entries
        .filter(|entry| entry.path().join("Cargo.toml").exists())
        .map(|entry| entry.file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert!(names.len() > 10, "found only {names:?}");
    names
}

#[test]
fn the_architecture_lists_every_crate() {
    let text = fs::read_to_string(root().join("docs/architecture.md")).unwrap();
    let missing: Vec<_> = crates().into_iter().filter(|name| !text.contains(&format!("\n| `{name}` |"))).collect();
    assert!(missing.is_empty(), "docs/architecture.md has no row for {missing:?}");
}

#[test]
fn the_architecture_gives_a_reason_for_every_dependency() {
    let text = fs::read_to_string(root().join("docs/architecture.md")).unwrap();
    let mut missing = Vec::new();
    let mut seen = 0;
    for name in crates() {
        let manifest = fs::read_to_string(root().join("crates").join(&name).join("Cargo.toml")).unwrap();
        let section = manifest.split("\n[dependencies]\n").nth(1).unwrap_or_default();
        let lines = section.lines().take_while(|line| !line.starts_with('['));
        for dependency in lines.filter_map(|line| line.split([' ', '.', '=']).next()).filter(|d| !d.is_empty()) {
            seen += 1;
            if !dependency.starts_with("laidwork-") && !text.contains(&format!("`{dependency}`")) {
                missing.push(format!("{name}: {dependency}"));
            }
        }
    }
    assert!(seen > 20, "only {seen} dependencies were looked at");
    assert!(missing.is_empty(), "docs/architecture.md does not say why: {missing:?}");
}

#[test]
fn every_version_stands_once() {
    let manifests = crates().into_iter().map(|name| format!("crates/{name}")).chain(["tests".into(), "benches".into()]);
    let (mut seen, mut own) = (0, Vec::new());
    for folder in manifests {
        let manifest = fs::read_to_string(root().join(&folder).join("Cargo.toml")).unwrap();
        let sections = manifest.split("dependencies]\n").skip(1);
        let lines = sections.flat_map(|section| section.lines().take_while(|line| !line.starts_with('[')));
        for line in lines.filter(|line| line.contains('=')) {
            seen += 1;
            if !line.contains("workspace = true") {
                own.push(format!("{folder}: {line}"));
            }
        }
    }
    assert!(seen > 100, "only {seen} dependencies were looked at");
    assert!(own.is_empty(), "these belong into the root's [workspace.dependencies]: {own:#?}");
}

#[test]
fn crates_import_only_what_stands_above_them() {
    let text = fs::read_to_string(root().join("docs/architecture.md")).unwrap();
    let listed: Vec<&str> =
        text.lines().filter_map(|line| line.strip_prefix("| `")?.split_once("` |").map(|(name, _)| name)).collect();
    let place = |name: &str| listed.iter().position(|listed| *listed == name);
    let mut wrong = Vec::new();
    for name in crates() {
        let manifest = fs::read_to_string(root().join("crates").join(&name).join("Cargo.toml")).unwrap();
        let section = manifest.split("\n[dependencies]\n").nth(1).unwrap_or_default();
        let lines = section.lines().take_while(|line| !line.starts_with('['));
        for import in lines.filter_map(|line| line.strip_prefix("laidwork-")?.split([' ', '.', '=']).next()) {
            if place(import) >= place(&name) {
                wrong.push(format!("{name} imports {import}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:?}");
}

#[test]
fn the_readme_opens_with_two_commands() {
    let text = fs::read_to_string(root().join("README.md")).unwrap();
    let block = text.split("```sh\n").nth(1).and_then(|rest| rest.split("```").next()).unwrap();
    let commands: Vec<_> = block.lines().collect();
    let first =
        "cargo run --release -- sew fixtures/drawings/garden-patch.svg -r fixtures/recipes/garden-patch.toml -o out/";
    assert_eq!(commands, [first, "cargo test --workspace"]);
}

#[test]
fn every_link_of_the_documents_leads_somewhere() {
    let mut documents = vec![root().join("README.md"), root().join("DEVELOPERS.md"), root().join("CHANGELOG.md")];
    let docs = fs::read_dir(root().join("docs")).unwrap().map(|entry| entry.unwrap().path());
    documents.extend(docs.filter(|path| path.extension().is_some_and(|ending| ending == "md")));
    let (mut links, mut broken) = (0, Vec::new());
    for document in documents {
        let text = fs::read_to_string(&document).unwrap();
        for link in text.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            let file = link.split('#').next().unwrap_or_default();
            if file.is_empty() || file.contains("://") {
                continue;
            }
            links += 1;
            if !document.parent().unwrap().join(file).exists() {
                broken.push(format!("{}: {link}", document.display()));
            }
        }
    }
    assert!(links > 10, "only {links} links were found");
    assert!(broken.is_empty(), "{broken:#?}");
}
