"""Water in the nest: drying, the next side, what the log teaches, mould."""
