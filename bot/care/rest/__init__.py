"""The winter rest of one colony.

`start` and `terms` give `course`; `warnings` says what is wrong, `plan` explains it all, `duties` makes dated steps.
"""
