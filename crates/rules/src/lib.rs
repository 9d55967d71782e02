//! What barm says about a log: one rule a file.
