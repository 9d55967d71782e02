//! Reads brewing logs: text to blocks and typed lines, with errors beside them.
