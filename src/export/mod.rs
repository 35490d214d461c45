//! What leaves the app in forms that other programs read.

mod calendar;
mod csv;
mod name;
mod track;

pub use calendar::{Entry, calendar};
pub use csv::csv;
pub use name::file_name;
pub use track::{captions, chapters, segment_name, segment_rows};
