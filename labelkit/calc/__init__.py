"""Pure sums: codes, steps, orders, trays, fits, where a job is. No files, no clock, no drawing."""
