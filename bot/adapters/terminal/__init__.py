"""Plans and answers as text and JSON for the command line."""
