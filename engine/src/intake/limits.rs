//! The limits of intake, each with its name.
//!
//! They bound the work that one request or one folder can ask for, far above what a player or a
//! workshop has. A fault that comes of one names it.

/// The longest text of one value, in bytes: 4 KiB.
pub const LONGEST_VALUE_BYTES: usize = 4 * 1024;
/// The most digits of one number: more than any instrument gives, few enough that exact arithmetic
/// has room for the result.
pub const MOST_DIGITS: usize = 20;
/// The longest code of a part or piece, in bytes.
pub const LONGEST_ID_BYTES: usize = 64;
/// The most readings of one player.
pub const MOST_READINGS: usize = 1_000;
/// The most clubs that a player brings: a bag.
pub const MOST_KEPT_CLUBS: usize = 14;
/// The most fields that one club or record may be sent with.
pub const MOST_FIELDS: usize = 200;
/// The most shots of one reading; the least is 1.
pub const MOST_SHOTS: u32 = 1_000;
/// The most parts of one kind.
pub const MOST_PARTS: usize = 20_000;
/// The most records of the stock of one kind.
pub const MOST_STOCK_RECORDS: usize = 100_000;
/// The most records in a list field, such as the settings of a head.
pub const MOST_LIST_RECORDS: usize = 200;
/// The most values in a list field, such as the hands a grip is made for.
pub const MOST_LIST_VALUES: usize = 200;
/// The most of one part that can be on hand.
pub const MOST_ON_HAND: i64 = 100_000;
/// The longest lead time, in days: ten years.
pub const MOST_LEAD_TIME_DAYS: i64 = 3_650;
/// The most faults that one answer reports; of the rest it gives the number.
pub const MOST_FAULTS: usize = 50;
