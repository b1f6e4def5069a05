//! What the phone can do, one ability a file. A device reports and obeys; it never decides, and it
//! knows no word of the treatment room. Every listener and timer is a value: dropping it takes it
//! off again.

pub mod alarm;
pub mod battery;
pub mod beside;
pub mod broke;
pub mod clock;
pub mod display;
pub mod entropy;
pub mod files;
pub mod flag;
pub mod hash;
pub mod idle;
pub mod listen;
pub mod local;
pub mod lock;
pub mod pedal;
pub mod print;
pub mod reach;
pub mod reload;
pub mod started;
pub mod storage_state;
pub mod theme;
pub mod tone;
pub mod update;
pub mod visibility;
pub mod wake;
pub mod worker;
