//! What a package of this project holds, and under which licences stands what it is built from.

use std::process::Command;

/// Licences that everything this program is built from may be had under; a new one is a decision and a line here.
const LICENCES: [&str; 14] = [
    "(MIT OR Apache-2.0) AND Unicode-3.0",
    "Apache-2.0",
    "Apache-2.0 / MIT",
    "Apache-2.0 OR MIT",
    "Apache-2.0/MIT",
    "Apache-2.0 WITH LLVM-exception OR Apache-2.0 OR MIT",
    "BSD-2-Clause OR Apache-2.0 OR MIT",
    "BSL-1.0",
    "MIT",
    "MIT OR Apache-2.0",
    "MIT OR Apache-2.0 OR LGPL-2.1-or-later",
    "MIT/Apache-2.0",
    "Unlicense OR MIT",
    "Zlib OR Apache-2.0 OR MIT",
];

fn cargo(arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn every_dependency_has_a_licence_of_the_list() {
    let version = Command::new("rustc").arg("-vV").output().unwrap();
    let version = String::from_utf8(version.stdout).unwrap();
    let host = version
        .lines()
        .find_map(|line| line.strip_prefix("host: "))
        .unwrap();
    let told = cargo(&[
        "metadata",
        "--locked",
        "--offline",
        "--format-version",
        "1",
        "--filter-platform",
        host,
    ]);
    let told: serde_json::Value = serde_json::from_str(&told).unwrap();
    let packages = told["packages"].as_array().unwrap();
    assert!(packages.len() > 50, "{}", packages.len());
    for package in packages {
        let licence = package["license"].as_str().unwrap_or("none");
        assert!(
            LICENCES.contains(&licence),
            "{}: {licence}",
            package["name"]
        );
    }
}

#[test]
fn a_package_holds_what_it_needs_and_nothing_else() {
    let list = cargo(&[
        "package",
        "--list",
        "--locked",
        "--offline",
        "--allow-dirty",
    ]);
    for file in [
        "src/main.rs",
        "README.md",
        "LICENSE",
        "Cargo.lock",
        "demo-data/eight-foot-lathe.toml",
    ] {
        assert!(list.lines().any(|line| line == file), "{file}\n{list}");
    }
    for line in list.lines() {
        let top = line.split('/').next().unwrap_or_default();
        let belongs =
            ["src", "tests", "examples", "demo-data"].contains(&top) || !line.contains('/');
        assert!(belongs && !line.ends_with(".snap.new"), "{line}");
    }
}
