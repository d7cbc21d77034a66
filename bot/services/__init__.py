"""Use cases: one verb family a file. They know the trade and the ports, never a framework; `now` is an argument."""
