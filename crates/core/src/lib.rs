//! What is true of wire, formers, coils and the contents of a spool: quantities, physics, statistics.
//!
//! Knows nobody: no file, socket, clock, environment, randomness, thread, logging or hash map. Time, seeds and data come
//! in as values; the same input gives the same answer, bit for bit, on any machine (transcendental functions are taken
//! from `libm`, not from the platform).

pub mod adhesive;
pub mod batch;
pub mod beta;
pub mod coil;
pub mod conductor;
pub mod content;
pub mod dice;
pub mod driver;
pub mod enough;
pub mod finding;
pub mod fit;
pub mod former;
pub mod heat;
pub mod identify;
pub mod inductance;
pub mod learning;
pub mod mandrel;
pub mod matching;
pub mod measured;
pub mod meter;
pub mod mixing;
pub mod motor;
pub mod mutual;
pub mod origin;
pub mod quantity;
pub mod reading;
pub mod ring;
pub mod sound;
pub mod substitution;
pub mod trial;
pub mod trim;
pub mod typed;
pub mod wire;
