//! The arrows between crates: data flows one way, and nothing below the page knows of a browser.
//!
//! Both rules are functions of plain graphs, so that their tests can show them a breach.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use anyhow::{Context, Result, bail};
use serde::Deserialize;

use crate::run::{cargo, output_of};

/// The product's packages in the order in which data flows; each may depend only on those before it.
const ORDER: [&str; 16] = [
    "solewright-base",
    "solewright-mesh",
    "solewright-scan",
    "solewright-foot",
    "solewright-last",
    "solewright-insole",
    "solewright-hardness",
    "solewright-contact",
    "solewright-loading",
    "solewright-making",
    "solewright-guidance",
    "solewright-case",
    "solewright-engine",
    "solewright",
    "solewright-workshop",
    "solewright-web",
];

/// The last package of [`ORDER`] that has to stay free of the browser.
const LAST_OF_CORE: &str = "solewright-engine";

/// Packages that build and test the product. No product package may depend on them.
const TOOLS: [&str; 2] = ["xtask", "solewright-journeys"];

/// What only the page may reach.
const ONLY_THE_PAGE: [&str; 5] = ["wasm-bindgen", "web-sys", "js-sys", "three-d", "leptos"];

/// Edges by which the core may come near the browser, each because the code behind it is never called.
const HARMLESS: [(&str, &str); 1] = [
    // On wasm32 zip takes the browser's random numbers, for nothing but encrypted archives; the project writes none.
    ("zip", "getrandom"),
];

/// Package → packages it depends on directly.
type Graph = BTreeMap<String, BTreeSet<String>>;

/// Checks the workspace as it stands.
///
/// # Errors
/// Lists every breach, with the chain of packages that makes it.
pub(crate) fn check() -> Result<()> {
    let declared = declared()?;
    let core: Vec<&str> = core().filter(|name| declared.contains_key(*name)).collect();
    let mut breaches = out_of_order(&declared);
    breaches.extend(reaching_the_browser(&resolved(&core)?));
    if !breaches.is_empty() {
        bail!("the crates do not depend on each other as the architecture says:\n  {}", breaches.join("\n  "));
    }
    println!("{} packages depend on each other in order, {} of them free of the browser", declared.len(), core.len());
    Ok(())
}

fn core() -> impl Iterator<Item = &'static str> {
    let last = ORDER.iter().position(|name| *name == LAST_OF_CORE);
    ORDER.into_iter().take(last.map_or(0, |last| last + 1))
}

/// What each workspace package says it depends on inside the workspace, for tests and options too.
fn declared() -> Result<Graph> {
    #[derive(Deserialize)]
    struct Metadata {
        packages: Vec<Package>,
    }
    #[derive(Deserialize)]
    struct Package {
        name: String,
        dependencies: Vec<Dependency>,
    }
    #[derive(Deserialize)]
    struct Dependency {
        name: String,
        path: Option<String>,
    }
    let text = output_of(&mut cargo(["metadata", "--no-deps", "--format-version", "1"]))?;
    let metadata: Metadata = serde_json::from_str(&text).context("cargo metadata is not what it was")?;
    let packages = metadata.packages.into_iter().map(|package| {
        let inside = package.dependencies.into_iter().filter(|dependency| dependency.path.is_some());
        (package.name, inside.map(|dependency| dependency.name).collect())
    });
    Ok(packages.collect())
}

/// Everything that `packages` are built from on any target, with just the features that they ask for themselves.
fn resolved(packages: &[&str]) -> Result<Graph> {
    let mut tree =
        cargo(["tree", "--edges", "normal,build", "--target", "all", "--prefix", "depth", "--format", "{p}"]);
    tree.args(packages.iter().flat_map(|name| ["--package", name]));
    parse_tree(&output_of(&mut tree)?)
}

/// Reads `cargo tree --prefix depth --format {p}`: a depth, a name, and more that does not matter here.
fn parse_tree(text: &str) -> Result<Graph> {
    let mut graph = Graph::new();
    let mut parents: Vec<String> = Vec::new();
    for line in text.lines().filter(|line| !line.is_empty()) {
        let digits = line.len() - line.trim_start_matches(|c: char| c.is_ascii_digit()).len();
        let (depth, rest) = line.split_at(digits);
        let depth: usize = depth.parse().with_context(|| format!("no depth in this line of cargo tree: {line}"))?;
        let name = rest.split(' ').next().unwrap_or(rest).to_owned();
        parents.truncate(depth);
        if let Some(parent) = parents.last() {
            graph.entry(parent.clone()).or_default().insert(name.clone());
        }
        graph.entry(name.clone()).or_default();
        parents.push(name);
    }
    Ok(graph)
}

fn out_of_order(declared: &Graph) -> Vec<String> {
    let place = |name: &str| ORDER.iter().position(|other| *other == name);
    let mut breaches = Vec::new();
    for (package, dependencies) in declared {
        if TOOLS.contains(&package.as_str()) {
            continue;
        }
        let Some(own) = place(package) else {
            breaches.push(format!(
                "{package} has no place in the order of crates: give it one in crates/xtask/src/deps.rs"
            ));
            continue;
        };
        for dependency in dependencies {
            match place(dependency) {
                Some(other) if other < own => {}
                Some(_) => breaches.push(format!("{package} depends on {dependency}, which comes after it")),
                None => breaches.push(format!("{package} depends on {dependency}, which is no part of the product")),
            }
        }
    }
    breaches
}

/// One breach, with its shortest chain, for each core package and each library of the page that it reaches.
fn reaching_the_browser(resolved: &Graph) -> Vec<String> {
    let mut breaches = Vec::new();
    for package in core() {
        for library in ONLY_THE_PAGE {
            if let Some(chain) = shortest_chain(resolved, package, library) {
                breaches.push(format!("{library} is only for the page: {}", chain.join(" → ")));
            }
        }
    }
    breaches
}

fn shortest_chain(graph: &Graph, from: &str, to: &str) -> Option<Vec<String>> {
    let mut came_from: BTreeMap<&str, &str> = BTreeMap::new();
    let mut queue = VecDeque::from([from]);
    while let Some(package) = queue.pop_front() {
        if package == to {
            let mut chain = vec![to.to_owned()];
            let mut step = to;
            while step != from {
                step = came_from.get(step)?;
                chain.push(step.to_owned());
            }
            chain.reverse();
            return Some(chain);
        }
        for next in graph.get(package).into_iter().flatten() {
            let harmless = HARMLESS.contains(&(package, next));
            if !harmless && next != from && !came_from.contains_key(next.as_str()) {
                came_from.insert(next, package);
                queue.push_back(next);
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn graph(edges: &[(&str, &[&str])]) -> Graph {
        let owned = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect();
        edges.iter().map(|(package, dependencies)| ((*package).to_owned(), owned(dependencies))).collect()
    }

    #[test]
    fn the_workspace_as_it_stands_is_in_order() {
        check().unwrap();
    }

    #[test]
    fn an_arrow_against_the_flow_is_found() {
        let in_order =
            graph(&[("solewright-foot", &["solewright-mesh", "solewright-base"]), ("xtask", &["solewright"])]);
        assert!(out_of_order(&in_order).is_empty());

        let against = graph(&[("solewright-mesh", &["solewright-base", "solewright-foot"])]);
        assert_eq!(out_of_order(&against), ["solewright-mesh depends on solewright-foot, which comes after it"]);

        let on_itself = graph(&[("solewright-mesh", &["solewright-mesh"])]);
        assert_eq!(out_of_order(&on_itself).len(), 1);

        let on_tools = graph(&[("solewright-engine", &["xtask"])]);
        assert_eq!(out_of_order(&on_tools), ["solewright-engine depends on xtask, which is no part of the product"]);

        let unplaced = graph(&[("solewright-new", &[])]);
        assert!(out_of_order(&unplaced)[0].starts_with("solewright-new has no place"));
    }

    #[test]
    fn a_core_crate_that_reaches_the_browser_is_found_with_its_chain() {
        let mut edges = graph(&[
            ("solewright-engine", &["solewright-mesh", "serde"]),
            ("solewright-mesh", &["clock"]),
            ("clock", &["js-sys"]),
            ("js-sys", &["wasm-bindgen"]),
            ("solewright-web", &["leptos", "solewright-engine"]),
        ]);
        assert_eq!(
            reaching_the_browser(&edges),
            [
                "wasm-bindgen is only for the page: solewright-mesh → clock → js-sys → wasm-bindgen",
                "js-sys is only for the page: solewright-mesh → clock → js-sys",
                "wasm-bindgen is only for the page: solewright-engine → solewright-mesh → clock → js-sys → wasm-bindgen",
                "js-sys is only for the page: solewright-engine → solewright-mesh → clock → js-sys",
            ]
        );
        edges.remove("clock");
        assert!(reaching_the_browser(&edges).is_empty());

        edges.extend(graph(&[("solewright-mesh", &["zip"]), ("zip", &["getrandom"]), ("getrandom", &["js-sys"])]));
        assert!(reaching_the_browser(&edges).is_empty());
        edges.extend(graph(&[("zip", &["getrandom", "js-sys"])]));
        assert_eq!(
            reaching_the_browser(&edges)[0],
            "wasm-bindgen is only for the page: solewright-mesh → zip → js-sys → wasm-bindgen"
        );
    }

    #[test]
    fn the_tree_is_read_by_its_depths() {
        let text = "0solewright-mesh v0.1.0 (/somewhere/mesh)\n1serde v1.0.0\n2serde_core v1.0.0\n1glam v0.34.0\n\n\
                    0solewright-base v0.1.0 (/somewhere/base)\n1serde v1.0.0 (*)\n";
        let expected = graph(&[
            ("solewright-mesh", &["serde", "glam"]),
            ("solewright-base", &["serde"]),
            ("serde", &["serde_core"]),
            ("serde_core", &[]),
            ("glam", &[]),
        ]);
        assert_eq!(parse_tree(text).unwrap(), expected);
        assert!(parse_tree("no depth here").is_err());
    }
}
