"""Everything that meets the outside: store, platform, files, clock. Adapters do not import each other."""
