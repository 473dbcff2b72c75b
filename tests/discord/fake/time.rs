//! Wall-clock time as Discord writes it: snowflakes that rise, and ISO 8601 stamps.

use std::time::{SystemTime, UNIX_EPOCH};

/// First millisecond of 2015, where snowflakes begin (Discord developer documentation, API Reference).
const EPOCH_MILLIS: u64 = 1_420_070_400_000;

/// Milliseconds since 1970.
pub fn now_millis() -> u64 {
    let since = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .unwrap_or_default();
    u64::try_from(since.as_millis()).unwrap_or(u64::MAX)
}

/// Smallest snowflake of this millisecond.
pub fn snowflake_now() -> u64 {
    (now_millis() - EPOCH_MILLIS) << 22
}

/// When a snowflake was made, in milliseconds since 1970.
pub fn millis_of(snowflake: u64) -> u64 {
    (snowflake >> 22) + EPOCH_MILLIS
}

/// A moment as Discord prints it, in UTC.
pub fn iso(millis: u64) -> String {
    let seconds = millis / 1000;
    let (year, month, day) = civil(seconds / 86_400);
    let (hour, minute, second) = (seconds / 3600 % 24, seconds / 60 % 60, seconds % 60);
    let micros = millis % 1000 * 1000;
    format!("{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}.{micros:06}+00:00")
}

/// This moment as Discord prints it.
pub fn iso_now() -> String {
    iso(now_millis())
}

/// Year, month and day of a day counted from 1970, by the usual era arithmetic.
fn civil(days: u64) -> (u64, u64, u64) {
    let shifted = days + 719_468;
    let era = shifted / 146_097;
    let day_of_era = shifted % 146_097;
    let year_of_era =
        (day_of_era - day_of_era / 1460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month_index = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * month_index + 2) / 5 + 1;
    let month = if month_index < 10 {
        month_index + 3
    } else {
        month_index - 9
    };
    (year_of_era + era * 400 + u64::from(month <= 2), month, day)
}
