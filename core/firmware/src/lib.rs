//! What the images share: the entry, one tick that can be found by name, and the painting of the stack.
//!
//! The images use `unsafe` where a board needs it: static rooms, registers, the stack pointer. The control logic has none.
#![no_std]

#[cfg(target_arch = "arm")]
use cortex_m as _;
#[cfg(target_arch = "arm")]
pub use cortex_m_rt::entry;
#[cfg(target_arch = "riscv32")]
use riscv as _;
#[cfg(target_arch = "riscv32")]
pub use riscv_rt::entry;

pub mod files;
#[cfg(feature = "pins")]
pub mod nrf51;

use core::mem::MaybeUninit;
use heatwright_core::{Config, Inputs, Memory, Instant, Outputs, State, blob, blob::BlobFault};

/// The interrupts of the part: none is used, and a table of all that a part may have would be a kilobyte of flash.
#[cfg(target_arch = "arm")]
#[unsafe(link_section = ".vector_table.interrupts")]
#[unsafe(no_mangle)]
#[used]
pub static __INTERRUPTS: [unsafe extern "C" fn(); 1] = [DefaultHandler];

#[cfg(target_arch = "arm")]
unsafe extern "C" {
    fn DefaultHandler();
}

/// Bytes of one recorded tick: the moment in tenths of a second (u32, little endian) and the inputs.
pub const TICK_BYTES: usize = 4 + Inputs::RECORD_BYTES;

/// One tick, never inlined and under a name of its own: what is counted and whose stack is bounded.
#[inline(never)]
#[unsafe(no_mangle)]
pub fn heatwright_tick(config: &Config, state: &mut State, now: Instant, inputs: &Inputs, outputs: &mut Outputs) {
    heatwright_core::tick(config, state, now, inputs, outputs);
}

/// A recorded tick.
pub fn recorded(bytes: &[u8; TICK_BYTES]) -> (Instant, Inputs) {
    let (mut at, mut inputs) = ([0; 4], [0; Inputs::RECORD_BYTES]);
    let all = at.iter_mut().chain(inputs.iter_mut());
    for (slot, byte) in all.zip(bytes) {
        *slot = *byte;
    }
    (Instant::from_tenths(u32::from_le_bytes(at)), Inputs::decode(&inputs))
}

/// A controller that runs a configuration.
pub struct Controller {
    /// The configuration.
    pub config: &'static Config,
    /// Where it stands.
    pub state: &'static mut State,
    /// What it stated last.
    pub outputs: &'static mut Outputs,
}

// Room for what a controller holds, outside the stack. Nothing is written before power-up, so that no image of it lies in flash.
static mut CONFIG: MaybeUninit<Config> = MaybeUninit::uninit();
static mut STATE: MaybeUninit<State> = MaybeUninit::uninit();
static mut OUTPUTS: MaybeUninit<Outputs> = MaybeUninit::uninit();

/// Powers up on a configuration block, with what survived the last power cut.
///
/// # Safety
/// To be called once: it lends out the static rooms.
pub unsafe fn power_up(block: &[u8], memory: Option<&Memory>) -> Result<Controller, BlobFault> {
    let (config, state, outputs) = unsafe { (&mut *(&raw mut CONFIG), &mut *(&raw mut STATE), &mut *(&raw mut OUTPUTS)) };
    let config = blob::decode(block, config.write(blob::blank()))?;
    Ok(Controller { config, state: state.write(State::new(config, memory)), outputs: outputs.write(Outputs::SAFE) })
}

/// The stack pointer.
#[inline(always)]
pub fn stack_pointer() -> usize {
    let at: usize;
    #[cfg(target_arch = "arm")]
    unsafe {
        core::arch::asm!("mov {}, sp", out(reg) at)
    }
    #[cfg(target_arch = "riscv32")]
    unsafe {
        core::arch::asm!("mv {}, sp", out(reg) at)
    }
    #[cfg(not(any(target_arch = "arm", target_arch = "riscv32")))]
    {
        at = 0;
    }
    at
}

const PAINT: u32 = 0xC0DE_CAFE;

/// Paints the stack from `bytes` below `from` up to just below here.
#[inline(never)]
pub fn paint(from: usize, bytes: usize) {
    let mut at = (from - bytes) & !3;
    let top = (stack_pointer() - 64) & !3;
    while at < top {
        unsafe { core::ptr::write_volatile(at as *mut u32, PAINT) };
        at += 4;
    }
}

/// Bytes below `from` that were written since they were painted.
#[inline(never)]
pub fn used(from: usize, bytes: usize) -> usize {
    let mut at = (from - bytes) & !3;
    while at < from && unsafe { core::ptr::read_volatile(at as *const u32) } == PAINT {
        at += 4;
    }
    from - at
}
