"""One repository a file; each fulfils the Protocol of the same name in `services/ports.py`."""
