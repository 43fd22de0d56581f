//! Hands the linker the memory map of the board that `BOARD` names: one file in `memory/` each.

use std::{env, fs, path::Path};

fn main() {
    let out = env::var("OUT_DIR").expect("cargo sets it");
    let board = env::var("BOARD").unwrap_or_else(|_| "mps2".into());
    let map = format!("memory/{board}.x");
    fs::copy(&map, Path::new(&out).join("memory.x")).unwrap_or_else(|e| panic!("{map}: {e}"));
    // The part's interrupts by name: none is used.
    fs::write(Path::new(&out).join("device.x"), "").expect("the output folder can be written");
    println!("cargo:rustc-link-search={out}");
    println!("cargo:rerun-if-env-changed=BOARD");
    println!("cargo:rerun-if-changed=memory");
    let target = env::var("TARGET").expect("cargo sets it");
    if target.starts_with("riscv") {
        println!("cargo:rustc-link-arg-bins=-Tmemory.x");
    }
    if target.ends_with("-none-eabi") || target.ends_with("-none-eabihf") || target.ends_with("-none-elf") {
        println!("cargo:rustc-link-arg-bins=-Tlink.x");
        println!("cargo:rustc-link-arg-bins=--nmagic");
        if env::var_os("CARGO_FEATURE_DEFMT").is_some() {
            println!("cargo:rustc-link-arg-bin=events=-Tdefmt.x");
        }
    }
}
