//! The command line: one file for each subcommand, no arithmetic.
