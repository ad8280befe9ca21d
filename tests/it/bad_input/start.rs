//! A start that cannot be: settings with a typo, an address that is taken. It says where, and ends with a code.

use crate::shop::{Shop, command};
use std::io::Write;
use std::process::Output;

/// Starts the daemon with `flags` and `environment`, which must keep it from starting.
#[track_caller]
fn refused(flags: &[&str], environment: &[(&str, &str)], code: i32, says: &[&str]) {
    let data = tempfile::tempdir().unwrap();
    let mut args = vec!["serve", "--data", data.path().to_str().unwrap()];
    args.extend(flags);
    let out: Output = command(&args).envs(environment.iter().copied()).output().unwrap();
    let (said, told) = (String::from_utf8_lossy(&out.stderr), String::from_utf8_lossy(&out.stdout));
    assert_eq!(out.status.code(), Some(code), "{args:?}: {said}");
    assert_eq!(told, "", "nothing on standard output: a script would take it for an address");
    for word in says {
        assert!(said.contains(word), "it does not say {word:?}: {said}");
    }
    assert!(!said.contains("panicked"), "{said}");
}

fn file(text: &str) -> tempfile::NamedTempFile {
    let mut file = tempfile::NamedTempFile::new().unwrap();
    file.write_all(text.as_bytes()).unwrap();
    file
}

const FREE: [&str; 2] = ["--listen", "127.0.0.1:0"];

#[track_caller]
fn refused_file(text: &str, says: &[&str]) {
    let file = file(text);
    let path = file.path().to_str().unwrap();
    let mut wanted = vec![path];
    wanted.extend(says);
    refused(&[&FREE[..], &["--config", path]].concat(), &[], 2, &wanted);
}

#[test]
fn a_settings_file_with_a_typo_is_named_with_its_line() {
    refused_file("[server]\nlisten = \"127.0.0.1:0\"\nlisen = 1\n", &["line 3", "`lisen`", "`listen`"]);
    refused_file("[serverr]\n", &["line 1", "`serverr`", "`server`"]);
    refused_file("[limits]\n\nbatch_calls = \"many\"\n", &["line 3", "batch_calls"]);
    refused_file("[limits]\nbatch_calls = -1\n", &["line 2", "batch_calls"]);
    refused_file("[log]\nformat = \"loud\"\n", &["line 2", "`loud`", "`human`"]);
    refused_file("[server\n", &["line 1"]);
    refused_file("[log]\nfilter = \"info\"\nfilter = \"debug\"\n", &["line 3", "filter"]);
}

#[test]
fn a_settings_file_that_is_not_there_is_named_with_its_flag() {
    refused(
        &["--listen", "127.0.0.1:0", "--config", "/nowhere/shop.toml"],
        &[],
        2,
        &["/nowhere/shop.toml", "--config"],
    );
}

#[test]
fn an_environment_variable_with_a_typo_is_named() {
    for (name, value, named, says) in [
        ("COILWRIGHT__SERVER__LISEN", "127.0.0.1:0", "COILWRIGHT__SERVER__LISEN", "listen"),
        // Of a section that is not known, no more than the section is said.
        ("COILWRIGHT__SERVERR__LISTEN", "127.0.0.1:0", "COILWRIGHT__SERVERR", "`server`"),
        ("COILWRIGHT__LIMITS__BATCH_CALLS", "many", "COILWRIGHT__LIMITS__BATCH_CALLS", "many"),
        ("COILWRIGHT__LOG__FORMAT", "loud", "COILWRIGHT__LOG__FORMAT", "human"),
    ] {
        refused(&FREE, &[(name, value)], 2, &[named, says]);
    }
    refused(&FREE, &[("COILWRIGHT__LOG__FILTER", "a=b=c")], 2, &["log.filter", "a=b=c", "info"]);
}

#[test]
fn an_address_that_is_none_is_named() {
    for listen in ["here", "127.0.0.1", "127.0.0.1:70000", ":7348"] {
        refused(&["--listen", listen], &[], 2, &["listen"]);
    }
}

#[test]
fn a_port_in_use_names_the_flag_that_changes_it() {
    let shop = Shop::open();
    refused(&["--listen", shop.address()], &[], 5, &[shop.address(), "in use", "--listen", "port 0"]);
    shop.goes_on();
}

#[test]
fn an_address_of_another_machine_names_the_flag_that_changes_it() {
    // TEST-NET-1 of RFC 5737: nobody's.
    refused(&["--listen", "192.0.2.1:0"], &[], 5, &["192.0.2.1", "--listen"]);
}
