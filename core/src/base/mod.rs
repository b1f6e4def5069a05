//! L0. What every floor above uses: stamps, ids, units, three-valued truth, and figures that carry
//! their source.

pub mod cite;
<<<<<<< HEAD
pub mod data;
=======
pub mod date;
>>>>>>> 26a5d02 (Ask and screen: questions, rules and creams as data, judged in three-valued logic)
pub mod id;
pub mod stamp;
pub mod truth;
pub mod units;
