//! Whole conversations by the rider's own door: each script in `tests/scripts/` and its transcript.

use assert_cmd::Command;
use std::fs;
use std::path::Path;

#[test]
fn every_script_gives_its_transcript() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/scripts");
    let mut scripts: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "chat"))
        .collect();
    scripts.sort();
    assert!(!scripts.is_empty());
    for script in scripts {
        let typed = fs::read_to_string(&script).unwrap();
        assert!(typed.lines().count() < 40, "{} is long", script.display());
        let mut command = Command::new(env!("CARGO_BIN_EXE_floatbowl"));
        let output = command
            .args(["chat", "--script"])
            .arg(&script)
            .output()
            .unwrap();
        assert!(output.status.success(), "{}: {output:?}", script.display());
        let name = script.file_stem().unwrap().to_string_lossy().into_owned();
        insta::assert_snapshot!(name, String::from_utf8(output.stdout).unwrap());
    }
}
