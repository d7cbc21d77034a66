"""The handbook adapter: reads `config/`, refuses what cannot be true, and hands the trade one immutable `Handbook`."""
