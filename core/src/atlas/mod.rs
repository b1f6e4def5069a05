//! L1. Where things are on a body: sides, areas, regions, and the points with their sources.

pub mod region;

pub use region::{Area, Region, Side};
