"""Published formulas, with no ants in them: air, drying, daylight, warmth over time."""
