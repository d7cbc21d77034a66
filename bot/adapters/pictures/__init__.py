"""Pictures of plans and records as PNG bytes. Synchronous: call them off the event loop, with `asyncio.to_thread`."""
