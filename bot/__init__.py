"""Winterbrood: a chat bot that carries the arithmetic and the memory of keeping ant colonies.

Start reading at `bot/care/agenda.py` (what is due, and why), then `bot/services/planner.py` (how a plan becomes stored
occurrences) and `bot/app.py` (how everything is put together).
"""
