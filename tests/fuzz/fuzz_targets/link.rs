#![no_main]

// Each target has its half of the checks.
#[allow(dead_code)]
#[path = "../checks.rs"]
mod checks;

libfuzzer_sys::fuzz_target!(|data: &[u8]| {
    checks::link(data);
});
