//! The semantics of DEVELOPERS.md, *How an answer comes about*, line by line.

#[cfg(test)]
mod along;
#[cfg(test)]
mod budget;
#[cfg(test)]
mod choices;
#[cfg(test)]
mod families;
#[cfg(test)]
mod groups;
#[cfg(test)]
mod makers;
#[cfg(test)]
mod nodes;
#[cfg(test)]
mod operators;
#[cfg(test)]
mod rows;
#[cfg(test)]
mod steps;
#[cfg(test)]
mod stock;
#[cfg(test)]
mod support;
#[cfg(test)]
mod together;
