//! Intake: what is read, and every sentence for what cannot be.

#[cfg(test)]
mod parts;
#[cfg(test)]
mod player;
#[cfg(test)]
mod right_form;
#[cfg(test)]
mod stock;
#[cfg(test)]
mod support;
#[cfg(test)]
mod value;
