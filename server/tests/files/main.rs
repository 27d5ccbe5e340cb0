//! Files of people: what is read from them, and every sentence for what cannot be.

#[cfg(test)]
mod built_in;
#[cfg(test)]
mod disk;
#[cfg(test)]
mod parts_csv;
#[cfg(test)]
mod parts_export;
#[cfg(test)]
mod parts_folder;
#[cfg(test)]
mod parts_pages;
#[cfg(test)]
mod player_file;
#[cfg(test)]
mod rules_folder;
#[cfg(test)]
mod support;
