//! What leaves the app in forms that other programs read.

mod csv;

pub use csv::csv;
