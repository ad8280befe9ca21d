//! Who may write, and who may have the folder: tokens right, wrong and missing, two daemons on one folder, a folder that is
//! somebody else's.

use crate::shop::{BINARY, Shop, command};
use crate::stock::{everything, full, head, received, text};
use serde_json::{Value, json};
use std::path::Path;
use std::process::{Command, Output};

fn out(command: &mut Command) -> (Option<i32>, String, String) {
    let out: Output = command.output().expect("the binary runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (out.status.code(), text(&out.stdout), text(&out.stderr))
}

#[test]
fn reading_needs_no_token_and_writing_does() {
    let shop = Shop::open();
    assert_eq!(shop.answer("spool.list", &json!({}))["items"], json!([]));
    let before = everything(&shop);
    for (method, params) in [
        ("spool.receive", full()),
        ("spool.weigh", json!({ "spool": "s-1", "gross_g": 1 })),
        ("job.open", crate::stock::job(1)),
        ("shop.set", json!({ "confidence": 0.9 })),
        ("journal.undo", json!({ "seq": 1, "reason": "x" })),
    ] {
        let error = shop.error(method, &params);
        assert_eq!((&error["code"], &error["data"]["kind"]), (&json!(1000), &json!("refused")), "{error}");
        let next = text(&error["data"], "next_step");
        assert!(next.contains("Authorization: Bearer") && next.contains("COILWRIGHT_TOKEN"), "{next}");
    }
    assert_eq!(everything(&shop), before);
}

#[test]
fn a_wrong_token_is_turned_away_at_the_door() {
    let shop = Shop::open();
    let token = shop.token();
    let body = json!({ "jsonrpc": "2.0", "id": 1, "method": "spool.receive", "params": full() }).to_string();
    let bearer = |t: &str| format!("Bearer {t}");
    for wrong in [
        bearer("x"),
        bearer(&token[1..]),
        bearer(&format!("{token}x")),
        bearer(&token.to_lowercase()),
        "Bearer".into(),
        format!("Basic {token}"),
        token.clone(),
    ] {
        let headers = [("Content-Type", "application/json"), ("Authorization", wrong.as_str())];
        let reply = shop.request("POST", "/rpc", &headers, body.as_bytes());
        assert_eq!(reply.status, 401, "{wrong}: {}", reply.body);
        assert!(reply.head.to_ascii_lowercase().contains("www-authenticate: bearer"), "{}", reply.head);
        let error = reply.json()["error"].take();
        assert_eq!((&error["code"], &error["data"]["kind"]), (&json!(1000), &json!("refused")), "{error}");
        assert!(text(&error["data"], "next_step").contains("token"), "{error}");
        assert!(!reply.body.contains(&token), "it does not give the right one away");
    }
    assert_eq!(head(&shop), 0);
    // The scheme's name is written as one likes: RFC 9110, 11.1.
    let headers = [("Content-Type", "application/json"), ("authorization", &format!("bearer {token}") as &str)];
    assert_eq!(shop.request("POST", "/rpc", &headers, body.as_bytes()).json()["result"]["spool"], "s-1");
}

#[test]
fn a_command_takes_the_token_from_a_file_or_from_the_environment() {
    let shop = Shop::open();
    let spool = received(&shop, &full());
    let file = shop.data().join("token");
    let file = file.to_str().unwrap();
    let weigh = |gross: &'static str| ["spool", "weigh", spool.as_str(), gross, "--json"].map(str::to_owned);
    let run = |gross: &'static str, more: &[&str], environment: &[(&str, &str)]| {
        let mut args = weigh(gross).to_vec();
        args.extend(more.iter().map(|m| (*m).to_owned()));
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        out(shop.command(&args).envs(environment.iter().copied()))
    };
    let (code, _, said) = run("210.4", &[], &[]);
    assert_eq!(code, Some(4), "{said}");
    assert!(said.contains("token") && said.contains("--token-file"), "{said}");
    let (code, told, said) = run("210.4", &["--token-file", file], &[]);
    assert_eq!(code, Some(0), "{said}");
    assert_eq!(serde_json::from_str::<Value>(&told).unwrap()["spool"], json!(spool));
    let (code, _, said) = run("210,3 g", &[], &[("COILWRIGHT_TOKEN", &shop.token())]);
    assert_eq!(code, Some(0), "{said}");
    let (code, _, said) = run("210.2", &[], &[("COILWRIGHT_TOKEN", "nonsense")]);
    assert_eq!(code, Some(4), "{said}");
    assert!(said.contains("not known here"), "{said}");
    let (code, _, said) = run("210.2", &["--token-file", "/nowhere/token"], &[]);
    assert!(code == Some(2) && said.contains("/nowhere/token") && said.contains("token"), "{code:?} {said}");
    assert_eq!(head(&shop), 3);
}

#[test]
fn a_notification_of_a_writing_method_is_not_run() {
    let shop = Shop::open();
    let before = everything(&shop);
    let bearer = format!("Bearer {}", shop.token());
    let headers = [("Content-Type", "application/json"), ("Authorization", bearer.as_str())];
    let one = json!({ "jsonrpc": "2.0", "method": "spool.receive", "params": full() });
    for body in [one.clone(), json!([one, one])] {
        let reply = shop.request("POST", "/rpc", &headers, body.to_string().as_bytes());
        assert_eq!((reply.status, reply.body.as_str()), (204, ""));
    }
    assert_eq!(everything(&shop), before);
    // Beside a call that wants its answer, only that one is run.
    let call = json!({ "jsonrpc": "2.0", "id": 1, "method": "spool.receive", "params": full() });
    let reply = shop.request("POST", "/rpc", &headers, json!([one, call, one]).to_string().as_bytes()).json();
    assert_eq!((reply.as_array().unwrap().len(), &reply[0]["result"]["seq"]), (1, &json!(1)));
    assert_eq!(head(&shop), 1);
}

#[cfg(unix)]
#[test]
fn the_token_is_for_its_owner_alone_and_stays_the_same() {
    use std::os::unix::fs::PermissionsExt;
    let mut shop = Shop::open();
    let token = shop.token();
    assert!(token.len() >= 43, "256 bits");
    let mode = std::fs::metadata(shop.data().join("token")).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o600);
    for file in files(shop.data()) {
        let holds = std::fs::read(&file).unwrap().windows(token.len()).any(|w| w == token.as_bytes());
        assert_eq!(holds, file.ends_with("token"), "{}", file.display());
    }
    shop.killed_and_opened(|_| {});
    assert_eq!(shop.token(), token);
    received(&shop, &full());
}

fn files(folder: &Path) -> Vec<std::path::PathBuf> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { found.extend(files(&path)) } else { found.push(path) }
    }
    found
}

#[test]
fn a_second_daemon_on_the_folder_is_refused_and_the_first_goes_on() {
    let mut shop = Shop::open();
    received(&shop, &full());
    let before = everything(&shop);
    let folder = shop.data().to_str().unwrap().to_owned();
    let (code, told, said) = out(&mut command(&["serve", "--listen", "127.0.0.1:0", "--data", &folder]));
    assert_eq!(code, Some(5), "{said}");
    assert_eq!(told, "", "no address for a script to read");
    let process = format!("process {}", shop.process().id());
    for word in [folder.as_str(), "in use by another daemon", &process, "choose another folder"] {
        assert!(said.contains(word), "it does not say {word:?}: {said}");
    }
    assert_eq!(everything(&shop), before);
    received(&shop, &full());
}

#[test]
fn no_folder_named_is_asked_for() {
    let (code, told, said) = out(&mut command(&["serve", "--listen", "127.0.0.1:0"]));
    assert!(code == Some(2) && told.is_empty() && said.contains("--data"), "{code:?} {told} {said}");
}

#[test]
fn a_folder_of_other_things_is_refused_untouched() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("letter.txt"), "x").expect("written");
    let path = folder.path().to_str().expect("a path of text");
    let (code, told, said) = out(&mut command(&["serve", "--listen", "127.0.0.1:0", "--data", path]));
    assert!(code == Some(2) && told.is_empty() && said.contains("letter.txt"), "{code:?} {told} {said}");
    assert_eq!(std::fs::read_dir(folder.path()).expect("read").count(), 1);
}

#[test]
fn a_folder_taken_away_under_the_daemon_ends_writing_and_is_told() {
    let shop = Shop::open();
    let gone = shop.data().join("journal-elsewhere");
    std::fs::rename(shop.data().join("journal"), gone).expect("moved");
    let error = shop.refused("shop.set", &serde_json::json!({ "confidence": 0.97 }));
    assert_eq!(error["code"], 1202, "{error:#}");
    assert!(error["data"]["detail"].as_str().is_some_and(|d| d.contains("removed or moved away")), "{error:#}");
    let status = shop.answer("shop.status", &serde_json::json!({}));
    assert_eq!(status["health"], "degraded", "{status:#}");
}

#[test]
fn any_address_is_said_as_one_that_can_be_asked() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().to_str().expect("a path of text");
    let mut daemon = command(&["serve", "--listen", "0.0.0.0:0", "--data", path]);
    let mut child =
        daemon.stdout(std::process::Stdio::piped()).stderr(std::process::Stdio::null()).spawn().expect("it starts");
    let mut lines = std::io::BufRead::lines(std::io::BufReader::new(child.stdout.take().expect("piped")));
    let (address, others) =
        (lines.next().expect("a line").expect("text"), lines.next().expect("a line").expect("text"));
    let _ = child.kill();
    let _ = child.wait();
    assert!(address.starts_with("coilwright answers at http://127.0.0.1:"), "{address}");
    assert!(others.contains("server.names"), "{others}");
}

/// The daemon as somebody without rights. `None` where that cannot be had: then it is said aloud, and in CI it fails.
#[cfg(unix)]
fn as_nobody(folder: &Path) -> Option<Command> {
    let root = Command::new("id").arg("-u").output().is_ok_and(|o| o.stdout.starts_with(b"0\n"));
    let args = ["serve", "--listen", "127.0.0.1:0", "--data", folder.to_str().unwrap()];
    if !root {
        return Some(command(&args));
    }
    for (lower, flags) in [
        ("setpriv", &["--reuid=65534", "--regid=65534", "--clear-groups", "--"][..]),
        ("runuser", &["-u", "nobody", "--"]),
    ] {
        if Command::new(lower).args(flags).args([BINARY, "--version"]).output().is_ok_and(|o| o.status.success()) {
            let mut command = Command::new(lower);
            command.args(flags).arg(BINARY).args(args);
            return Some(command);
        }
    }
    assert!(std::env::var_os("CI").is_none(), "neither setpriv nor runuser runs the binary as somebody without rights");
    eprintln!("SKIPPED: a folder without permission; neither setpriv nor runuser runs {BINARY} as somebody else");
    None
}

#[cfg(unix)]
#[test]
fn a_folder_without_permission_is_named_with_the_way_out() {
    use std::fs::{Permissions, create_dir, set_permissions, write};
    use std::os::unix::fs::PermissionsExt;
    let top = tempfile::tempdir().unwrap();
    set_permissions(top.path(), Permissions::from_mode(0o755)).unwrap();
    for (name, mode) in [("shut", 0o000), ("read-only", 0o555)] {
        let folder = top.path().join(name);
        create_dir(&folder).unwrap();
        write(folder.join("lock"), "kept").unwrap();
        set_permissions(&folder, Permissions::from_mode(mode)).unwrap();
        for folder in [folder.clone(), folder.join("below")] {
            let Some(mut daemon) = as_nobody(&folder) else { return };
            let (code, told, said) = out(&mut daemon);
            assert_eq!((code, told.as_str()), (Some(5), ""), "{said}");
            for word in [folder.to_str().unwrap(), "no permission", "choose another one"] {
                assert!(said.contains(word), "it does not say {word:?}: {said}");
            }
            assert!(!said.contains("panicked"), "{said}");
        }
        set_permissions(&folder, Permissions::from_mode(0o755)).unwrap();
        assert_eq!(files(&folder), [folder.join("lock")], "nothing was made in it");
    }
}

#[test]
fn a_path_that_is_no_folder_is_named() {
    let file = tempfile::NamedTempFile::new().unwrap();
    let path = file.path().to_str().unwrap();
    for folder in [path.to_owned(), format!("{path}/below")] {
        let (code, told, said) = out(&mut command(&["serve", "--listen", "127.0.0.1:0", "--data", &folder]));
        assert!(
            code == Some(5) && told.is_empty() && said.contains(path) && !said.contains("panicked"),
            "{code:?} {said}"
        );
    }
}
