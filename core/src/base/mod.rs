//! L0. What every floor above uses: stamps, ids, units, three-valued truth, and figures that carry
//! their source.

pub mod body;
pub mod cite;
pub mod data;
pub mod date;
pub mod flat;
pub mod id;
pub mod pack;
pub mod paged;
pub mod stamp;
pub mod truth;
pub mod units;
