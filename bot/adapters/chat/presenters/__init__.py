"""Pure functions from values of the trade to text: cautions first and whole, limits kept, user text escaped."""
