//! The target `parse_format_parse` of `loftwright_tests::fuzz`, for libFuzzer.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| loftwright_tests::fuzz::parse_format_parse(bytes));
