//! HTML and SVG made from plain values: what a workshop prints, hangs up and sticks on.
//!
//! Every function here takes an input struct of millimetres, metres, ohms and words and answers a text. Nothing is
//! measured, computed from physics or looked up here, and there is no clock: a date that stands on a sheet came in as a
//! value. All text is escaped; pages carry their own style and ask the network for nothing.

pub mod bars;
pub mod cross_section;
pub mod label;
mod number;
pub mod outlook;
pub mod page;
pub mod passport;
mod qr;
mod refusal;
pub mod steps;
mod svg;
pub mod traveller;
mod word;

pub use number::Figure;
pub use refusal::CannotDraw;
pub use word::Word;
