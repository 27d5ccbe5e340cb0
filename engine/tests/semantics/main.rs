//! The semantics of DEVELOPERS.md, *How an answer comes about*, line by line.

mod along;
mod budget;
mod choices;
mod groups;
mod makers;
mod nodes;
mod operators;
mod rows;
mod steps;
mod support;
