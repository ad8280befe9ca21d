//! The README is run: every `sh` and `python` block, in order, in one folder, against a daemon.
//!
//! Blocks marked `console`, `text`, `json` or with nothing are for reading. The daemon's usual address stands for this
//! test's own, and `cargo run --release --` for the binary under test.

use crate::shop::{BINARY, Shop, root};
use std::path::Path;
use std::process::{Command, Stdio};

/// Where the README says that the daemon answers.
const USUAL_ADDRESS: &str = "127.0.0.1:7348";

struct Block {
    /// Line of the README on which it begins.
    line: usize,
    language: String,
    text: String,
}

/// The fenced blocks of a Markdown text.
fn blocks(markdown: &str) -> Vec<Block> {
    let mut blocks = Vec::new();
    let mut open: Option<Block> = None;
    for (number, line) in markdown.lines().enumerate() {
        match (line.trim_start().strip_prefix("```"), &mut open) {
            (Some(_), Some(_)) => blocks.extend(open.take()),
            (Some(language), None) => {
                open = Some(Block { line: number + 2, language: language.trim().into(), text: String::new() });
            }
            (None, Some(block)) => {
                block.text.push_str(line);
                block.text.push('\n');
            }
            (None, None) => {}
        }
    }
    assert!(open.is_none(), "a block is not closed");
    blocks
}

#[test]
fn every_line_of_the_readme_that_can_be_run_runs() {
    let path = root().join("README.md");
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let blocks = blocks(&text);
    for language in ["sh", "python"] {
        assert!(blocks.iter().any(|b| b.language == language), "the README has no {language} block to run");
    }
    // A shell block under another name would not be run, and nobody would notice.
    let odd: Vec<_> =
        blocks.iter().filter(|b| ["bash", "shell", "zsh", "py", "python3"].contains(&b.language.as_str())).collect();
    assert!(odd.is_empty(), "write `sh` or `python`, or `console` for reading, at line {}", odd[0].line);

    let shop = Shop::open();
    let folder = tempfile::tempdir().expect("a folder");
    // The README's daemon keeps its memory in ./shop.
    #[cfg(unix)]
    std::os::unix::fs::symlink(shop.data(), folder.path().join("shop")).expect("a link");
    for block in blocks.iter().filter(|b| b.language == "sh" || b.language == "python") {
        run(block, &shop, folder.path());
    }
    shop.goes_on();
}

#[track_caller]
fn run(block: &Block, shop: &Shop, folder: &Path) {
    let text = block.text.replace(USUAL_ADDRESS, shop.address()).replace("cargo run --release --", "coilwright");
    let file = folder.join(format!(".readme-{}", block.line));
    // Each line is shown before it is run, so that the one that fails is the last one shown.
    let (program, flags, text) = match block.language.as_str() {
        "sh" => ("bash", &["-e", "-u", "-o", "pipefail", "-v"][..], text),
        _ => ("python3", &[][..], text),
    };
    std::fs::write(&file, text).expect("written");
    let bin = Path::new(BINARY).parent().expect("a folder");
    let path = format!("{}:{}", bin.display(), std::env::var("PATH").unwrap_or_default());
    let mut command = Command::new(program);
    command.args(flags).arg(&file).current_dir(folder).env("PATH", path).env("COILWRIGHT_URL", shop.url());
    // Set by the first block for the whole terminal.
    command.env("COILWRIGHT_TOKEN", shop.token());
    let out = command.stdin(Stdio::null()).output().unwrap_or_else(|e| panic!("{program}: {e}"));
    assert!(
        out.status.success(),
        "the {} block at line {} of the README failed ({}):\n{}{}",
        block.language,
        block.line,
        out.status,
        String::from_utf8_lossy(&out.stdout),
        String::from_utf8_lossy(&out.stderr)
    );
}

#[test]
fn blocks_are_found_with_their_language_and_line() {
    let found = blocks("a\n```sh\ncurl x\n```\n\n   ```python\nprint(1)\n   ```\n```\ntext\n```\n");
    let seen: Vec<(&str, usize, &str)> = found.iter().map(|b| (b.language.as_str(), b.line, b.text.as_str())).collect();
    assert_eq!(seen, [("sh", 3, "curl x\n"), ("python", 7, "print(1)\n"), ("", 10, "text\n")]);
}

/// A block that fails must not pass.
#[test]
#[should_panic(expected = "the sh block at line 7 of the README failed")]
fn a_line_that_fails_is_told_by_its_line() {
    let shop = Shop::open();
    let folder = tempfile::tempdir().expect("a folder");
    let block =
        Block { line: 7, language: "sh".into(), text: "coilwright wire show nope | cat\necho not reached\n".into() };
    run(&block, &shop, folder.path());
}
