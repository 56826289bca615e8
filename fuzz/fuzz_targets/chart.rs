//! Entry point of libFuzzer for [`laidwork_tests::fuzzed::chart`].
#![no_main]

libfuzzer_sys::fuzz_target!(init: laidwork_tests::fuzzed::unwind(), |bytes: &[u8]| laidwork_tests::fuzzed::chart(bytes));
