//! Times as `RFC3339` in UTC.

use serde::{Deserialize, Deserializer, Serializer, de::Error};
use std::time::{Duration, SystemTime};

/// The last second of the year 9999, the last that `RFC3339` can write.
const LAST_S: u64 = 253_402_300_799;

pub(super) fn written(time: SystemTime) -> String {
    // A clock that was never set may stand before 1970: that is written as 1970.
    let since = time.duration_since(SystemTime::UNIX_EPOCH).unwrap_or_default();
    let second = SystemTime::UNIX_EPOCH + Duration::from_secs(since.as_secs().min(LAST_S));
    humantime::format_rfc3339_seconds(second).to_string()
}

pub(super) fn serialize<S: Serializer>(time: &SystemTime, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_str(&written(*time))
}

pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<SystemTime, D::Error> {
    let text = String::deserialize(from)?;
    humantime::parse_rfc3339(&text).map_err(|_| {
        D::Error::custom("its time is not written as in \"2026-03-01T18:04:05Z\", in UTC")
    })
}
