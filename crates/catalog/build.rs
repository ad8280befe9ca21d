//! Builds again when a file is added to or taken from the built-in plugins or their beginnings, which the embedding macro does not notice.

fn main() {
    println!("cargo::rerun-if-changed=../../plugins");
    println!("cargo::rerun-if-changed=scaffold");
}
