"""What a temperature or humidity logger saw, and what follows from it."""
