//! Lines of a text by byte.

/// Where each line of a text begins.
pub(super) struct Lines {
    starts: Vec<usize>,
}

impl Lines {
    /// The lines of a text.
    pub(super) fn of(text: &str) -> Self {
        let after_line_ends = text
            .bytes()
            .enumerate()
            .filter(|(_, byte)| *byte == b'\n')
            .map(|(place, _)| place + 1);
        Lines {
            starts: std::iter::once(0).chain(after_line_ends).collect(),
        }
    }

    /// The line of a byte, counted from 1.
    pub(super) fn line_of(&self, byte: usize) -> usize {
        self.starts.partition_point(|start| *start <= byte)
    }
}
