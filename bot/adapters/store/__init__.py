"""What is kept, in a relational database: SQLite in one file by default, PostgreSQL for scale."""
