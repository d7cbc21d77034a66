"""What a colony eats: energy, portions, rhythm, prey and its dangers, leftovers, feeder insects."""
