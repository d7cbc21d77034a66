"""Household files: what a keeper wrote in TOML becomes a household, or a sentence that says what would be right."""
