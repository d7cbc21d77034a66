"""How a colony grows: founding, censuses and their trend, room, first workers, what its keeper observes."""
