//! Builds again when a file is added to or taken from the built-in plugins, which the embedding macro does not notice.

fn main() {
    println!("cargo::rerun-if-changed=../../plugins");
}
