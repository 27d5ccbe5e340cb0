//! The analysis: every answer of the box sweep held against looking at every point.

mod numbers;
mod sweep;
mod tables;
