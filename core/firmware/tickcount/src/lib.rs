//! A plugin of the emulator that counts the instructions of every call of one function.
//!
//! A call begins at the function's first instruction and ends with the first block of code that runs in its caller again.
//! What is called in between is counted with it. Instructions are not cycles: no wait states, no divides of several cycles.
//! Arguments: `start=`, `lo=`, `hi=`, hexadecimal: the function, and where its caller begins and ends; `where=FILE` also writes
//! how often each instruction ran, address and count a line, for finding what is dear, and with `only=N` (counted from zero) of
//! that one call alone. The plugin interface is the emulator's version 1 (QEMU 4.2 to 8), declared here by hand.

use std::{
    collections::BTreeMap,
    ffi::{CStr, CString, c_char, c_int, c_uint, c_void},
    ptr::null_mut,
};

/// Version of the plugin interface.
#[unsafe(no_mangle)]
#[allow(non_upper_case_globals)]
pub static qemu_plugin_version: c_int = 1;

/// What the emulator says about itself; not read.
#[repr(C)]
pub struct Info {
    _opaque: [u8; 0],
}

type Callback = extern "C" fn(u64, *mut c_void);
type OnInstruction = extern "C" fn(c_uint, *mut c_void);

unsafe extern "C" {
    fn qemu_plugin_register_vcpu_tb_trans_cb(id: u64, cb: Callback);
    fn qemu_plugin_register_atexit_cb(id: u64, cb: Callback, user: *mut c_void);
    fn qemu_plugin_tb_n_insns(tb: *const c_void) -> usize;
    fn qemu_plugin_tb_get_insn(tb: *const c_void, i: usize) -> *mut c_void;
    fn qemu_plugin_insn_vaddr(insn: *const c_void) -> u64;
    fn qemu_plugin_register_vcpu_insn_exec_cb(insn: *mut c_void, cb: OnInstruction, flags: c_int, user: *mut c_void);
    fn qemu_plugin_register_vcpu_insn_exec_inline(insn: *mut c_void, op: c_int, at: *mut c_void, by: u64);
    fn qemu_plugin_outs(text: *const c_char);
}

struct Counter {
    count: u64,
    began: u64,
    inside: bool,
    start: u64,
    caller: std::ops::Range<u64>,
    calls: Vec<u32>,
    places: BTreeMap<u64, Box<u64>>,
    places_to: Option<String>,
    only: Option<usize>,
    before: BTreeMap<u64, u64>,
}

// One emulated processor: one thread calls back.
static mut COUNTER: Counter = Counter {
    count: 0,
    began: 0,
    inside: false,
    start: 0,
    caller: 0..0,
    calls: Vec::new(),
    places: BTreeMap::new(),
    places_to: None,
    only: None,
    before: BTreeMap::new(),
};

fn counter() -> &'static mut Counter {
    unsafe { &mut *(&raw mut COUNTER) }
}

extern "C" fn on_start(_: c_uint, _: *mut c_void) {
    let c = counter();
    c.began = c.count;
    c.inside = true;
    if c.only == Some(c.calls.len()) {
        c.before = c.places.iter().map(|(at, n)| (*at, **n)).collect();
    }
}

extern "C" fn on_caller(_: c_uint, _: *mut c_void) {
    let c = counter();
    if c.inside {
        c.inside = false;
        if c.only == Some(c.calls.len()) {
            let ran = |(at, n): (&u64, &Box<u64>)| (*at, **n - c.before.get(at).copied().unwrap_or(0));
            c.before = c.places.iter().map(ran).collect();
        }
        c.calls.push((c.count - c.began) as u32);
    }
}

extern "C" fn on_block(_: u64, tb: *mut c_void) {
    let c = counter();
    unsafe {
        for i in 0..qemu_plugin_tb_n_insns(tb) {
            let insn = qemu_plugin_tb_get_insn(tb, i);
            let at = qemu_plugin_insn_vaddr(insn);
            if at == c.start {
                qemu_plugin_register_vcpu_insn_exec_cb(insn, on_start, 0, null_mut());
            }
            if i == 0 && c.caller.contains(&at) {
                qemu_plugin_register_vcpu_insn_exec_cb(insn, on_caller, 0, null_mut());
            }
            qemu_plugin_register_vcpu_insn_exec_inline(insn, 0, (&raw mut c.count).cast(), 1);
            if c.places_to.is_some() {
                let place = &raw mut **c.places.entry(at).or_default();
                qemu_plugin_register_vcpu_insn_exec_inline(insn, 0, place.cast(), 1);
            }
        }
    }
}

extern "C" fn on_end(_: u64, _: *mut c_void) {
    let c = counter();
    let worst_at = c.calls.iter().enumerate().max_by_key(|(_, n)| **n).map_or(0, |(i, _)| i);
    let mut sorted = c.calls.clone();
    sorted.sort_unstable();
    let share = |p: usize| sorted.get((sorted.len().saturating_sub(1)) * p / 100).copied().unwrap_or(0);
    let total: u64 = sorted.iter().map(|n| u64::from(*n)).sum();
    let text = format!(
        "tickcount calls {} least {} median {} p99 {} worst {} worst_at {} mean {}\n",
        sorted.len(),
        share(0),
        share(50),
        share(99),
        share(100),
        worst_at,
        total / (sorted.len() as u64).max(1),
    );
    eprint!("{text}");
    if let Some(file) = &c.places_to {
        let all = || c.places.iter().map(|(at, n)| (*at, **n)).collect();
        let ran = if c.only.is_some() { std::mem::take(&mut c.before) } else { all() };
        let lines: String = ran.iter().filter(|(_, n)| **n > 0).map(|(at, n)| format!("{at:x} {n}\n")).collect();
        if let Err(e) = std::fs::write(file, lines) {
            eprintln!("{file}: {e}");
        }
    }
    if let Ok(text) = CString::new(text) {
        unsafe { qemu_plugin_outs(text.as_ptr()) }
    }
}

/// Called by the emulator when it loads the plugin.
///
/// # Safety
/// `argv` are `argc` strings that end in zero.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn qemu_plugin_install(
    id: u64,
    _: *const Info,
    argc: c_int,
    argv: *const *const c_char,
) -> c_int {
    let c = counter();
    for i in 0..argc.max(0) as usize {
        let arg = unsafe { CStr::from_ptr(*argv.add(i)) }.to_string_lossy();
        let Some((key, value)) = arg.split_once('=') else { return -1 };
        if key == "where" {
            c.places_to = Some(value.into());
            continue;
        }
        if key == "only" {
            let Ok(n) = value.parse() else { return -1 };
            c.only = Some(n);
            continue;
        }
        let Ok(value) = u64::from_str_radix(value.trim_start_matches("0x"), 16) else { return -1 };
        match key {
            "start" => c.start = value & !1,
            "lo" => c.caller.start = value & !1,
            "hi" => c.caller.end = value,
            _ => return -1,
        }
    }
    unsafe {
        qemu_plugin_register_vcpu_tb_trans_cb(id, on_block);
        qemu_plugin_register_atexit_cb(id, on_end, null_mut());
    }
    0
}
