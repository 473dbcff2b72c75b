//! The store in a process of its own: killed at any moment, out of room, without permission.
//!
//! Run as it is, this program is the tests; called with a word, it is the process they are about.
//! `FLOATBOWL_KILLS` sets how many times the process is killed (20 unless it is set).

#[path = "desk/fake.rs"]
mod fake;
#[path = "desk/world.rs"]
mod world;

#[path = "store_process/aside.rs"]
mod aside;
#[path = "store_process/child.rs"]
mod child;
#[path = "store_process/kill.rs"]
mod kill;
#[path = "store_process/refused.rs"]
mod refused;

use std::env;
use std::path::PathBuf;
use std::process::ExitCode;

fn main() -> ExitCode {
    let words: Vec<String> = env::args().skip(1).collect();
    match words.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["talk", folder, start] => child::talk(&PathBuf::from(folder), start.parse().unwrap()),
        ["restore", folder, file] => aside::restore(&PathBuf::from(folder), &PathBuf::from(file)),
        ["add", folder] => aside::add(&PathBuf::from(folder)),
        ["hold", folder] => child::hold(&PathBuf::from(folder)),
        _ => {
            kill::nothing_acknowledged_is_lost();
            aside::a_restore_killed_is_taken_up_again();
            aside::what_is_added_is_not_lost();
            refused::a_folder_held_by_another_process();
            refused::a_folder_without_permission();
            refused::a_disk_without_room();
            ExitCode::SUCCESS
        }
    }
}
