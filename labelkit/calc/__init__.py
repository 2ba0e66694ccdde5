"""Pure sums: codes, steps, the order of assembly. No files, no clock, no drawing."""
