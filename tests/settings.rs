//! Settings, completions and manual page on the command line.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::fs;
use std::path::Path;
use std::process::Output;

use assert_cmd::Command;
use common::{CLEAN, root};
use serde_json::Value;

/// The program in a folder, with nothing of the person who runs the test: neither variables nor folders.
fn command(dir: &Path, args: &[&str]) -> Command {
    let mut command = Command::cargo_bin("wanderlead").unwrap();
    for name in [
        "WANDERLEAD_FORMS",
        "WANDERLEAD_CONFIG",
        "NO_COLOR",
        "LC_ALL",
        "LC_CTYPE",
    ] {
        command.env_remove(name);
    }
    command
        .env("LANG", "C.UTF-8")
        .env("HOME", dir)
        .env("XDG_CONFIG_HOME", dir.join("config"))
        .env("APPDATA", dir.join("config"))
        .current_dir(dir)
        .args(args);
    command
}

fn run(dir: &Path, args: &[&str]) -> Output {
    command(dir, args).output().unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8(output.stderr.clone())
        .unwrap()
        .trim_end()
        .to_string()
}

#[test]
#[cfg(unix)]
fn without_a_file_everything_has_its_default_and_write_makes_one_once() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("config/wanderlead/settings.ron");
    let shown = path.display();
    let first = run(dir.path(), &["settings"]);
    assert_eq!(
        out(&first),
        format!(
            "file     {shown} (the platform's folder, isn't there: `wanderlead settings --write` makes it)\n\
             colours  Auto (default)\n\
             glyphs   Auto: Unicode, by the locale (default)\n\
             forms    the shipped ones (default)\n"
        )
    );
    let written = run(dir.path(), &["settings", "--write"]);
    assert_eq!(
        (written.status.code(), said(&written)),
        (
            Some(0),
            format!("made {shown}: it explains every setting and sets none yet")
        )
    );
    let text = fs::read_to_string(&path).unwrap();
    assert!(
        text.contains("// colours: Auto") && text.contains("NO_COLOR"),
        "{text}"
    );
    assert!(
        out(&run(dir.path(), &["settings"]))
            .starts_with(&format!("file     {shown} (the platform's folder)\n"))
    );
    // Never over one that is there.
    fs::write(&path, "(colours: Light)").unwrap();
    let again = run(dir.path(), &["settings", "--write"]);
    assert_eq!(again.status.code(), Some(2), "{}", said(&again));
    assert_eq!(fs::read_to_string(&path).unwrap(), "(colours: Light)");
    assert!(out(&run(dir.path(), &["settings"])).contains("colours  Light (settings file)"));
}

#[test]
fn option_counts_before_variable_before_file() {
    let dir = tempfile::tempdir().unwrap();
    let (a, b) = (dir.path().join("a.ron"), dir.path().join("b.ron"));
    fs::write(&a, "(colours: None, glyphs: Ascii, forms: \"own\")").unwrap();
    fs::write(&b, "(colours: Dark)").unwrap();
    let json = |command: &mut Command| -> Value {
        serde_json::from_slice(&command.output().unwrap().stdout).unwrap()
    };
    let setting = |v: &Value, name: &str| {
        let rows = v["settings"].as_array().unwrap();
        let row = rows.iter().find(|r| r["name"] == name).unwrap();
        format!(
            "{} / {}",
            row["value"].as_str().unwrap(),
            row["from"].as_str().unwrap()
        )
    };
    let by_variable =
        json(command(dir.path(), &["settings", "--json"]).env("WANDERLEAD_CONFIG", &a));
    assert_eq!(by_variable["schema"], 1);
    assert_eq!(by_variable["named_by"], "WANDERLEAD_CONFIG");
    assert_eq!(by_variable["file"], a.to_str().unwrap());
    assert_eq!(setting(&by_variable, "colours"), "None / settings file");
    assert_eq!(setting(&by_variable, "glyphs"), "Ascii / settings file");
    // A relative folder starts at the file, not at where one happens to be.
    let own = dir.path().join("own");
    assert_eq!(
        setting(&by_variable, "forms"),
        format!("{} / settings file", own.display())
    );

    let by_option = json(
        command(
            dir.path(),
            &["--config", b.to_str().unwrap(), "settings", "--json"],
        )
        .env("WANDERLEAD_CONFIG", &a)
        .env("WANDERLEAD_FORMS", "elsewhere")
        .env("NO_COLOR", "1")
        .env("LANG", "C"),
    );
    assert_eq!(by_option["named_by"], "--config");
    assert_eq!(setting(&by_option, "colours"), "None / NO_COLOR");
    assert_eq!(setting(&by_option, "forms"), "elsewhere / WANDERLEAD_FORMS");
    if cfg!(unix) {
        assert_eq!(
            setting(&by_option, "glyphs"),
            "Auto: Ascii, by the locale / default"
        );
    }
}

#[test]
fn a_file_that_is_wrong_is_named_with_line_column_field_and_remedy() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("s.ron");
    for (text, words) in [
        (
            "(\n  colours: Drak,\n)",
            ["s.ron, line 2, column 12, field colours: ", "`Dark`"],
        ),
        (
            "(\n  colour: Dark,\n)",
            ["s.ron, line 2, column 3", "`colours`"],
        ),
        (
            "(glyphs: 7)",
            ["s.ron, line 1, column 10, field glyphs: ", "; "],
        ),
        (
            "(forms: [\"a\"])",
            ["s.ron, line 1, column 8, field forms: ", "; "],
        ),
        (
            "(colours: Dark, colours: Light)",
            ["s.ron, line 1", "keep one of the two"],
        ),
        ("(colours: Dark", ["s.ron, line 1", "; "]),
    ] {
        fs::write(&file, text).unwrap();
        for args in [&["settings"][..], &["forms", "list"]] {
            let output = command(dir.path(), args)
                .env("WANDERLEAD_CONFIG", "s.ron")
                .output()
                .unwrap();
            let error = said(&output);
            assert_eq!(output.status.code(), Some(2), "{text}");
            assert!(out(&output).is_empty());
            assert!(words.iter().all(|w| error.contains(w)), "{text}: {error}");
        }
    }
    fs::write(&file, b"(forms: \"\xff\")").unwrap();
    let output = run(dir.path(), &["--config", "s.ron", "settings"]);
    assert!(said(&output).contains("UTF-8"), "{}", said(&output));
    // One that was named has to be there.
    let output = run(dir.path(), &["--config", "none.ron", "forms", "list"]);
    assert_eq!(
        (output.status.code(), said(&output).as_str()),
        (
            Some(2),
            "none.ron: there is no such settings file, named by --config; `wanderlead settings --write` makes one there"
        )
    );
}

#[test]
fn the_forms_folder_of_the_settings_counts() {
    let dir = tempfile::tempdir().unwrap();
    fs::create_dir(dir.path().join("own")).unwrap();
    fs::write(dir.path().join("own/own-limits.ron"), "(title: 7)").unwrap();
    fs::write(dir.path().join("s.ron"), "(forms: \"own\")").unwrap();
    let job = root().join("sample-jobs").join(CLEAN);
    let args = ["--config", "s.ron", "check", job.to_str().unwrap()];
    let output = run(dir.path(), &args);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        said(&output).contains("own-limits.ron, line 1"),
        "{}",
        said(&output)
    );
    // A page that needs no limits isn't held up by a file that is wrong.
    fs::write(dir.path().join("s.ron"), "(").unwrap();
    for args in [
        ["--config", "s.ron", "completions", "bash"].as_slice(),
        &["--config", "s.ron", "man"],
    ] {
        assert_eq!(run(dir.path(), args).status.code(), Some(0), "{args:?}");
    }
}

/// A test that runs the program would else read the settings of whoever runs it.
#[test]
fn every_test_that_runs_the_program_names_a_settings_file() {
    let mut run = 0;
    for entry in fs::read_dir(root().join("tests")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "rs") {
            let text = common::read(&path);
            if text.contains("cargo_bin(") || text.contains("CARGO_BIN_EXE") {
                run += 1;
                assert!(text.contains("WANDERLEAD_CONFIG"), "{}", path.display());
            }
        }
    }
    assert!(run >= 5, "{run}");
}

#[test]
fn completions_can_be_loaded() {
    let dir = tempfile::tempdir().unwrap();
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let script = out(&run(dir.path(), &["completions", shell]));
        for word in ["wanderlead", "settings", "config", "json"] {
            assert!(script.contains(word), "{shell}: {word}");
        }
        if shell == "bash" {
            let file = dir.path().join("wanderlead.bash");
            fs::write(&file, script).unwrap();
            let checked = std::process::Command::new("bash")
                .arg("-n")
                .arg(&file)
                .output()
                .unwrap();
            assert!(
                checked.status.success() && checked.stderr.is_empty(),
                "{checked:?}"
            );
            // Loaded, it offers what begins like that.
            let ask = format!(
                "source '{}'; COMP_WORDS=(wanderlead sett); COMP_CWORD=1; _wanderlead wanderlead sett wanderlead; echo \"${{COMPREPLY[@]}}\"",
                file.display()
            );
            let offered = std::process::Command::new("bash")
                .args(["-c", &ask])
                .output()
                .unwrap();
            assert_eq!(
                String::from_utf8_lossy(&offered.stdout).trim(),
                "settings",
                "{offered:?}"
            );
        }
    }
    assert_eq!(
        run(dir.path(), &["completions", "none"]).status.code(),
        Some(2)
    );
}

#[test]
fn the_manual_has_its_parts_and_every_command_a_page() {
    let dir = tempfile::tempdir().unwrap();
    let page = out(&run(dir.path(), &["man"]));
    for part in [
        ".TH wanderlead 1",
        ".SH NAME",
        ".SH SYNOPSIS",
        ".SH OPTIONS",
        "Exit codes",
    ] {
        assert!(page.contains(part), "{part}\n{page}");
    }
    let help = out(&run(dir.path(), &["help"]));
    let names: Vec<&str> = help
        .lines()
        .skip_while(|l| !l.starts_with("Commands"))
        .skip(1)
        .take_while(|l| l.starts_with("  "))
        .filter_map(|l| l.split_whitespace().next())
        .filter(|n| *n != "help")
        .collect();
    assert!(names.len() >= 10, "{names:?}");
    for name in names {
        assert!(page.contains(&format!("wanderlead\\-{name}(1)")), "{name}");
        let own = out(&run(dir.path(), &["man", name]));
        assert!(
            own.contains(&format!(".TH wanderlead-{name} 1")),
            "{name}\n{own}"
        );
        assert!(own.contains(".SH SYNOPSIS"), "{name}");
        formatted(&own);
    }
    formatted(&page);
    let none = run(dir.path(), &["man", "none"]);
    assert_eq!(none.status.code(), Some(2));
    assert!(said(&none).starts_with("no command is called `none`; known: start, check"));
}

/// Where the machine can format it, nothing is wrong with it.
fn formatted(page: &str) {
    let Ok(mut child) = std::process::Command::new("mandoc")
        .args(["-T", "lint", "-W", "error"])
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .spawn()
    else {
        // Not there: at least every request is one that a page may have.
        for line in page.lines().filter(|l| l.starts_with('.')) {
            let request = line.split_whitespace().next().unwrap();
            let known = [
                ".TH", ".SH", ".SS", ".TP", ".br", ".ie", ".el", ".RS", ".RE", ".PP", ".B", ".nf",
                ".fi", ".IP",
            ];
            assert!(known.contains(&request), "{line}");
        }
        formatted_by_man(page);
        return;
    };
    use std::io::Write;
    child
        .stdin
        .take()
        .unwrap()
        .write_all(page.as_bytes())
        .unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stdout)
    );
}

/// Where there is a formatter behind `man`, it has nothing to warn of.
fn formatted_by_man(page: &str) {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("page.1");
    fs::write(&file, page).unwrap();
    let output = std::process::Command::new("man")
        .env("MANPAGER", "cat")
        .env("LC_ALL", "C.UTF-8")
        .args(["--warnings", "-l"])
        .arg(&file)
        .output();
    if let Ok(output) = output
        && output.status.success()
    {
        let shown = String::from_utf8_lossy(&output.stdout).into_owned();
        assert!(output.stderr.is_empty(), "{output:?}");
        assert!(
            shown.contains("SYNOPSIS") || shown.contains("minimized"),
            "{shown}"
        );
    }
}
