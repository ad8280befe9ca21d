//! Archives that nobody packed in good faith: each refused by name, nothing written anywhere, nothing left behind.

// A test fails by panicking, its helpers too.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use coilwright_service::care::{add_plugin, new_plugin, pack_plugin};
use flate2::Compression;
use flate2::write::GzEncoder;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io::Write;
use std::path::Path;
use std::time::{Duration, Instant};

const SUMS: &str = "tarn/SHA256SUMS";
const PLAIN: u8 = b'0';

/// One entry of a tar, byte by byte, as POSIX.1-1988 has it: what libraries refuse to write too.
fn entry(name: &[u8], kind: u8, link: &[u8], size: u64, contents: &[u8]) -> Vec<u8> {
    let mut head = vec![0u8; 512];
    head[..name.len()].copy_from_slice(name);
    head[100..108].copy_from_slice(b"0000644\0");
    head[108..116].copy_from_slice(b"0000000\0");
    head[116..124].copy_from_slice(b"0000000\0");
    head[124..136].copy_from_slice(format!("{size:011o}\0").as_bytes());
    head[136..148].copy_from_slice(b"00000000000\0");
    head[148..156].copy_from_slice(b"        ");
    head[156] = kind;
    head[157..157 + link.len()].copy_from_slice(link);
    head[257..265].copy_from_slice(b"ustar\x0000");
    let sum: u32 = head.iter().map(|b| u32::from(*b)).sum();
    head[148..156].copy_from_slice(format!("{sum:06o}\0 ").as_bytes());
    head.extend_from_slice(contents);
    head.resize(head.len().next_multiple_of(512), 0);
    head
}

fn file(name: &str, contents: &[u8]) -> Vec<u8> {
    entry(name.as_bytes(), PLAIN, b"", contents.len() as u64, contents)
}

fn gzip(tar: &[u8]) -> Vec<u8> {
    let mut gzip = GzEncoder::new(Vec::new(), Compression::fast());
    gzip.write_all(tar).unwrap();
    gzip.finish().unwrap()
}

fn closed(entries: &[Vec<u8>]) -> Vec<u8> {
    let mut tar = entries.concat();
    tar.extend_from_slice(&[0; 1024]);
    gzip(&tar)
}

fn hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::new(), |mut text, b| {
        write!(text, "{b:02x}").unwrap();
        text
    })
}

/// The list of these files, right in itself.
fn list(files: &BTreeMap<String, Vec<u8>>) -> Vec<u8> {
    let sums: String = files.iter().map(|(name, contents)| format!("{}  {name}\n", hex(contents))).collect();
    let whole = hex(sums.as_bytes());
    format!("# coilwright plugin archive 1\n# plugin tarn 0.1.0\n# whole {whole}\n{sums}").into_bytes()
}

/// A right plugin's files.
fn good() -> BTreeMap<String, Vec<u8>> {
    let folder = tempfile::tempdir().unwrap();
    let made = new_plugin("tarn", "former", folder.path()).unwrap();
    let names = ["SOURCES.md", "cases/formers.json", "plugin.toml", "tables/figures.csv", "tables/formers.csv"];
    names.iter().map(|name| ((*name).to_owned(), std::fs::read(made.join(name)).unwrap())).collect()
}

/// The right archive of these files, with more entries behind them.
fn with(files: &BTreeMap<String, Vec<u8>>, more: &[Vec<u8>]) -> Vec<u8> {
    let mut entries = vec![file(SUMS, &list(files))];
    entries.extend(files.iter().map(|(name, contents)| file(&format!("tarn/{name}"), contents)));
    entries.extend_from_slice(more);
    closed(&entries)
}

/// Everything below a folder, with its bytes.
fn snapshot(folder: &Path, into: &mut BTreeMap<String, Vec<u8>>) {
    for item in std::fs::read_dir(folder).unwrap() {
        let path = item.unwrap().path();
        if path.is_dir() {
            into.insert(path.display().to_string(), Vec::new());
            snapshot(&path, into);
        } else {
            into.insert(path.display().to_string(), std::fs::read(&path).unwrap());
        }
    }
}

#[track_caller]
fn refused(what: &str, archive: &[u8], words: &str) {
    let place = tempfile::tempdir().unwrap();
    let plugins = place.path().join("shop/plugins");
    std::fs::create_dir_all(&plugins).unwrap();
    let path = place.path().join("tarn.tar.gz");
    std::fs::write(&path, archive).unwrap();
    let (mut before, mut after) = (BTreeMap::new(), BTreeMap::new());
    snapshot(place.path(), &mut before);
    let began = Instant::now();
    let error = match add_plugin(&path, None, &plugins) {
        Err(e) => e.to_string(),
        Ok(added) => panic!("{what} was added: {added:?}"),
    };
    // Unpacking stops at 34 MiB: some seconds in a debug build on a busy machine would be a bomb that went off.
    assert!(began.elapsed() < Duration::from_secs(60), "{what}: {:?}", began.elapsed());
    assert!(error.contains(words), "{what}: {error}");
    snapshot(place.path(), &mut after);
    assert!(before == after, "{what} left something behind: {:?}", after.keys().collect::<Vec<_>>());
}

#[test]
fn the_builder_of_these_tests_makes_an_archive_that_is_taken() {
    let place = tempfile::tempdir().unwrap();
    let path = place.path().join("a.tar.gz");
    std::fs::write(&path, with(&good(), &[])).unwrap();
    let plugins = place.path().join("plugins");
    let added = add_plugin(&path, None, &plugins).unwrap();
    assert!(added.looked.info.is_some_and(|info| info.id == "tarn") && added.set_aside.is_none());
    assert_eq!(std::fs::read(plugins.join("tarn/plugin.toml")).unwrap(), good()["plugin.toml"]);
    let names: Vec<_> = std::fs::read_dir(&plugins).unwrap().map(|item| item.unwrap().file_name()).collect();
    assert_eq!(names, ["tarn"], "no temporary folder stays");
}

#[test]
fn names_that_lead_elsewhere_are_refused() {
    let good = good();
    for (name, words) in [
        ("/etc/evil.csv", "is an absolute path"),
        ("../evil.csv", "leads out of the folder"),
        ("tarn/../../evil.csv", "leads out of the folder"),
        ("tarn/tables/../../../evil.csv", "leads out of the folder"),
        ("tarn/tables\\..\\evil.csv", "no plain name"),
        ("C:/evil.csv", "no plain name"),
        ("tarn/./tables/a.csv", "no plain name"),
        ("tarn//tables/a.csv", "no plain name"),
        ("tarn/tables/a\nb.csv", "no plain name"),
        ("evil.csv", "lies in no folder"),
        ("other/tables/a.csv", "more than one folder at its top"),
        ("tarn/tables/a.exe", "no plugin has such a file"),
        ("tarn/tables/deep/a.csv", "no plugin has such a file"),
        ("tarn/.hidden", "no plugin has such a file"),
    ] {
        refused(name, &with(&good, &[file(name, b"x")]), words);
    }
    refused("not UTF-8", &with(&good, &[entry(b"tarn/tables/\xff\xfe.csv", PLAIN, b"", 1, b"x")]), "is not UTF-8");
}

#[test]
fn what_is_no_plain_file_is_refused() {
    let good = good();
    for (kind, words) in [
        (b'1', "a hard link"),
        (b'2', "a symbolic link"),
        (b'3', "a device"),
        (b'4', "a device"),
        (b'5', "a folder of its own"),
        (b'6', "a pipe"),
        (b'L', "of an unknown kind"),
        (b'K', "of an unknown kind"),
        (b'x', "of an unknown kind"),
        (b'g', "of an unknown kind"),
        (b'S', "of an unknown kind"),
    ] {
        refused(words, &with(&good, &[entry(b"tarn/tables/a.csv", kind, b"/etc/passwd", 0, b"")]), words);
    }
}

#[test]
fn a_name_is_there_once() {
    let good = good();
    let twice = file("tarn/tables/formers.csv", &good["tables/formers.csv"]);
    refused("twice", &with(&good, &[twice]), "there twice");
    let capitals = file("tarn/tables/FORMERS.csv", b"x");
    refused("capitals", &with(&good, &[capitals]), "in capitals only");
    let second = file(SUMS, &list(&good));
    refused("two lists", &with(&good, &[second]), "there twice");
}

#[test]
fn checksums_decide() {
    let good = good();
    let mut changed = vec![file(SUMS, &list(&good))];
    for (name, contents) in &good {
        let mut contents = contents.clone();
        if name == "tables/figures.csv" {
            let at = contents.len() / 2;
            contents[at] ^= 1;
        }
        changed.push(file(&format!("tarn/{name}"), &contents));
    }
    refused("a changed byte", &closed(&changed), "the list promises");
    let without: Vec<Vec<u8>> = good.iter().map(|(name, c)| file(&format!("tarn/{name}"), c)).collect();
    refused("no list", &closed(&without), "has no SHA256SUMS");
    let mut fewer = good.clone();
    fewer.remove("cases/formers.json");
    let mut entries = vec![file(SUMS, &list(&good))];
    entries.extend(fewer.iter().map(|(name, c)| file(&format!("tarn/{name}"), c)));
    refused("a file is missing", &closed(&entries), "not in the archive");
    refused("a file too many", &with(&good, &[file("tarn/tables/more.csv", b"x")]), "not on the list");
    let text = String::from_utf8(list(&good)).unwrap();
    for (from, to, words) in [
        ("archive 1", "archive 2", "archive format 2"),
        ("# plugin tarn", "# plugin other", "the folder is called `tarn`"),
        ("# whole ", "# whole 0", "the SHA-256 of the list"),
        ("# coilwright", "# other", "the first line is not"),
    ] {
        let mut entries = vec![file(SUMS, text.replacen(from, to, 1).as_bytes())];
        entries.extend(good.iter().map(|(name, c)| file(&format!("tarn/{name}"), c)));
        refused(to, &closed(&entries), words);
    }
}

#[test]
fn damaged_files_and_bombs_are_refused_soon() {
    let good = good();
    let whole = with(&good, &[]);
    refused("empty", b"", "no archive of a plugin");
    refused("text", b"id,size\n1,2\n", "no archive of a plugin");
    refused("cut short", &whole[..whole.len() / 2], "damaged");
    let behind = [whole.clone(), b"behind".to_vec()].concat();
    refused("something behind it", &behind, "behind the end");
    let two = [whole.clone(), whole].concat();
    refused("another archive behind it", &two, "behind the end");
    let mut tar = file(SUMS, &list(&good));
    tar.extend_from_slice(&[0; 1024]);
    tar.extend_from_slice(b"hidden");
    refused("something behind the end of the tar", &gzip(&tar), "behind the end");
    // 8 GiB promised by a header, one byte given.
    let huge = entry(b"tarn/tables/a.csv", PLAIN, b"", 0o77_777_777_777, b"x");
    refused("a size that is not there", &with(&good, &[huge]), "bytes where");
    // 80 MiB of zeros in 80 KiB: over several files, each within its bound.
    let zeros = vec![0u8; 16 << 20];
    let bomb: Vec<Vec<u8>> = (0..5).map(|n| file(&format!("tarn/tables/z{n}.csv"), &zeros)).collect();
    refused("a bomb", &with(&good, &bomb), "unpacks to more than");
    let behind_the_end = gzip(&vec![0u8; 80 << 20]);
    refused("a bomb of nothing", &behind_the_end, "behind the end");
    let many: Vec<Vec<u8>> = (0..1100).map(|n| file(&format!("tarn/tables/{n}.csv"), b"")).collect();
    refused("too many files", &with(&good, &many), "more than 1000 files");
}

#[test]
fn what_a_daemon_would_refuse_is_not_added_however_well_it_is_packed() {
    let mut files = good();
    files.insert("tables/figures.csv".into(), good()["tables/figures.csv"].replace_first(b"1.20", b"1,20"));
    refused("a decimal comma", &with(&files, &[]), "tables/figures.csv, line 5");
    let mut files = good();
    files.insert("plugin.toml".into(), good()["plugin.toml"].replace_first(b"id = \"tarn\"", b"id = \"tern\""));
    refused("another id", &with(&files, &[]), "the folder is called `tarn`");
    let mut files = good();
    files.insert("cases/formers.json".into(), good()["cases/formers.json"].replace_first(b"1.20,", b"1.40,"));
    refused("an example that fails", &with(&files, &[]), "promised 1.4");
}

#[test]
fn the_same_folder_gives_the_same_bytes_and_another_sum_is_refused() {
    let place = tempfile::tempdir().unwrap();
    let folder = new_plugin("tarn", "supply", place.path()).unwrap();
    let [one, two] = ["one.tar.gz", "two.tar.gz"].map(|name| place.path().join(name));
    let first = pack_plugin(&folder, Some(&one), None).unwrap();
    // Another time of change and other modes on the disk are not in the archive.
    std::fs::write(folder.join("plugin.toml"), std::fs::read(folder.join("plugin.toml")).unwrap()).unwrap();
    let second = pack_plugin(&folder, Some(&two), None).unwrap();
    assert_eq!(std::fs::read(&one).unwrap(), std::fs::read(&two).unwrap());
    assert_eq!((&first.sha256, first.sha256.as_str()), (&second.sha256, hex(&std::fs::read(&one).unwrap()).as_str()));
    let plugins = place.path().join("plugins");
    let wrong = add_plugin(&one, Some(&"0".repeat(64)), &plugins).unwrap_err().to_string();
    assert!(wrong.contains("fetch the file again") && !plugins.exists(), "{wrong}");
    add_plugin(&one, Some(&first.sha256.to_uppercase()), &plugins).unwrap();
    let again = add_plugin(&two, None, &plugins).unwrap();
    assert_eq!(again.set_aside, Some(plugins.join(".before/tarn-1")));
    assert!(pack_plugin(&folder, Some(&one), None).unwrap_err().to_string().contains("is there already"));
}

trait Replace {
    fn replace_first(&self, from: &[u8], to: &[u8]) -> Vec<u8>;
}

impl Replace for Vec<u8> {
    fn replace_first(&self, from: &[u8], to: &[u8]) -> Vec<u8> {
        let at = self.windows(from.len()).position(|window| window == from).expect("it is there");
        [&self[..at], to, &self[at + from.len()..]].concat()
    }
}
