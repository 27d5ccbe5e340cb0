//! The limits of files, each with its name. A fault that comes of one names it.
//!
//! They keep a wrong path (a disk image, a device, a folder of downloads) from taking the memory.

/// The largest player file: 1 MiB.
pub const LARGEST_PLAYER_FILE_BYTES: u64 = 1024 * 1024;
/// The largest file of catalogue or stock: 10 MiB.
pub const LARGEST_PARTS_FILE_BYTES: u64 = 10 * 1024 * 1024;
/// The largest file of rules: 1 MiB, the language's own limit.
pub const LARGEST_RULES_FILE_BYTES: u64 = 1024 * 1024;
/// The most files that one folder is read with.
pub const MOST_FILES: usize = 1_000;
/// The most bytes of a folder with all its files: 40 MiB.
pub const LARGEST_FOLDER_BYTES: u64 = 40 * 1024 * 1024;
/// The most rulesets that build on each other.
pub const MOST_LAYERS: usize = 16;
/// The longest name of a subject, in characters.
pub const LONGEST_SUBJECT_CHARACTERS: usize = 128;
/// The most players of one roster.
pub const MOST_VISITS: usize = 500;
/// The most faults that one report shows; of the rest it gives the number.
pub const MOST_FAULTS_SHOWN: usize = 50;
