"""The trade of keeping ants: pure, typed and synchronous rules; every moment and every day is an argument."""
