//! What goes wrong around the program: it is killed, the disk is full, a folder may not be written, files are damaged or in
//! use, the clock jumps. Nothing is lost, and each is said in one clear message. `docs/faults.md` tells what is promised.
//!
//! The number of kills is small by default; `TIDEWALL_KILLS=200` runs as many of each.

#[path = "../common/mod.rs"]
mod common;

mod clock;
mod damage;
mod disk;
mod interrupt;
mod kill;
mod locks;
mod server;
mod tools;
