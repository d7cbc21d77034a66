"""Answers in plain words: what a question is about, which card and which cautions it gets, and when to decline."""
