"""Nest, box and heater: barriers, wiping, waste, a fresh nest, heat."""
