//! Folders that another process may not have, or not fill.

use crate::kill::{Acknowledged, check};
use floatbowl::store::Store;
use floatbowl::store::problem::StoreError;
use std::env;
use std::fs::{self, Permissions};
use std::io::{BufRead, BufReader};
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::{Command, Output, Stdio};

pub fn a_folder_held_by_another_process() {
    let outer = tempfile::tempdir().unwrap();
    let folder = outer.path().join("data");
    let mut holder = Command::new(env::current_exe().unwrap())
        .args(["hold", folder.to_str().unwrap()])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut line = String::new();
    let mut out = BufReader::new(holder.stdout.take().unwrap());
    out.read_line(&mut line).unwrap();
    assert_eq!(line, "open\n");
    let refused = Store::open(&folder).err();
    let expected = StoreError::Locked {
        folder: folder.clone(),
    };
    assert_eq!(refused, Some(expected));
    drop(holder.stdin.take());
    assert!(holder.wait().unwrap().success());
    Store::open(&folder).map(drop).unwrap();
    println!("a folder held by another process ... ok");
}

/// Permissions do not bind the superuser, so a copy of this program runs as nobody in particular.
pub fn a_folder_without_permission() {
    let outer = tempfile::tempdir().unwrap();
    let open = |path: &Path| fs::set_permissions(path, Permissions::from_mode(0o755)).unwrap();
    open(outer.path());
    let program = outer.path().join("program");
    fs::copy(env::current_exe().unwrap(), &program).unwrap();
    open(&program);
    let folder = outer.path().join("data");
    drop(Store::open(&folder).unwrap());
    let tried = |folder: &Path| -> Output {
        let mut command = Command::new(&program);
        command.args(["hold", folder.to_str().unwrap()]);
        if fs::metadata("/proc/self").unwrap().uid() == 0 {
            command.uid(65534).gid(65534);
        }
        command.stdin(Stdio::null()).output().unwrap()
    };
    fs::set_permissions(&folder, Permissions::from_mode(0o555)).unwrap();
    fs::set_permissions(folder.join("lock"), Permissions::from_mode(0o444)).unwrap();
    for place in [
        folder.clone(),
        folder.join("inside"),
        outer.path().join("new"),
    ] {
        if place.ends_with("new") {
            fs::set_permissions(outer.path(), Permissions::from_mode(0o555)).unwrap();
        }
        let output = tried(&place);
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{said}");
        assert!(said.starts_with("cannot write to "), "{said}");
        assert!(said.contains("Permission denied"), "{said}");
        assert!(said.contains(place.to_str().unwrap()), "{said}");
    }
    open(outer.path());
    Store::open(&folder).map(drop).unwrap();
    println!("a folder without permission ... ok");
}

/// The shell limits the size of files, so that writing fails as on a full disk.
pub fn a_disk_without_room() {
    let outer = tempfile::tempdir().unwrap();
    let folder = outer.path().join("data");
    let mut child = Command::new("sh")
        .args(["-c", "trap '' XFSZ; ulimit -f 1500; exec \"$@\"", "sh"])
        .arg(env::current_exe().unwrap())
        .args(["talk", folder.to_str().unwrap(), "1"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut acknowledged = Acknowledged::default();
    acknowledged.listen(&mut child);
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{said}");
    let error = acknowledged.error.clone().unwrap_or_default();
    assert!(error.contains("WriteFailed"), "{error}");
    check(&folder, &acknowledged);
    println!(
        "a disk without room, {} turns acknowledged, none missing ... ok",
        acknowledged.said.len()
    );
}
